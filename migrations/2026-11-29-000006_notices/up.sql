-- Recall notices: what arrived, what a person confirmed that it names, and what was cleared of it.

CREATE FUNCTION folded_model(model text) RETURNS text
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN upper(regexp_replace(model, '[[:space:]]', '', 'g'));
COMMENT ON FUNCTION folded_model(text) IS 'A catalogue number without letter case and white space, as it is compared.';
CREATE INDEX products_by_folded_model ON products (facility_id, folded_model(model)) WHERE model <> '';

CREATE TABLE notices (
    facility_id uuid NOT NULL CONSTRAINT notices_facility REFERENCES facilities,
    id uuid CONSTRAINT notices_pk PRIMARY KEY,
    root_id uuid NOT NULL CONSTRAINT notices_root REFERENCES notices,
    revision integer NOT NULL,
    firm text NOT NULL CONSTRAINT notices_firm_length CHECK (char_length(firm) BETWEEN 1 AND 500),
    firm_key text NOT NULL,
    reference text NOT NULL CONSTRAINT notices_reference_length CHECK (char_length(reference) BETWEEN 1 AND 100),
    reference_key text NOT NULL,
    class text CONSTRAINT notices_class_known CHECK (class IN ('I', 'II', 'III')),
    source text NOT NULL CONSTRAINT notices_source_known CHECK (source IN ('letter', 'mail', 'telephone', 'distributor', 'feed')),
    status text CONSTRAINT notices_status_known CHECK (status IN ('pending', 'ongoing', 'completed', 'terminated')),
    received_on date NOT NULL,
    product text NOT NULL CONSTRAINT notices_product_length CHECK (char_length(product) <= 20000),
    reason text NOT NULL CONSTRAINT notices_reason_length CHECK (char_length(reason) <= 20000),
    text text NOT NULL CONSTRAINT notices_text_length CHECK (char_length(text) <= 1000000),
    also_named text[] NOT NULL,
    digest bytea NOT NULL CONSTRAINT notices_digest_length CHECK (octet_length(digest) = 32),
    added_by text NOT NULL,
    added_at timestamptz NOT NULL,
    state text NOT NULL CONSTRAINT notices_state_known CHECK (state IN ('unconfirmed', 'open', 'closed', 'withdrawn')),
    confirmed_by text,
    confirmed_at timestamptz,
    withdrawn_by text,
    withdrawn_at timestamptz,
    terminated_on date,
    end_reason text CONSTRAINT notices_end_reason_length CHECK (char_length(end_reason) BETWEEN 3 AND 500),
    version integer NOT NULL DEFAULT 1,
    CONSTRAINT notices_revision_once UNIQUE (root_id, revision),
    CONSTRAINT notices_first_is_its_root CHECK ((revision = 1) = (root_id = id) AND revision >= 1),
    CONSTRAINT notices_confirmed_whole CHECK (
        (confirmed_at IS NULL) = (confirmed_by IS NULL)
        AND (state NOT IN ('open', 'closed') OR confirmed_at IS NOT NULL)
        AND (state <> 'unconfirmed' OR confirmed_at IS NULL)),
    CONSTRAINT notices_withdrawn_whole CHECK (
        (state = 'withdrawn') = (withdrawn_at IS NOT NULL) AND (withdrawn_at IS NULL) = (withdrawn_by IS NULL))
);
COMMENT ON TABLE notices IS 'Recall and correction notices as they arrived (21 CFR 7.49). What arrived is never changed; an update is a revision of its own under the first one.';
COMMENT ON COLUMN notices.root_id IS 'The first notice of the matter; criteria, holds and work stand under it.';
COMMENT ON COLUMN notices.firm_key IS 'Letters and digits of the firm in lower case, so that a notice that comes twice is recognised.';
COMMENT ON COLUMN notices.status IS 'How far the firm is, in the authority''s words.';
COMMENT ON COLUMN notices.text IS 'What names the items, in every line as received.';
COMMENT ON COLUMN notices.also_named IS 'Codes of products that came beside the text, as written.';
COMMENT ON COLUMN notices.digest IS 'SHA-256 over what arrived; the ledger''s entry holds it instead of the text.';
COMMENT ON COLUMN notices.terminated_on IS 'The day the authority ended it (21 CFR 7.55); what it names stays barred.';
CREATE UNIQUE INDEX notices_firm_and_reference_once ON notices (facility_id, firm_key, reference_key) WHERE revision = 1;
CREATE INDEX notices_by_reference ON notices (facility_id, firm_key, reference_key);
CREATE INDEX notices_by_facility ON notices (facility_id, id);
CREATE INDEX notices_by_state ON notices (facility_id, state, id);

CREATE TABLE notice_proposals (
    facility_id uuid NOT NULL CONSTRAINT notice_proposals_facility REFERENCES facilities,
    notice_id uuid NOT NULL CONSTRAINT notice_proposals_notice REFERENCES notices,
    agency text NOT NULL CONSTRAINT notice_proposals_agency_known CHECK (
        agency IN ('gs1', 'hibcc', 'iccbba', 'ifa', 'ndc', 'model')),
    code text NOT NULL,
    CONSTRAINT notice_proposals_pk PRIMARY KEY (notice_id, agency, code)
);
COMMENT ON TABLE notice_proposals IS 'The codes and folded models that the reader found in a notice: they put the notices that name products of this catalogue before a person, and stop nothing.';

