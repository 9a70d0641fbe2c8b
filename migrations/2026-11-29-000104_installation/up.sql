-- Which master key this database is sealed with.

CREATE TABLE installation (
    only_row boolean CONSTRAINT installation_pk PRIMARY KEY DEFAULT true
        CONSTRAINT installation_one_row CHECK (only_row),
    key_check bytea NOT NULL CONSTRAINT installation_key_check_length CHECK (octet_length(key_check) = 32),
    since timestamptz NOT NULL
);
COMMENT ON TABLE installation IS
    'One row. Written by the owner role alone, when the first process starts and when the master key is rotated.';
COMMENT ON COLUMN installation.key_check IS
    'HMAC-SHA-256 of a fixed text under the master key: another key is refused instead of being taken for a new one.';
