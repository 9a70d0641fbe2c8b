//! Until when the record of a case is kept.

use crate::cases::Case;
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{adverse_events, amendments, record_years};
use diesel::dsl::max;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::retention::{Facts, Rule, kept_until};
use serde::Serialize;
use std::convert::Infallible;

/// Puts on record how many years the state has medical records kept; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct DecideRecordYears {
    /// The rule that says so: 3 to 200 characters.
    pub source: String,
    /// The years: 1 to 100.
    pub years: u16,
}

impl Operation for DecideRecordYears {
    type Permission = act::DecideRecordYears;
    type Outcome = Self;
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Self, Refused<Infallible>> {
        diesel::insert_into(record_years::table)
            .values((
                record_years::facility_id.eq(writing.facility.id),
                record_years::id.eq(writing.new_id()),
                record_years::years.eq(i32::from(self.years)),
                record_years::source.eq(&self.source),
                record_years::decided_by.eq(writing.actor.to_string()),
                record_years::decided_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::new("facility", writing.facility.id);
        writing.append("decide_record_years", subject, self)?;
        Ok(self.clone())
    }
}

/// The last day that each rule keeps the record of a case, with where the rule stands.
#[derive(Clone, Debug)]
pub struct Retention {
    /// By rule.
    pub rules: Vec<(Rule, Date, String)>,
    /// Whether the state's years are on record; without them the record may have to be kept longer.
    pub state_years_known: bool,
}

/// Until when the record of a case is kept, by what the service knows: the state's years, six years
/// for required documentation, and two years from a device event.
pub(crate) async fn retention(
    connection: &mut AsyncPgConnection,
    zone: &TimeZone,
    case: &Case,
) -> Result<Retention, StoreError> {
    let decided: Option<(i32, String)> = record_years::table
        .order(record_years::id.desc())
        .select((record_years::years, record_years::source))
        .first(connection)
        .await
        .optional()?;
    let event: Option<jiff_diesel::Date> = adverse_events::table
        .filter(adverse_events::case_id.eq(case.id))
        .select(max(adverse_events::happened_on))
        .first(connection)
        .await?;
    let amended: Option<jiff_diesel::Timestamp> = amendments::table
        .filter(amendments::case_id.eq(case.id))
        .select(max(amendments::signed_at))
        .first(connection)
        .await?;
    let day = |at: Timestamp| at.to_zoned(zone.clone()).date();
    let at = case.ended_at.unwrap_or(case.scheduled_for);
    let years = decided.as_ref().map(|(years, _)| u16::try_from(*years));
    let facts = Facts {
        case_on: day(at),
        state_medical_record_years: years.transpose().map_err(|_| StoreError::Unfit)?,
        last_in_effect_on: amended.map(|at| day(at.to_jiff())),
        device_event_on: event.map(|day| day.to_jiff()),
        tracked_device_life_until: None,
        legal_hold_until: None,
    };
    let source = |rule: Rule| match (&decided, rule) {
        (Some((_, source)), Rule::StateMedicalRecord) => source.clone(),
        _ => rule.source().to_owned(),
    };
    let rules = kept_until(&facts).into_iter();
    Ok(Retention {
        rules: rules
            .map(|(rule, until)| (rule, until, source(rule)))
            .collect(),
        state_years_known: decided.is_some(),
    })
}
