ALTER TABLE preference_lists DROP COLUMN kinds, DROP COLUMN equipment;
