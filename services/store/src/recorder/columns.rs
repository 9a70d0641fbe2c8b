//! The rows of a batch of scans as columns, and the statements that write them.

use super::batch::EntryColumns;
use super::statement::statement;
use diesel::sql_types::{
    Array, BigInt, Bool, Bytea, Date, Integer, Nullable, SmallInt, Text, Timestamptz,
    Uuid as SqlUuid,
};
use lotwarden_ledger::Hash;
use std::collections::BTreeMap;
use uuid::Uuid;

type Ids = Vec<Uuid>;
type MaybeIds = Vec<Option<Uuid>>;
type Instant = jiff_diesel::Timestamp;

statement! {
    /// Everything a batch of scans writes on the way most scans go: one statement, one commit, one
    /// round trip. Returns how many heads were moved: none means another process was first, and
    /// then nothing was written.
    CommitScans(
        facility: Uuid => SqlUuid, old_hash: Vec<u8> => Bytea, size: i64 => BigInt,
        hash: Vec<u8> => Bytea, at: Instant => Timestamptz,
        scan_case: Ids => Array<SqlUuid>, scan: Ids => Array<SqlUuid>,
        station: MaybeIds => Array<Nullable<SqlUuid>>, actor: Vec<String> => Array<Text>,
        occurred_at: Vec<Instant> => Array<Timestamptz>,
        symbology: Vec<Option<String>> => Array<Nullable<Text>>,
        text: Vec<Option<String>> => Array<Nullable<Text>>,
        form: Vec<Option<&'static str>> => Array<Nullable<Text>>,
        verdict: Vec<&'static str> => Array<Text>, findings: Vec<String> => Array<Text>,
        product: MaybeIds => Array<Nullable<SqlUuid>>, lot: MaybeIds => Array<Nullable<SqlUuid>>,
        unit: MaybeIds => Array<Nullable<SqlUuid>>, first_scan: MaybeIds => Array<Nullable<SqlUuid>>,
        scan_position: Vec<i64> => Array<BigInt>,
        use_scan: Ids => Array<SqlUuid>, use_case: Ids => Array<SqlUuid>,
        use_product: Ids => Array<SqlUuid>, use_lot: Ids => Array<SqlUuid>,
        use_unit: MaybeIds => Array<Nullable<SqlUuid>>,
        drawn_from: MaybeIds => Array<Nullable<SqlUuid>>,
        claims_unit: Vec<bool> => Array<Bool>, other_lot: MaybeIds => Array<Nullable<SqlUuid>>,
        level_lot: Ids => Array<SqlUuid>, level_location: Ids => Array<SqlUuid>,
        level_taken: Vec<i32> => Array<Integer>,
        position: Vec<i64> => Array<BigInt>, entry_at: Vec<Instant> => Array<Timestamptz>,
        action: Vec<&'static str> => Array<Text>, entry_actor: Vec<String> => Array<Text>,
        subject: Vec<String> => Array<Text>, entry_case: MaybeIds => Array<Nullable<SqlUuid>>,
        entry_hash: Vec<Vec<u8>> => Array<Bytea>, body: Vec<Vec<u8>> => Array<Bytea>,
        request: Ids => Array<SqlUuid>,
        fingerprint: Vec<Vec<u8>> => Array<Bytea>, status: Vec<i16> => Array<SmallInt>,
        answer: Vec<Vec<u8>> => Array<Bytea>,
        held_session: MaybeIds => Array<Nullable<SqlUuid>>,
    ) -> (BigInt),
    "WITH head AS (
        UPDATE ledger_heads SET size = $3, hash = $4, at = $5
        WHERE facility_id = $1 AND hash = $2 RETURNING facility_id AS f),
     scan AS (
        INSERT INTO scans (facility_id, received_at, case_id, id, station_id, actor, occurred_at, symbology, text,
            form, verdict, findings, product_id, lot_id, unit_id, first_scan_id, position, held_session_id)
        SELECT f, $5, a, b, c, d, e, g, h, i, j, k::jsonb, l, m, n, o, p, q FROM head,
            unnest($6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $44)
                AS r (a, b, c, d, e, g, h, i, j, k, l, m, n, o, p, q)),
     placed AS (
        INSERT INTO uses (facility_id, taken_at, disposition, version, scan_id, case_id, product_id, lot_id, unit_id, drawn_from, claims_unit, other_lot_id)
        SELECT f, $5, 'used', 1, r.* FROM head, unnest($21, $22, $23, $24, $25, $26, $27, $28) AS r),
     level AS (
        UPDATE stock_levels s SET quantity = s.quantity - r.taken
        FROM head, unnest($29, $30, $31) AS r (lot, location, taken)
        WHERE s.lot_id = r.lot AND s.location_id = r.location),
     entry AS (
        INSERT INTO ledger_entries (facility_id, position, at, action, actor, subject, case_id, hash, body)
        SELECT f, r.* FROM head, unnest($32, $33, $34, $35, $36, $37, $38, $39) AS r),
     kept AS (
        INSERT INTO answers (facility_id, at, request, fingerprint, status, body)
        SELECT f, $5, r.* FROM head, unnest($40, $41, $42, $43) AS r)
     SELECT count(*) FROM head"
}

