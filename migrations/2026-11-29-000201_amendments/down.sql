DROP TABLE amendments;
