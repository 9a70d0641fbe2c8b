DROP TABLE routine_records, routines;
