//! Follow-ups: the site's list, what is due, and what was done.

use crate::database::{Reading, StoreError, violates};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cases, follow_up_rules, follow_ups, people};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::CaseStatus;
use lotwarden_domain::deadlines::{self, FollowUp};
use serde::Serialize;
use uuid::Uuid;

/// Adds a follow-up to the site's list; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct AddFollowUpRule {
    /// Days after a completed case.
    pub days: u16,
    /// What the site calls it: 1 to 100 characters, one of a kind.
    pub name: String,
    /// Where the site has it from: 3 to 200 characters.
    pub source: String,
}

/// Why a follow-up is not added to the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddFollowUpRuleRefusal {
    /// There is one of this name.
    #[error("the list has a follow-up of this name already")]
    NameTaken,
}

impl Operation for AddFollowUpRule {
    type Permission = act::AddFollowUpRule;
    type Outcome = (Uuid, AddFollowUpRule);
    type Refusal = AddFollowUpRuleRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<(Uuid, AddFollowUpRule), Refused<AddFollowUpRuleRefusal>> {
        let id = writing.new_id();
        diesel::insert_into(follow_up_rules::table)
            .values((
                follow_up_rules::facility_id.eq(writing.facility.id),
                follow_up_rules::id.eq(id),
                follow_up_rules::name.eq(&self.name),
                follow_up_rules::days.eq(i32::from(self.days)),
                follow_up_rules::source.eq(&self.source),
                follow_up_rules::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(
                |error| match violates(&error, "follow_up_rules_name_once") {
                    true => Refused::Because(AddFollowUpRuleRefusal::NameTaken),
                    false => error.into(),
                },
            )?;
        writing.append(
            "add_follow_up_rule",
            Subject::new("follow_up_rule", id),
            self,
        )?;
        Ok((id, self.clone()))
    }
}

/// Records that a follow-up of a completed case was done. It leaves the signed record as it is.
#[derive(Clone, Debug)]
pub struct RecordFollowUp {
    /// The case.
    pub case: Uuid,
    /// The follow-up of the site's list, by its name.
    pub name: String,
    /// The day.
    pub done_on: Date,
    /// What came of it: 1 to 500 characters, never a patient's identity.
    pub outcome: String,
}

/// Why a follow-up is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordFollowUpRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
    /// The case is not completed.
    #[error("only a completed case has follow-ups")]
    NotCompleted,
    /// The list has no such follow-up.
    #[error("the site's list has no follow-up of this name")]
    NoSuchRule,
    /// It is done already.
    #[error("this follow-up is on record already")]
    DoneAlready,
    /// It lies outside the time since the case.
    #[error("must lie between the case and today")]
    OutOfRange,
}

#[derive(Serialize)]
struct Data<'a> {
    done_on: Date,
    name: &'a str,
    outcome: &'a str,
}

impl Operation for RecordFollowUp {
    type Permission = act::RecordFollowUp;
    type Outcome = RecordFollowUp;
    type Refusal = RecordFollowUpRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<RecordFollowUp, Refused<RecordFollowUpRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let case: Option<(String, jiff_diesel::NullableTimestamp)> = cases::table
            .find(self.case)
            .select((cases::status, cases::ended_at))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((status, ended_at)) = case else {
            return refuse(RecordFollowUpRefusal::NoSuchCase);
        };
        let ended_at = ended_at
            .to_jiff()
            .filter(|_| status == CaseStatus::Completed.as_str());
        let Some(ended_at) = ended_at else {
            return refuse(RecordFollowUpRefusal::NotCompleted);
        };
        let day = |at: Timestamp| writing.facility.day(at);
        if self.done_on < day(ended_at) || self.done_on > day(writing.at) {
            return refuse(RecordFollowUpRefusal::OutOfRange);
        }
        let rule: Option<Uuid> = follow_up_rules::table
            .filter(follow_up_rules::name.eq(&self.name))
            .select(follow_up_rules::id)
            .first(writing.connection)
            .await
            .optional()?;
        let rule = rule.ok_or(Refused::Because(RecordFollowUpRefusal::NoSuchRule))?;
        let done = diesel::insert_into(follow_ups::table)
            .values((
                follow_ups::facility_id.eq(writing.facility.id),
                follow_ups::case_id.eq(self.case),
                follow_ups::rule_id.eq(rule),
                follow_ups::done_on.eq(self.done_on.to_diesel()),
                follow_ups::outcome.eq(&self.outcome),
                follow_ups::actor.eq(writing.actor.to_string()),
                follow_ups::at.eq(writing.at.to_diesel()),
            ))
            .on_conflict_do_nothing()
            .execute(writing.connection)
            .await?;
        if done == 0 {
            return refuse(RecordFollowUpRefusal::DoneAlready);
        }
        let data = Data {
            done_on: self.done_on,
            name: &self.name,
            outcome: &self.outcome,
        };
        let subject = Subject::of_case("case", self.case, self.case);
        writing.append("record_follow_up", subject, &data)?;
        Ok(self.clone())
    }
}

