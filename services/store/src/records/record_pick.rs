//! Picking for a case.

use crate::cases::{NotOpen, add_to};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{lots, picks};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::PickKind;
use serde::Serialize;
use uuid::Uuid;

/// Records what was taken out for a case, or came back untouched; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct RecordPick {
    /// The case.
    pub case: Uuid,
    /// The version of the case that the caller saw, when the pick counts for that one alone.
    #[serde(skip)]
    pub seen: Option<i32>,
    /// Which way they went.
    pub kind: PickKind,
    /// The lots.
    pub lines: Vec<PickLine>,
}

/// So many of a lot.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct PickLine {
    /// The lot.
    pub lot: Uuid,
    /// Units of use.
    pub quantity: i32,
}

/// Why a pick is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordPickRefusal {
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// The case changed since the caller read it.
    #[error("the case changed since it was read")]
    Stale,
    /// There is no such lot.
    #[error("there is no such lot")]
    NoSuchLot {
        /// The line.
        line: usize,
    },
}

impl Operation for RecordPick {
    type Permission = act::RecordPick;
    type Outcome = RecordPick;
    type Refusal = RecordPickRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<RecordPick, Refused<RecordPickRefusal>> {
        let case = add_to::<RecordPickRefusal>(writing, self.case).await?;
        if self.seen.is_some_and(|seen| seen != case.version) {
            return Err(Refused::Because(RecordPickRefusal::Stale));
        }
        let known: Vec<Uuid> = lots::table
            .filter(lots::id.eq_any(self.lines.iter().map(|line| line.lot)))
            .select(lots::id)
            .load(writing.connection)
            .await?;
        for (number, line) in self.lines.iter().enumerate() {
            if !known.contains(&line.lot) {
                return Err(Refused::Because(RecordPickRefusal::NoSuchLot {
                    line: number,
                }));
            }
            diesel::insert_into(picks::table)
                .values((
                    picks::facility_id.eq(writing.facility.id),
                    picks::id.eq(writing.new_id()),
                    picks::case_id.eq(self.case),
                    picks::lot_id.eq(line.lot),
                    picks::kind.eq(self.kind.as_str()),
                    picks::quantity.eq(line.quantity),
                    picks::actor.eq(writing.actor.to_string()),
                    picks::at.eq(writing.at.to_diesel()),
                ))
                .execute(writing.connection)
                .await?;
        }
        let subject = Subject::of_case("case", self.case, self.case);
        writing.append("record_pick", subject, self)?;
        Ok(self.clone())
    }
}

/// So many of a lot that went one way.
#[derive(Clone, Debug)]
pub struct Pick {
    /// The record.
    pub id: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// Which way they went.
    pub kind: PickKind,
    /// Units of use.
    pub quantity: i32,
    /// Who recorded it, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// The picks of a case in the order they were recorded.
pub(crate) async fn picks_of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<Pick>, StoreError> {
    type Row = (Uuid, Uuid, String, i32, String, jiff_diesel::Timestamp);
    let rows: Vec<Row> = picks::table
        .filter(picks::case_id.eq(case))
        .order(picks::id)
        .select((
            picks::id,
            picks::lot_id,
            picks::kind,
            picks::quantity,
            picks::actor,
            picks::at,
        ))
        .load(connection)
        .await?;
    let pick = |(id, lot, kind, quantity, by, at): Row| {
        Ok(Pick {
            id,
            lot,
            kind: kind.parse().map_err(|_| StoreError::Unfit)?,
            quantity,
            by,
            at: at.to_jiff(),
        })
    };
    rows.into_iter().map(pick).collect()
}
