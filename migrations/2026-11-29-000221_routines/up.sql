-- Routine checks of the site: what, where, how often, and what was found.

CREATE TABLE routines (
    facility_id uuid NOT NULL CONSTRAINT routines_facility REFERENCES facilities,
    id uuid CONSTRAINT routines_pk PRIMARY KEY,
    name text NOT NULL CONSTRAINT routines_name_length CHECK (char_length(name) BETWEEN 1 AND 200),
    location_id uuid CONSTRAINT routines_location REFERENCES locations,
    every text NOT NULL CONSTRAINT routines_every_known CHECK (every IN ('day', 'operating_day', 'week', 'month')),
    two_people boolean NOT NULL,
    asked jsonb NOT NULL,
    source text NOT NULL CONSTRAINT routines_source_length CHECK (char_length(source) BETWEEN 3 AND 200),
    starts_on date NOT NULL,
    ended_on date,
    end_reason text CONSTRAINT routines_end_reason_length CHECK (char_length(end_reason) BETWEEN 3 AND 500),
    created_at timestamptz NOT NULL,
    CONSTRAINT routines_ended_whole CHECK ((ended_on IS NULL) = (end_reason IS NULL)),
    CONSTRAINT routines_ended_after_start CHECK (ended_on >= starts_on)
);
COMMENT ON TABLE routines IS 'The site''s own list of routine checks. One is never edited: it ends, and another begins, so that what was missed stays missed.';
COMMENT ON COLUMN routines.asked IS 'The values a check asks for, with their limits.';
CREATE INDEX routines_by_facility ON routines (facility_id, id);

CREATE TABLE routine_records (
    facility_id uuid NOT NULL CONSTRAINT routine_records_facility REFERENCES facilities,
    id uuid CONSTRAINT routine_records_pk PRIMARY KEY,
    routine_id uuid NOT NULL CONSTRAINT routine_records_routine REFERENCES routines,
    done_at timestamptz NOT NULL,
    done_on date NOT NULL,
    late boolean NOT NULL,
    found jsonb NOT NULL,
    out_of_limits boolean NOT NULL,
    action text CONSTRAINT routine_records_action_length CHECK (char_length(action) BETWEEN 3 AND 500),
    recorded_by uuid NOT NULL CONSTRAINT routine_records_recorder REFERENCES people,
    recorded_at timestamptz NOT NULL,
    confirmed_by uuid CONSTRAINT routine_records_confirmer REFERENCES people,
    confirmed_at timestamptz,
    CONSTRAINT routine_records_acted_on CHECK (action IS NOT NULL OR NOT out_of_limits),
    CONSTRAINT routine_records_by_two_people CHECK (
        (confirmed_at IS NULL) = (confirmed_by IS NULL) AND (confirmed_by IS NULL OR confirmed_by <> recorded_by))
);
COMMENT ON TABLE routine_records IS 'What routine checks found. A finding outside its limits names what was done about it.';
COMMENT ON COLUMN routine_records.done_on IS 'The civil day at the facility on which it was done; its period is the one of this day.';
COMMENT ON COLUMN routine_records.late IS 'Written down after its period was over; both times stand here.';
CREATE INDEX routine_records_by_routine ON routine_records (routine_id, id);

GRANT SELECT, INSERT ON routines, routine_records TO lotwarden_app;
GRANT UPDATE (ended_on, end_reason) ON routines TO lotwarden_app;
GRANT UPDATE (confirmed_by, confirmed_at) ON routine_records TO lotwarden_app;

DO $$
DECLARE named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['routines', 'routine_records'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', named);
    END LOOP;
END $$;
