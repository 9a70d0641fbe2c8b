-- Scans that a station held, emergency access, access reviews, and what a person has to settle.

ALTER TABLE scans ADD COLUMN held_session_id uuid;
COMMENT ON COLUMN scans.held_session_id IS
    'Set for a scan that its station held while it could not reach the service: the session of who was signed in there then.';
CREATE INDEX scans_held_and_stopped ON scans (facility_id, id) WHERE held_session_id IS NOT NULL AND verdict = 'stop';

CREATE TABLE task_settlements (
    facility_id uuid NOT NULL CONSTRAINT task_settlements_facility REFERENCES facilities,
    scan_id uuid CONSTRAINT task_settlements_once PRIMARY KEY,
    settled_by text NOT NULL,
    settled_at timestamptz NOT NULL,
    note text NOT NULL CONSTRAINT task_settlements_note_length CHECK (char_length(note) BETWEEN 3 AND 500)
);
COMMENT ON TABLE task_settlements IS
    'What a person did about a held scan that turned out to be a stop. The scan itself is the task: it is open until this row is there.';

CREATE TABLE emergency_accesses (
    facility_id uuid NOT NULL CONSTRAINT emergency_accesses_facility REFERENCES facilities,
    id uuid CONSTRAINT emergency_accesses_pk PRIMARY KEY,
    person_id uuid NOT NULL CONSTRAINT emergency_accesses_person REFERENCES people,
    case_id uuid NOT NULL CONSTRAINT emergency_accesses_case REFERENCES cases,
    reason text NOT NULL CONSTRAINT emergency_accesses_reason_length CHECK (char_length(reason) BETWEEN 10 AND 500),
    taken_at timestamptz NOT NULL,
    ends_at timestamptz NOT NULL,
    reviewed_by text,
    reviewed_at timestamptz,
    finding text CONSTRAINT emergency_accesses_finding_length CHECK (char_length(finding) BETWEEN 3 AND 500),
    CONSTRAINT emergency_accesses_bounded CHECK (ends_at > taken_at AND ends_at <= taken_at + interval '4 hours'),
    CONSTRAINT emergency_accesses_review_whole CHECK (
        (reviewed_by IS NULL AND reviewed_at IS NULL AND finding IS NULL)
        OR (reviewed_by IS NOT NULL AND reviewed_at IS NOT NULL AND finding IS NOT NULL))
);
COMMENT ON TABLE emergency_accesses IS
    'Access to one case that a person took at once, with a reason, for a bounded time (45 CFR 164.312(a)(2)(ii)); open for review until somebody else''s finding is there.';
CREATE INDEX emergency_accesses_in_force ON emergency_accesses (facility_id, ends_at);
CREATE INDEX emergency_accesses_open ON emergency_accesses (facility_id, id) WHERE reviewed_at IS NULL;

CREATE TABLE access_reviews (
    facility_id uuid NOT NULL CONSTRAINT access_reviews_facility REFERENCES facilities,
    id uuid CONSTRAINT access_reviews_pk PRIMARY KEY,
    person_id uuid NOT NULL CONSTRAINT access_reviews_person REFERENCES people,
    reviewed_by text NOT NULL,
    reviewed_at timestamptz NOT NULL,
    old_roles text[] NOT NULL,
    new_roles text[] NOT NULL CONSTRAINT access_reviews_only_less CHECK (new_roles <@ old_roles AND cardinality(new_roles) > 0),
    note text NOT NULL CONSTRAINT access_reviews_note_length CHECK (char_length(note) BETWEEN 3 AND 500)
);
COMMENT ON TABLE access_reviews IS
    'Periodic reviews of who holds what; a review keeps roles or takes them away, and never gives any.';
CREATE INDEX access_reviews_by_person ON access_reviews (person_id, reviewed_at);

GRANT SELECT, INSERT ON task_settlements, emergency_accesses, access_reviews TO lotwarden_app;
GRANT UPDATE (reviewed_by, reviewed_at, finding) ON emergency_accesses TO lotwarden_app;

DO $$
DECLARE guarded text;
BEGIN
    FOREACH guarded IN ARRAY ARRAY['task_settlements', 'emergency_accesses', 'access_reviews'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', guarded);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', guarded);
    END LOOP;
END $$;

DO $$
DECLARE kept text;
BEGIN
    FOREACH kept IN ARRAY ARRAY['task_settlements', 'access_reviews'] LOOP
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', kept);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', kept);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', kept);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', kept);
    END LOOP;
END $$;
