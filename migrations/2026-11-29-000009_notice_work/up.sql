-- The work that a confirmed notice asks for: tasks, and what was done.

CREATE TABLE notice_tasks (
    facility_id uuid NOT NULL CONSTRAINT notice_tasks_facility REFERENCES facilities,
    id uuid CONSTRAINT notice_tasks_pk PRIMARY KEY,
    notice_id uuid NOT NULL CONSTRAINT notice_tasks_notice REFERENCES notices,
    kind text NOT NULL CONSTRAINT notice_tasks_kind_known CHECK (kind IN (
        'quarantine', 'patient_review', 'outreach', 'disposal', 'effectiveness', 'answer', 'closing')),
    owner_id uuid CONSTRAINT notice_tasks_owner REFERENCES people,
    due_at timestamptz NOT NULL,
    state text NOT NULL CONSTRAINT notice_tasks_state_known CHECK (state IN ('open', 'done', 'not_needed')),
    ended_by text,
    ended_at timestamptz,
    remark text CONSTRAINT notice_tasks_remark_length CHECK (char_length(remark) BETWEEN 3 AND 500),
    version integer NOT NULL DEFAULT 1,
    CONSTRAINT notice_tasks_kind_once UNIQUE (notice_id, kind),
    CONSTRAINT notice_tasks_ended_whole CHECK (
        (state = 'open') = (ended_at IS NULL) AND (ended_at IS NULL) = (ended_by IS NULL)),
    CONSTRAINT notice_tasks_not_needed_says_why CHECK (state <> 'not_needed' OR remark IS NOT NULL)
);
COMMENT ON TABLE notice_tasks IS 'What has to be done for a notice, by whom and until when; made when it is confirmed, opened again by an update.';
CREATE INDEX notice_tasks_open ON notice_tasks (facility_id, due_at, id) WHERE state = 'open';

CREATE TABLE notice_events (
    facility_id uuid NOT NULL CONSTRAINT notice_events_facility REFERENCES facilities,
    id uuid CONSTRAINT notice_events_pk PRIMARY KEY,
    notice_id uuid NOT NULL CONSTRAINT notice_events_notice REFERENCES notices,
    kind text NOT NULL,
    lot_id uuid CONSTRAINT notice_events_lot REFERENCES lots,
    patient_id uuid CONSTRAINT notice_events_patient REFERENCES patients,
    body jsonb NOT NULL,
    actor text NOT NULL,
    at timestamptz NOT NULL,
    position bigint NOT NULL,
    CONSTRAINT notice_events_kind_names_its_subject CHECK (
        (kind IN ('count', 'disposal', 'explanation') AND lot_id IS NOT NULL AND patient_id IS NULL)
        OR (kind IN ('review', 'outreach', 'check') AND patient_id IS NOT NULL AND lot_id IS NULL)
        OR (kind IN ('sample', 'answer', 'signature') AND lot_id IS NULL AND patient_id IS NULL))
);
COMMENT ON TABLE notice_events IS 'What was counted, decided, sent, answered and signed for a notice, in its order; never edited. A later count or decision stands in the place of an earlier one.';
COMMENT ON COLUMN notice_events.position IS 'The ledger entry of it.';
CREATE INDEX notice_events_by_notice ON notice_events (notice_id, id);

ALTER TABLE shelf_movements DROP CONSTRAINT shelf_movements_kind_known;
ALTER TABLE shelf_movements ADD CONSTRAINT shelf_movements_kind_known
    CHECK (kind IN ('received', 'used', 'returned', 'sent_back', 'destroyed'));
ALTER TABLE shelf_movements DROP CONSTRAINT shelf_movements_sign;
ALTER TABLE shelf_movements ADD CONSTRAINT shelf_movements_sign
    CHECK ((kind IN ('used', 'sent_back', 'destroyed')) = (quantity < 0) AND quantity <> 0);

GRANT SELECT, INSERT ON notice_tasks, notice_events TO lotwarden_app;
GRANT UPDATE (owner_id, due_at, state, ended_by, ended_at, remark, version) ON notice_tasks TO lotwarden_app;

DO $$
DECLARE guarded text;
BEGIN
    FOREACH guarded IN ARRAY ARRAY['notice_tasks', 'notice_events'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', guarded);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', guarded);
    END LOOP;
END $$;
CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON notice_events FOR EACH ROW EXECUTE FUNCTION refuse_change();
ALTER TABLE notice_events ENABLE ALWAYS TRIGGER no_change;
CREATE TRIGGER no_truncate BEFORE TRUNCATE ON notice_events EXECUTE FUNCTION refuse_change();
ALTER TABLE notice_events ENABLE ALWAYS TRIGGER no_truncate;
