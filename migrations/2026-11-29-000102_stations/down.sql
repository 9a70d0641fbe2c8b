DROP INDEX sessions_one_open_a_station;
ALTER TABLE sessions DROP COLUMN station_id;
REVOKE UPDATE (pin_hash, pin_failures) ON people FROM lotwarden_app;
ALTER TABLE people DROP COLUMN pin_failures, DROP COLUMN pin_hash;
DROP TABLE badges, station_credentials, pairing_codes;
