ALTER TABLE site_policies DROP COLUMN due_equipment_stops;
ALTER TABLE energy_log DROP COLUMN generator_id, DROP COLUMN instrument_id, DROP COLUMN emissivity, DROP COLUMN distance_cm;
COMMENT ON COLUMN energy_log.generator IS NULL;
COMMENT ON COLUMN energy_log.instrument IS NULL;
DROP TABLE equipment_runs, equipment_uses, equipment_filters, equipment_services, equipment;
