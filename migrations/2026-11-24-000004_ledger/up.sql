-- The ledger, its head, what may be disclosed of it, and the answers to repeated requests.

CREATE TABLE ledger_heads (
    facility_id uuid CONSTRAINT ledger_heads_pk PRIMARY KEY
        CONSTRAINT ledger_heads_facility REFERENCES facilities,
    size bigint NOT NULL,
    hash bytea NOT NULL CONSTRAINT ledger_heads_hash_length CHECK (octet_length(hash) = 32),
    at timestamptz
) WITH (fillfactor = 10);
COMMENT ON TABLE ledger_heads IS 'The newest state of each ledger. Every commit moves it from the size it was read at; a second writer that lost the race writes nothing.';

CREATE TABLE ledger_entries (
    facility_id uuid NOT NULL,
    position bigint NOT NULL CONSTRAINT ledger_entries_position CHECK (position >= 0),
    at timestamptz NOT NULL,
    action text NOT NULL,
    actor text NOT NULL,
    subject text NOT NULL,
    case_id uuid,
    hash bytea NOT NULL CONSTRAINT ledger_entries_hash_length CHECK (octet_length(hash) = 32),
    body bytea NOT NULL CONSTRAINT ledger_entries_body_length CHECK (octet_length(body) <= 65535),
    CONSTRAINT ledger_entries_pk PRIMARY KEY (facility_id, position)
);
COMMENT ON TABLE ledger_entries IS 'The audit trail (21 CFR 11.10(e)); the other columns repeat what the body says, for look-up.';
COMMENT ON COLUMN ledger_entries.body IS 'Canonical JSON, the exact bytes that are hashed.';
COMMENT ON COLUMN ledger_entries.hash IS 'SHA-256(0x00 || body): the link of the chain and the leaf of RFC 9162.';
-- A case's scans know the positions of their entries (scans.position).
CREATE INDEX ledger_entries_by_case ON ledger_entries (case_id, position)
    WHERE case_id IS NOT NULL AND action <> 'record_scan';
CREATE INDEX ledger_entries_by_subject ON ledger_entries (facility_id, subject) WHERE case_id IS NULL;
-- An actor's text holds an id, so it is one facility's.
CREATE INDEX ledger_entries_by_actor ON ledger_entries (actor, position);

CREATE TABLE disclosures (
    facility_id uuid NOT NULL CONSTRAINT disclosures_facility REFERENCES facilities,
    position bigint NOT NULL,
    name text NOT NULL,
    patient_id uuid NOT NULL CONSTRAINT disclosures_patient REFERENCES patients,
    sealed bytea NOT NULL,
    CONSTRAINT disclosures_pk PRIMARY KEY (facility_id, position, name)
);
COMMENT ON TABLE disclosures IS
    'Salt and value behind each commitment of an entry, sealed under the patient''s key. With answers the only rows that may be deleted: the chain verifies without them.';

CREATE TABLE parcels (
    facility_id uuid NOT NULL CONSTRAINT parcels_facility REFERENCES facilities,
    position bigint NOT NULL,
    attachments bytea NOT NULL,
    with_identity boolean NOT NULL,
    CONSTRAINT parcels_pk PRIMARY KEY (facility_id, position)
);
COMMENT ON TABLE parcels IS
    'What a parcel carries beside the entries, as it was at the export: cases move on, and the export entry binds these bytes. Never edited; the same file can be written again.';
COMMENT ON COLUMN parcels.position IS 'The export_parcel entry, which is the parcel''s last.';
COMMENT ON COLUMN parcels.attachments IS 'Canonical JSON with the members cases, people and signatures. No patient identity.';
COMMENT ON COLUMN parcels.with_identity IS 'Whether the parcel discloses the values behind the entries'' commitments.';

CREATE TABLE answers (
    facility_id uuid NOT NULL,
    request uuid CONSTRAINT answers_pk PRIMARY KEY,
    fingerprint bytea NOT NULL CONSTRAINT answers_fingerprint_length CHECK (octet_length(fingerprint) = 32),
    status smallint NOT NULL,
    body bytea NOT NULL,
    etag text,
    at timestamptz NOT NULL
);
COMMENT ON TABLE answers IS 'The answer to each Idempotency-Key, written in the commit it speaks of; kept at least 72 hours.';
COMMENT ON COLUMN answers.request IS 'The first 128 bits of SHA-256 over facility, caller and key.';

CREATE FUNCTION head_only_advances() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.facility_id <> OLD.facility_id OR NEW.size <= OLD.size OR NEW.at < OLD.at THEN
        RAISE EXCEPTION 'a ledger head only advances' USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END $$;
COMMENT ON FUNCTION head_only_advances() IS 'Refuses a head that shrinks or steps back in time.';
CREATE TRIGGER head_only_advances BEFORE UPDATE ON ledger_heads FOR EACH ROW EXECUTE FUNCTION head_only_advances();
ALTER TABLE ledger_heads ENABLE ALWAYS TRIGGER head_only_advances;
CREATE TRIGGER no_delete BEFORE DELETE ON ledger_heads FOR EACH ROW EXECUTE FUNCTION refuse_change();
ALTER TABLE ledger_heads ENABLE ALWAYS TRIGGER no_delete;
CREATE TRIGGER no_truncate BEFORE TRUNCATE ON ledger_heads EXECUTE FUNCTION refuse_change();
ALTER TABLE ledger_heads ENABLE ALWAYS TRIGGER no_truncate;

DO $$
DECLARE append_only text;
BEGIN
    FOREACH append_only IN ARRAY ARRAY['ledger_entries', 'scans', 'shelf_movements', 'strikes', 'signatures', 'receipts', 'receipt_lines', 'parcels'] LOOP
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', append_only);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', append_only);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', append_only);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', append_only);
    END LOOP;
END $$;
