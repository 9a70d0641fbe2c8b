-- Paired stations, badges and PINs.

CREATE TABLE pairing_codes (
    facility_id uuid NOT NULL CONSTRAINT pairing_codes_facility REFERENCES facilities,
    hash bytea NOT NULL CONSTRAINT pairing_codes_hash_length CHECK (octet_length(hash) = 32),
    station_id uuid NOT NULL CONSTRAINT pairing_codes_station REFERENCES stations,
    made_at timestamptz NOT NULL,
    ends_at timestamptz NOT NULL,
    redeemed_at timestamptz,
    CONSTRAINT pairing_codes_pk PRIMARY KEY (facility_id, hash),
    CONSTRAINT pairing_codes_end_later CHECK (ends_at > made_at)
);
COMMENT ON TABLE pairing_codes IS
    'A code that pairs one station once, within ten minutes. Kept as HMAC-SHA-256 under the facility key, because it is short.';

CREATE TABLE station_credentials (
    facility_id uuid NOT NULL CONSTRAINT station_credentials_facility REFERENCES facilities,
    hash bytea CONSTRAINT station_credentials_pk PRIMARY KEY
        CONSTRAINT station_credentials_hash_length CHECK (octet_length(hash) = 32),
    station_id uuid NOT NULL CONSTRAINT station_credentials_station REFERENCES stations,
    paired_at timestamptz NOT NULL,
    ended_at timestamptz
);
COMMENT ON TABLE station_credentials IS
    'SHA-256 of what a paired station holds. It signs nobody in: it lets a badge sign in there, and held scans be delivered.';
CREATE UNIQUE INDEX station_credentials_one_open ON station_credentials (station_id) WHERE ended_at IS NULL;

CREATE TABLE badges (
    facility_id uuid NOT NULL CONSTRAINT badges_facility REFERENCES facilities,
    id uuid CONSTRAINT badges_pk PRIMARY KEY,
    person_id uuid NOT NULL CONSTRAINT badges_person REFERENCES people,
    lookup bytea NOT NULL CONSTRAINT badges_lookup_length CHECK (octet_length(lookup) = 32),
    given_by text NOT NULL,
    given_at timestamptz NOT NULL,
    ended_at timestamptz,
    CONSTRAINT badges_lookup_once UNIQUE (facility_id, lookup)
);
COMMENT ON TABLE badges IS
    'Badges given to people; a person has one at a time. What stands on it is kept as HMAC-SHA-256 under the facility key alone.';
CREATE UNIQUE INDEX badges_one_open ON badges (person_id) WHERE ended_at IS NULL;

ALTER TABLE people
    ADD COLUMN pin_hash text,
    ADD COLUMN pin_failures integer NOT NULL DEFAULT 0
        CONSTRAINT people_pin_failures_counted CHECK (pin_failures >= 0);
COMMENT ON COLUMN people.pin_hash IS 'argon2id in PHC form; none until the person chose a PIN.';
COMMENT ON COLUMN people.pin_failures IS
    'Wrong PINs since the last right one. Beyond ten the PIN is over and its owner chooses another with the password (NIST SP 800-63B-4, 3.2.2).';

ALTER TABLE sessions ADD COLUMN station_id uuid CONSTRAINT sessions_station REFERENCES stations;
COMMENT ON COLUMN sessions.station_id IS 'The paired station of a sign-in by badge and PIN; one open session a station.';
CREATE UNIQUE INDEX sessions_one_open_a_station ON sessions (station_id) WHERE station_id IS NOT NULL AND revoked_at IS NULL;

GRANT SELECT, INSERT ON pairing_codes, station_credentials, badges TO lotwarden_app;
GRANT UPDATE (redeemed_at) ON pairing_codes TO lotwarden_app;
GRANT UPDATE (ended_at) ON station_credentials, badges TO lotwarden_app;
GRANT UPDATE (pin_hash, pin_failures) ON people TO lotwarden_app;

DO $$
DECLARE guarded text;
BEGIN
    FOREACH guarded IN ARRAY ARRAY['pairing_codes', 'station_credentials', 'badges'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', guarded);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', guarded);
    END LOOP;
END $$;
