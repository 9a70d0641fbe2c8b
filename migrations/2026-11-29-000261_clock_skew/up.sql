-- How far a station's clock may be off before its held scans say so.

ALTER TABLE site_policies ADD COLUMN clock_skew_seconds integer NOT NULL DEFAULT 120
    CONSTRAINT site_policies_clock_skew CHECK (clock_skew_seconds BETWEEN 1 AND 3600);
COMMENT ON COLUMN site_policies.clock_skew_seconds IS
    'Seconds that a station''s clock may differ from the service''s when it delivers held scans; beyond them each scan says that its time may be wrong.';
GRANT UPDATE (clock_skew_seconds) ON site_policies TO lotwarden_app;
