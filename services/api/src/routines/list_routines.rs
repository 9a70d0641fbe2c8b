//! `GET /v1/routines` and `GET /v1/routines/{routine}/records`

use super::Routine;
use super::record_routine::RoutineRecord;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, FieldError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use jiff::ToSpan;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::routines::PeriodState;
use lotwarden_store::routines as store;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// Days back that periods are shown for: unless told, and at most.
const USUAL: i32 = 30;
const MOST: i32 = 400;

/// Since when.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Since {
    /// The first day that periods are shown for, at most 400 days back; 30 days back unless told.
    #[param(value_type = Option<String>, format = Date, example = "2026-03-01")]
    from: Option<Date>,
}

/// The site's routine checks.
#[derive(Debug, Serialize, ToSchema)]
pub struct Routines {
    /// The civil day at the facility.
    #[schema(value_type = String, format = Date)]
    today: Date,
    /// The checks, in the order they came on the list; ended ones as long as a period is shown.
    items: Vec<RoutineStanding>,
}

/// A routine check and how it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct RoutineStanding {
    /// The check.
    #[serde(flatten)]
    routine: Routine,
    /// Its periods, oldest first.
    periods: Vec<RoutinePeriod>,
    /// How many were missed.
    missed: usize,
}

/// A period of a check.
#[derive(Debug, Serialize, ToSchema)]
pub struct RoutinePeriod {
    /// Its first day.
    #[schema(value_type = String, format = Date)]
    first_on: Date,
    /// Its last day.
    #[schema(value_type = String, format = Date)]
    last_on: Date,
    /// `done`, `late`, `unconfirmed`, `due` or `missed`.
    #[schema(value_type = String, example = "missed")]
    state: PeriodState,
    /// Whether a value was out of its limits and no complete check after it found all in theirs.
    out_of_limits: bool,
    /// The record that waits for its second person.
    #[serde(skip_serializing_if = "Option::is_none")]
    unconfirmed_record_id: Option<Uuid>,
}

impl From<&store::RoutineStanding> for RoutineStanding {
    fn from(standing: &store::RoutineStanding) -> Self {
        let period = |period: &store::StandingPeriod| RoutinePeriod {
            first_on: period.period.first,
            last_on: period.period.last,
            state: period.state,
            out_of_limits: period.out_of_limits,
            unconfirmed_record_id: period.unconfirmed,
        };
        let periods: Vec<RoutinePeriod> = standing.periods.iter().map(period).collect();
        let missed = |period: &&RoutinePeriod| period.state == PeriodState::Missed;
        Self {
            routine: Routine::from(&standing.routine),
            missed: periods.iter().filter(missed).count(),
            periods,
        }
    }
}

/// Lists routine checks with their periods: what is done, what is due, and what was missed.
#[utoipa::path(
    operation_id = "list_routines", tag = "routines", params(Since),
    responses((status = 200, description = "The checks.", body = Routines), Refusals),
)]
#[get("/v1/routines")]
pub(super) async fn list_routines(
    allowed: Allowed<act::ListRoutines>,
    app: Data<App>,
    since: Query<Since>,
) -> Result<HttpResponse, ApiError> {
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let today = facility.day(app.recorder.clock().now());
    let from = since.from.unwrap_or(today.saturating_sub(USUAL.days()));
    if from > today || from < today.saturating_sub(MOST.days()) {
        let detail = format!("must lie between {MOST} days back and today");
        return Err(ApiError::fields(vec![FieldError::new("from", detail)]));
    }
    let mut reading = app.reading(facility.id).await?;
    let all = store::standing(&mut reading, &facility, from, today).await?;
    let shown = all
        .iter()
        .filter(|one| one.routine.ended.is_none() || !one.periods.is_empty());
    Ok(HttpResponse::Ok().json(Routines {
        today,
        items: shown.map(RoutineStanding::from).collect(),
    }))
}

/// Lists what a routine check found, in the order it was written down.
#[utoipa::path(
    operation_id = "list_routine_records", tag = "routines",
    params(("routine" = Uuid, Path, description = "The check."), Paging),
    responses((status = 200, description = "A page of records.", body = List<RoutineRecord>), Refusals),
)]
#[get("/v1/routines/{routine}/records")]
pub(super) async fn list_routine_records(
    allowed: Allowed<act::ListRoutineRecords>,
    app: Data<App>,
    routine: Path<Uuid>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_records(&mut reading, routine.into_inner(), paging.after()?).await?;
    let page = page.ok_or_else(|| ApiError::no_such("routine check"))?;
    Ok(HttpResponse::Ok().json(List::of(page, |record| RoutineRecord::from(&record))))
}
