-- What the application role may do, and which rows a session sees.

GRANT USAGE ON SCHEMA public TO lotwarden_app;
GRANT SELECT ON ALL TABLES IN SCHEMA public TO lotwarden_app;

GRANT INSERT ON
    people, logins, sessions, refresh_tokens, token_keys, stations, locations,
    products, product_identifiers, lots, units, receipts, receipt_lines, shelf_movements, stock_levels,
    patients, cases, scans, uses, unit_claims, strikes, signatures, holds,
    ledger_entries, disclosures, parcels, answers
TO lotwarden_app;

GRANT UPDATE (expires_soon_days, short_dated_days, keeps_stock, version) ON site_policies TO lotwarden_app;
GRANT UPDATE (roles, ends_at, version) ON people TO lotwarden_app;
GRANT UPDATE (revoked_at) ON sessions TO lotwarden_app;
GRANT UPDATE (used_at) ON refresh_tokens TO lotwarden_app;
GRANT UPDATE (name, maker, model, kind, use_class, carries_lot, carries_serial, carries_expiry, catalogued, version)
    ON products TO lotwarden_app;
GRANT UPDATE (level, quantity) ON product_identifiers TO lotwarden_app;
GRANT UPDATE (expires_on, manufactured_on) ON lots TO lotwarden_app;
GRANT UPDATE (lot_id, location_id) ON units TO lotwarden_app;
GRANT UPDATE (quantity) ON stock_levels TO lotwarden_app;
GRANT UPDATE (status, started_at, ended_at, version) ON cases TO lotwarden_app;
GRANT UPDATE (disposition, disposition_reason, struck_at, version) ON uses TO lotwarden_app;
GRANT UPDATE (lifted_by, lifted_at, lift_reason, version) ON holds TO lotwarden_app;
GRANT UPDATE (size, hash, at) ON ledger_heads TO lotwarden_app;
GRANT DELETE ON unit_claims, disclosures, answers TO lotwarden_app;

DO $$
DECLARE guarded text;
BEGIN
    FOR guarded IN
        SELECT table_name FROM information_schema.columns JOIN information_schema.tables USING (table_schema, table_name)
        WHERE table_schema = 'public' AND column_name = 'facility_id' AND table_name <> 'logins' AND table_type = 'BASE TABLE'
    LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', guarded);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', guarded);
    END LOOP;
END $$;
