DROP INDEX refresh_tokens_by_session;
DROP INDEX sessions_revoked;
REVOKE UPDATE (password_hash) ON people FROM lotwarden_app;
ALTER TABLE site_policies DROP COLUMN idle_lock_minutes;
