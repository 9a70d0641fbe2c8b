-- Equipment: the register, its services, filters and the cases it was on.

CREATE TABLE equipment (
    facility_id uuid NOT NULL CONSTRAINT equipment_facility REFERENCES facilities,
    id uuid CONSTRAINT equipment_pk PRIMARY KEY,
    asset_number text NOT NULL CONSTRAINT equipment_asset_length CHECK (char_length(asset_number) BETWEEN 1 AND 50),
    kind text NOT NULL CONSTRAINT equipment_kind_known CHECK (kind IN ('generator', 'vibration_drive', 'smoke_evacuator', 'thermometer', 'other')),
    thermometer_type text,
    name text NOT NULL CONSTRAINT equipment_name_length CHECK (char_length(name) BETWEEN 1 AND 200),
    serial text CONSTRAINT equipment_serial_length CHECK (char_length(serial) BETWEEN 1 AND 50),
    label text CONSTRAINT equipment_label_length CHECK (char_length(label) BETWEEN 1 AND 200),
    location_id uuid CONSTRAINT equipment_location REFERENCES locations,
    out_of_service_since timestamptz,
    out_of_service_reason text CONSTRAINT equipment_reason_length CHECK (char_length(out_of_service_reason) BETWEEN 3 AND 500),
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    CONSTRAINT equipment_asset_once UNIQUE (facility_id, asset_number),
    CONSTRAINT equipment_label_once UNIQUE (facility_id, label),
    CONSTRAINT equipment_thermometer_says_its_type CHECK (
        (kind = 'thermometer' AND thermometer_type IN ('contact', 'infrared_spot', 'infrared_camera'))
        OR (kind <> 'thermometer' AND thermometer_type IS NULL)),
    CONSTRAINT equipment_out_of_service_whole CHECK ((out_of_service_since IS NULL) = (out_of_service_reason IS NULL))
);
COMMENT ON TABLE equipment IS 'Equipment of the site that goes on case after case and is no product of the catalogue.';
COMMENT ON COLUMN equipment.label IS 'What a scanner reads from the maker''s label on this piece; the asset number is read as it is.';
COMMENT ON COLUMN equipment.thermometer_type IS 'Instruments of different types differ by degrees on the same skin (Key, J Drugs Dermatol 2014;13:185).';

CREATE TABLE equipment_services (
    facility_id uuid NOT NULL CONSTRAINT equipment_services_facility REFERENCES facilities,
    id uuid CONSTRAINT equipment_services_pk PRIMARY KEY,
    equipment_id uuid NOT NULL CONSTRAINT equipment_services_equipment REFERENCES equipment,
    kind text NOT NULL CONSTRAINT equipment_services_kind_known CHECK (kind IN ('maintenance', 'calibration')),
    done_on date NOT NULL,
    due_on date NOT NULL,
    done_by text NOT NULL CONSTRAINT equipment_services_done_by_length CHECK (char_length(done_by) BETWEEN 1 AND 200),
    certificate text CONSTRAINT equipment_services_certificate_length CHECK (char_length(certificate) BETWEEN 1 AND 100),
    as_found text CONSTRAINT equipment_services_as_found_known CHECK (as_found IN ('in_tolerance', 'out_of_tolerance')),
    actor text NOT NULL,
    at timestamptz NOT NULL,
    CONSTRAINT equipment_services_due_after_done CHECK (due_on > done_on),
    CONSTRAINT equipment_services_found_at_calibration CHECK ((kind = 'calibration') = (as_found IS NOT NULL))
);
COMMENT ON TABLE equipment_services IS 'Maintenance and calibration, by whom, and when the next is due; never edited: the newest of a kind counts.';
CREATE INDEX equipment_services_by_equipment ON equipment_services (equipment_id, id);

CREATE TABLE equipment_filters (
    facility_id uuid NOT NULL CONSTRAINT equipment_filters_facility REFERENCES facilities,
    id uuid CONSTRAINT equipment_filters_pk PRIMARY KEY,
    equipment_id uuid NOT NULL CONSTRAINT equipment_filters_equipment REFERENCES equipment,
    filter text NOT NULL CONSTRAINT equipment_filters_filter_length CHECK (char_length(filter) BETWEEN 1 AND 100),
    life_hours numeric CONSTRAINT equipment_filters_hours CHECK (life_hours BETWEEN 0.1 AND 10000),
    life_cases integer CONSTRAINT equipment_filters_cases CHECK (life_cases BETWEEN 1 AND 10000),
    case_hours numeric CONSTRAINT equipment_filters_case_hours CHECK (case_hours BETWEEN 0 AND 24),
    actor text NOT NULL,
    at timestamptz NOT NULL,
    CONSTRAINT equipment_filters_one_life CHECK ((life_hours IS NULL) <> (life_cases IS NULL)),
    CONSTRAINT equipment_filters_estimate_of_hours CHECK (case_hours IS NULL OR life_hours IS NOT NULL)
);
COMMENT ON TABLE equipment_filters IS 'Filters as they were put in, each with its maker''s life in hours or in cases; never edited.';
COMMENT ON COLUMN equipment_filters.case_hours IS 'What the site expects a case to use; none where nobody said.';
CREATE INDEX equipment_filters_by_equipment ON equipment_filters (equipment_id, id);

