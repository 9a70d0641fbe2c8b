DROP TABLE notice_reminders;
DROP TABLE mails;
DROP TABLE webhook_messages;
DROP TABLE webhooks;
