//! Holding the stock that a notice hits.

use super::OnHandMatched;
use crate::moment::new_id;
use crate::recorder::{Failure, Subject, Writing};
use crate::schema::{holds, notices};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::cases::HoldScope;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// The entry of a hold that a notice placed.
#[derive(Serialize)]
struct Data<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<Uuid>,
    notice: Uuid,
    product: Uuid,
    reason: &'a str,
    scope: HoldScope,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
}

/// A lot, or one piece of it.
type Target = (Uuid, Option<Uuid>);

/// Places a hold on each lot or piece in stock that the notice hits, unless it holds it already;
/// gives their number.
pub(super) async fn hold_stock(
    writing: &mut Writing<'_>,
    notice: Uuid,
    stock: &[OnHandMatched],
) -> Result<usize, Failure> {
    let found = stock.iter().map(|one| ((one.lot, one.unit), one.product));
    hold(writing, notice, found.collect()).await
}

/// Places holds on what a receipt brought in and confirmed notices hit.
pub(crate) async fn hold_received(
    writing: &mut Writing<'_>,
    received: &BTreeMap<(Uuid, Target), Uuid>,
) -> Result<(), Failure> {
    let notices: BTreeSet<Uuid> = received.keys().map(|(notice, _)| *notice).collect();
    for notice in notices {
        let of_notice = received.iter().filter(|((one, _), _)| *one == notice);
        let targets = of_notice.map(|((_, target), product)| (*target, *product));
        hold(writing, notice, targets.collect()).await?;
    }
    Ok(())
}

async fn hold(
    writing: &mut Writing<'_>,
    notice: Uuid,
    mut targets: BTreeMap<Target, Uuid>,
) -> Result<usize, Failure> {
    let known: Vec<(Option<Uuid>, Option<Uuid>)> = holds::table
        .filter(holds::notice_id.eq(notice))
        .filter(holds::lifted_at.is_null())
        .select((holds::lot_id, holds::unit_id))
        .load(writing.connection)
        .await?;
    let known: BTreeSet<(Option<Uuid>, Option<Uuid>)> = known.into_iter().collect();
    targets.retain(|(lot, unit), _| {
        let target = if unit.is_some() { None } else { Some(*lot) };
        !known.contains(&(target, *unit))
    });
    if targets.is_empty() {
        return Ok(0);
    }
    let (firm, reference): (String, String) = notices::table
        .find(notice)
        .select((notices::firm, notices::reference))
        .first(writing.connection)
        .await?;
    let firm: String = firm.chars().take(300).collect();
    let reason = format!("Recall notice {reference} of {firm}");
    let mut rows = Vec::with_capacity(targets.len());
    for ((lot, unit), product) in &targets {
        let id = new_id(writing.at);
        let scope = if unit.is_some() {
            HoldScope::Unit
        } else {
            HoldScope::Lot
        };
        let lot = unit.is_none().then_some(*lot);
        rows.push((
            holds::facility_id.eq(writing.facility.id),
            holds::id.eq(id),
            holds::scope.eq(scope.as_str()),
            holds::product_id.eq(*product),
            holds::lot_id.eq(lot),
            holds::unit_id.eq(*unit),
            holds::reason.eq(reason.clone()),
            holds::placed_by.eq(writing.actor.to_string()),
            holds::placed_at.eq(writing.at.to_diesel()),
            holds::notice_id.eq(notice),
        ));
        let data = Data {
            lot,
            notice,
            product: *product,
            reason: &reason,
            scope,
            unit: *unit,
        };
        writing.append("place_hold", Subject::new("hold", id), &data)?;
    }
    // A statement binds at most 65,535 values.
    for rows in rows.chunks(1_000) {
        diesel::insert_into(holds::table)
            .values(rows)
            .execute(writing.connection)
            .await?;
    }
    Ok(targets.len())
}
