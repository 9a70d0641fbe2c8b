//! Checks and counts by two people.

use crate::cases::{self, NotOpen, add_to};
use crate::database::{Reading, StoreError};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::case_checks;
use crate::step::{Names, Step};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use lotwarden_domain::cases::CheckKind;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// One item of a check with its answer, or of a count with its number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CaseCheckLine {
    /// What was answered or counted.
    pub answer: String,
    /// What was asked or is counted.
    pub item: String,
}

/// A check or count on record.
#[derive(Clone, Debug)]
pub struct CaseCheck {
    /// The check.
    pub id: Uuid,
    /// Which.
    pub kind: CheckKind,
    /// Its lines.
    pub lines: Vec<CaseCheckLine>,
    /// Who recorded it, and when.
    pub recorded: Step,
    /// The second person, and when.
    pub confirmed: Option<Step>,
}

/// Records a check or count; a second person confirms it.
#[derive(Clone, Debug)]
pub struct RecordCaseCheck {
    /// The case.
    pub case: Uuid,
    /// Which.
    pub kind: CheckKind,
    /// Its lines.
    pub lines: Vec<CaseCheckLine>,
}

/// Why a check is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordCaseCheckRefusal {
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// Nobody is signed in who could check.
    #[error("only a person can check")]
    NotAPerson,
}

#[derive(Serialize)]
struct Data<'a> {
    kind: CheckKind,
    lines: &'a [CaseCheckLine],
}

impl Operation for RecordCaseCheck {
    type Permission = act::RecordCaseCheck;
    type Outcome = CaseCheck;
    type Refusal = RecordCaseCheckRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<CaseCheck, Refused<RecordCaseCheckRefusal>> {
        let Actor::Person(person) = *writing.actor else {
            return Err(Refused::Because(RecordCaseCheckRefusal::NotAPerson));
        };
        add_to::<RecordCaseCheckRefusal>(writing, self.case).await?;
        let id = writing.new_id();
        let lines = serde_json::to_value(&self.lines).map_err(|_| StoreError::Unfit)?;
        diesel::insert_into(case_checks::table)
            .values((
                case_checks::facility_id.eq(writing.facility.id),
                case_checks::id.eq(id),
                case_checks::case_id.eq(self.case),
                case_checks::kind.eq(self.kind.as_str()),
                case_checks::lines.eq(lines),
                case_checks::recorded_by.eq(person),
                case_checks::recorded_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            kind: self.kind,
            lines: &self.lines,
        };
        writing.append(
            "record_case_check",
            Subject::of_case("check", id, self.case),
            &data,
        )?;
        Ok(CaseCheck {
            id,
            kind: self.kind,
            lines: self.lines.clone(),
            recorded: Names::of(writing.connection, vec![person])
                .await?
                .step(person, writing.at),
            confirmed: None,
        })
    }
}

/// Confirms a check or count as the second person.
#[derive(Clone, Copy, Debug)]
pub struct ConfirmCaseCheck {
    /// The case.
    pub case: Uuid,
    /// The check.
    pub check: Uuid,
}

/// Why a check is not confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ConfirmCaseCheckRefusal {
    /// The case has no such check.
    #[error("the case has no such check")]
    NoSuchCheck,
    /// It is confirmed already.
    #[error("the check is confirmed already")]
    ConfirmedAlready,
    /// Whoever recorded it does not confirm it.
    #[error("the second person is another one than the first")]
    SamePerson,
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
}

#[derive(Serialize)]
struct Confirmed {
    kind: CheckKind,
}

impl Operation for ConfirmCaseCheck {
    type Permission = act::ConfirmCaseCheck;
    type Outcome = CaseCheck;
    type Refusal = ConfirmCaseCheckRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<CaseCheck, Refused<ConfirmCaseCheckRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let row: Option<Row> = case_checks::table
            .find(self.check)
            .filter(case_checks::case_id.eq(self.case))
            .select(Row::as_select())
            .first(writing.connection)
            .await
            .optional()?;
        let Some(row) = row else {
            return refuse(ConfirmCaseCheckRefusal::NoSuchCheck);
        };
        if row.confirmed_by.is_some() {
            return refuse(ConfirmCaseCheckRefusal::ConfirmedAlready);
        }
        let person = match *writing.actor {
            Actor::Person(person) if person != row.recorded_by => person,
            _ => return refuse(ConfirmCaseCheckRefusal::SamePerson),
        };
        add_to::<ConfirmCaseCheckRefusal>(writing, self.case).await?;
        diesel::update(case_checks::table.find(self.check))
            .set((
                case_checks::confirmed_by.eq(person),
                case_checks::confirmed_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let names = Names::of(writing.connection, vec![row.recorded_by, person]).await?;
        let mut check = row.check(&names)?;
        check.confirmed = Some(names.step(person, writing.at));
        let subject = Subject::of_case("check", self.check, self.case);
        writing.append(
            "confirm_case_check",
            subject,
            &Confirmed { kind: check.kind },
        )?;
        Ok(check)
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = case_checks)]
struct Row {
    id: Uuid,
    kind: String,
    lines: serde_json::Value,
    recorded_by: Uuid,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    recorded_at: Timestamp,
    confirmed_by: Option<Uuid>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    confirmed_at: jiff_diesel::NullableTimestamp,
}

impl Row {
    fn check(self, names: &Names) -> Result<CaseCheck, StoreError> {
        let confirmed = self.confirmed_by.zip(self.confirmed_at.to_jiff());
        Ok(CaseCheck {
            id: self.id,
            kind: self.kind.parse().map_err(|_| StoreError::Unfit)?,
            lines: serde_json::from_value(self.lines).map_err(|_| StoreError::Unfit)?,
            recorded: names.step(self.recorded_by, self.recorded_at),
            confirmed: confirmed.map(|(person, at)| names.step(person, at)),
        })
    }
}

/// Lists the checks of a case, oldest first; none when there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn list_case_checks(
    reading: &mut Reading,
    case: Uuid,
) -> Result<Option<Vec<CaseCheck>>, StoreError> {
    if !cases::exists(reading, case).await? {
        return Ok(None);
    }
    Ok(Some(checks_of_case(reading.connection(), case).await?))
}

/// The checks of a case, oldest first.
pub(crate) async fn checks_of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<CaseCheck>, StoreError> {
    let rows: Vec<Row> = case_checks::table
        .filter(case_checks::case_id.eq(case))
        .order(case_checks::id)
        .select(Row::as_select())
        .load(connection)
        .await?;
    let people = rows
        .iter()
        .flat_map(|row| [Some(row.recorded_by), row.confirmed_by]);
    let names = Names::of(connection, people.flatten().collect()).await?;
    rows.into_iter().map(|row| row.check(&names)).collect()
}
