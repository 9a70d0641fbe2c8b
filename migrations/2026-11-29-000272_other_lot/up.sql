-- A recall asks which pieces of a lot were used under another one: said at the use, so that nobody
-- has to look at every piece of the lot.

ALTER TABLE uses ADD COLUMN other_lot_id uuid;
COMMENT ON COLUMN uses.other_lot_id IS
    'The lot on the piece''s own record, where it is another one than the use was recorded under.';
UPDATE uses SET other_lot_id = t.lot_id FROM units t WHERE t.id = uses.unit_id AND t.lot_id <> uses.lot_id;
CREATE INDEX uses_by_other_lot ON uses (other_lot_id) WHERE other_lot_id IS NOT NULL;
GRANT UPDATE (other_lot_id) ON uses TO lotwarden_app;
