-- What changing a password, revoking sessions and the idle lock need.

ALTER TABLE site_policies ADD COLUMN idle_lock_minutes integer NOT NULL DEFAULT 15
    CONSTRAINT site_policies_idle_lock CHECK (idle_lock_minutes BETWEEN 1 AND 60);
COMMENT ON COLUMN site_policies.idle_lock_minutes IS
    'Minutes without use after which a page locks and a session is not renewed; one hour at most (NIST SP 800-63B-4, 2.2.3).';
GRANT UPDATE (idle_lock_minutes) ON site_policies TO lotwarden_app;

GRANT UPDATE (password_hash) ON people TO lotwarden_app;

CREATE INDEX sessions_revoked ON sessions (facility_id, revoked_at) WHERE revoked_at IS NOT NULL;
COMMENT ON INDEX sessions_revoked IS
    'Each process asks which sessions ended while their access tokens may still be good.';
CREATE INDEX refresh_tokens_by_session ON refresh_tokens (session_id);
