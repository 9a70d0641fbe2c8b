DROP INDEX uses_by_other_lot;
ALTER TABLE uses DROP COLUMN other_lot_id;
