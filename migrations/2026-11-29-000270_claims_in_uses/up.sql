-- Single use stands in the use itself: no row of its own, and one look-up less a scan.

ALTER TABLE uses ADD COLUMN claims_unit boolean NOT NULL DEFAULT false;
COMMENT ON COLUMN uses.claims_unit IS
    'Single use itself: a single-use piece can be claimed once. The claim goes when the scan is struck or the piece is returned unopened.';
UPDATE uses SET claims_unit = true FROM unit_claims c WHERE c.unit_id = uses.unit_id AND c.scan_id = uses.scan_id;
CREATE UNIQUE INDEX uses_claim_once ON uses (unit_id) WHERE claims_unit;
GRANT UPDATE (claims_unit) ON uses TO lotwarden_app;

DROP TABLE unit_claims;
