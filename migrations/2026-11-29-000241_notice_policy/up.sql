-- What a site settled for its recall desk; letters, disclosures and adverse events of a notice.

CREATE TABLE notice_policies (
    facility_id uuid CONSTRAINT notice_policies_pk PRIMARY KEY CONSTRAINT notice_policies_facility REFERENCES facilities,
    body jsonb NOT NULL,
    version integer NOT NULL
);
COMMENT ON TABLE notice_policies IS 'The site''s targets by class and its letters to patients; no row while the service''s own stand. Each change is a ledger entry with old and new.';
COMMENT ON COLUMN notice_policies.version IS 'Counts the changes from 1, which is the service''s own.';

ALTER TABLE notice_events DROP CONSTRAINT notice_events_kind_names_its_subject;
ALTER TABLE notice_events ADD CONSTRAINT notice_events_kind_names_its_subject CHECK (
    (kind IN ('count', 'disposal', 'explanation') AND lot_id IS NOT NULL AND patient_id IS NULL)
    OR (kind IN ('review', 'outreach', 'check', 'letter', 'disclosure', 'adverse_event')
        AND patient_id IS NOT NULL AND lot_id IS NULL)
    OR (kind IN ('sample', 'answer', 'signature') AND lot_id IS NULL AND patient_id IS NULL));
CREATE INDEX notice_events_disclosures ON notice_events (patient_id, id) WHERE kind = 'disclosure';

GRANT SELECT, INSERT ON notice_policies TO lotwarden_app;
GRANT UPDATE (body, version) ON notice_policies TO lotwarden_app;
ALTER TABLE notice_policies ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_facility ON notice_policies TO lotwarden_app
    USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()));
