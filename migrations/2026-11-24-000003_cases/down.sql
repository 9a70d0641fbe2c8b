DROP VIEW movements;
DROP TABLE holds, signatures, strikes, unit_claims, uses, scans, cases, patients;
