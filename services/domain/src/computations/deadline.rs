//! The day by which a report or an answer is due.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};
use serde::Serialize;
use serde_json::Value;

use super::CAUTION;
use super::fault::{FaultCode, Faults};
use super::fields::Fields;
use super::parse::{count, day_between, flag, word};
use crate::deadlines::{
    Clock, Event, FIRST_YEAR, FacilityStatus, Recipient, Reporting, Rule, Skipped, after_work_days,
    annual_report, disclosure_accounting, reporting,
};

const WORK_DAYS: &str = "due_on = the work_days-th day after aware_on that is Monday through Friday and no federal holiday as observed; \
    aware_on itself never counts; a holiday on a Saturday is observed on the Friday before, on a Sunday on the Monday after; \
    Inauguration Day and one-time closures are not skipped";
const CALENDAR_DAYS: &str = "due_on = aware_on + calendar_days";

/// The answer: to an event one became aware of, or to a request.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub enum Answer<'a> {
    /// The due day of a report.
    Report(Box<Report<'a>>),
    /// The due day of an accounting of disclosures.
    Accounting(Accounting<'a>),
}

/// The due day of a report.
#[derive(Debug, Serialize)]
pub struct Report<'a> {
    aware_on: Date,
    due_on: Date,
    due_weekday: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    work_days: Option<u16>,
    #[serde(skip_serializing_if = "Option::is_none")]
    calendar_days: Option<u16>,
    /// Each day that did not count, with the reason.
    skipped: BTreeMap<Date, &'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule: Option<Rule>,
    /// Whether a report has to be made, and to whom.
    report: Reported,
    #[serde(skip_serializing_if = "Option::is_none")]
    annual_report: Option<Annual>,
    inputs: &'a Value,
    formula: &'static str,
    source: String,
    caution: String,
}

#[derive(Debug, Serialize)]
#[serde(untagged)]
enum Reported {
    Said {
        required: bool,
        to: Vec<Recipient>,
        source: &'static str,
    },
    CannotBeSaid {
        cannot_be_said: String,
    },
}

#[derive(Debug, Serialize)]
struct Annual {
    due_on: Date,
    remind_on: Date,
    source: &'static str,
}

/// The days of an accounting of disclosures.
#[derive(Debug, Serialize)]
pub struct Accounting<'a> {
    requested_on: Date,
    due_on: Date,
    extended_due_on: Date,
    look_back_from: Date,
    skipped: BTreeMap<Date, &'static str>,
    inputs: &'a Value,
    formula: &'static str,
    source: &'static str,
    caution: String,
}

struct Input {
    aware_on: Date,
    rule: Option<Rule>,
    clock: Clock,
    status: Option<FacilityStatus>,
    event: Option<Event>,
    manufacturer_known: Option<bool>,
}

/// Computes the day.
pub fn compute(asked: &Value) -> Result<Answer<'_>, Faults> {
    let fields = Fields::of(asked, "")?;
    if fields.has("requested_on") {
        accounting(asked, fields).map(Answer::Accounting)
    } else {
        report(asked, fields).map(|report| Answer::Report(Box::new(report)))
    }
}

fn accounting<'a>(asked: &'a Value, mut fields: Fields<'_>) -> Result<Accounting<'a>, Faults> {
    if fields.has("aware_on") {
        fields.optional("aware_on", day_between(FIRST_YEAR, 2199));
        fields.fault(
            FaultCode::Conflict,
            "requested_on",
            "give either aware_on or requested_on, not both",
        );
    }
    let requested_on = fields.needed("requested_on", day_between(2003, 2199));
    let requested_on = fields.finish(requested_on)?;
    let days = disclosure_accounting(requested_on);
    Ok(Accounting {
        requested_on,
        due_on: days.due_on,
        extended_due_on: days.extended_due_on,
        look_back_from: days.look_back_from,
        skipped: BTreeMap::new(),
        inputs: asked,
        formula: "due_on = requested_on + 60 days; extended_due_on = 30 days more, once; look_back_from = requested_on - 6 years; no day is skipped",
        source: "45 CFR 164.528 (times from memory; confirm before relying on them)",
        caution: caution(),
    })
}

