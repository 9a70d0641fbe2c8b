//! Reconciling a case: picked = used + wasted + opened unused + failed + returned.

use super::record_pick::{Pick, picks_of_case};
use crate::cases;
use crate::database::{Reading, StoreError};
use crate::schema::{lots, products, scans, uses};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::cases::{Disposition, PickKind};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A lot of a case with what became of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReconciledLot {
    /// The lot.
    pub lot: Uuid,
    /// Its number.
    pub number: Option<String>,
    /// Its product's name.
    pub product_name: String,
    /// Taken out for the case.
    pub picked: i64,
    /// Brought back untouched.
    pub returned: i64,
    /// Scanned on the case, by what became of it; returned unopened counts as returned.
    pub dispositions: BTreeMap<Disposition, i64>,
}

impl ReconciledLot {
    /// Picked and not accounted for; below zero where more is accounted for than was picked.
    #[must_use]
    pub fn difference(&self) -> i64 {
        self.picked - self.returned - self.dispositions.values().sum::<i64>()
    }
}

/// Reconciles a case lot by lot; none when there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn show_reconciliation(
    reading: &mut Reading,
    case: Uuid,
) -> Result<Option<Vec<ReconciledLot>>, StoreError> {
    if !cases::exists(reading, case).await? {
        return Ok(None);
    }
    let picks = picks_of_case(reading.connection(), case).await?;
    Ok(Some(reconciled(reading.connection(), case, &picks).await?))
}

/// What became of the lots of a case.
pub(crate) async fn reconciled(
    connection: &mut AsyncPgConnection,
    case: Uuid,
    picks: &[Pick],
) -> Result<Vec<ReconciledLot>, StoreError> {
    let used: Vec<(Uuid, String)> = scans::table
        .inner_join(
            uses::table.on(uses::scan_id
                .eq(scans::id)
                .and(uses::lot_id.nullable().eq(scans::lot_id))),
        )
        .filter(scans::case_id.eq(case))
        .filter(uses::struck_at.is_null())
        .select((uses::lot_id, uses::disposition))
        .load(connection)
        .await?;
    let mut found = BTreeMap::<Uuid, ReconciledLot>::new();
    for pick in picks {
        let own = found.entry(pick.lot).or_default();
        match pick.kind {
            PickKind::Picked => own.picked += i64::from(pick.quantity),
            PickKind::Returned => own.returned += i64::from(pick.quantity),
        }
    }
    for (lot, disposition) in used {
        let disposition = disposition.parse().map_err(|_| StoreError::Unfit)?;
        let own = found.entry(lot).or_default();
        *own.dispositions.entry(disposition).or_default() += 1;
    }
    let names: Vec<(Uuid, Option<String>, String)> = lots::table
        .inner_join(products::table.on(products::id.eq(lots::product_id)))
        .filter(lots::id.eq_any(found.keys()))
        .select((lots::id, lots::number, products::name))
        .load(connection)
        .await?;
    for (lot, number, product_name) in names {
        if let Some(own) = found.get_mut(&lot) {
            (own.lot, own.number, own.product_name) = (lot, number, product_name);
        }
    }
    Ok(found.into_values().collect())
}