statement! {
    /// Products, identifiers, lots and pieces met first by a scan, and the sealed characters of
    /// readings that are no known form; written after [`CommitScans`] in the same transaction, when the
    /// head is known to be ours.
    AddNewcomers(
        facility: Uuid => SqlUuid, at: Instant => Timestamptz,
        product: Ids => Array<SqlUuid>, product_name: Vec<String> => Array<Text>,
        agency: Vec<&'static str> => Array<Text>, code: Vec<String> => Array<Text>,
        code_product: Ids => Array<SqlUuid>,
        lot: Ids => Array<SqlUuid>, lot_product: Ids => Array<SqlUuid>,
        lot_number: Vec<Option<String>> => Array<Nullable<Text>>,
        expires_on: Vec<Option<jiff_diesel::Date>> => Array<Nullable<Date>>,
        manufactured_on: Vec<Option<jiff_diesel::Date>> => Array<Nullable<Date>>,
        unit: Ids => Array<SqlUuid>, unit_product: Ids => Array<SqlUuid>,
        unit_lot: Ids => Array<SqlUuid>, serial: Vec<String> => Array<Text>,
        disclosed_at: Vec<i64> => Array<BigInt>, disclosed_name: Vec<&'static str> => Array<Text>,
        patient: Ids => Array<SqlUuid>, sealed: Vec<Vec<u8>> => Array<Bytea>,
    ) -> (Bool),
    "WITH product AS (
        INSERT INTO products (facility_id, maker, model, kind, use_class, carries_lot, carries_serial, carries_expiry,
            catalogued, created_at, id, name)
        SELECT $1, '', '', 'other', 'single_use', false, false, false, false, $2, r.* FROM unnest($3, $4) AS r),
     identifier AS (
        INSERT INTO product_identifiers (facility_id, level, quantity, check_digit_right, agency, code, product_id)
        SELECT $1, 'unit', 1, true, r.* FROM unnest($5, $6, $7) AS r),
     lot AS (
        INSERT INTO lots (facility_id, created_at, id, product_id, number, expires_on, manufactured_on)
        SELECT $1, $2, r.* FROM unnest($8, $9, $10, $11, $12) AS r),
     unit AS (
        INSERT INTO units (facility_id, id, product_id, lot_id, serial)
        SELECT $1, r.* FROM unnest($13, $14, $15, $16) AS r),
     disclosure AS (
        INSERT INTO disclosures (facility_id, position, name, patient_id, sealed)
        SELECT $1, r.* FROM unnest($17, $18, $19, $20) AS r)
     SELECT true"
}

/// The columns of a batch of scans while it is judged.
#[derive(Default)]
pub(crate) struct Writes {
    pub(crate) scans: ScanColumns,
    pub(crate) uses: UseColumns,
    pub(crate) taken: BTreeMap<(Uuid, Uuid), i32>,
    pub(crate) entries: EntryColumns,
    pub(crate) answers: AnswerColumns,
    pub(crate) newcomers: Newcomers,
}

/// Rows of `scans`.
#[derive(Default)]
pub(crate) struct ScanColumns {
    pub(crate) case: Ids,
    pub(crate) id: Ids,
    pub(crate) station: MaybeIds,
    pub(crate) actor: Vec<String>,
    pub(crate) occurred_at: Vec<Instant>,
    pub(crate) symbology: Vec<Option<String>>,
    pub(crate) text: Vec<Option<String>>,
    pub(crate) form: Vec<Option<&'static str>>,
    pub(crate) verdict: Vec<&'static str>,
    pub(crate) findings: Vec<String>,
    pub(crate) product: MaybeIds,
    pub(crate) lot: MaybeIds,
    pub(crate) unit: MaybeIds,
    pub(crate) first: MaybeIds,
    pub(crate) position: Vec<i64>,
    pub(crate) held_session: MaybeIds,
}

/// Rows of `uses`.
#[derive(Default)]
pub(crate) struct UseColumns {
    pub(crate) scan: Ids,
    pub(crate) case: Ids,
    pub(crate) product: Ids,
    pub(crate) lot: Ids,
    pub(crate) unit: MaybeIds,
    pub(crate) drawn_from: MaybeIds,
    pub(crate) claims_unit: Vec<bool>,
    pub(crate) other_lot: MaybeIds,
}

