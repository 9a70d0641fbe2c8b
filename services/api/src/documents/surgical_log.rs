//! `GET /v1/surgical-log`

use super::billing_list::yes;
use super::sections::{amounts, column, stated, word};
use super::table::Table;
use super::{PDF, document};
use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, FieldError, Refusals};
use crate::stock::unprintable;
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use jiff::civil::Date;
use jiff::{Timestamp, ToSpan};
use lotwarden_documents::Report;
use lotwarden_domain::access::act;
use lotwarden_ledger::Head;
use lotwarden_store::documents::{self as store, MOST_SURGERIES, Surgery};
use lotwarden_store::facilities::Facility;
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

/// The form of the surgical log.
#[derive(Clone, Copy, Debug, Default, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum LogFormat {
    /// A printable document.
    #[default]
    Pdf,
    /// Comma-separated values (RFC 4180).
    Csv,
}

/// Which days.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct LogDays {
    /// The first day, in the facility's zone.
    #[param(value_type = String, format = Date, example = "2026-11-01")]
    from: Date,
    /// The last day, at most a year after the first.
    #[param(value_type = String, format = Date, example = "2026-11-30")]
    to: Date,
    /// `pdf` unless told.
    #[serde(default)]
    #[param(required = false, inline)]
    format: LogFormat,
}

/// The most days of one log.
const MOST_DAYS: i32 = 366;

/// Gives the cases of days as a surgical log: procedure, practitioner, start and end, what was given
/// of mixes, and the state; without anybody's identity.
#[utoipa::path(
    operation_id = "show_surgical_log", tag = "documents", params(LogDays),
    responses(
        (status = 200, description = "The log.", content(
            (String = "application/pdf"), (String = "text/csv"),
        )),
        Refusals,
    ),
)]
#[get("/v1/surgical-log")]
pub(super) async fn show_surgical_log(
    allowed: Allowed<act::ShowSurgicalLog>,
    app: Data<App>,
    days: Query<LogDays>,
) -> Result<HttpResponse, ApiError> {
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let (from, before) = bounds(&days, &facility)?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let cases = store::list_surgeries(&mut reading, from, before).await?;
    let cases = cases.ok_or_else(|| {
        let detail = format!("the days hold more than {MOST_SURGERIES} cases; ask for fewer");
        ApiError::fields(vec![FieldError::new("to", detail)])
    })?;
    let rows: Vec<Vec<String>> = cases.iter().map(|one| row(one, &facility)).collect();
    Ok(match days.format {
        LogFormat::Pdf => {
            let head = lotwarden_store::ledger::show_head(&mut reading).await?;
            let pages = pages(rows, &days, &facility, &head);
            let bytes = pages.pdf().map_err(unprintable)?;
            document(bytes, PDF, "surgical-log.pdf")
        }
        LogFormat::Csv => {
            let table = Table {
                title: "Surgical log",
                columns: COLUMNS,
                rows,
            };
            document(table.csv(), "text/csv; charset=utf-8", "surgical-log.csv")
        }
    })
}

fn bounds(days: &LogDays, facility: &Facility) -> Result<(Timestamp, Timestamp), ApiError> {
    let refuse = |name, detail: &str| ApiError::fields(vec![FieldError::new(name, detail)]);
    let known = |day: Date| (1900..=2200).contains(&day.year());
    if !known(days.from) || !known(days.to) {
        let name = if known(days.from) { "to" } else { "from" };
        return Err(refuse(name, "must lie between 1900 and 2200"));
    }
    let last = days.from.saturating_add((MOST_DAYS - 1).days());
    if days.to < days.from || days.to > last {
        return Err(refuse(
            "to",
            "must be the first day or up to a year after it",
        ));
    }
    let start = |day: Date| {
        day.to_zoned(facility.zone.clone())
            .map(|start| start.timestamp())
    };
    let bounds = start(days.from).and_then(|from| Ok((from, start(days.to.tomorrow()?)?)));
    bounds.map_err(|_| refuse("from", "is no day of the calendar"))
}

