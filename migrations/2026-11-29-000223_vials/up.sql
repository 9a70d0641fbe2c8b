-- Drugs as their labels print them, and multi-dose vials from their first puncture.

CREATE TABLE drug_facts (
    facility_id uuid NOT NULL CONSTRAINT drug_facts_facility REFERENCES facilities,
    product_id uuid CONSTRAINT drug_facts_pk PRIMARY KEY CONSTRAINT drug_facts_product REFERENCES products,
    volume_ml numeric CONSTRAINT drug_facts_volume CHECK (volume_ml > 0 AND volume_ml <= 20000),
    in_use_days integer CONSTRAINT drug_facts_in_use CHECK (in_use_days BETWEEN 1 AND 365),
    strengths jsonb NOT NULL,
    source text NOT NULL CONSTRAINT drug_facts_source_length CHECK (char_length(source) BETWEEN 3 AND 200)
);
COMMENT ON TABLE drug_facts IS 'What the label of a drug prints: the volume of a container and its strengths; whoever makes a mix confirms them.';
COMMENT ON COLUMN drug_facts.in_use_days IS 'The maker''s days after the first puncture, which take the place of the 28.';

CREATE TABLE vials (
    facility_id uuid NOT NULL CONSTRAINT vials_facility REFERENCES facilities,
    id uuid CONSTRAINT vials_pk PRIMARY KEY,
    product_id uuid NOT NULL CONSTRAINT vials_product REFERENCES products,
    lot_id uuid NOT NULL CONSTRAINT vials_lot REFERENCES lots,
    unit_id uuid CONSTRAINT vials_unit REFERENCES units,
    name text NOT NULL CONSTRAINT vials_name_length CHECK (char_length(name) BETWEEN 1 AND 50),
    punctured_on date NOT NULL,
    last_day date NOT NULL,
    volume_ml numeric NOT NULL CONSTRAINT vials_volume CHECK (volume_ml > 0 AND volume_ml <= 20000),
    opened_by text NOT NULL,
    opened_at timestamptz NOT NULL,
    discarded_at timestamptz,
    discard_reason text CONSTRAINT vials_reason_length CHECK (char_length(discard_reason) BETWEEN 3 AND 500),
    CONSTRAINT vials_discarded_whole CHECK ((discarded_at IS NULL) = (discard_reason IS NULL))
);
COMMENT ON TABLE vials IS 'Multi-dose vials from their first puncture. Without a serial the name written on the container tells two of a lot apart.';
COMMENT ON COLUMN vials.last_day IS 'The earlier of the label''s last day and the days after the first puncture, as it was when it was punctured.';
CREATE UNIQUE INDEX vials_name_once ON vials (lot_id, name) WHERE discarded_at IS NULL;
CREATE UNIQUE INDEX vials_unit_once ON vials (unit_id) WHERE unit_id IS NOT NULL;
CREATE INDEX vials_by_facility ON vials (facility_id, id);
CREATE INDEX vials_by_product ON vials (product_id, id);

CREATE TABLE vial_draws (
    facility_id uuid NOT NULL CONSTRAINT vial_draws_facility REFERENCES facilities,
    id uuid CONSTRAINT vial_draws_pk PRIMARY KEY,
    vial_id uuid NOT NULL CONSTRAINT vial_draws_vial REFERENCES vials,
    mix_id uuid NOT NULL CONSTRAINT vial_draws_mix REFERENCES mixes,
    volume_ml numeric NOT NULL CONSTRAINT vial_draws_volume CHECK (volume_ml > 0 AND volume_ml <= 20000),
    actor text NOT NULL,
    at timestamptz NOT NULL
);
COMMENT ON TABLE vial_draws IS 'What was drawn from a vial into a mix; never edited.';
CREATE INDEX vial_draws_by_vial ON vial_draws (vial_id, id);

GRANT SELECT, INSERT ON drug_facts, vials, vial_draws TO lotwarden_app;
GRANT UPDATE (volume_ml, in_use_days, strengths, source) ON drug_facts TO lotwarden_app;
GRANT UPDATE (discarded_at, discard_reason) ON vials TO lotwarden_app;

DO $$
DECLARE named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['drug_facts', 'vials', 'vial_draws'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', named);
    END LOOP;
    EXECUTE 'CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON vial_draws FOR EACH ROW EXECUTE FUNCTION refuse_change()';
    EXECUTE 'ALTER TABLE vial_draws ENABLE ALWAYS TRIGGER no_change';
    EXECUTE 'CREATE TRIGGER no_truncate BEFORE TRUNCATE ON vial_draws EXECUTE FUNCTION refuse_change()';
    EXECUTE 'ALTER TABLE vial_draws ENABLE ALWAYS TRIGGER no_truncate';
END $$;