/// Rows of `answers`.
#[derive(Default)]
pub(crate) struct AnswerColumns {
    pub(crate) request: Ids,
    pub(crate) fingerprint: Vec<Vec<u8>>,
    pub(crate) status: Vec<i16>,
    pub(crate) body: Vec<Vec<u8>>,
}

/// Rows of what was met first by a scan.
#[derive(Default)]
pub(crate) struct Newcomers {
    pub(crate) product: Ids,
    pub(crate) product_name: Vec<String>,
    pub(crate) agency: Vec<&'static str>,
    pub(crate) code: Vec<String>,
    pub(crate) code_product: Ids,
    pub(crate) lot: Ids,
    pub(crate) lot_product: Ids,
    pub(crate) lot_number: Vec<Option<String>>,
    pub(crate) expires_on: Vec<Option<jiff_diesel::Date>>,
    pub(crate) manufactured_on: Vec<Option<jiff_diesel::Date>>,
    pub(crate) unit: Ids,
    pub(crate) unit_product: Ids,
    pub(crate) unit_lot: Ids,
    pub(crate) serial: Vec<String>,
    pub(crate) disclosed_at: Vec<i64>,
    pub(crate) disclosed_name: Vec<&'static str>,
    pub(crate) patient: Ids,
    pub(crate) sealed: Vec<Vec<u8>>,
}

impl Newcomers {
    /// Whether there is any.
    pub(crate) fn any(&self) -> bool {
        !(self.product.is_empty()
            && self.lot.is_empty()
            && self.unit.is_empty()
            && self.disclosed_at.is_empty())
    }
}

/// A batch in the form the database takes it.
pub(crate) struct Statements {
    pub(crate) commit: CommitScans,
    pub(crate) newcomers: Option<AddNewcomers>,
}

impl Writes {
    /// Makes the statements that write the batch and move the head from `old` to `head`.
    ///
    /// The hash and not the size says where it moves from: another process's head may have the size
    /// that a batch before this one, which then wrote nothing, would have led to.
    pub(crate) fn statements(
        self,
        old: Hash,
        head: &lotwarden_ledger::Head,
        at: Instant,
    ) -> Statements {
        let Self {
            scans,
            uses,
            taken,
            entries,
            answers,
            newcomers: n,
        } = self;
        let newcomers = n.any().then_some(AddNewcomers {
            facility: head.ledger,
            at,
            product: n.product,
            product_name: n.product_name,
            agency: n.agency,
            code: n.code,
            code_product: n.code_product,
            lot: n.lot,
            lot_product: n.lot_product,
            lot_number: n.lot_number,
            expires_on: n.expires_on,
            manufactured_on: n.manufactured_on,
            unit: n.unit,
            unit_product: n.unit_product,
            unit_lot: n.unit_lot,
            serial: n.serial,
            disclosed_at: n.disclosed_at,
            disclosed_name: n.disclosed_name,
            patient: n.patient,
            sealed: n.sealed,
        });
        let ((level_lot, level_location), level_taken) = taken.into_iter().unzip();
        let commit = CommitScans {
            facility: head.ledger,
            old_hash: old.as_bytes().to_vec(),
            size: head.size.cast_signed(),
            hash: head.hash.as_bytes().to_vec(),
            at,
            scan_case: scans.case,
            scan: scans.id,
            station: scans.station,
            actor: scans.actor,
            occurred_at: scans.occurred_at,
            symbology: scans.symbology,
            text: scans.text,
            form: scans.form,
            verdict: scans.verdict,
            findings: scans.findings,
            product: scans.product,
            lot: scans.lot,
            unit: scans.unit,
            first_scan: scans.first,
            scan_position: scans.position,
            use_scan: uses.scan,
            use_case: uses.case,
            use_product: uses.product,
            use_lot: uses.lot,
            use_unit: uses.unit,
            drawn_from: uses.drawn_from,
            claims_unit: uses.claims_unit,
            other_lot: uses.other_lot,
            level_lot,
            level_location,
            level_taken,
            position: entries.position,
            entry_at: entries.at,
            action: entries.action,
            entry_actor: entries.actor,
            subject: entries.subject,
            entry_case: entries.case,
            entry_hash: entries.hash,
            body: entries.body,
            request: answers.request,
            fingerprint: answers.fingerprint,
            status: answers.status,
            answer: answers.body,
            held_session: scans.held_session,
        };
        Statements { commit, newcomers }
    }
}
