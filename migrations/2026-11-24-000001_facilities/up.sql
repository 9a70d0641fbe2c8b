-- Facilities, the people and stations in them, their sessions, and the site's settings.

CREATE FUNCTION current_facility() RETURNS uuid
    LANGUAGE sql STABLE PARALLEL SAFE
    RETURN nullif(current_setting('lotwarden.facility', true), '')::uuid;
COMMENT ON FUNCTION current_facility() IS
    'The facility whose rows this session may see; set by the service for every transaction. Nothing set, nothing seen.';

CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'rows of % are never changed or deleted', TG_TABLE_NAME
        USING ERRCODE = 'insufficient_privilege';
END $$;
COMMENT ON FUNCTION refuse_change() IS
    'Keeps append-only tables append-only for every role, the owner included.';

CREATE TABLE facilities (
    id uuid CONSTRAINT facilities_pk PRIMARY KEY,
    name text NOT NULL CONSTRAINT facilities_name_once UNIQUE
        CONSTRAINT facilities_name_length CHECK (char_length(name) BETWEEN 1 AND 200),
    zone text NOT NULL,
    wrapped_key bytea NOT NULL,
    created_at timestamptz NOT NULL
);
COMMENT ON TABLE facilities IS 'One administrative domain with its own ledger. Added by the owner role only.';
COMMENT ON COLUMN facilities.zone IS 'IANA time zone; decides which civil day an instant belongs to.';
COMMENT ON COLUMN facilities.wrapped_key IS 'The facility key, sealed under the master key that lives outside the database.';

CREATE TABLE site_policies (
    facility_id uuid CONSTRAINT site_policies_pk PRIMARY KEY
        CONSTRAINT site_policies_facility REFERENCES facilities,
    expires_soon_days integer NOT NULL CONSTRAINT site_policies_expires_soon CHECK (expires_soon_days BETWEEN 0 AND 3650),
    short_dated_days integer NOT NULL CONSTRAINT site_policies_short_dated CHECK (short_dated_days BETWEEN 0 AND 3650),
    keeps_stock boolean NOT NULL,
    version integer NOT NULL
);
COMMENT ON TABLE site_policies IS 'The site''s settings for the rules; each change is a ledger entry with old and new values.';

CREATE TABLE people (
    facility_id uuid NOT NULL CONSTRAINT people_facility REFERENCES facilities,
    id uuid CONSTRAINT people_pk PRIMARY KEY,
    login text NOT NULL CONSTRAINT people_login_form CHECK (login ~ '^[a-z0-9][a-z0-9._-]{1,63}$'),
    name text NOT NULL CONSTRAINT people_name_length CHECK (char_length(name) BETWEEN 1 AND 200),
    roles text[] NOT NULL CONSTRAINT people_roles_known CHECK (
        cardinality(roles) > 0 AND roles <@ ARRAY['circulator','practitioner','materials','compliance','administrator','inspector','integration']),
    password_hash text NOT NULL,
    ends_at timestamptz,
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    CONSTRAINT people_inspector_ends CHECK (NOT 'inspector' = ANY (roles) OR ends_at IS NOT NULL)
);
COMMENT ON TABLE people IS 'Named accounts. Never deleted and never reused (21 CFR 11.100); an account ends at ends_at.';
COMMENT ON COLUMN people.password_hash IS 'argon2id in PHC form.';
CREATE INDEX people_by_facility ON people (facility_id, id);

CREATE TABLE logins (
    login text CONSTRAINT logins_pk PRIMARY KEY,
    facility_id uuid NOT NULL CONSTRAINT logins_facility REFERENCES facilities,
    person_id uuid NOT NULL CONSTRAINT logins_person REFERENCES people
);
COMMENT ON TABLE logins IS
    'Finds the facility of a login before anyone is signed in, so it has no row-level security; it holds nothing but the login. A login is never given to a second person.';

CREATE TABLE sessions (
    facility_id uuid NOT NULL CONSTRAINT sessions_facility REFERENCES facilities,
    id uuid CONSTRAINT sessions_pk PRIMARY KEY,
    person_id uuid NOT NULL CONSTRAINT sessions_person REFERENCES people,
    created_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    revoked_at timestamptz,
    CONSTRAINT sessions_expire_later CHECK (expires_at > created_at)
);
COMMENT ON TABLE sessions IS 'One sign-in; all its refresh tokens end with it.';
CREATE INDEX sessions_by_person ON sessions (person_id);

CREATE TABLE refresh_tokens (
    facility_id uuid NOT NULL CONSTRAINT refresh_tokens_facility REFERENCES facilities,
    hash bytea CONSTRAINT refresh_tokens_pk PRIMARY KEY
        CONSTRAINT refresh_tokens_hash_length CHECK (octet_length(hash) = 32),
    session_id uuid NOT NULL CONSTRAINT refresh_tokens_session REFERENCES sessions,
    issued_at timestamptz NOT NULL,
    used_at timestamptz
);
COMMENT ON TABLE refresh_tokens IS
    'SHA-256 of each refresh token; used once. One that comes back after its use revokes the session.';

CREATE TABLE token_keys (
    kid text CONSTRAINT token_keys_pk PRIMARY KEY,
    public_key bytea NOT NULL,
    sealed_private_key bytea NOT NULL,
    created_at timestamptz NOT NULL
);
COMMENT ON TABLE token_keys IS 'Ed25519 keys that sign access tokens, the private half sealed under the master key. The newest signs.';

CREATE TABLE stations (
    facility_id uuid NOT NULL CONSTRAINT stations_facility REFERENCES facilities,
    id uuid CONSTRAINT stations_pk PRIMARY KEY,
    name text NOT NULL CONSTRAINT stations_name_length CHECK (char_length(name) BETWEEN 1 AND 100),
    created_at timestamptz NOT NULL,
    CONSTRAINT stations_name_once UNIQUE (facility_id, name)
);
COMMENT ON TABLE stations IS 'Scanning places known to the site (21 CFR 11.10(h)).';

CREATE TABLE locations (
    facility_id uuid NOT NULL CONSTRAINT locations_facility REFERENCES facilities,
    id uuid CONSTRAINT locations_pk PRIMARY KEY,
    name text NOT NULL CONSTRAINT locations_name_length CHECK (char_length(name) BETWEEN 1 AND 100),
    kind text NOT NULL CONSTRAINT locations_kind_known CHECK (kind IN ('room', 'shelf', 'dock', 'quarantine')),
    created_at timestamptz NOT NULL,
    CONSTRAINT locations_name_once UNIQUE (facility_id, name)
);
COMMENT ON TABLE locations IS 'Places where stock is kept or used.';
