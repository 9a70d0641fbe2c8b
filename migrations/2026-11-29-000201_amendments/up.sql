-- Corrections of signed cases.

CREATE TABLE amendments (
    facility_id uuid NOT NULL CONSTRAINT amendments_facility REFERENCES facilities,
    id uuid CONSTRAINT amendments_pk PRIMARY KEY,
    case_id uuid NOT NULL CONSTRAINT amendments_case REFERENCES cases,
    part text NOT NULL CONSTRAINT amendments_part_known CHECK (part IN (
        'record', 'scan', 'mix', 'dose', 'gas_use', 'energy', 'equipment', 'check', 'pick')),
    part_id uuid NOT NULL,
    field text CONSTRAINT amendments_field_length CHECK (char_length(field) BETWEEN 1 AND 40),
    old_value text,
    new_value text NOT NULL CONSTRAINT amendments_new_value_length CHECK (char_length(new_value) BETWEEN 1 AND 1000),
    reason text NOT NULL CONSTRAINT amendments_reason_length CHECK (char_length(reason) BETWEEN 3 AND 500),
    record_hash bytea NOT NULL CONSTRAINT amendments_record_hash_length CHECK (octet_length(record_hash) = 32),
    person_id uuid NOT NULL CONSTRAINT amendments_person REFERENCES people,
    name text NOT NULL,
    meaning text NOT NULL CONSTRAINT amendments_meaning_length CHECK (char_length(meaning) BETWEEN 1 AND 200),
    amendment_hash bytea NOT NULL CONSTRAINT amendments_hash_length CHECK (octet_length(amendment_hash) = 32),
    signed_at timestamptz NOT NULL,
    position bigint NOT NULL,
    CONSTRAINT amendments_old_value_of_a_field CHECK (field IS NOT NULL OR old_value IS NULL)
);
COMMENT ON TABLE amendments IS
    'Corrections of a signed case (21 CFR 11.10(e)), each signed (11.50); never edited, and the signed record stays as it is.';
COMMENT ON COLUMN amendments.part_id IS 'The scan, mix, dose, ...; the case itself for the record as a whole.';
COMMENT ON COLUMN amendments.field IS 'Which value of the part; none for an addition to it.';
COMMENT ON COLUMN amendments.old_value IS 'What stood before, as the signer read it; none where nothing was recorded.';
COMMENT ON COLUMN amendments.record_hash IS 'The record that is amended: the hash of its newest signature.';
COMMENT ON COLUMN amendments.amendment_hash IS 'SHA-256 of the canonical amendment, record_hash included (21 CFR 11.70).';
CREATE INDEX amendments_by_case ON amendments (case_id, id);

GRANT SELECT, INSERT ON amendments TO lotwarden_app;
ALTER TABLE amendments ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_facility ON amendments TO lotwarden_app
    USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()));
CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON amendments FOR EACH ROW EXECUTE FUNCTION refuse_change();
ALTER TABLE amendments ENABLE ALWAYS TRIGGER no_change;
CREATE TRIGGER no_truncate BEFORE TRUNCATE ON amendments EXECUTE FUNCTION refuse_change();
ALTER TABLE amendments ENABLE ALWAYS TRIGGER no_truncate;
