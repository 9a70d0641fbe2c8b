-- One index for both, so that a scan has one entry less: the uses of a piece, and that one of them at
-- most claims it. A use that claims nothing has its own scan in the claim's place.
DROP INDEX uses_claim_once;
DROP INDEX uses_by_unit;
CREATE UNIQUE INDEX uses_by_unit ON uses (unit_id, (CASE WHEN claims_unit THEN NULL ELSE scan_id END))
    INCLUDE (lot_id) NULLS NOT DISTINCT WHERE unit_id IS NOT NULL;
