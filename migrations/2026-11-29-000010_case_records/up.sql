-- The rest of a case's record: preference lists, picks, energy by zone, checks by two people,
-- follow-ups, the facility's status and adverse events.

CREATE TABLE preference_lists (
    facility_id uuid NOT NULL CONSTRAINT preference_lists_facility REFERENCES facilities,
    id uuid CONSTRAINT preference_lists_pk PRIMARY KEY,
    procedure_name text NOT NULL CONSTRAINT preference_lists_procedure_length CHECK (char_length(procedure_name) BETWEEN 1 AND 200),
    practitioner_id uuid CONSTRAINT preference_lists_practitioner REFERENCES people,
    items jsonb NOT NULL,
    created_at timestamptz NOT NULL
);
COMMENT ON TABLE preference_lists IS 'What a setup needs, by procedure and practitioner; never edited: the newest of a procedure counts, one of the practitioner''s own first.';
COMMENT ON COLUMN preference_lists.items IS 'Products with the quantities to open and to hold.';
CREATE INDEX preference_lists_by_procedure ON preference_lists (facility_id, procedure_name, id);

CREATE TABLE picks (
    facility_id uuid NOT NULL CONSTRAINT picks_facility REFERENCES facilities,
    id uuid CONSTRAINT picks_pk PRIMARY KEY,
    case_id uuid NOT NULL CONSTRAINT picks_case REFERENCES cases,
    lot_id uuid NOT NULL CONSTRAINT picks_lot REFERENCES lots,
    kind text NOT NULL CONSTRAINT picks_kind_known CHECK (kind IN ('picked', 'returned')),
    quantity integer NOT NULL CONSTRAINT picks_quantity CHECK (quantity BETWEEN 1 AND 10000),
    actor text NOT NULL,
    at timestamptz NOT NULL
);
COMMENT ON TABLE picks IS 'What was taken out for a case and what came back untouched; never edited. Stock moves with the scans.';
CREATE INDEX picks_by_case ON picks (case_id, id);

CREATE TABLE energy_log (
    facility_id uuid NOT NULL CONSTRAINT energy_log_facility REFERENCES facilities,
    id uuid CONSTRAINT energy_log_pk PRIMARY KEY,
    case_id uuid NOT NULL CONSTRAINT energy_log_case REFERENCES cases,
    zone text NOT NULL CONSTRAINT energy_log_zone_length CHECK (char_length(zone) BETWEEN 1 AND 100),
    handpiece_scan_id uuid NOT NULL,
    generator text NOT NULL CONSTRAINT energy_log_generator_length CHECK (char_length(generator) BETWEEN 1 AND 100),
    power_percent numeric NOT NULL CONSTRAINT energy_log_power CHECK (power_percent BETWEEN 0 AND 100),
    litre_per_minute numeric CONSTRAINT energy_log_flow CHECK (litre_per_minute BETWEEN 0.01 AND 100),
    passes integer NOT NULL CONSTRAINT energy_log_passes CHECK (passes BETWEEN 0 AND 10000),
    active_seconds numeric NOT NULL CONSTRAINT energy_log_time CHECK (active_seconds BETWEEN 0 AND 86400),
    max_skin_celsius numeric CONSTRAINT energy_log_skin CHECK (max_skin_celsius BETWEEN 0 AND 100),
    instrument text CONSTRAINT energy_log_instrument_length CHECK (char_length(instrument) BETWEEN 1 AND 100),
    notes text CONSTRAINT energy_log_notes_length CHECK (char_length(notes) BETWEEN 1 AND 500),
    actor text NOT NULL,
    at timestamptz NOT NULL,
    CONSTRAINT energy_log_skin_names_its_instrument CHECK ((max_skin_celsius IS NULL) = (instrument IS NULL))
);
COMMENT ON TABLE energy_log IS 'Energy by zone; never edited. A skin temperature names the instrument that measured it: instruments differ by degrees.';
CREATE INDEX energy_log_by_case ON energy_log (case_id, id);

CREATE TABLE case_checks (
    facility_id uuid NOT NULL CONSTRAINT case_checks_facility REFERENCES facilities,
    id uuid CONSTRAINT case_checks_pk PRIMARY KEY,
    case_id uuid NOT NULL CONSTRAINT case_checks_case REFERENCES cases,
    kind text NOT NULL CONSTRAINT case_checks_kind_known CHECK (kind IN ('sign_in', 'time_out', 'sign_out', 'initial_count', 'closing_count')),
    lines jsonb NOT NULL,
    recorded_by uuid NOT NULL CONSTRAINT case_checks_recorder REFERENCES people,
    recorded_at timestamptz NOT NULL,
    confirmed_by uuid CONSTRAINT case_checks_confirmer REFERENCES people,
    confirmed_at timestamptz,
    CONSTRAINT case_checks_by_two_people CHECK (
        (confirmed_at IS NULL) = (confirmed_by IS NULL) AND (confirmed_by IS NULL OR confirmed_by <> recorded_by))
);
COMMENT ON TABLE case_checks IS 'The pauses of the checklist and the counts, each by two people.';
CREATE INDEX case_checks_by_case ON case_checks (case_id, id);

