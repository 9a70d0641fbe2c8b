CREATE TABLE unit_claims (
    facility_id uuid NOT NULL,
    unit_id uuid CONSTRAINT unit_claims_once PRIMARY KEY,
    case_id uuid NOT NULL,
    scan_id uuid NOT NULL,
    taken_at timestamptz NOT NULL
);
COMMENT ON TABLE unit_claims IS
    'Single use itself: a single-use piece can be claimed once. The claim goes when the scan is struck or the piece is returned unopened.';
INSERT INTO unit_claims (facility_id, unit_id, case_id, scan_id, taken_at)
    SELECT facility_id, unit_id, case_id, scan_id, taken_at FROM uses WHERE claims_unit;
GRANT SELECT, INSERT, DELETE ON unit_claims TO lotwarden_app;
ALTER TABLE unit_claims ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_facility ON unit_claims TO lotwarden_app
    USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()));

DROP INDEX uses_claim_once;
ALTER TABLE uses DROP COLUMN claims_unit;