CREATE TABLE equipment_uses (
    facility_id uuid NOT NULL CONSTRAINT equipment_uses_facility REFERENCES facilities,
    id uuid CONSTRAINT equipment_uses_pk PRIMARY KEY,
    equipment_id uuid NOT NULL CONSTRAINT equipment_uses_equipment REFERENCES equipment,
    case_id uuid NOT NULL CONSTRAINT equipment_uses_case REFERENCES cases,
    scanned boolean NOT NULL,
    verdict text NOT NULL CONSTRAINT equipment_uses_verdict_known CHECK (verdict IN ('taken', 'look', 'stop')),
    findings jsonb NOT NULL,
    actor text NOT NULL,
    at timestamptz NOT NULL,
    struck_at timestamptz,
    struck_reason text CONSTRAINT equipment_uses_reason_length CHECK (char_length(struck_reason) BETWEEN 3 AND 500),
    CONSTRAINT equipment_uses_struck_whole CHECK ((struck_at IS NULL) = (struck_reason IS NULL))
);
COMMENT ON TABLE equipment_uses IS 'Equipment set up on a case, with what the rules said then. A stopped one stays on record and is not on the case.';
COMMENT ON COLUMN equipment_uses.scanned IS 'Whether its label or asset number was read, or it was chosen from the list.';
CREATE UNIQUE INDEX equipment_uses_once ON equipment_uses (equipment_id, case_id) WHERE verdict <> 'stop' AND struck_at IS NULL;
CREATE INDEX equipment_uses_by_case ON equipment_uses (case_id, id);

CREATE TABLE equipment_runs (
    facility_id uuid NOT NULL CONSTRAINT equipment_runs_facility REFERENCES facilities,
    id uuid CONSTRAINT equipment_runs_pk PRIMARY KEY,
    equipment_id uuid NOT NULL CONSTRAINT equipment_runs_equipment REFERENCES equipment,
    case_id uuid NOT NULL CONSTRAINT equipment_runs_case REFERENCES cases,
    minutes numeric NOT NULL CONSTRAINT equipment_runs_minutes CHECK (minutes BETWEEN 0.1 AND 1440),
    actor text NOT NULL,
    at timestamptz NOT NULL
);
COMMENT ON TABLE equipment_runs IS 'How long equipment ran on a case, by its counter or a clock; never edited. Sums against the filter.';
CREATE INDEX equipment_runs_by_equipment ON equipment_runs (equipment_id, id);

ALTER TABLE energy_log
    ADD COLUMN generator_id uuid CONSTRAINT energy_log_generator_registered REFERENCES equipment,
    ADD COLUMN instrument_id uuid CONSTRAINT energy_log_instrument_registered REFERENCES equipment,
    ADD COLUMN emissivity numeric CONSTRAINT energy_log_emissivity CHECK (emissivity BETWEEN 0.01 AND 1),
    ADD COLUMN distance_cm numeric CONSTRAINT energy_log_distance CHECK (distance_cm BETWEEN 0 AND 500),
    ADD CONSTRAINT energy_log_reading_has_a_temperature CHECK (
        max_skin_celsius IS NOT NULL OR (instrument_id IS NULL AND emissivity IS NULL AND distance_cm IS NULL));
COMMENT ON COLUMN energy_log.generator IS 'The generator as its record read then; typed by the team before there was a register.';
COMMENT ON COLUMN energy_log.instrument IS 'The instrument as its record read then; typed by the team before there was a register.';

ALTER TABLE site_policies ADD COLUMN due_equipment_stops boolean NOT NULL DEFAULT false;
COMMENT ON COLUMN site_policies.due_equipment_stops IS
    'Whether equipment whose calibration, maintenance or filter is due is kept off a case, or only shown.';

GRANT SELECT, INSERT ON equipment, equipment_services, equipment_filters, equipment_uses, equipment_runs TO lotwarden_app;
GRANT UPDATE (name, label, location_id, out_of_service_since, out_of_service_reason, version) ON equipment TO lotwarden_app;
GRANT UPDATE (struck_at, struck_reason) ON equipment_uses TO lotwarden_app;
GRANT UPDATE (due_equipment_stops) ON site_policies TO lotwarden_app;

DO $$
DECLARE named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['equipment', 'equipment_services', 'equipment_filters', 'equipment_uses', 'equipment_runs'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', named);
    END LOOP;
    FOREACH named IN ARRAY ARRAY['equipment_services', 'equipment_filters', 'equipment_runs'] LOOP
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', named);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', named);
    END LOOP;
END $$;
