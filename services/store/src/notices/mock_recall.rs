//! Rehearsing a recall.

use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::product_identifiers;
use crate::where_used::{Class, Question, find_uses};
use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::{BigInt, Text, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::effectiveness::Counts;
use serde::Serialize;
use std::collections::BTreeSet;
use std::time::Instant;
use uuid::Uuid;

/// Picks a received lot at random, finds everything it reached against the clock, and puts the
/// result on record. Nothing is held, and nobody's identity is opened.
///
/// The lot is the first in the order of SHA-256 over the ledger's head and the lot's id, so that
/// nobody chooses it and anybody can draw it again.
#[derive(Clone, Copy, Debug)]
pub struct MockRecall;

/// What came of a rehearsal.
#[derive(Clone, Debug)]
pub struct Rehearsed {
    /// The rehearsal.
    pub id: Uuid,
    /// The lot that was drawn.
    pub lot: Uuid,
    /// Its number.
    pub number: String,
    /// The product's name.
    pub product: String,
    /// The ledger's head that the draw hangs on.
    pub seed: String,
    /// Items on cases that are of the lot.
    pub affected: usize,
    /// Items on cases whose lot was not recorded.
    pub cannot_exclude: usize,
    /// Cases with either.
    pub cases: usize,
    /// Patients of these cases.
    pub patients: usize,
    /// Units of use that were received.
    pub received: u64,
    /// Where they are or went by the records; `on_hand` is the stock record's.
    pub counts: Counts,
    /// How long finding all of it took, in microseconds.
    pub elapsed_us: u64,
}

/// Why no recall is rehearsed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MockRecallRefusal {
    /// The site never received a lot.
    #[error("no lot with a number was received yet")]
    NoLot,
}

#[derive(Serialize)]
struct Data<'a> {
    affected: usize,
    cannot_exclude: usize,
    case_count: usize,
    elapsed_us: u64,
    lot: Uuid,
    on_hand: u64,
    received: u64,
    seed: &'a str,
    used: u64,
    wasted: u64,
}

#[derive(QueryableByName)]
struct LotRow {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = Text)]
    number: String,
    #[diesel(sql_type = SqlUuid)]
    product_id: Uuid,
    #[diesel(sql_type = Text)]
    product: String,
    #[diesel(sql_type = BigInt)]
    received: i64,
    #[diesel(sql_type = BigInt)]
    on_hand: i64,
    #[diesel(sql_type = BigInt)]
    used: i64,
    #[diesel(sql_type = BigInt)]
    wasted: i64,
}

impl Operation for MockRecall {
    type Permission = act::MockRecall;
    type Outcome = Rehearsed;
    type Refusal = MockRecallRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Rehearsed, Refused<MockRecallRefusal>> {
        let seed = writing.head.hash.to_string();
        let started = Instant::now();
        let lot = draw(writing, &seed).await?;
        let lot = lot.ok_or(Refused::Because(MockRecallRefusal::NoLot))?;
        let rows: Vec<(String, String)> = product_identifiers::table
            .filter(product_identifiers::product_id.eq(lot.product_id))
            .select((product_identifiers::agency, product_identifiers::code))
            .load(writing.connection)
            .await?;
        let codes = rows.into_iter();
        let codes = codes.map(|(agency, code)| crate::catalogue::stored_code(&agency, code));
        let question = Question {
            codes: codes.collect::<Result<_, StoreError>>()?,
            lot: Some(lot.number.clone()),
            serial: None,
        };
        let found = find_uses(writing.connection, &question).await?;
        let elapsed_us = u64::try_from(started.elapsed().as_micros()).unwrap_or(u64::MAX);
        let of = |class| {
            found
                .items
                .iter()
                .filter(|item| item.class == class)
                .count()
        };
        let cases: BTreeSet<Uuid> = found.items.iter().map(|item| item.case).collect();
        let patients: BTreeSet<Uuid> = found.items.iter().map(|item| item.patient).collect();
        let count = |number: i64| u64::try_from(number).unwrap_or_default();
        let rehearsed = Rehearsed {
            id: writing.new_id(),
            lot: lot.id,
            number: lot.number,
            product: lot.product,
            seed,
            affected: of(Class::Affected),
            cannot_exclude: of(Class::CannotExclude),
            cases: cases.len(),
            patients: patients.len(),
            received: count(lot.received),
            counts: Counts {
                on_hand: count(lot.on_hand),
                used: count(lot.used),
                wasted: count(lot.wasted),
                ..Counts::default()
            },
            elapsed_us,
        };
        let data = Data {
            affected: rehearsed.affected,
            cannot_exclude: rehearsed.cannot_exclude,
            case_count: rehearsed.cases,
            elapsed_us,
            lot: rehearsed.lot,
            on_hand: rehearsed.counts.on_hand,
            received: rehearsed.received,
            seed: &rehearsed.seed,
            used: rehearsed.counts.used,
            wasted: rehearsed.counts.wasted,
        };
        let subject = Subject::new("mock_recall", rehearsed.id);
        writing.append("mock_recall", subject, &data)?;
        Ok(rehearsed)
    }
}

async fn draw(
    writing: &mut Writing<'_>,
    seed: &str,
) -> Result<Option<LotRow>, Refused<MockRecallRefusal>> {
    let row: Option<LotRow> = sql_query(
        "SELECT l.id, l.number, l.product_id, p.name AS product,
            (SELECT coalesce(sum(quantity), 0)::bigint FROM receipt_lines WHERE lot_id = l.id) AS received,
            (SELECT coalesce(sum(quantity), 0)::bigint FROM stock_levels WHERE lot_id = l.id) AS on_hand,
            (SELECT count(*) FROM uses WHERE lot_id = l.id AND struck_at IS NULL
                AND disposition IN ('used', 'failed')) AS used,
            (SELECT count(*) FROM uses WHERE lot_id = l.id AND struck_at IS NULL
                AND disposition IN ('wasted', 'opened_unused')) AS wasted
         FROM (
            SELECT id, number, product_id FROM lots WHERE facility_id = $1 AND number IS NOT NULL
            AND EXISTS (SELECT 1 FROM receipt_lines r WHERE r.lot_id = lots.id AND r.quantity > 0)
            ORDER BY sha256(convert_to($2 || id::text, 'UTF8')) LIMIT 1
         ) l JOIN products p ON p.id = l.product_id",
    )
    .bind::<SqlUuid, _>(writing.facility.id)
    .bind::<Text, _>(seed)
    .get_result(writing.connection)
    .await
    .optional()?;
    Ok(row)
}
