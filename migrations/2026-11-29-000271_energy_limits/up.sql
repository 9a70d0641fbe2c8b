-- The site's settings and end points of energy, each with its source.

CREATE TABLE energy_limits (
    facility_id uuid NOT NULL CONSTRAINT energy_limits_facility REFERENCES facilities,
    id uuid CONSTRAINT energy_limits_pk PRIMARY KEY,
    value text NOT NULL CONSTRAINT energy_limits_value_known CHECK (value IN (
        'power_percent', 'litre_per_minute', 'passes', 'active_seconds', 'max_skin_celsius')),
    zone text CONSTRAINT energy_limits_zone_length CHECK (char_length(zone) BETWEEN 1 AND 100),
    thermometer_type text CONSTRAINT energy_limits_thermometer_known CHECK (thermometer_type IN (
        'contact', 'infrared_spot', 'infrared_camera')),
    least numeric,
    most numeric,
    source text NOT NULL CONSTRAINT energy_limits_source_length CHECK (char_length(source) BETWEEN 3 AND 200),
    created_at timestamptz NOT NULL,
    ended_at timestamptz,
    end_reason text CONSTRAINT energy_limits_reason_length CHECK (char_length(end_reason) BETWEEN 3 AND 500),
    CONSTRAINT energy_limits_some_bound CHECK (least IS NOT NULL OR most IS NOT NULL),
    CONSTRAINT energy_limits_in_order CHECK (least <= most),
    CONSTRAINT energy_limits_thermometer_of_skin CHECK (thermometer_type IS NULL OR value = 'max_skin_celsius'),
    CONSTRAINT energy_limits_end_whole CHECK ((ended_at IS NULL) = (end_reason IS NULL))
);
COMMENT ON TABLE energy_limits IS
    'What the site wrote down as its settings and end points of energy. Entries of the log are compared with those in force at their time; nothing is refused.';
CREATE INDEX energy_limits_by_facility ON energy_limits (facility_id, id);

GRANT SELECT, INSERT ON energy_limits TO lotwarden_app;
GRANT UPDATE (ended_at, end_reason) ON energy_limits TO lotwarden_app;
ALTER TABLE energy_limits ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_facility ON energy_limits TO lotwarden_app
    USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()));
