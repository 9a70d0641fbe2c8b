DROP TABLE shelf_adjustments, shelf_count_lines, shelf_counts;
COMMENT ON COLUMN shelf_movements.cause_id IS 'The receipt or scan that moved it.';
ALTER TABLE shelf_movements DROP CONSTRAINT shelf_movements_sign;
ALTER TABLE shelf_movements ADD CONSTRAINT shelf_movements_sign
    CHECK ((kind IN ('used', 'sent_back', 'destroyed')) = (quantity < 0) AND quantity <> 0);
ALTER TABLE shelf_movements DROP CONSTRAINT shelf_movements_kind_known;
ALTER TABLE shelf_movements ADD CONSTRAINT shelf_movements_kind_known
    CHECK (kind IN ('received', 'used', 'returned', 'sent_back', 'destroyed'));
