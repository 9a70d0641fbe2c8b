//! Picking for a case.

use crate::cases::{NotOpen, add_to};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{lots, picks};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
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
        add_to::<RecordPickRefusal>(writing, self.case).await?;
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
