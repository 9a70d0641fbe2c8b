DROP INDEX units_by_lot;
CREATE INDEX units_by_lot ON units (lot_id, id);
