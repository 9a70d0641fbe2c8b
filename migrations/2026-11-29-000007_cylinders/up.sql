-- Gas cylinders: each fill of one, its gauge readings, and the gas that flowed on cases.

CREATE TABLE cylinders (
    facility_id uuid NOT NULL CONSTRAINT cylinders_facility REFERENCES facilities,
    id uuid CONSTRAINT cylinders_pk PRIMARY KEY,
    product_id uuid NOT NULL CONSTRAINT cylinders_product REFERENCES products,
    lot_id uuid NOT NULL CONSTRAINT cylinders_lot REFERENCES lots,
    unit_id uuid CONSTRAINT cylinders_unit REFERENCES units,
    gas text NOT NULL CONSTRAINT cylinders_gas_known CHECK (gas IN ('helium', 'other')),
    name_read_back text CONSTRAINT cylinders_name_length CHECK (char_length(name_read_back) BETWEEN 1 AND 200),
    filled_on date NOT NULL,
    water_volume_litre numeric NOT NULL CONSTRAINT cylinders_water_volume CHECK (water_volume_litre BETWEEN 0.05 AND 150),
    service_psi numeric NOT NULL CONSTRAINT cylinders_service_pressure CHECK (service_psi BETWEEN 1 AND 10000),
    plus_mark boolean NOT NULL,
    retest_month date NOT NULL CONSTRAINT cylinders_retest_first_of_month CHECK (extract(day FROM retest_month) = 1),
    star_mark boolean NOT NULL,
    gauge_accuracy_percent numeric NOT NULL CONSTRAINT cylinders_gauge_accuracy CHECK (gauge_accuracy_percent BETWEEN 0 AND 25),
    gauge_full_scale_psi numeric NOT NULL CONSTRAINT cylinders_gauge_scale CHECK (gauge_full_scale_psi BETWEEN 1 AND 10000),
    reserve_psi numeric NOT NULL CONSTRAINT cylinders_reserve CHECK (reserve_psi BETWEEN 0 AND 4350),
    expected_litre numeric CONSTRAINT cylinders_expected CHECK (expected_litre BETWEEN 0 AND 10000),
    opened_at timestamptz,
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    CONSTRAINT cylinders_fill_once UNIQUE NULLS NOT DISTINCT (lot_id, unit_id)
);
COMMENT ON TABLE cylinders IS
    'One fill of one gas container. Refilled, it is another row with another fill lot. Without a serial on the label the fill lot alone tells it apart.';
COMMENT ON COLUMN cylinders.name_read_back IS
    'The gas as a person read it from the label; outlet and colour do not prove contents.';
COMMENT ON COLUMN cylinders.water_volume_litre IS 'As stamped or labelled; never a constant of a cylinder size.';
COMMENT ON COLUMN cylinders.reserve_psi IS 'The gauge pressure at which the site takes a cylinder out of use.';
COMMENT ON COLUMN cylinders.expected_litre IS 'What the site expects a case to use; none where nobody said.';
COMMENT ON COLUMN cylinders.opened_at IS 'When gas of this fill flowed first.';
CREATE INDEX cylinders_by_product ON cylinders (product_id, id);

CREATE TABLE gauge_readings (
    facility_id uuid NOT NULL CONSTRAINT gauge_readings_facility REFERENCES facilities,
    id uuid CONSTRAINT gauge_readings_pk PRIMARY KEY,
    cylinder_id uuid NOT NULL CONSTRAINT gauge_readings_cylinder REFERENCES cylinders,
    gauge_psi numeric NOT NULL CONSTRAINT gauge_readings_pressure CHECK (gauge_psi BETWEEN 0 AND 4350),
    celsius numeric NOT NULL CONSTRAINT gauge_readings_temperature CHECK (celsius BETWEEN -20 AND 60),
    litre_per_minute numeric CONSTRAINT gauge_readings_flow CHECK (litre_per_minute BETWEEN 0.01 AND 100),
    actor text NOT NULL,
    at timestamptz NOT NULL
);
COMMENT ON TABLE gauge_readings IS 'What a gauge showed, with the temperature of the cylinder; never edited.';
CREATE INDEX gauge_readings_by_cylinder ON gauge_readings (cylinder_id, id);

CREATE TABLE gas_uses (
    facility_id uuid NOT NULL CONSTRAINT gas_uses_facility REFERENCES facilities,
    id uuid CONSTRAINT gas_uses_pk PRIMARY KEY,
    cylinder_id uuid NOT NULL CONSTRAINT gas_uses_cylinder REFERENCES cylinders,
    case_id uuid NOT NULL CONSTRAINT gas_uses_case REFERENCES cases,
    zone text NOT NULL CONSTRAINT gas_uses_zone_length CHECK (char_length(zone) BETWEEN 1 AND 100),
    litre_per_minute numeric NOT NULL CONSTRAINT gas_uses_flow CHECK (litre_per_minute BETWEEN 0.01 AND 100),
    minutes numeric NOT NULL CONSTRAINT gas_uses_time CHECK (minutes BETWEEN 0 AND 1440),
    actor text NOT NULL,
    at timestamptz NOT NULL
);
COMMENT ON TABLE gas_uses IS
    'Gas by flow and time on a case, by zone; never edited. A case uses less than a gauge can show, so the gauge is only the cross-check.';
CREATE INDEX gas_uses_by_cylinder ON gas_uses (cylinder_id, id);
CREATE INDEX gas_uses_by_case ON gas_uses (case_id, id);

GRANT SELECT, INSERT ON cylinders, gauge_readings, gas_uses TO lotwarden_app;
GRANT UPDATE (opened_at, version) ON cylinders TO lotwarden_app;

DO $$
DECLARE named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['cylinders', 'gauge_readings', 'gas_uses'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', named);
    END LOOP;
    FOREACH named IN ARRAY ARRAY['gauge_readings', 'gas_uses'] LOOP
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', named);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', named);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', named);
    END LOOP;
END $$;
