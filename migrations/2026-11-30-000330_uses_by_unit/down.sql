DROP INDEX uses_by_unit;
CREATE INDEX uses_by_unit ON uses (unit_id, lot_id) WHERE unit_id IS NOT NULL;
CREATE UNIQUE INDEX uses_claim_once ON uses (unit_id) WHERE claims_unit;