CREATE TABLE notice_criteria (
    facility_id uuid NOT NULL CONSTRAINT notice_criteria_facility REFERENCES facilities,
    notice_id uuid NOT NULL CONSTRAINT notice_criteria_notice REFERENCES notices,
    number integer NOT NULL CONSTRAINT notice_criteria_number_positive CHECK (number >= 1),
    revision_id uuid NOT NULL CONSTRAINT notice_criteria_revision REFERENCES notices,
    body text NOT NULL,
    open boolean NOT NULL,
    CONSTRAINT notice_criteria_pk PRIMARY KEY (notice_id, number)
);
COMMENT ON TABLE notice_criteria IS 'What a person confirmed that a notice names; never edited. An update adds its own under the first notice.';
COMMENT ON COLUMN notice_criteria.revision_id IS 'The notice or update that brought it; withdrawn with it.';
COMMENT ON COLUMN notice_criteria.body IS 'JSON: the products as written and the lots, serials, ranges and expiries; the confirming entry holds its digest.';
COMMENT ON COLUMN notice_criteria.open IS 'Part of the text stayed unread and nobody settled it: no item of the product is left out.';

CREATE TABLE notice_names (
    facility_id uuid NOT NULL CONSTRAINT notice_names_facility REFERENCES facilities,
    agency text NOT NULL CONSTRAINT notice_names_agency_known CHECK (
        agency IN ('gs1', 'hibcc', 'iccbba', 'ifa', 'ndc', 'model', 'product')),
    code text NOT NULL,
    notice_id uuid NOT NULL,
    number integer NOT NULL,
    CONSTRAINT notice_names_pk PRIMARY KEY (facility_id, agency, code, notice_id, number),
    CONSTRAINT notice_names_criterion FOREIGN KEY (notice_id, number) REFERENCES notice_criteria
);
COMMENT ON TABLE notice_names IS 'By which codes, folded models or product ids each criterion names products. Products are found through the catalogue each time, so that a later change of it meets the notice.';
CREATE INDEX notice_names_by_notice ON notice_names (notice_id);

CREATE TABLE notice_clearances (
    facility_id uuid NOT NULL CONSTRAINT notice_clearances_facility REFERENCES facilities,
    id uuid CONSTRAINT notice_clearances_pk PRIMARY KEY,
    notice_id uuid NOT NULL CONSTRAINT notice_clearances_notice REFERENCES notices,
    lot_id uuid CONSTRAINT notice_clearances_lot REFERENCES lots,
    unit_id uuid CONSTRAINT notice_clearances_unit REFERENCES units,
    reason text NOT NULL CONSTRAINT notice_clearances_reason_length CHECK (char_length(reason) BETWEEN 3 AND 500),
    cleared_by text NOT NULL,
    cleared_at timestamptz NOT NULL,
    criteria_count integer NOT NULL,
    CONSTRAINT notice_clearances_of_one CHECK ((lot_id IS NULL) <> (unit_id IS NULL))
);
COMMENT ON TABLE notice_clearances IS 'Lots and pieces that a person compared and found not to be named; never edited. An item that is named as it stands is never cleared.';
COMMENT ON COLUMN notice_clearances.criteria_count IS 'The notice''s criteria at that time: once it has more, the item has to be compared again.';
CREATE INDEX notice_clearances_by_notice ON notice_clearances (notice_id);

ALTER TABLE holds ADD COLUMN notice_id uuid CONSTRAINT holds_notice REFERENCES notices;
COMMENT ON COLUMN holds.notice_id IS 'The notice whose confirmation, or whose meeting with a receipt, placed it.';
CREATE INDEX holds_by_notice ON holds (notice_id) WHERE notice_id IS NOT NULL;

GRANT SELECT, INSERT ON notices, notice_proposals, notice_criteria, notice_names, notice_clearances TO lotwarden_app;
GRANT UPDATE (state, confirmed_by, confirmed_at, withdrawn_by, withdrawn_at, terminated_on, end_reason, version)
    ON notices TO lotwarden_app;

DO $$
DECLARE guarded text;
BEGIN
    FOREACH guarded IN ARRAY ARRAY['notices', 'notice_proposals', 'notice_criteria', 'notice_names', 'notice_clearances'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', guarded);
        EXECUTE format('CREATE POLICY own_facility ON %I TO lotwarden_app USING (facility_id = (SELECT current_facility())) WITH CHECK (facility_id = (SELECT current_facility()))', guarded);
    END LOOP;
    FOREACH guarded IN ARRAY ARRAY['notice_proposals', 'notice_criteria', 'notice_names', 'notice_clearances'] LOOP
        EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', guarded);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_change', guarded);
        EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %I EXECUTE FUNCTION refuse_change()', guarded);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER no_truncate', guarded);
    END LOOP;
END $$;