const COLUMNS: &[&str] = &[
    "date",
    "case",
    "procedure",
    "practitioner",
    "room",
    "started",
    "ended",
    "minutes",
    "status",
    "mixes_given",
    "signed",
    "amendments",
];

fn row(one: &Surgery, facility: &Facility) -> Vec<String> {
    let case = &one.case;
    let local = |at: Timestamp| at.to_zoned(facility.zone.clone());
    let time = |at: Option<Timestamp>| {
        let at = at.map(|at| local(at).strftime("%Y-%m-%d %H:%M").to_string());
        at.unwrap_or_default()
    };
    let ran = case.started_at.zip(case.ended_at);
    let minutes = ran.map(|(from, to)| to.duration_since(from).as_mins().to_string());
    let mut given = amounts(&one.amounts);
    if one.without_strength > 0 {
        let gap = if given.is_empty() { "" } else { "; " };
        given = format!("{given}{gap}{} without a strength", one.without_strength);
    }
    let amended = one.amendments.iter().map(|amendment| {
        let correction = &amendment.correction;
        let old = correction.old_value.as_deref().unwrap_or("not recorded");
        let part = word("part", correction.part.as_str());
        format!(
            "{part}, {}: {old} -> {}",
            stated(amendment),
            correction.new_value
        )
    });
    let amended: Vec<String> = amended.collect();
    vec![
        local(case.started_at.unwrap_or(case.scheduled_for))
            .date()
            .to_string(),
        case.id.to_string(),
        case.procedure.clone(),
        case.practitioner.1.clone(),
        case.location.1.clone(),
        time(case.started_at),
        time(case.ended_at),
        minutes.unwrap_or_default(),
        case.status.to_string(),
        given,
        yes(one.signed),
        amended.join("; "),
    ]
}

fn pages(rows: Vec<Vec<String>>, days: &LogDays, facility: &Facility, head: &Head) -> Report {
    let footer = vec![
        format!("Ledger head SHA-256 {}", head.hash),
        format!("{} entries when this log was made", head.size),
    ];
    let mut report = Report::new("Surgical log", footer);
    report.facts([
        ("Facility", facility.name.clone()),
        ("From", days.from.to_string()),
        ("To", days.to.to_string()),
        (
            "Times of",
            facility.zone.iana_name().unwrap_or_default().to_owned(),
        ),
        ("Cases", rows.len().to_string()),
    ]);
    let columns = [
        column("No.", 4),
        column("Date", 10),
        column("Procedure", 15),
        column("Practitioner, room", 15),
        column("Start, end", 10),
        column("Status", 11),
        column("Given of mixes", 13),
        column("Signed, amended", 11),
    ];
    // An id is longer than a column: the rows have numbers, and the ids stand below by them.
    let mut ids = Vec::new();
    let cells = |(at, row): (usize, Vec<String>)| {
        let [
            date,
            case,
            procedure,
            practitioner,
            room,
            started,
            ended,
            _,
            status,
            given,
            signed,
            amended,
        ] = <[String; 12]>::try_from(row).unwrap_or_default();
        let number = (at + 1).to_string();
        let time = |at: String| at.trim_start_matches(&format!("{date} ")).to_owned();
        let (started, ended) = (time(started), time(ended));
        ids.push(vec![number.clone(), case, date.clone()]);
        vec![
            number,
            date,
            procedure,
            format!("{practitioner}\n{room}"),
            format!("{started}\n{ended}"),
            word("status", &status),
            given,
            format!("{signed}\n{amended}"),
        ]
    };
    report.heading("Cases");
    let rows = rows.into_iter().enumerate().map(cells).collect();
    report.table(&columns, rows, "There are no cases on these days.");
    if !ids.is_empty() {
        report.heading("The cases in the service's record");
        let columns = [column("No.", 5), column("Case", 40), column("Date", 55)];
        report.table(&columns, ids, "");
    }
    report
}
