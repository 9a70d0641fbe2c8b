DO $$
DECLARE guarded text;
BEGIN
    FOR guarded IN SELECT tablename FROM pg_policies WHERE schemaname = 'public' AND policyname = 'own_facility' LOOP
        EXECUTE format('DROP POLICY own_facility ON %I', guarded);
        EXECUTE format('ALTER TABLE %I DISABLE ROW LEVEL SECURITY', guarded);
    END LOOP;
END $$;
REVOKE ALL ON ALL TABLES IN SCHEMA public FROM lotwarden_app;
REVOKE USAGE ON SCHEMA public FROM lotwarden_app;
