DROP INDEX webhook_messages_waiting;
CREATE INDEX webhook_messages_waiting ON webhook_messages (facility_id, next_at) WHERE state = 'waiting';
