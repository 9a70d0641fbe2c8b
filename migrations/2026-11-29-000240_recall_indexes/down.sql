DROP INDEX cases_by_patient;
DROP INDEX units_by_lot;
CREATE INDEX units_by_lot ON units (lot_id);
DROP INDEX uses_by_unit;
CREATE INDEX uses_by_unit ON uses (unit_id) WHERE unit_id IS NOT NULL;
