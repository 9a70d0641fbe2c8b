-- What a signature is over: the record of a case grew parts, and the older signatures stay checkable.

ALTER TABLE signatures ADD COLUMN record_version smallint NOT NULL DEFAULT 1
    CONSTRAINT signatures_record_version_known CHECK (record_version IN (1, 2));
ALTER TABLE signatures ALTER COLUMN record_version DROP DEFAULT;
COMMENT ON COLUMN signatures.record_version IS
    'The form of the record whose hash was signed: 1 is the case with its scans, 2 the case with everything on it.';
