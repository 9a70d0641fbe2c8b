//! Taking what expires off the shelf.

use super::level::{self, Change, Movement, Standing};
use super::named_item::{self, ItemOnRecord};
use crate::access::people;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{locations, lots};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::{LocationKind, MovementKind, SweepOutcome};
use serde::Serialize;
use uuid::Uuid;

/// Lots and places that one sweep may take at most.
pub const MOST_SWEPT: usize = 200;

/// Lines in one entry at most: each has at most 250 bytes, and an entry 65,535.
const LINES_IN_ENTRY: usize = 200;

/// Takes lots that are past their outdate, or will be within days, from places: all that is there.
#[derive(Clone, Debug)]
pub struct SweepStock {
    /// Days from today within which an outdate falls; 0 for what is past it.
    pub within_days: u16,
    /// The lots, each with its place; 1 to [`MOST_SWEPT`].
    pub stock: Vec<(Uuid, Uuid)>,
    /// What becomes of it.
    pub disposition: SweepDisposition,
    /// How it was destroyed, or the tracking number: 1 to 200 characters.
    pub note: String,
}

/// What becomes of swept stock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SweepDisposition {
    /// It waits at a place for held items.
    Quarantined {
        /// The place.
        place: Uuid,
    },
    /// It went back to its firm.
    SentBack,
    /// It was destroyed before a second person.
    Destroyed {
        /// Who saw it.
        witness: Uuid,
    },
}

/// What was swept.
#[derive(Clone, Debug)]
pub struct Swept {
    /// The sweep.
    pub id: Uuid,
    /// When.
    pub at: Timestamp,
    /// What was taken, a lot or piece a line, with the place it stood at and how many.
    pub lines: Vec<(ItemOnRecord, Uuid, i32)>,
}

/// Why nothing is swept; places of the list count from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SweepStockRefusal {
    /// The lot expires later, or has no outdate on record.
    #[error("the lot's outdate does not fall within these days")]
    NotDue {
        /// Its place in the list.
        at: usize,
    },
    /// There is none.
    #[error("the record has none of this lot at this place")]
    NotThere {
        /// Its place in the list.
        at: usize,
    },
    /// The place is no place for held items.
    #[error("there is no such place for held items")]
    NoQuarantine,
    /// Something destroyed needs a witness who is another person.
    #[error("what is destroyed needs a witness, who is another person of this site")]
    NoWitness,
}

#[derive(Serialize)]
struct Part<'a> {
    disposition: SweepOutcome,
    first_line: usize,
    line_count: usize,
    lines: Vec<Line>,
    note: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<Uuid>,
    within_days: u16,
    #[serde(skip_serializing_if = "Option::is_none")]
    witness: Option<Uuid>,
}

#[derive(Serialize)]
struct Line {
    location: Uuid,
    lot: Uuid,
    quantity: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
}

impl SweepDisposition {
    /// As the ledger writes it: the word, the place and the witness.
    fn written(self) -> (SweepOutcome, Option<Uuid>, Option<Uuid>) {
        match self {
            Self::Quarantined { place } => (SweepOutcome::Quarantined, Some(place), None),
            Self::SentBack => (SweepOutcome::SentBack, None, None),
            Self::Destroyed { witness } => (SweepOutcome::Destroyed, None, Some(witness)),
        }
    }
}

impl Operation for SweepStock {
    type Permission = act::SweepStock;
    type Outcome = Swept;
    type Refusal = SweepStockRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Swept, Refused<SweepStockRefusal>> {
        self.check(writing).await?;
        let standing = self.standing(writing).await?;
        let id = writing.new_id();
        for row in &standing {
            self.take(writing, id, row).await?;
        }
        let (disposition, to, witness) = self.disposition.written();
        for (at, rows) in standing.chunks(LINES_IN_ENTRY).enumerate() {
            let line = |row: &Standing| Line {
                location: row.place,
                lot: row.lot,
                quantity: row.quantity,
                unit: row.unit,
            };
            let data = Part {
                disposition,
                first_line: at * LINES_IN_ENTRY + 1,
                line_count: standing.len(),
                lines: rows.iter().map(line).collect(),
                note: &self.note,
                to,
                within_days: self.within_days,
                witness,
            };
            writing.append("sweep_stock", Subject::new("sweep", id), &data)?;
        }
        let keys: Vec<_> = standing.iter().map(|row| (row.lot, row.unit)).collect();
        let items = named_item::all(writing.connection, &keys).await?;
        let lines = items.into_iter().zip(&standing);
        Ok(Swept {
            id,
            at: writing.at,
            lines: lines
                .map(|(item, row)| (item, row.place, row.quantity))
                .collect(),
        })
    }
}

impl SweepStock {
    async fn check(&self, writing: &mut Writing<'_>) -> Result<(), Refused<SweepStockRefusal>> {
        match self.disposition {
            SweepDisposition::SentBack => Ok(()),
            SweepDisposition::Quarantined { place } => {
                let kind: Option<String> = locations::table
                    .find(place)
                    .select(locations::kind)
                    .first(writing.connection)
                    .await
                    .optional()?;
                match kind.as_deref() == Some(LocationKind::Quarantine.as_str()) {
                    true => Ok(()),
                    false => Err(Refused::Because(SweepStockRefusal::NoQuarantine)),
                }
            }
            SweepDisposition::Destroyed { witness } => {
                match people::is_another(writing, witness).await? {
                    true => Ok(()),
                    false => Err(Refused::Because(SweepStockRefusal::NoWitness)),
                }
            }
        }
    }

    /// Everything of the lots at the places, each due.
    async fn standing(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Vec<Standing>, Refused<SweepStockRefusal>> {
        let today = writing.facility.day(writing.at);
        let until = today.saturating_add(jiff::Span::new().days(self.within_days));
        let mut standing = Vec::new();
        for (at, (lot, place)) in self.stock.iter().enumerate() {
            let outdate: Option<jiff_diesel::NullableDate> = lots::table
                .find(lot)
                .select(lots::expires_on)
                .first(writing.connection)
                .await
                .optional()?;
            let outdate: Option<Date> = outdate.and_then(jiff_diesel::NullableDate::to_jiff);
            if outdate.is_none_or(|outdate| outdate >= until) {
                return Err(Refused::Because(SweepStockRefusal::NotDue { at }));
            }
            let rows = level::standing(writing.connection, Some(*place), Some(&[*lot])).await?;
            if rows.is_empty() {
                return Err(Refused::Because(SweepStockRefusal::NotThere { at }));
            }
            standing.extend(rows);
        }
        Ok(standing)
    }

    async fn take(
        &self,
        writing: &mut Writing<'_>,
        id: Uuid,
        row: &Standing,
    ) -> Result<(), Refused<SweepStockRefusal>> {
        let (kind, to) = match self.disposition {
            SweepDisposition::Quarantined { place } => (MovementKind::Moved, Some(place)),
            SweepDisposition::SentBack => (MovementKind::SentBack, None),
            SweepDisposition::Destroyed { .. } => (MovementKind::Destroyed, None),
        };
        let leaves = [(row.place, -row.quantity)];
        let comes = to.map(|place| (place, row.quantity));
        for (place, quantity) in leaves.into_iter().chain(comes) {
            let movement = Movement {
                lot: row.lot,
                unit: row.unit,
                place,
                kind,
                quantity,
                cause: id,
            };
            if level::change(writing, &movement).await? != Change::Done {
                return Err(crate::recorder::Failure::Unfit.into());
            }
        }
        if let Some(unit) = row.unit {
            level::place_unit(writing, unit, to).await?;
        }
        Ok(())
    }
}
