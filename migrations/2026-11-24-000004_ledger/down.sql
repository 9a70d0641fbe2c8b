DO $$
DECLARE append_only text;
BEGIN
    FOREACH append_only IN ARRAY ARRAY['scans', 'shelf_movements', 'strikes', 'signatures', 'receipts', 'receipt_lines'] LOOP
        EXECUTE format('DROP TRIGGER no_change ON %I', append_only);
        EXECUTE format('DROP TRIGGER no_truncate ON %I', append_only);
    END LOOP;
END $$;
DROP TABLE answers, parcels, disclosures, ledger_entries, ledger_heads;
DROP FUNCTION head_only_advances();
