DROP INDEX notice_events_disclosures;
ALTER TABLE notice_events DROP CONSTRAINT notice_events_kind_names_its_subject;
ALTER TABLE notice_events ADD CONSTRAINT notice_events_kind_names_its_subject CHECK (
    (kind IN ('count', 'disposal', 'explanation') AND lot_id IS NOT NULL AND patient_id IS NULL)
    OR (kind IN ('review', 'outreach', 'check') AND patient_id IS NOT NULL AND lot_id IS NULL)
    OR (kind IN ('sample', 'answer', 'signature') AND lot_id IS NULL AND patient_id IS NULL));
DROP TABLE notice_policies;
