-- Indexes that a notice's match goes by: which lots a piece was used under, and a lot's pieces,
-- are seen in the index alone; a patient's cases are found without reading all.
DROP INDEX uses_by_unit;
CREATE INDEX uses_by_unit ON uses (unit_id, lot_id) WHERE unit_id IS NOT NULL;
DROP INDEX units_by_lot;
CREATE INDEX units_by_lot ON units (lot_id, id);
CREATE INDEX cases_by_patient ON cases (patient_id, id);