CREATE TABLE follow_up_rules (
    facility_id uuid NOT NULL CONSTRAINT follow_up_rules_facility REFERENCES facilities,
    id uuid CONSTRAINT follow_up_rules_pk PRIMARY KEY,
    name text NOT NULL CONSTRAINT follow_up_rules_name_length CHECK (char_length(name) BETWEEN 1 AND 100),
    days integer NOT NULL CONSTRAINT follow_up_rules_days CHECK (days BETWEEN 0 AND 3650),
    source text NOT NULL CONSTRAINT follow_up_rules_source_length CHECK (char_length(source) BETWEEN 3 AND 200),
    created_at timestamptz NOT NULL,
    CONSTRAINT follow_up_rules_name_once UNIQUE (facility_id, name)
);
COMMENT ON TABLE follow_up_rules IS 'The site''s own list of follow-ups, by days after a completed case; never edited.';

CREATE TABLE follow_ups (
    facility_id uuid NOT NULL CONSTRAINT follow_ups_facility REFERENCES facilities,
    case_id uuid NOT NULL CONSTRAINT follow_ups_case REFERENCES cases,
    rule_id uuid NOT NULL CONSTRAINT follow_ups_rule REFERENCES follow_up_rules,
    done_on date NOT NULL,
    outcome text NOT NULL CONSTRAINT follow_ups_outcome_length CHECK (char_length(outcome) BETWEEN 1 AND 500),
    actor text NOT NULL,
    at timestamptz NOT NULL,
    CONSTRAINT follow_ups_pk PRIMARY KEY (case_id, rule_id)
);
COMMENT ON TABLE follow_ups IS 'Follow-ups that were done; never edited. They come after the signature and leave the signed record as it is.';

CREATE TABLE facility_statuses (
    facility_id uuid NOT NULL CONSTRAINT facility_statuses_facility REFERENCES facilities,
    id uuid CONSTRAINT facility_statuses_pk PRIMARY KEY,
    status text NOT NULL CONSTRAINT facility_statuses_known CHECK (status IN ('user_facility', 'physician_office')),
    reason text NOT NULL CONSTRAINT facility_statuses_reason_length CHECK (char_length(reason) BETWEEN 3 AND 500),
    decided_by text NOT NULL,
    decided_at timestamptz NOT NULL
);
COMMENT ON TABLE facility_statuses IS 'What the facility is for device reports (21 CFR 803.3), who decided it and why; the newest counts, and without one nothing is assumed.';

CREATE TABLE adverse_events (
    facility_id uuid NOT NULL CONSTRAINT adverse_events_facility REFERENCES facilities,
    id uuid CONSTRAINT adverse_events_pk PRIMARY KEY,
    case_id uuid NOT NULL CONSTRAINT adverse_events_case REFERENCES cases,
    event text NOT NULL CONSTRAINT adverse_events_event_known CHECK (event IN ('death', 'serious_injury', 'malfunction')),
    happened_on date NOT NULL,
    aware_on date NOT NULL,
    device_scan_id uuid,
    manufacturer text CONSTRAINT adverse_events_manufacturer_length CHECK (char_length(manufacturer) BETWEEN 1 AND 200),
    patient_problem_code text CONSTRAINT adverse_events_patient_code_length CHECK (char_length(patient_problem_code) BETWEEN 1 AND 20),
    device_problem_code text CONSTRAINT adverse_events_device_code_length CHECK (char_length(device_problem_code) BETWEEN 1 AND 20),
    deliberation text NOT NULL CONSTRAINT adverse_events_deliberation_length CHECK (char_length(deliberation) BETWEEN 3 AND 1000),
    status text CONSTRAINT adverse_events_status_known CHECK (status IN ('user_facility', 'physician_office')),
    actor text NOT NULL,
    at timestamptz NOT NULL,
    CONSTRAINT adverse_events_aware_after CHECK (aware_on >= happened_on)
);
COMMENT ON TABLE adverse_events IS 'The event file (21 CFR 803.18), the deliberation included; never edited. A change is a further file.';
COMMENT ON COLUMN adverse_events.status IS 'What the facility was decided to be when the file was opened; none where nobody had decided.';
CREATE INDEX adverse_events_by_facility ON adverse_events (facility_id, id);
CREATE INDEX adverse_events_by_case ON adverse_events (case_id);

GRANT SELECT, INSERT ON preference_lists, picks, energy_log, case_checks, follow_up_rules, follow_ups, facility_statuses, adverse_events
    TO lotwarden_app;
GRANT UPDATE (confirmed_by, confirmed_at) ON case_checks TO lotwarden_app;

DO $$
DECLARE named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['preference_lists', 'picks', 'energy_log', 'case_checks', 'follow_up_rules', 'follow_ups', 'facility_statuses', 'adverse_events'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', named);
    END LOOP;
    FOREACH named IN ARRAY ARRAY['preference_lists', 'picks', 'energy_log', 'follow_up_rules', 'follow_ups', 'facility_statuses', 'adverse_events'] LOOP
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', named);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', named);
    END LOOP;
END $$;
