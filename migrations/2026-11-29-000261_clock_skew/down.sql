ALTER TABLE site_policies DROP COLUMN clock_skew_seconds;
