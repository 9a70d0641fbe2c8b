-- How long the state has medical records kept: entered by a person, never assumed.

CREATE TABLE record_years (
    facility_id uuid NOT NULL CONSTRAINT record_years_facility REFERENCES facilities,
    id uuid CONSTRAINT record_years_pk PRIMARY KEY,
    years integer NOT NULL CONSTRAINT record_years_years CHECK (years BETWEEN 1 AND 100),
    source text NOT NULL CONSTRAINT record_years_source_length CHECK (char_length(source) BETWEEN 3 AND 200),
    decided_by text NOT NULL,
    decided_at timestamptz NOT NULL
);
COMMENT ON TABLE record_years IS 'The years that the state has medical records kept, with the rule they stand in; the newest counts, and without one nothing is assumed.';

GRANT SELECT, INSERT ON record_years TO lotwarden_app;
ALTER TABLE record_years ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_facility ON record_years TO lotwarden_app
    USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()));
CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON record_years FOR EACH ROW EXECUTE FUNCTION refuse_change();
ALTER TABLE record_years ENABLE ALWAYS TRIGGER no_change;
CREATE TRIGGER no_truncate BEFORE TRUNCATE ON record_years EXECUTE FUNCTION refuse_change();
ALTER TABLE record_years ENABLE ALWAYS TRIGGER no_truncate;