fn report<'a>(asked: &'a Value, fields: Fields<'_>) -> Result<Report<'a>, Faults> {
    let input = read(fields)?;
    let (due_on, skipped) = match input.clock {
        Clock::WorkDays(days) => {
            let deadline = after_work_days(input.aware_on, days);
            (deadline.due_on, deadline.skipped)
        }
        Clock::CalendarDays(days) => (
            input.aware_on.saturating_add(i32::from(days).days()),
            Vec::new(),
        ),
    };
    let (work_days, calendar_days, formula) = match input.clock {
        Clock::WorkDays(days) => (Some(days), None, WORK_DAYS),
        Clock::CalendarDays(days) => (None, Some(days), CALENDAR_DAYS),
    };
    let rule = input
        .rule
        .map_or("the number of work days as entered", Rule::source);
    let facility = input.rule == Some(Rule::UserFacilityReport);
    let year = annual_report(input.aware_on.year());
    Ok(Report {
        aware_on: input.aware_on,
        due_on,
        due_weekday: weekday(due_on.weekday()),
        work_days,
        calendar_days,
        skipped: skipped
            .into_iter()
            .map(|(day, reason)| (day, why(reason)))
            .collect(),
        rule: input.rule,
        report: reported(&input),
        annual_report: facility.then_some(Annual {
            due_on: year.due_on,
            remind_on: year.remind_on,
            source: "21 CFR 803.33(a); the reminder is on the last work day before, our own rule",
        }),
        inputs: asked,
        formula,
        source: match input.clock {
            Clock::WorkDays(_) => {
                format!("{rule}; work day: 21 CFR 803.3(y); federal holidays: 5 USC 6103")
            }
            Clock::CalendarDays(_) => rule.to_owned(),
        },
        caution: caution(),
    })
}

fn reported(input: &Input) -> Reported {
    if input.rule != Some(Rule::UserFacilityReport) {
        let cannot_be_said = "this is said for rule user_facility_report alone".to_owned();
        return Reported::CannotBeSaid { cannot_be_said };
    }
    let (Some(status), Some(event)) = (input.status, input.event) else {
        return Reported::CannotBeSaid {
            cannot_be_said: "facility_status and event are needed; the facility's status is recorded, never assumed".to_owned(),
        };
    };
    let answer = match (input.manufacturer_known, reporting(status, event, true)) {
        (_, Reporting::Voluntary) => Reporting::Voluntary,
        (Some(known), Reporting::Required(_)) => reporting(status, event, known),
        (None, Reporting::Required(_)) => {
            let cannot_be_said = "manufacturer_known is needed".to_owned();
            return Reported::CannotBeSaid { cannot_be_said };
        }
    };
    match answer {
        Reporting::Required(to) => Reported::Said {
            required: true,
            to,
            source: "21 CFR 803.30(a)",
        },
        Reporting::Voluntary => Reported::Said {
            required: false,
            to: Vec::new(),
            source: "21 USC 360i(b)(6), 21 CFR 803.3, 803.10(a); a report may be made all the same",
        },
    }
}

fn read(mut fields: Fields<'_>) -> Result<Input, Faults> {
    let aware_on = fields.needed("aware_on", day_between(FIRST_YEAR, 2199));
    let rule = fields.optional("rule", word::<Rule>);
    let work_days = fields.optional("work_days", count(1, 366));
    if fields.has("rule") && fields.has("work_days") {
        fields.fault(
            FaultCode::Conflict,
            "work_days",
            "give either rule or work_days, not both",
        );
    }
    let status = fields.optional("facility_status", word::<FacilityStatus>);
    let event = fields.optional("event", word::<Event>);
    let manufacturer_known = fields.optional("manufacturer_known", flag);
    let (rule, clock) = match work_days.and_then(|days| u16::try_from(days).ok()) {
        Some(days) => (None, Clock::WorkDays(days)),
        None => {
            let rule = rule.unwrap_or(Rule::UserFacilityReport);
            (Some(rule), rule.clock())
        }
    };
    let input = aware_on.map(|aware_on| Input {
        aware_on,
        rule,
        clock,
        status,
        event,
        manufacturer_known,
    });
    fields.finish(input)
}

fn caution() -> String {
    format!(
        "{CAUTION} The day is counted in the facility's time zone; a person confirms that the rule applies."
    )
}

fn why(reason: Skipped) -> &'static str {
    match reason {
        Skipped::Weekend(day) => weekday(day),
        Skipped::Holiday(holiday) => holiday.as_str(),
    }
}

const fn weekday(day: Weekday) -> &'static str {
    match day {
        Weekday::Monday => "Monday",
        Weekday::Tuesday => "Tuesday",
        Weekday::Wednesday => "Wednesday",
        Weekday::Thursday => "Thursday",
        Weekday::Friday => "Friday",
        Weekday::Saturday => "Saturday",
        Weekday::Sunday => "Sunday",
    }
}
