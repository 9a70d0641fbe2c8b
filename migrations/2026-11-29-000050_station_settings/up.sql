-- What a station's scanner sends, so that its readings are taken as they are meant.

ALTER TABLE stations
    ADD COLUMN separator text NOT NULL DEFAULT 'raw'
        CONSTRAINT stations_separator_form
        CHECK (separator ~ '^(raw|ctrl\+\]|alt\+029|f([1-9]|1[0-2])|text:[^[:space:][:cntrl:]]{1,8})$'),
    ADD COLUMN version integer NOT NULL DEFAULT 1
        CONSTRAINT stations_version_counts CHECK (version >= 1);
COMMENT ON COLUMN stations.separator IS
    'What stands for GS (ASCII 29), the separator of GS1 labels: raw for GS itself, a key, or the characters behind text:.';
COMMENT ON COLUMN stations.version IS 'Counts the changes; the entity tag.';

GRANT UPDATE (name, separator, version) ON stations TO lotwarden_app;
