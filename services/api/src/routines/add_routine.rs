//! `POST /v1/routines` and `POST /v1/routines/{routine}/end`

use super::{Routine, RoutineValue};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::routines::{Asked, AskedKind, Every};
use lotwarden_store::routines::{
    AddRoutine, AddRoutineRefusal, EndRoutine, EndRoutineRefusal, NewRoutine,
};
use serde::Deserialize;
use std::collections::BTreeSet;
use utoipa::ToSchema;
use uuid::Uuid;

/// A routine check.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RoutineBody {
    /// What is checked.
    #[schema(example = "Drug refrigerator", min_length = 1, max_length = 200)]
    name: String,
    /// Where.
    location_id: Option<Uuid>,
    /// `day`, `operating_day`, `week` (from Monday) or `month`.
    #[schema(value_type = String, example = "day", pattern = "^(day|operating_day|week|month)$")]
    every: Every,
    /// Whether a second person confirms it.
    two_people: bool,
    /// The values it asks for, each name once.
    #[schema(max_items = 50)]
    values: Vec<RoutineValue>,
    /// Where the site has it from.
    #[schema(example = "Site policy 18", min_length = 3, max_length = 200)]
    source: String,
}

impl Checked for RoutineBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 200);
        errors.text("/source", &self.source, 3, 200);
        errors.require(self.values.len() <= 50, "/values", "must be at most 50");
        let names: BTreeSet<&str> = self.values.iter().map(|value| &*value.name).collect();
        let once = names.len() == self.values.len();
        errors.require(once, "/values", "must name each value once");
        for (at, value) in self.values.iter().enumerate() {
            errors.text(&format!("/values/{at}/name"), &value.name, 1, 100);
            if let Some(unit) = &value.unit {
                errors.text(&format!("/values/{at}/unit"), unit, 1, 20);
            }
            let limited = value.low.is_some() || value.high.is_some() || value.unit.is_some();
            let number = value.kind == AskedKind::Number;
            let pointer = format!("/values/{at}/kind");
            errors.require(
                number || !limited,
                &pointer,
                "only a number has unit and limits",
            );
            let ordered = value
                .low
                .zip(value.high)
                .is_none_or(|(low, high)| low <= high);
            let pointer = format!("/values/{at}/high");
            errors.require(ordered, &pointer, "must not be below low");
        }
    }
}

impl From<AddRoutineRefusal> for ApiError {
    fn from(refusal: AddRoutineRefusal) -> Self {
        match refusal {
            AddRoutineRefusal::NoSuchPlace => ApiError::fields(vec![FieldError::new(
                "/location_id",
                sentence(&refusal.to_string()),
            )]),
        }
    }
}

impl From<EndRoutineRefusal> for ApiError {
    fn from(refusal: EndRoutineRefusal) -> Self {
        match refusal {
            EndRoutineRefusal::NoSuchRoutine => ApiError::no_such("routine check"),
            EndRoutineRefusal::Ended => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Adds a routine check to the site's list; it is asked for from today on.
#[utoipa::path(
    operation_id = "add_routine", tag = "routines", request_body = RoutineBody,
    params(IdempotencyKey),
    responses((status = 201, description = "On the list.", body = Routine), Refusals),
)]
#[post("/v1/routines")]
pub(super) async fn add_routine(
    allowed: Allowed<act::AddRoutine>,
    app: Data<App>,
    keyed: Keyed<RoutineBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let asked = body.values.into_iter().map(|value| Asked {
        high: value.high.map(|high| high.0),
        kind: value.kind,
        low: value.low.map(|low| low.0),
        name: value.name,
        unit: value.unit,
    });
    let new = NewRoutine {
        asked: asked.collect(),
        every: body.every,
        location: body.location_id,
        name: body.name,
        source: body.source,
        two_people: body.two_people,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        AddRoutine { new },
        |routine, receipt| render(StatusCode::CREATED, &Routine::from(routine), receipt, None),
    );
    Ok(reply(recorded.await?))
}

/// Why a check ends.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RoutineEnd {
    /// Why.
    #[schema(
        example = "The refrigerator was sold.",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for RoutineEnd {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

/// Ends a routine check: from today on it is not asked for. What was missed stays missed.
#[utoipa::path(
    operation_id = "end_routine", tag = "routines", request_body = RoutineEnd,
    params(("routine" = Uuid, Path, description = "The check."), IdempotencyKey),
    responses((status = 200, description = "Ended.", body = Routine), Refusals),
)]
#[post("/v1/routines/{routine}/end")]
pub(super) async fn end_routine(
    allowed: Allowed<act::EndRoutine>,
    app: Data<App>,
    routine: Path<Uuid>,
    keyed: Keyed<RoutineEnd>,
) -> Result<HttpResponse, ApiError> {
    let operation = EndRoutine {
        routine: routine.into_inner(),
        reason: keyed.body.reason,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |routine, receipt| render(StatusCode::OK, &Routine::from(routine), receipt, None),
    );
    Ok(reply(recorded.await?))
}
