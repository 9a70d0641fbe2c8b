//! Clearing what a notice hits only as possible.

use super::list_matches::{ListMatchesRefusal, in_force};
use super::watch::{self, Item, ItemLot};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{lots, notice_clearances, notice_criteria, units};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::MatchClass;
use serde::Serialize;
use uuid::Uuid;

/// Puts on record that a person compared a lot or piece with the notice and found that it is not
/// meant. What is named as it stands is never cleared, nor what has no number to compare.
#[derive(Clone, Debug)]
pub struct ClearMatch {
    /// The notice.
    pub notice: Uuid,
    /// The lot; none for a piece.
    pub lot: Option<Uuid>,
    /// The piece; none for a lot.
    pub unit: Option<Uuid>,
    /// What was compared: 3 to 500 characters.
    pub reason: String,
}

/// A clearance as it was put on record.
#[derive(Clone, Debug)]
pub struct Cleared {
    /// The clearance.
    pub id: Uuid,
    /// The first notice of the matter.
    pub notice: Uuid,
    /// The lot.
    pub lot: Option<Uuid>,
    /// The piece.
    pub unit: Option<Uuid>,
    /// How it was hit.
    pub class: MatchClass,
    /// Who cleared it, as the ledger writes it.
    pub cleared_by: String,
    /// When.
    pub cleared_at: Timestamp,
}

/// Why nothing is cleared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ClearMatchRefusal {
    /// There is no such notice.
    #[error("there is no such notice")]
    NoSuchNotice,
    /// The notice is not in force.
    #[error("the notice is not in force, so nothing is matched against it")]
    NotInForce,
    /// There is no such lot or piece.
    #[error("there is no such lot or piece")]
    NoSuchItem,
    /// The notice does not hit it, or it is cleared.
    #[error("the notice does not hit it")]
    NotHit,
    /// The notice names it as it stands.
    #[error("the notice names it as it stands, so it cannot be cleared")]
    Named,
    /// It has no number that could be compared.
    #[error("its lot was not recorded, so there is nothing to compare")]
    NotRecorded,
}

#[derive(Serialize)]
struct Data<'a> {
    class: MatchClass,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<Uuid>,
    reason: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
}

/// What the record says of the item.
struct OnRecord {
    product: Uuid,
    lot: Uuid,
    number: Option<String>,
    expires_on: Option<jiff::civil::Date>,
    serial: Option<String>,
}

impl Operation for ClearMatch {
    type Permission = act::ClearMatch;
    type Outcome = Cleared;
    type Refusal = ClearMatchRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Cleared, Refused<ClearMatchRefusal>> {
        let root = in_force(writing, self.notice).await?;
        let root = root.map_err(|refusal| Refused::Because(refusal.into()))?;
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(item) = self.on_record(writing).await? else {
            return refuse(ClearMatchRefusal::NoSuchItem);
        };
        let facility = writing.facility.id;
        let watched = watch::of_products(writing.connection, facility, vec![item.product]).await?;
        let watched = watched.into_values().flatten().find(|one| one.id == root);
        let class = watched.and_then(|watched| {
            watched.hit(&Item {
                lots: vec![ItemLot {
                    id: item.lot,
                    number: item.number.as_deref(),
                    expires_on: [item.expires_on, None],
                }],
                unit: self.unit,
                serial: item.serial.as_deref(),
            })
        });
        let class = match class {
            None => return refuse(ClearMatchRefusal::NotHit),
            Some(MatchClass::Affected) => return refuse(ClearMatchRefusal::Named),
            Some(class) => class,
        };
        if self.unit.is_none() && item.number.is_none() {
            return refuse(ClearMatchRefusal::NotRecorded);
        }
        let criteria: i64 = notice_criteria::table
            .filter(notice_criteria::notice_id.eq(root))
            .count()
            .get_result(writing.connection)
            .await?;
        let id = writing.new_id();
        diesel::insert_into(notice_clearances::table)
            .values((
                notice_clearances::facility_id.eq(writing.facility.id),
                notice_clearances::id.eq(id),
                notice_clearances::notice_id.eq(root),
                notice_clearances::lot_id.eq(self.lot),
                notice_clearances::unit_id.eq(self.unit),
                notice_clearances::reason.eq(&self.reason),
                notice_clearances::cleared_by.eq(writing.actor.to_string()),
                notice_clearances::cleared_at.eq(writing.at.to_diesel()),
                notice_clearances::criteria_count.eq(i32::try_from(criteria).unwrap_or(i32::MAX)),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            class,
            lot: self.lot,
            reason: &self.reason,
            unit: self.unit,
        };
        writing.append("clear_match", Subject::new("notice", root), &data)?;
        Ok(Cleared {
            id,
            notice: root,
            lot: self.lot,
            unit: self.unit,
            class,
            cleared_by: writing.actor.to_string(),
            cleared_at: writing.at,
        })
    }
}

impl ClearMatch {
    async fn on_record(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Option<OnRecord>, Refused<ClearMatchRefusal>> {
        type LotRow = (Uuid, Uuid, Option<String>, jiff_diesel::NullableDate);
        let columns = (lots::product_id, lots::id, lots::number, lots::expires_on);
        let (row, serial): (Option<LotRow>, Option<String>) = match (self.lot, self.unit) {
            (Some(lot), _) => {
                let row = lots::table
                    .find(lot)
                    .select(columns)
                    .first(writing.connection)
                    .await;
                (row.optional()?, None)
            }
            (None, Some(unit)) => {
                let row: Option<(LotRow, String)> = units::table
                    .inner_join(lots::table.on(lots::id.eq(units::lot_id)))
                    .filter(units::id.eq(unit))
                    .select((columns, units::serial))
                    .first(writing.connection)
                    .await
                    .optional()?;
                row.map_or((None, None), |(row, serial)| (Some(row), Some(serial)))
            }
            (None, None) => (None, None),
        };
        Ok(row.map(|(product, lot, number, expires_on)| OnRecord {
            product,
            lot,
            number,
            expires_on: expires_on.to_jiff(),
            serial,
        }))
    }
}

impl From<ListMatchesRefusal> for ClearMatchRefusal {
    fn from(refusal: ListMatchesRefusal) -> Self {
        match refusal {
            ListMatchesRefusal::NoSuchNotice => Self::NoSuchNotice,
            ListMatchesRefusal::NotInForce => Self::NotInForce,
        }
    }
}
