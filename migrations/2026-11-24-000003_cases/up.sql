-- Patients, cases, scans, uses, strikes, signatures and holds.

CREATE TABLE patients (
    facility_id uuid NOT NULL CONSTRAINT patients_facility REFERENCES facilities,
    id uuid CONSTRAINT patients_pk PRIMARY KEY,
    lookup bytea NOT NULL CONSTRAINT patients_lookup_length CHECK (octet_length(lookup) = 32),
    wrapped_key bytea NOT NULL,
    sealed bytea NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT patients_lookup_once UNIQUE (facility_id, lookup)
);
COMMENT ON TABLE patients IS 'Identity sealed with AES-256-GCM under a key of the patient''s own, itself wrapped by the facility key.';
COMMENT ON COLUMN patients.lookup IS 'HMAC-SHA-256 of the record number under the facility key.';

CREATE TABLE cases (
    facility_id uuid NOT NULL CONSTRAINT cases_facility REFERENCES facilities,
    id uuid CONSTRAINT cases_pk PRIMARY KEY,
    patient_id uuid NOT NULL CONSTRAINT cases_patient REFERENCES patients,
    procedure_name text NOT NULL CONSTRAINT cases_procedure_length CHECK (char_length(procedure_name) BETWEEN 1 AND 200),
    location_id uuid NOT NULL CONSTRAINT cases_location REFERENCES locations,
    practitioner_id uuid NOT NULL CONSTRAINT cases_practitioner REFERENCES people,
    scheduled_for timestamptz NOT NULL,
    status text NOT NULL,
    started_at timestamptz,
    ended_at timestamptz,
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    CONSTRAINT cases_status_and_times CHECK (
        (status = 'preparation' AND started_at IS NULL AND ended_at IS NULL)
        OR (status = 'in-progress' AND started_at IS NOT NULL AND ended_at IS NULL)
        OR (status = 'completed' AND started_at IS NOT NULL AND ended_at IS NOT NULL)
        OR (status = 'not-done' AND started_at IS NULL AND ended_at IS NOT NULL))
);
COMMENT ON TABLE cases IS 'One procedure on one patient; states as in HL7 FHIR Procedure.status.';
CREATE INDEX cases_by_facility ON cases (facility_id, id);
CREATE INDEX cases_by_schedule ON cases (facility_id, scheduled_for);

CREATE TABLE scans (
    facility_id uuid NOT NULL,
    case_id uuid NOT NULL,
    id uuid NOT NULL,
    station_id uuid,
    actor text NOT NULL,
    occurred_at timestamptz NOT NULL,
    received_at timestamptz NOT NULL,
    symbology text,
    text text,
    form text,
    verdict text NOT NULL CONSTRAINT scans_verdict_known CHECK (verdict IN ('taken', 'look', 'stop', 'unread')),
    findings jsonb NOT NULL,
    product_id uuid,
    lot_id uuid,
    unit_id uuid,
    first_scan_id uuid,
    position bigint NOT NULL,
    CONSTRAINT scans_pk PRIMARY KEY (case_id, id),
    CONSTRAINT scans_unread_is_sealed CHECK ((verdict = 'unread') = (text IS NULL))
);
COMMENT ON TABLE scans IS
    'Every reading that reached the service, stopped and unread ones too; never edited. No foreign keys: see shelf_movements.';
COMMENT ON COLUMN scans.text IS
    'The characters as scanned. Unread ones may be a wristband or a typed name: they stand sealed in disclosures instead.';
COMMENT ON COLUMN scans.position IS 'The ledger entry of this scan.';

CREATE INDEX scans_stopped_by_lot ON scans (lot_id, unit_id) WHERE verdict = 'stop' AND lot_id IS NOT NULL;
-- A piece can be stopped under another lot than the one on its record.
CREATE INDEX scans_stopped_by_unit ON scans (unit_id) WHERE verdict = 'stop' AND unit_id IS NOT NULL;

CREATE TABLE uses (
    facility_id uuid NOT NULL,
    scan_id uuid NOT NULL,
    case_id uuid NOT NULL,
    product_id uuid NOT NULL,
    lot_id uuid NOT NULL,
    unit_id uuid,
    drawn_from uuid,
    disposition text NOT NULL CONSTRAINT uses_disposition_known CHECK (disposition IN (
        'used', 'wasted', 'opened_unused', 'returned', 'failed')),
    disposition_reason text CONSTRAINT uses_reason_length CHECK (char_length(disposition_reason) BETWEEN 1 AND 500),
    taken_at timestamptz NOT NULL,
    struck_at timestamptz,
    version integer NOT NULL,
    CONSTRAINT uses_pk PRIMARY KEY (lot_id, scan_id)
);
COMMENT ON TABLE uses IS 'What a taken scan put on a case, with its disposition. Found by lot: a scan names its own. No foreign keys: see shelf_movements.';
COMMENT ON COLUMN uses.drawn_from IS 'The place whose stock it left; none when the site had no such stock on record.';
-- Where-used by serial reads the uses of the piece and those that name no piece, never the rest of
-- a product's; each use stands in one of these two.
CREATE INDEX uses_by_unit ON uses (unit_id) WHERE unit_id IS NOT NULL;
CREATE INDEX uses_without_unit ON uses (lot_id) WHERE unit_id IS NULL;

