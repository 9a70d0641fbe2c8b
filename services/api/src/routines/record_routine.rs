//! `POST /v1/routines/{routine}/records` and `POST /v1/routines/{routine}/records/{record}/confirm`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields, Nothing};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_store::moment::instant_text;
use lotwarden_store::routines::{
    self as store, ConfirmRoutine, ConfirmRoutineRefusal, RecordRoutine, RecordRoutineRefusal,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What a routine check found.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RoutineRecordBody {
    /// When it was done; now without one. Written down after its period it is a late entry, and
    /// both times are kept.
    #[schema(value_type = Option<String>, format = DateTime, example = "2026-03-10T11:40:00Z")]
    done_at: Option<Timestamp>,
    /// The values, in the order they are asked for.
    #[schema(max_items = 50)]
    values: Vec<RoutineFound>,
    /// What was done about a value out of its limits; required then.
    #[schema(
        example = "Door was ajar; drugs moved to the spare.",
        min_length = 3,
        max_length = 500
    )]
    action: Option<String>,
}

/// A value as it was found.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RoutineFound {
    /// The value's name.
    #[schema(example = "Temperature", min_length = 1, max_length = 100)]
    name: String,
    /// As it was read: a decimal number, `yes` or `no`, or a text.
    #[schema(example = "4.5", min_length = 1, max_length = 100)]
    value: String,
}

impl Checked for RoutineRecordBody {
    fn check(&self, errors: &mut Fields) {
        errors.require(self.values.len() <= 50, "/values", "must be at most 50");
        for (at, found) in self.values.iter().enumerate() {
            errors.text(&format!("/values/{at}/name"), &found.name, 1, 100);
            errors.text(&format!("/values/{at}/value"), &found.value, 1, 100);
        }
        if let Some(action) = &self.action {
            errors.text("/action", action, 3, 500);
        }
    }
}

/// A record of a routine check.
#[derive(Debug, Serialize, ToSchema)]
pub struct RoutineRecord {
    /// The record.
    id: Uuid,
    /// The check.
    routine_id: Uuid,
    /// When it was done.
    #[schema(format = DateTime)]
    done_at: String,
    /// The civil day of that; the record is of the period with this day.
    #[schema(value_type = String, format = Date)]
    done_on: Date,
    /// Whether it was written down after its period was over.
    late: bool,
    /// The values.
    values: Vec<RoutineFound>,
    /// Whether one is out of its limits.
    out_of_limits: bool,
    /// What was done about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    action: Option<String>,
    /// Who recorded it.
    recorded_by: Uuid,
    /// When it was written down.
    #[schema(format = DateTime)]
    recorded_at: String,
    /// The second person.
    #[serde(skip_serializing_if = "Option::is_none")]
    confirmed_by: Option<Uuid>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    confirmed_at: Option<String>,
}

impl From<&store::RoutineRecord> for RoutineRecord {
    fn from(record: &store::RoutineRecord) -> Self {
        let found = |found: &store::Found| RoutineFound {
            name: found.name.clone(),
            value: found.value.clone(),
        };
        Self {
            id: record.id,
            routine_id: record.routine,
            done_at: instant_text(record.done_at),
            done_on: record.done_on,
            late: record.late,
            values: record.found.iter().map(found).collect(),
            out_of_limits: record.out_of_limits,
            action: record.action.clone(),
            recorded_by: record.recorded.0,
            recorded_at: instant_text(record.recorded.1),
            confirmed_by: record.confirmed.map(|(person, _)| person),
            confirmed_at: record.confirmed.map(|(_, at)| instant_text(at)),
        }
    }
}

impl From<RecordRoutineRefusal> for ApiError {
    fn from(refusal: RecordRoutineRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let field =
            |pointer: &str| ApiError::fields(vec![FieldError::new(pointer, detail.clone())]);
        match refusal {
            RecordRoutineRefusal::NoSuchRoutine => ApiError::no_such("routine check"),
            RecordRoutineRefusal::NotAsked | RecordRoutineRefusal::NotYet => field("/done_at"),
            RecordRoutineRefusal::OtherValues => field("/values"),
            RecordRoutineRefusal::NotOfItsKind { at, .. } => field(&format!("/values/{at}/value")),
            RecordRoutineRefusal::ActionMissing => field("/action"),
            RecordRoutineRefusal::NotAPerson => ApiError::new(&catalogue::FORBIDDEN).detail(detail),
        }
    }
}

impl From<ConfirmRoutineRefusal> for ApiError {
    fn from(refusal: ConfirmRoutineRefusal) -> Self {
        let because = |problem| ApiError::new(problem).detail(sentence(&refusal.to_string()));
        match refusal {
            ConfirmRoutineRefusal::NoSuchRecord => ApiError::no_such("record of this check"),
            ConfirmRoutineRefusal::ConfirmedAlready => because(&catalogue::ALREADY_DONE),
            ConfirmRoutineRefusal::SamePerson => because(&catalogue::FORBIDDEN),
        }
    }
}

/// Records what a routine check found. A value out of its limits needs what was done about it.
#[utoipa::path(
    operation_id = "record_routine", tag = "routines", request_body = RoutineRecordBody,
    params(("routine" = Uuid, Path, description = "The check."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = RoutineRecord), Refusals),
)]
#[post("/v1/routines/{routine}/records")]
pub(super) async fn record_routine(
    allowed: Allowed<act::RecordRoutine>,
    app: Data<App>,
    routine: Path<Uuid>,
    keyed: Keyed<RoutineRecordBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let found = body.values.into_iter().map(|found| store::Found {
        name: found.name,
        value: found.value,
    });
    let operation = RecordRoutine {
        routine: routine.into_inner(),
        done_at: body.done_at,
        found: found.collect(),
        action: body.action,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |record, receipt| {
            let answer = RoutineRecord::from(record);
            render(StatusCode::CREATED, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}

/// Confirms a routine check as the second person.
#[utoipa::path(
    operation_id = "confirm_routine", tag = "routines", request_body = Nothing,
    params(
        ("routine" = Uuid, Path, description = "The check."),
        ("record" = Uuid, Path, description = "Its record."),
        IdempotencyKey,
    ),
    responses((status = 200, description = "Confirmed.", body = RoutineRecord), Refusals),
)]
#[post("/v1/routines/{routine}/records/{record}/confirm")]
pub(super) async fn confirm_routine(
    allowed: Allowed<act::ConfirmRoutine>,
    app: Data<App>,
    path: Path<(Uuid, Uuid)>,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let (routine, record) = path.into_inner();
    let operation = ConfirmRoutine { routine, record };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |record, receipt| {
            let answer = RoutineRecord::from(record);
            render(StatusCode::OK, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
