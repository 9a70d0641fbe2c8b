ALTER TABLE signatures DROP COLUMN record_version;
