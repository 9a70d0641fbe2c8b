//! The identity of each lot: what came in is what is there, went out, or is unaccounted for.

use super::super::matching::{self, Asked, Matches};
use super::WorkRefusal;
use super::events::{self, Count, Disposed, Explanation, NoticeEvent};
use crate::database::StoreError;
use crate::recorder::{Refused, Writing};
use crate::schema::lots;
use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::{Array, BigInt, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::effectiveness::{Counts, Reconciled};
use lotwarden_domain::notices::{Disposal, MatchClass};
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// Where the units of use of a lot are or went.
#[derive(Clone, Debug)]
pub struct LotIdentity {
    /// The lot.
    pub lot: Uuid,
    /// The product.
    pub product: Uuid,
    /// Its number; none for the items whose lot was not recorded.
    pub number: Option<String>,
    /// How the notice hits it; none where it hits single pieces or uses of it alone.
    pub class: Option<MatchClass>,
    /// Units of use that were received.
    pub received: u64,
    /// What the stock record says is there.
    pub on_record: i64,
    /// Where they are or went; `on_hand` and `quarantined` are as a person counted them.
    pub counts: Counts,
    /// Whether a person counted. Without a count nothing can be said of what is there.
    pub counted: bool,
    /// Tracking numbers and ways of destruction.
    pub tracking: Vec<String>,
    /// The explanation of the difference as it is now.
    pub explained: Option<Explanation>,
}

impl LotIdentity {
    /// The identity; none before a count.
    #[must_use]
    pub fn reconciled(&self) -> Option<Reconciled> {
        self.counted.then(|| self.counts.reconcile(self.received))
    }

    /// Received less accounted for; none before a count.
    #[must_use]
    pub fn unaccounted(&self) -> Option<i64> {
        let all = self.reconciled()?;
        let signed = |count: u64| i64::try_from(count).unwrap_or(i64::MAX);
        Some(signed(all.unaccounted()) - signed(all.too_many()))
    }

    /// Whether it closes, or a person explained why not under signature.
    #[must_use]
    pub fn settled(&self) -> bool {
        self.unaccounted() == Some(0) || self.explained.is_some()
    }
}

#[derive(QueryableByName)]
struct Sums {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = BigInt)]
    received: i64,
    #[diesel(sql_type = BigInt)]
    used: i64,
    #[diesel(sql_type = BigInt)]
    wasted: i64,
    #[diesel(sql_type = BigInt)]
    on_record: i64,
}

/// The identities of the lots that a notice hits, or hits uses or pieces of; without those of
/// which the site never had anything.
pub(super) async fn of_lots(
    connection: &mut AsyncPgConnection,
    matches: &Matches,
    done: &[NoticeEvent],
) -> Result<Vec<LotIdentity>, StoreError> {
    let hit: BTreeMap<Uuid, _> = matches.lots.iter().map(|lot| (lot.id, lot)).collect();
    let mut products: BTreeMap<Uuid, Uuid> =
        hit.iter().map(|(id, lot)| (*id, lot.product)).collect();
    products.extend(matches.items.iter().map(|item| (item.lot, item.product)));
    products.extend(
        matches
            .on_hand
            .iter()
            .map(|stock| (stock.lot, stock.product)),
    );
    let rows: Vec<Sums> = sql_query(
        "SELECT q.id,
            (SELECT coalesce(sum(quantity), 0)::bigint FROM receipt_lines WHERE lot_id = q.id) AS received,
            (SELECT count(*) FROM uses WHERE lot_id = q.id AND struck_at IS NULL
                AND disposition IN ('used', 'failed')) AS used,
            (SELECT count(*) FROM uses WHERE lot_id = q.id AND struck_at IS NULL
                AND disposition IN ('wasted', 'opened_unused')) AS wasted,
            (SELECT coalesce(sum(quantity), 0)::bigint FROM stock_levels WHERE lot_id = q.id) AS on_record
         FROM unnest($1) AS q (id)",
    )
    .bind::<Array<SqlUuid>, _>(products.keys().copied().collect::<Vec<_>>())
    .load(connection)
    .await?;
    let by_lot = Done::of(done)?;
    let nothing = Done::default();
    let numbers = numbers(connection, products.keys().copied().collect()).await?;
    let mut identities = Vec::new();
    for row in rows {
        if row.received + row.used + row.wasted + row.on_record == 0 {
            continue;
        }
        let done = by_lot.get(&row.id).unwrap_or(&nothing);
        let count = |number: i64| u64::try_from(number).unwrap_or_default();
        let mut identity = LotIdentity {
            lot: row.id,
            product: products.get(&row.id).copied().unwrap_or_default(),
            number: numbers.get(&row.id).cloned().flatten(),
            class: hit.get(&row.id).map(|lot| lot.class),
            received: count(row.received),
            on_record: row.on_record,
            counts: Counts {
                on_hand: done.left_in_place,
                quarantined: done.quarantined,
                used: count(row.used),
                wasted: count(row.wasted),
                returned: done.sent_back,
                destroyed: done.destroyed,
            },
            counted: done.counted,
            tracking: done.tracking.clone(),
            explained: None,
        };
        let explained = done.explained.clone();
        let difference = identity.unaccounted();
        identity.explained = explained.filter(|one| Some(one.unaccounted) == difference);
        identities.push(identity);
    }
    Ok(identities)
}

