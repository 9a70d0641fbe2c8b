-- A webhook's messages wait for themselves: a receiver that is gone does not keep the others waiting.

DROP INDEX webhook_messages_waiting;
CREATE INDEX webhook_messages_waiting ON webhook_messages (webhook_id, next_at) WHERE state = 'waiting';
