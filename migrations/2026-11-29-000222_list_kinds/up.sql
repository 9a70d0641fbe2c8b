-- What a setup needs besides named products: kinds of products, and equipment.

ALTER TABLE preference_lists
    ADD COLUMN kinds jsonb NOT NULL DEFAULT '[]',
    ADD COLUMN equipment jsonb NOT NULL DEFAULT '[]';
COMMENT ON COLUMN preference_lists.kinds IS 'Kinds of products with the quantities to open and to hold; any product of the kind will do.';
COMMENT ON COLUMN preference_lists.equipment IS 'Kinds of equipment, one piece of each.';
