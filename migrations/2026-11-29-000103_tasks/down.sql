DROP TABLE access_reviews, emergency_accesses, task_settlements;
DROP INDEX scans_held_and_stopped;
ALTER TABLE scans DROP COLUMN held_session_id;