async fn numbers(
    connection: &mut AsyncPgConnection,
    ids: Vec<Uuid>,
) -> Result<HashMap<Uuid, Option<String>>, StoreError> {
    let rows: Vec<(Uuid, Option<String>)> = lots::table
        .filter(lots::id.eq_any(ids))
        .select((lots::id, lots::number))
        .load(connection)
        .await?;
    Ok(rows.into_iter().collect())
}

/// What was done of one lot.
#[derive(Default)]
struct Done {
    counted: bool,
    quarantined: u64,
    left_in_place: u64,
    sent_back: u64,
    destroyed: u64,
    tracking: Vec<String>,
    explained: Option<Explanation>,
}

impl Done {
    fn of(done: &[NoticeEvent]) -> Result<BTreeMap<Uuid, Self>, StoreError> {
        let mut lots: BTreeMap<Uuid, Self> = BTreeMap::new();
        for event in done {
            let Some(lot) = event.lot else {
                continue;
            };
            let of_lot = lots.entry(lot).or_default();
            match event.kind.as_str() {
                "count" => of_lot.count(said(event)?),
                "disposal" => of_lot.dispose(said(event)?),
                "explanation" => of_lot.explained = Some(said(event)?),
                _ => {}
            }
        }
        Ok(lots)
    }

    fn count(&mut self, count: Count) {
        self.counted = true;
        self.quarantined = count.quarantined.into();
        self.left_in_place = count.left_in_place.into();
    }

    /// What leaves comes out of quarantine first.
    fn dispose(&mut self, disposed: Disposed) {
        let quantity = u64::from(disposed.quantity);
        let from_quarantine = quantity.min(self.quarantined);
        self.quarantined -= from_quarantine;
        self.left_in_place = self
            .left_in_place
            .saturating_sub(quantity - from_quarantine);
        match disposed.how {
            Disposal::SentBack => self.sent_back += quantity,
            Disposal::Destroyed => self.destroyed += quantity,
        }
        self.tracking.push(disposed.tracking);
    }
}

fn said<T: for<'de> serde::Deserialize<'de>>(event: &NoticeEvent) -> Result<T, StoreError> {
    serde_json::from_value(event.body.clone()).map_err(|_| StoreError::Unfit)
}

/// Refuses a lot that the notice has nothing to do with.
pub(super) async fn check_lot(
    writing: &mut Writing<'_>,
    root: Uuid,
    lot: Uuid,
) -> Result<(), Refused<WorkRefusal>> {
    one(writing, root, lot).await.map(|_| ())
}

/// The identity of one lot.
pub(super) async fn one(
    writing: &mut Writing<'_>,
    root: Uuid,
    lot: Uuid,
) -> Result<LotIdentity, Refused<WorkRefusal>> {
    let facility = writing.facility.id;
    let (mut matches, _) =
        matching::find(writing.connection, facility, root, Asked::Lot(lot)).await?;
    matches.lots.retain(|one| one.id == lot);
    let done = events::all(writing.connection, root).await?;
    let mut all = of_lots(writing.connection, &matches, &done).await?;
    all.pop().ok_or(Refused::Because(WorkRefusal::NoSuchLot))
}
