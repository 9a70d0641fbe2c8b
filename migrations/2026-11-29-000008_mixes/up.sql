-- Mixes: ordered, made, checked, given by zone, and what became of the rest.

CREATE TABLE mixes (
    facility_id uuid NOT NULL CONSTRAINT mixes_facility REFERENCES facilities,
    id uuid CONSTRAINT mixes_pk PRIMARY KEY,
    case_id uuid NOT NULL CONSTRAINT mixes_case REFERENCES cases,
    name text NOT NULL CONSTRAINT mixes_name_length CHECK (char_length(name) BETWEEN 1 AND 100),
    written_order text NOT NULL CONSTRAINT mixes_order_length CHECK (char_length(written_order) BETWEEN 1 AND 1000),
    order_hash bytea NOT NULL CONSTRAINT mixes_order_hash_length CHECK (octet_length(order_hash) = 32),
    sealed_weight bytea NOT NULL,
    use_within_minutes integer NOT NULL CONSTRAINT mixes_use_within CHECK (use_within_minutes BETWEEN 1 AND 10080),
    use_by_source text NOT NULL CONSTRAINT mixes_use_by_source_length CHECK (char_length(use_by_source) BETWEEN 3 AND 200),
    ordered_by uuid NOT NULL CONSTRAINT mixes_orderer REFERENCES people,
    ordered_at timestamptz NOT NULL,
    made_by uuid CONSTRAINT mixes_maker REFERENCES people,
    started_at timestamptz,
    made_at timestamptz,
    use_by timestamptz,
    checked_by uuid CONSTRAINT mixes_checker REFERENCES people,
    checked_at timestamptz,
    discarded_ml numeric CONSTRAINT mixes_discarded CHECK (discarded_ml >= 0),
    left_ml numeric CONSTRAINT mixes_left CHECK (left_ml >= 0),
    explanation text CONSTRAINT mixes_explanation_length CHECK (char_length(explanation) BETWEEN 3 AND 500),
    closed_by text,
    closed_at timestamptz,
    version integer NOT NULL DEFAULT 1,
    CONSTRAINT mixes_made_whole CHECK (
        (made_at IS NULL) = (made_by IS NULL) AND (made_at IS NULL) = (started_at IS NULL) AND (made_at IS NULL) = (use_by IS NULL)),
    CONSTRAINT mixes_checked_by_a_second_person CHECK (
        (checked_at IS NULL) = (checked_by IS NULL)
        AND (checked_at IS NULL OR made_at IS NOT NULL AND checked_by <> made_by)),
    CONSTRAINT mixes_closed_whole CHECK (
        (closed_at IS NULL) = (closed_by IS NULL) AND (closed_at IS NULL) = (discarded_ml IS NULL)
        AND (closed_at IS NULL) = (left_ml IS NULL) AND (closed_at IS NULL OR made_at IS NOT NULL))
);
COMMENT ON TABLE mixes IS 'A solution made for one patient: no mix without a signed order that states the weight.';
COMMENT ON COLUMN mixes.order_hash IS 'SHA-256 of the canonical order, weight included, as it was signed (21 CFR 11.70).';
COMMENT ON COLUMN mixes.sealed_weight IS 'The patient''s weight in kilograms, sealed under the patient''s key.';
COMMENT ON COLUMN mixes.use_by_source IS 'Where the site has its time from; shown wherever the time is.';
COMMENT ON COLUMN mixes.use_by IS 'The latest time, or the end of the earliest last day of an ingredient where that comes first.';
CREATE INDEX mixes_by_case ON mixes (case_id, id);
CREATE INDEX mixes_by_facility ON mixes (facility_id, id);

CREATE TABLE mix_ingredients (
    facility_id uuid NOT NULL CONSTRAINT mix_ingredients_facility REFERENCES facilities,
    mix_id uuid NOT NULL CONSTRAINT mix_ingredients_mix REFERENCES mixes,
    line integer NOT NULL,
    scan_id uuid NOT NULL,
    product_id uuid NOT NULL CONSTRAINT mix_ingredients_product REFERENCES products,
    lot_id uuid NOT NULL CONSTRAINT mix_ingredients_lot REFERENCES lots,
    unit_id uuid CONSTRAINT mix_ingredients_unit REFERENCES units,
    volume_ml numeric NOT NULL CONSTRAINT mix_ingredients_volume CHECK (volume_ml > 0 AND volume_ml <= 20000),
    last_day date,
    strengths jsonb NOT NULL,
    CONSTRAINT mix_ingredients_pk PRIMARY KEY (mix_id, line)
);
COMMENT ON TABLE mix_ingredients IS 'What a mix was made from: uses on its case, so that where-used finds them; never edited.';
COMMENT ON COLUMN mix_ingredients.last_day IS 'The last day of the container: the label''s, or the days after the first puncture where earlier.';
COMMENT ON COLUMN mix_ingredients.strengths IS 'Substances with milligrams or milliequivalents a millilitre, as decimal texts; none for a diluent.';
CREATE INDEX mix_ingredients_by_lot ON mix_ingredients (lot_id);

CREATE TABLE mix_doses (
    facility_id uuid NOT NULL CONSTRAINT mix_doses_facility REFERENCES facilities,
    id uuid CONSTRAINT mix_doses_pk PRIMARY KEY,
    mix_id uuid NOT NULL CONSTRAINT mix_doses_mix REFERENCES mixes,
    zone text NOT NULL CONSTRAINT mix_doses_zone_length CHECK (char_length(zone) BETWEEN 1 AND 100),
    volume_ml numeric NOT NULL CONSTRAINT mix_doses_volume CHECK (volume_ml > 0 AND volume_ml <= 20000),
    verdict text NOT NULL CONSTRAINT mix_doses_verdict_known CHECK (verdict IN ('taken', 'stop')),
    findings jsonb NOT NULL,
    actor text NOT NULL,
    at timestamptz NOT NULL
);
COMMENT ON TABLE mix_doses IS 'Volumes by zone; never edited. A stopped one was asked for and not given.';
CREATE INDEX mix_doses_by_mix ON mix_doses (mix_id, id);

GRANT SELECT, INSERT ON mixes, mix_ingredients, mix_doses TO lotwarden_app;
GRANT UPDATE (made_by, started_at, made_at, use_by, checked_by, checked_at, discarded_ml, left_ml, explanation, closed_by, closed_at, version)
    ON mixes TO lotwarden_app;

DO $$
DECLARE named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['mixes', 'mix_ingredients', 'mix_doses'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', named);
    END LOOP;
    FOREACH named IN ARRAY ARRAY['mix_ingredients', 'mix_doses'] LOOP
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', named);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', named);
    END LOOP;
END $$;
