-- What the service tells others by itself: webhooks with their messages, mail, and reminders.

CREATE TABLE webhooks (
    facility_id uuid NOT NULL CONSTRAINT webhooks_facility REFERENCES facilities,
    id uuid CONSTRAINT webhooks_pk PRIMARY KEY,
    address text NOT NULL CONSTRAINT webhooks_address_length CHECK (char_length(address) BETWEEN 1 AND 500),
    events text[] NOT NULL CONSTRAINT webhooks_events_few CHECK (cardinality(events) BETWEEN 1 AND 20),
    sealed_secret bytea NOT NULL,
    added_by text NOT NULL,
    added_at timestamptz NOT NULL,
    ended_by text,
    ended_at timestamptz,
    version integer NOT NULL DEFAULT 1,
    CONSTRAINT webhooks_ended_whole CHECK ((ended_at IS NULL) = (ended_by IS NULL))
);
COMMENT ON TABLE webhooks IS 'Addresses that are told of events, signed as Standard Webhooks has it. No patient''s identity is ever sent.';
COMMENT ON COLUMN webhooks.sealed_secret IS 'The key of the signatures, sealed under the facility''s key.';
CREATE INDEX webhooks_by_facility ON webhooks (facility_id, id);

CREATE TABLE webhook_messages (
    facility_id uuid NOT NULL CONSTRAINT webhook_messages_facility REFERENCES facilities,
    id uuid CONSTRAINT webhook_messages_pk PRIMARY KEY,
    webhook_id uuid NOT NULL CONSTRAINT webhook_messages_webhook REFERENCES webhooks,
    event text NOT NULL,
    body text NOT NULL CONSTRAINT webhook_messages_body_length CHECK (char_length(body) <= 20000),
    created_at timestamptz NOT NULL,
    state text NOT NULL CONSTRAINT webhook_messages_state_known CHECK (state IN ('waiting', 'delivered', 'dead')),
    attempts integer NOT NULL DEFAULT 0,
    next_at timestamptz,
    last_answer text CONSTRAINT webhook_messages_answer_length CHECK (char_length(last_answer) <= 200),
    last_at timestamptz,
    version integer NOT NULL DEFAULT 1,
    CONSTRAINT webhook_messages_waiting_has_its_time CHECK ((state = 'waiting') = (next_at IS NOT NULL))
);
COMMENT ON TABLE webhook_messages IS 'Messages to webhooks, written in the commit of what they tell. One that is dead was given up after its last attempt; a person may send it again.';
COMMENT ON COLUMN webhook_messages.id IS 'The webhook-id: the same at each attempt, so that a receiver knows a message it has.';
COMMENT ON COLUMN webhook_messages.last_answer IS 'The status or what kept it from being sent; never what the receiver wrote.';
CREATE INDEX webhook_messages_waiting ON webhook_messages (facility_id, next_at) WHERE state = 'waiting';
CREATE INDEX webhook_messages_by_facility ON webhook_messages (facility_id, id);

CREATE TABLE mails (
    facility_id uuid NOT NULL CONSTRAINT mails_facility REFERENCES facilities,
    id uuid CONSTRAINT mails_pk PRIMARY KEY,
    event text NOT NULL,
    message text NOT NULL CONSTRAINT mails_message_length CHECK (char_length(message) <= 50000),
    created_at timestamptz NOT NULL,
    handed_at timestamptz
);
COMMENT ON TABLE mails IS 'The outbox: messages as RFC 5322 has them, written in the commit of what they tell, to the site''s own addresses. No patient''s identity stands in them.';
COMMENT ON COLUMN mails.handed_at IS 'When it was handed to a mail system.';
CREATE INDEX mails_to_hand_over ON mails (facility_id, id) WHERE handed_at IS NULL;
CREATE INDEX mails_by_facility ON mails (facility_id, id);

CREATE TABLE notice_reminders (
    facility_id uuid NOT NULL CONSTRAINT notice_reminders_facility REFERENCES facilities,
    task_id uuid NOT NULL CONSTRAINT notice_reminders_task REFERENCES notice_tasks,
    stage text NOT NULL CONSTRAINT notice_reminders_stage_known CHECK (stage IN ('soon', 'overdue')),
    due_at timestamptz NOT NULL,
    at timestamptz NOT NULL,
    CONSTRAINT notice_reminders_pk PRIMARY KEY (task_id, stage, due_at)
);
COMMENT ON TABLE notice_reminders IS 'Which due times of tasks somebody was reminded of; a new due time is reminded of anew. Never edited.';

GRANT SELECT, INSERT ON webhooks, webhook_messages, mails, notice_reminders TO lotwarden_app;
GRANT UPDATE (ended_by, ended_at, version) ON webhooks TO lotwarden_app;
GRANT UPDATE (state, attempts, next_at, last_answer, last_at, version) ON webhook_messages TO lotwarden_app;
GRANT UPDATE (handed_at) ON mails TO lotwarden_app;

DO $$
DECLARE named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['webhooks', 'webhook_messages', 'mails', 'notice_reminders'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', named);
    END LOOP;
END $$;
CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON notice_reminders FOR EACH ROW EXECUTE FUNCTION refuse_change();
ALTER TABLE notice_reminders ENABLE ALWAYS TRIGGER no_change;
CREATE TRIGGER no_truncate BEFORE TRUNCATE ON notice_reminders EXECUTE FUNCTION refuse_change();
ALTER TABLE notice_reminders ENABLE ALWAYS TRIGGER no_truncate;
