//! `GET /v1/readiness`

use crate::access::Allowed;
use crate::app::App;
use crate::cases::{Case, Finding};
use crate::problem::{ApiError, FieldError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use jiff::ToSpan;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::picking::ReasonKind;
use lotwarden_domain::picking::reasons::{self as domain, Reason};
use lotwarden_domain::rules;
use lotwarden_store::picking as store;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::{IntoParams, ToSchema};

/// Days ahead at most.
const MOST: i32 = 60;

/// Which day.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct OnDay {
    /// The civil day, from today to 60 days ahead; tomorrow unless told.
    #[param(value_type = Option<String>, format = Date, example = "2026-03-11")]
    day: Option<Date>,
}

/// Whether the cases of a day can be set up.
#[derive(Debug, Serialize, ToSchema)]
pub struct Readiness {
    /// The day.
    #[schema(value_type = String, format = Date)]
    day: Date,
    /// The cases that may still take place, in the order of their times.
    cases: Vec<CaseReadiness>,
}

/// Whether a case can be set up.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseReadiness {
    /// The case.
    case: Case,
    /// Whether there is no reason against it.
    ready: bool,
    /// Every reason.
    reasons: Vec<ReadinessReason>,
}

/// A reason why a case cannot be set up as its list says.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReadinessReason {
    /// `no_list`, `short`, `stock`, `substitute`, `gas`, `equipment` or `check`.
    #[schema(value_type = String, example = "short")]
    kind: ReasonKind,
    /// Which of the kind's sentences it is; none where the kind has one alone.
    #[serde(skip_serializing_if = "str::is_empty")]
    #[schema(value_type = Option<String>, example = "product")]
    variant: &'static str,
    /// The values in the sentence, by name: a page says it in its own language with them.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    #[schema(value_type = Option<Object>, example = json!({"product": "Compression pad", "needed": "3", "taken": "1", "short": "2"}))]
    data: BTreeMap<&'static str, String>,
    /// The pieces that were looked at, with what the rules say of each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Option<Vec<JudgedPiece>>)]
    pieces: Vec<JudgedPiece>,
    /// One plain sentence, followed by one for each finding.
    #[schema(example = "Compression pad: 3 needed, 1 taken or to be taken, 2 short.")]
    sentence: String,
}

/// A gas fill or a piece of equipment that a rule keeps from being set up.
#[derive(Debug, Serialize, ToSchema)]
pub struct JudgedPiece {
    /// Its name: a serial, a lot, or equipment as it is called.
    name: String,
    /// Every finding.
    #[schema(value_type = Vec<Finding>)]
    findings: Vec<rules::Finding>,
}

impl From<&Reason> for ReadinessReason {
    fn from(reason: &Reason) -> Self {
        let piece = |piece: &domain::JudgedPiece| JudgedPiece {
            name: piece.name.clone(),
            findings: piece.findings.clone(),
        };
        Self {
            kind: reason.kind,
            variant: reason.variant,
            data: reason.data.clone(),
            pieces: reason.pieces.iter().map(piece).collect(),
            sentence: reason.sentence.clone(),
        }
    }
}

impl From<&store::CaseReadiness> for CaseReadiness {
    fn from(found: &store::CaseReadiness) -> Self {
        Self {
            case: Case::from(&found.case),
            ready: found.reasons.is_empty(),
            reasons: found.reasons.iter().map(ReadinessReason::from).collect(),
        }
    }
}

/// Shows whether the cases of a day can be set up, by their lists, the stock as it is usable on that
/// day, holds, notices, gas, equipment and routine checks. Computed anew each time.
#[utoipa::path(
    operation_id = "show_readiness", tag = "records", params(OnDay),
    responses((status = 200, description = "The cases.", body = Readiness), Refusals),
)]
#[get("/v1/readiness")]
pub(super) async fn show_readiness(
    allowed: Allowed<act::ShowReadiness>,
    app: Data<App>,
    asked: Query<OnDay>,
) -> Result<HttpResponse, ApiError> {
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let today = facility.day(app.recorder.clock().now());
    let day = asked.day.unwrap_or(today.saturating_add(1.day()));
    if day < today || day > today.saturating_add(MOST.days()) {
        let detail = format!("must lie between today and {MOST} days ahead");
        return Err(ApiError::fields(vec![FieldError::new("day", detail)]));
    }
    let mut reading = app.reading(facility.id).await?;
    let found = store::readiness(&mut reading, &facility, day, today).await?;
    Ok(HttpResponse::Ok().json(Readiness {
        day,
        cases: found.iter().map(CaseReadiness::from).collect(),
    }))
}