CREATE VIEW movements WITH (security_invoker = true) AS
    SELECT facility_id, lot_id, id, unit_id, location_id, kind, quantity, cause_id, at FROM shelf_movements
    UNION ALL
    SELECT facility_id, lot_id, scan_id, unit_id, drawn_from, 'used', -1, scan_id, taken_at FROM uses WHERE drawn_from IS NOT NULL;
COMMENT ON VIEW movements IS
    'Every change of stock. A use is its own movement: its lot, place and time are never changed.';

CREATE TABLE unit_claims (
    facility_id uuid NOT NULL,
    unit_id uuid CONSTRAINT unit_claims_once PRIMARY KEY,
    case_id uuid NOT NULL,
    scan_id uuid NOT NULL,
    taken_at timestamptz NOT NULL
);
COMMENT ON TABLE unit_claims IS
    'Single use itself: a single-use piece can be claimed once. The claim goes when the scan is struck or the piece is returned unopened.';

CREATE TABLE strikes (
    facility_id uuid NOT NULL CONSTRAINT strikes_facility REFERENCES facilities,
    scan_id uuid CONSTRAINT strikes_once PRIMARY KEY,
    case_id uuid NOT NULL CONSTRAINT strikes_case REFERENCES cases,
    actor text NOT NULL,
    reason text NOT NULL CONSTRAINT strikes_reason_length CHECK (char_length(reason) BETWEEN 3 AND 500),
    struck_at timestamptz NOT NULL,
    CONSTRAINT strikes_scan FOREIGN KEY (case_id, scan_id) REFERENCES scans (case_id, id)
);
COMMENT ON TABLE strikes IS 'Scans taken back with a reason; the scan stays visible.';

CREATE TABLE signatures (
    facility_id uuid NOT NULL CONSTRAINT signatures_facility REFERENCES facilities,
    id uuid CONSTRAINT signatures_pk PRIMARY KEY,
    case_id uuid NOT NULL CONSTRAINT signatures_case REFERENCES cases,
    person_id uuid NOT NULL CONSTRAINT signatures_person REFERENCES people,
    name text NOT NULL,
    meaning text NOT NULL CONSTRAINT signatures_meaning_length CHECK (char_length(meaning) BETWEEN 1 AND 200),
    record_hash bytea NOT NULL CONSTRAINT signatures_hash_length CHECK (octet_length(record_hash) = 32),
    signed_at timestamptz NOT NULL,
    position bigint NOT NULL
);
COMMENT ON TABLE signatures IS 'Printed name, time, meaning, and the hash of the record signed (21 CFR 11.50, 11.70).';
CREATE INDEX signatures_by_case ON signatures (case_id);

CREATE TABLE holds (
    facility_id uuid NOT NULL CONSTRAINT holds_facility REFERENCES facilities,
    id uuid CONSTRAINT holds_pk PRIMARY KEY,
    scope text NOT NULL,
    product_id uuid NOT NULL CONSTRAINT holds_product REFERENCES products,
    lot_id uuid CONSTRAINT holds_lot REFERENCES lots,
    unit_id uuid CONSTRAINT holds_unit REFERENCES units,
    reason text NOT NULL CONSTRAINT holds_reason_length CHECK (char_length(reason) BETWEEN 3 AND 500),
    placed_by text NOT NULL,
    placed_at timestamptz NOT NULL,
    lifted_by text,
    lifted_at timestamptz,
    lift_reason text CONSTRAINT holds_lift_reason_length CHECK (char_length(lift_reason) BETWEEN 3 AND 500),
    version integer NOT NULL DEFAULT 1,
    CONSTRAINT holds_scope_names_its_target CHECK (
        (scope = 'product' AND lot_id IS NULL AND unit_id IS NULL)
        OR (scope = 'lot' AND lot_id IS NOT NULL AND unit_id IS NULL)
        OR (scope = 'unit' AND lot_id IS NULL AND unit_id IS NOT NULL)),
    CONSTRAINT holds_lifted_whole CHECK (
        (lifted_at IS NULL) = (lifted_by IS NULL) AND (lifted_at IS NULL) = (lift_reason IS NULL))
);
COMMENT ON TABLE holds IS 'A bar on a product, lot or piece; lifted by materials or compliance with a reason.';
CREATE INDEX holds_in_force ON holds (product_id) WHERE lifted_at IS NULL;
