-- Sterile processing: sterilizers, loads, packs, indicators, cycles of reusable pieces, cleaning.

CREATE TABLE sterilizers (
    facility_id uuid NOT NULL CONSTRAINT sterilizers_facility REFERENCES facilities,
    id uuid CONSTRAINT sterilizers_pk PRIMARY KEY,
    name text NOT NULL CONSTRAINT sterilizers_name_length CHECK (char_length(name) BETWEEN 1 AND 100),
    positive_policy text NOT NULL CONSTRAINT sterilizers_policy_known CHECK (positive_policy IN ('recall_suspect', 'decide_single_positive')),
    out_of_service_since timestamptz,
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    CONSTRAINT sterilizers_name_once UNIQUE (facility_id, name)
);
COMMENT ON TABLE sterilizers IS 'Sterilizers of the site, each with the policy after a positive biological indicator that somebody chose for it.';
COMMENT ON COLUMN sterilizers.out_of_service_since IS 'Set by a positive biological indicator; ended by three empty cycles in a row with a negative one.';

CREATE TABLE loads (
    facility_id uuid NOT NULL CONSTRAINT loads_facility REFERENCES facilities,
    id uuid CONSTRAINT loads_pk PRIMARY KEY,
    sterilizer_id uuid NOT NULL CONSTRAINT loads_sterilizer REFERENCES sterilizers,
    cycle text NOT NULL CONSTRAINT loads_cycle_length CHECK (char_length(cycle) BETWEEN 1 AND 50),
    kind text NOT NULL,
    case_id uuid CONSTRAINT loads_case REFERENCES cases,
    reason text CONSTRAINT loads_reason_length CHECK (char_length(reason) BETWEEN 3 AND 500),
    started_at timestamptz NOT NULL,
    exposure_minutes numeric NOT NULL CONSTRAINT loads_exposure_time CHECK (exposure_minutes BETWEEN 0.1 AND 1440),
    exposure_celsius numeric NOT NULL CONSTRAINT loads_exposure_temperature CHECK (exposure_celsius BETWEEN 20 AND 200),
    operator text NOT NULL,
    released_by text,
    released_at timestamptz,
    held_at timestamptz,
    held_reason text CONSTRAINT loads_held_reason_length CHECK (char_length(held_reason) BETWEEN 3 AND 500),
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    CONSTRAINT loads_cycle_once UNIQUE (sterilizer_id, cycle),
    CONSTRAINT loads_kind_names_its_patient CHECK (
        (kind = 'terminal' AND case_id IS NULL AND reason IS NULL)
        OR (kind = 'immediate_use' AND case_id IS NOT NULL AND reason IS NOT NULL)),
    CONSTRAINT loads_released_whole CHECK ((released_at IS NULL) = (released_by IS NULL)),
    CONSTRAINT loads_held_whole CHECK ((held_at IS NULL) = (held_reason IS NULL))
);
COMMENT ON TABLE loads IS 'One cycle of a sterilizer. A held load stops every piece whose last load it is; a piece that went through a later load is free of it.';
COMMENT ON COLUMN loads.case_id IS 'The case an immediate-use cycle was run for.';
CREATE INDEX loads_by_sterilizer ON loads (sterilizer_id, started_at, id);
CREATE INDEX loads_by_facility ON loads (facility_id, id);
CREATE INDEX loads_by_case ON loads (case_id) WHERE case_id IS NOT NULL;

CREATE TABLE packs (
    facility_id uuid NOT NULL CONSTRAINT packs_facility REFERENCES facilities,
    id uuid CONSTRAINT packs_pk PRIMARY KEY,
    load_id uuid NOT NULL CONSTRAINT packs_load REFERENCES loads,
    label text NOT NULL CONSTRAINT packs_label_length CHECK (char_length(label) BETWEEN 1 AND 50),
    name text NOT NULL CONSTRAINT packs_name_length CHECK (char_length(name) BETWEEN 1 AND 200),
    implant boolean NOT NULL,
    CONSTRAINT packs_label_once UNIQUE (load_id, label)
);
COMMENT ON TABLE packs IS 'The specific contents of a load, each with its lot-control label; never edited.';

