-- Moving stock between places, counting a place, and taking what expires off the shelf.

ALTER TABLE shelf_movements DROP CONSTRAINT shelf_movements_kind_known;
ALTER TABLE shelf_movements ADD CONSTRAINT shelf_movements_kind_known
    CHECK (kind IN ('received', 'used', 'returned', 'sent_back', 'destroyed', 'moved', 'adjusted'));
ALTER TABLE shelf_movements DROP CONSTRAINT shelf_movements_sign;
-- What is moved leaves one place and comes to another; a count finds more or less.
ALTER TABLE shelf_movements ADD CONSTRAINT shelf_movements_sign
    CHECK (quantity <> 0 AND (kind IN ('moved', 'adjusted') OR (kind IN ('used', 'sent_back', 'destroyed')) = (quantity < 0)));
COMMENT ON COLUMN shelf_movements.cause_id IS 'The receipt, scan, disposal, move, count or sweep that moved it.';

CREATE TABLE shelf_counts (
    facility_id uuid NOT NULL CONSTRAINT shelf_counts_facility REFERENCES facilities,
    id uuid CONSTRAINT shelf_counts_pk PRIMARY KEY,
    location_id uuid NOT NULL CONSTRAINT shelf_counts_location REFERENCES locations,
    actor text NOT NULL,
    counted_at timestamptz NOT NULL
);
COMMENT ON TABLE shelf_counts IS 'One count of everything at one place; never edited.';
CREATE INDEX shelf_counts_by_facility ON shelf_counts (facility_id, id);

CREATE TABLE shelf_count_lines (
    facility_id uuid NOT NULL CONSTRAINT shelf_count_lines_facility REFERENCES facilities,
    count_id uuid NOT NULL CONSTRAINT shelf_count_lines_count REFERENCES shelf_counts,
    line integer NOT NULL,
    lot_id uuid NOT NULL CONSTRAINT shelf_count_lines_lot REFERENCES lots,
    unit_id uuid CONSTRAINT shelf_count_lines_unit REFERENCES units,
    expected integer NOT NULL CONSTRAINT shelf_count_lines_expected_range CHECK (expected >= 0),
    counted integer NOT NULL CONSTRAINT shelf_count_lines_counted_range CHECK (counted >= 0),
    CONSTRAINT shelf_count_lines_pk PRIMARY KEY (count_id, line)
);
COMMENT ON TABLE shelf_count_lines IS 'What the record said was there, a lot or a piece a line, and what a person found; never edited.';

CREATE TABLE shelf_adjustments (
    facility_id uuid NOT NULL CONSTRAINT shelf_adjustments_facility REFERENCES facilities,
    count_id uuid NOT NULL,
    line integer NOT NULL,
    actor text NOT NULL,
    reason text NOT NULL CONSTRAINT shelf_adjustments_reason_length CHECK (char_length(reason) BETWEEN 3 AND 500),
    adjusted_at timestamptz NOT NULL,
    CONSTRAINT shelf_adjustments_once PRIMARY KEY (count_id, line),
    CONSTRAINT shelf_adjustments_line FOREIGN KEY (count_id, line) REFERENCES shelf_count_lines
);
COMMENT ON TABLE shelf_adjustments IS 'The differences of counts that were taken into the record, each once and with a reason; never edited.';

GRANT SELECT, INSERT ON shelf_counts, shelf_count_lines, shelf_adjustments TO lotwarden_app;

DO $$
DECLARE guarded text;
BEGIN
    FOREACH guarded IN ARRAY ARRAY['shelf_counts', 'shelf_count_lines', 'shelf_adjustments'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', guarded);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', guarded);
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', guarded);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', guarded);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', guarded);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', guarded);
    END LOOP;
END $$;
