//! Recording how long equipment ran on a case.

use super::use_equipment::on_case;
use crate::cases::{NotOpen, add_to};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::equipment_runs;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// Records how long equipment ran on a case; it counts against its filter. The entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct RecordRun {
    /// The case.
    pub case: Uuid,
    /// The piece, which is on the case.
    pub equipment: Uuid,
    /// By its counter or a clock.
    pub minutes: Decimal,
}

/// A run on record.
#[derive(Clone, Debug)]
pub struct Run {
    /// The record.
    pub id: Uuid,
    /// What was recorded.
    pub recorded: RecordRun,
    /// Who recorded it, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// Why a run is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordRunRefusal {
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// It is not on the case.
    #[error("this equipment is not on the case; set it up there first")]
    NotOnCase,
}

impl Operation for RecordRun {
    type Permission = act::RecordRun;
    type Outcome = Run;
    type Refusal = RecordRunRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Run, Refused<RecordRunRefusal>> {
        add_to::<RecordRunRefusal>(writing, self.case).await?;
        let on_case = on_case(writing, self.equipment, self.case).await?;
        on_case.ok_or(Refused::Because(RecordRunRefusal::NotOnCase))?;
        let run = Run {
            id: writing.new_id(),
            recorded: self.clone(),
            by: writing.actor.to_string(),
            at: writing.at,
        };
        diesel::insert_into(equipment_runs::table)
            .values((
                equipment_runs::facility_id.eq(writing.facility.id),
                equipment_runs::id.eq(run.id),
                equipment_runs::equipment_id.eq(self.equipment),
                equipment_runs::case_id.eq(self.case),
                equipment_runs::minutes.eq(self.minutes),
                equipment_runs::actor.eq(&run.by),
                equipment_runs::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::of_case("equipment_run", run.id, self.case);
        writing.append("record_run", subject, self)?;
        Ok(run)
    }
}

/// The runs on a case in the order they were recorded.
pub(crate) async fn runs_of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<Run>, StoreError> {
    type Row = (Uuid, Uuid, Decimal, String, jiff_diesel::Timestamp);
    let rows: Vec<Row> = equipment_runs::table
        .filter(equipment_runs::case_id.eq(case))
        .order(equipment_runs::id)
        .select((
            equipment_runs::id,
            equipment_runs::equipment_id,
            equipment_runs::minutes,
            equipment_runs::actor,
            equipment_runs::at,
        ))
        .load(connection)
        .await?;
    let run = |(id, equipment, minutes, by, at): Row| Run {
        id,
        recorded: RecordRun {
            case,
            equipment,
            minutes,
        },
        by,
        at: at.to_jiff(),
    };
    Ok(rows.into_iter().map(run).collect())
}
