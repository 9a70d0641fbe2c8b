DROP TABLE gas_uses, gauge_readings, cylinders;
