REVOKE UPDATE (name, separator, version) ON stations FROM lotwarden_app;
ALTER TABLE stations DROP COLUMN version, DROP COLUMN separator;