CREATE TABLE pack_units (
    facility_id uuid NOT NULL CONSTRAINT pack_units_facility REFERENCES facilities,
    pack_id uuid NOT NULL CONSTRAINT pack_units_pack REFERENCES packs,
    unit_id uuid NOT NULL CONSTRAINT pack_units_unit REFERENCES units,
    cycle integer NOT NULL CONSTRAINT pack_units_cycle CHECK (cycle > 0),
    CONSTRAINT pack_units_pk PRIMARY KEY (pack_id, unit_id),
    CONSTRAINT pack_units_cycle_once UNIQUE (unit_id, cycle)
);
COMMENT ON TABLE pack_units IS 'The reusable pieces in a pack, each with the number of this cycle in its life; never edited.';

CREATE TABLE indicators (
    facility_id uuid NOT NULL CONSTRAINT indicators_facility REFERENCES facilities,
    id uuid CONSTRAINT indicators_pk PRIMARY KEY,
    load_id uuid NOT NULL CONSTRAINT indicators_load REFERENCES loads,
    kind text NOT NULL,
    result text NOT NULL,
    is_repeat boolean NOT NULL,
    actor text NOT NULL,
    at timestamptz NOT NULL,
    CONSTRAINT indicators_result_of_its_kind CHECK (
        (kind IN ('mechanical', 'chemical') AND result IN ('good', 'not_good') AND NOT is_repeat)
        OR (kind = 'biological' AND result IN ('negative', 'positive')))
);
COMMENT ON TABLE indicators IS 'What the indicators of a load showed; never edited. A repeat is the test that follows a positive one.';
CREATE INDEX indicators_by_load ON indicators (load_id, id);

CREATE TABLE cycle_limits (
    facility_id uuid NOT NULL CONSTRAINT cycle_limits_facility REFERENCES facilities,
    product_id uuid CONSTRAINT cycle_limits_pk PRIMARY KEY CONSTRAINT cycle_limits_product REFERENCES products,
    most integer CONSTRAINT cycle_limits_positive CHECK (most BETWEEN 1 AND 100000),
    source text NOT NULL CONSTRAINT cycle_limits_source_length CHECK (char_length(source) BETWEEN 3 AND 200)
);
COMMENT ON TABLE cycle_limits IS 'Reusable products that the site sterilizes, with the maker''s limit of cycles where it names one. Their pieces need a released load since their last use.';

CREATE TABLE cleanings (
    facility_id uuid NOT NULL CONSTRAINT cleanings_facility REFERENCES facilities,
    id uuid CONSTRAINT cleanings_pk PRIMARY KEY,
    unit_id uuid NOT NULL CONSTRAINT cleanings_unit REFERENCES units,
    flushed boolean NOT NULL,
    brush text NOT NULL CONSTRAINT cleanings_brush_length CHECK (char_length(brush) BETWEEN 1 AND 100),
    inspected boolean NOT NULL,
    remark text CONSTRAINT cleanings_remark_length CHECK (char_length(remark) BETWEEN 1 AND 500),
    actor text NOT NULL,
    at timestamptz NOT NULL
);
COMMENT ON TABLE cleanings IS 'Cleaning of a reusable piece before its load: the lumen is the weak step, so it is an event of its own; never edited.';
CREATE INDEX cleanings_by_unit ON cleanings (unit_id, id);

GRANT SELECT, INSERT ON sterilizers, loads, packs, pack_units, indicators, cycle_limits, cleanings TO lotwarden_app;
GRANT UPDATE (out_of_service_since, version) ON sterilizers TO lotwarden_app;
GRANT UPDATE (released_by, released_at, held_at, held_reason, version) ON loads TO lotwarden_app;
GRANT UPDATE (most, source) ON cycle_limits TO lotwarden_app;

DO $$
DECLARE named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['sterilizers', 'loads', 'packs', 'pack_units', 'indicators', 'cycle_limits', 'cleanings'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', named);
    END LOOP;
    FOREACH named IN ARRAY ARRAY['packs', 'pack_units', 'indicators', 'cleanings'] LOOP
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', named);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', named);
    END LOOP;
END $$;