/// A follow-up of a case.
#[derive(Clone, Debug)]
pub struct CaseFollowUp {
    /// The case.
    pub case: Uuid,
    /// What was done.
    pub procedure: String,
    /// The practitioner's name.
    pub practitioner: String,
    /// The follow-up.
    pub follow_up: FollowUp,
    /// Whether it was due before today and is not done.
    pub overdue: bool,
}

/// Which follow-ups of completed cases are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhichFollowUps {
    /// Done ones too.
    All,
    /// Those not done.
    Open,
    /// Those not done that were due before today.
    Overdue,
}

/// Lists the site's follow-ups in the order of their days.
///
/// # Errors
/// [`StoreError`].
pub async fn list_follow_up_rules(
    reading: &mut Reading,
) -> Result<Vec<(Uuid, AddFollowUpRule)>, StoreError> {
    rules(reading.connection()).await
}

async fn rules(
    connection: &mut AsyncPgConnection,
) -> Result<Vec<(Uuid, AddFollowUpRule)>, StoreError> {
    let rows: Vec<(Uuid, String, i32, String)> = follow_up_rules::table
        .order((follow_up_rules::days, follow_up_rules::id))
        .select((
            follow_up_rules::id,
            follow_up_rules::name,
            follow_up_rules::days,
            follow_up_rules::source,
        ))
        .load(connection)
        .await?;
    let rule = |(id, name, days, source): (Uuid, String, i32, String)| {
        let days = u16::try_from(days).map_err(|_| StoreError::Unfit)?;
        Ok((id, AddFollowUpRule { days, name, source }))
    };
    rows.into_iter().map(rule).collect()
}

/// Lists the follow-ups of completed cases, a page of cases at a time.
///
/// # Errors
/// [`StoreError`].
pub async fn list_follow_ups(
    reading: &mut Reading,
    zone: &TimeZone,
    today: Date,
    which: WhichFollowUps,
    after: After,
) -> Result<Page<Vec<CaseFollowUp>>, StoreError> {
    let connection = reading.connection();
    let rules = rules(connection).await?;
    let list: Vec<(&str, u16)> = rules
        .iter()
        .map(|(_, rule)| (rule.name.as_str(), rule.days))
        .collect();
    type Completed = (Uuid, jiff_diesel::NullableTimestamp, String, String);
    let completed: Vec<Completed> = cases::table
        .inner_join(people::table.on(people::id.eq(cases::practitioner_id)))
        .filter(cases::id.gt(after.start()))
        .filter(cases::status.eq(CaseStatus::Completed.as_str()))
        .order(cases::id)
        .limit(after.fetch())
        .select((
            cases::id,
            cases::ended_at,
            cases::procedure_name,
            people::name,
        ))
        .load(connection)
        .await?;
    let ids: Vec<Uuid> = completed.iter().map(|(id, ..)| *id).collect();
    let done: Vec<(Uuid, Uuid, jiff_diesel::Date)> = follow_ups::table
        .filter(follow_ups::case_id.eq_any(ids))
        .select((
            follow_ups::case_id,
            follow_ups::rule_id,
            follow_ups::done_on,
        ))
        .load(connection)
        .await?;
    let page = Page::of(completed, after, |(id, ..)| *id);
    let of_case = |(case, ended_at, procedure, practitioner): Completed| {
        let Some(ended_at) = ended_at.to_jiff() else {
            return Vec::new();
        };
        let case_on = ended_at.to_zoned(zone.clone()).date();
        let mut due = deadlines::follow_ups(case_on, &list);
        for (own, (rule, ..)) in due.iter_mut().zip(&rules) {
            let found = done.iter().find(|(of, by, _)| *of == case && by == rule);
            own.done_on = found.map(|(.., day)| day.to_jiff());
        }
        let late: Vec<FollowUp> = deadlines::overdue(&due, today)
            .into_iter()
            .cloned()
            .collect();
        due.into_iter()
            .map(|follow_up| CaseFollowUp {
                case,
                procedure: procedure.clone(),
                practitioner: practitioner.clone(),
                overdue: late.contains(&follow_up),
                follow_up,
            })
            .filter(|each| match which {
                WhichFollowUps::All => true,
                WhichFollowUps::Open => each.follow_up.done_on.is_none(),
                WhichFollowUps::Overdue => each.overdue,
            })
            .collect()
    };
    Ok(Page {
        items: page.items.into_iter().map(of_case).collect(),
        next: page.next,
    })
}
