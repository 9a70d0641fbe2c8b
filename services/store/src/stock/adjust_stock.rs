//! Taking the differences of a count into the record.

use super::level::{self, Change, MOST_AT_PLACE, Movement};
use super::shelf_count::{self, CountedLine, ShelfCount};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{shelf_adjustments, uses};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::MovementKind;
use serde::Serialize;
use uuid::Uuid;

/// Lines that one adjustment may take at most: its entry names each.
pub const MOST_ADJUSTED: usize = 200;

/// Takes differences of a count into the record, with one reason.
#[derive(Clone, Debug)]
pub struct AdjustStock {
    /// The count.
    pub count: Uuid,
    /// The lines, each once; 1 to [`MOST_ADJUSTED`].
    pub lines: Vec<i32>,
    /// Why the record and the shelf differ.
    pub reason: String,
}

/// Why differences are not taken into the record; places count from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AdjustStockRefusal {
    /// There is no such count.
    #[error("there is no such count")]
    NoSuchCount,
    /// The count has no such line, or its numbers agree.
    #[error("this line of the count has no difference")]
    NoDifference {
        /// Its place.
        at: usize,
    },
    /// It was taken into the record before.
    #[error("this difference was taken into the record already")]
    AdjustedBefore {
        /// Its place.
        at: usize,
    },
    /// The place has less since.
    #[error("fewer of it stand there since it was counted; count again")]
    NotThere {
        /// Its place.
        at: usize,
    },
    /// More than a place may have.
    #[error("a place has at most {MOST_AT_PLACE} of a lot; count again")]
    TooMany {
        /// Its place.
        at: usize,
    },
    /// The piece stands elsewhere, or was used.
    #[error(
        "the record has this piece at another place or on a case; move it, or look at the case"
    )]
    PieceElsewhere {
        /// Its place.
        at: usize,
    },
}

#[derive(Serialize)]
struct Data<'a> {
    lines: Vec<Line>,
    location: Uuid,
    reason: &'a str,
}

#[derive(Serialize)]
struct Line {
    difference: i32,
    line: i32,
    lot: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
}

impl Operation for AdjustStock {
    type Permission = act::AdjustStock;
    type Outcome = ShelfCount;
    type Refusal = AdjustStockRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<ShelfCount, Refused<AdjustStockRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let count = shelf_count::find(writing.connection, self.count).await?;
        let Some(count) = count else {
            return refuse(AdjustStockRefusal::NoSuchCount);
        };
        let mut adjusted = Vec::with_capacity(self.lines.len());
        for (at, number) in self.lines.iter().enumerate() {
            let line = count.lines.iter().find(|line| line.line == *number);
            let line = line.filter(|line| line.counted != line.expected);
            let Some(line) = line else {
                return refuse(AdjustStockRefusal::NoDifference { at });
            };
            if line.adjusted.is_some() {
                return refuse(AdjustStockRefusal::AdjustedBefore { at });
            }
            self.adjust(writing, count.location, line, at).await?;
            adjusted.push(Line {
                difference: line.counted - line.expected,
                line: line.line,
                lot: line.item.lot,
                unit: line.item.unit,
            });
        }
        let data = Data {
            lines: adjusted,
            location: count.location,
            reason: &self.reason,
        };
        writing.append("adjust_stock", Subject::new("count", count.id), &data)?;
        let count = shelf_count::find(writing.connection, count.id).await?;
        Ok(count.ok_or(StoreError::Unfit)?)
    }
}

impl AdjustStock {
    async fn adjust(
        &self,
        writing: &mut Writing<'_>,
        place: Uuid,
        line: &CountedLine,
        at: usize,
    ) -> Result<(), Refused<AdjustStockRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let quantity = line.counted - line.expected;
        let (lot, unit) = (line.item.lot, line.item.unit);
        let standing = level::standing(writing.connection, None, Some(&[lot])).await?;
        let mut standing = standing.iter().filter(|row| row.unit == unit);
        if quantity < 0 {
            let enough = standing.any(|row| row.place == place && row.quantity >= -quantity);
            if !enough {
                return refuse(AdjustStockRefusal::NotThere { at });
            }
        } else if let Some(unit) = unit {
            let claim = uses::table.filter(uses::unit_id.eq(unit).and(uses::claims_unit));
            let claimed = diesel::select(exists(claim)).get_result(writing.connection);
            if standing.next().is_some() || claimed.await? {
                return refuse(AdjustStockRefusal::PieceElsewhere { at });
            }
        }
        let movement = Movement {
            lot,
            unit,
            place,
            kind: MovementKind::Adjusted,
            quantity,
            cause: self.count,
        };
        match level::change(writing, &movement).await? {
            Change::Done => {}
            Change::TooFew => return refuse(AdjustStockRefusal::NotThere { at }),
            Change::TooMany => return refuse(AdjustStockRefusal::TooMany { at }),
        }
        if let Some(unit) = unit {
            level::place_unit(writing, unit, (quantity > 0).then_some(place)).await?;
        }
        diesel::insert_into(shelf_adjustments::table)
            .values((
                shelf_adjustments::facility_id.eq(writing.facility.id),
                shelf_adjustments::count_id.eq(self.count),
                shelf_adjustments::line.eq(line.line),
                shelf_adjustments::actor.eq(writing.actor.to_string()),
                shelf_adjustments::reason.eq(&self.reason),
                shelf_adjustments::adjusted_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        Ok(())
    }
}
