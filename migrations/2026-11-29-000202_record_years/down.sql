DROP TABLE record_years;
