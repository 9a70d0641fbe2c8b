DROP TABLE notice_events, notice_tasks;
ALTER TABLE shelf_movements DROP CONSTRAINT shelf_movements_sign;
ALTER TABLE shelf_movements ADD CONSTRAINT shelf_movements_sign CHECK ((kind = 'used') = (quantity < 0) AND quantity <> 0);
ALTER TABLE shelf_movements DROP CONSTRAINT shelf_movements_kind_known;
ALTER TABLE shelf_movements ADD CONSTRAINT shelf_movements_kind_known CHECK (kind IN ('received', 'used', 'returned'));
