//! `POST /v1/loads`

use super::load::{Load, changed};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use jiff::Timestamp;
use lotwarden_domain::access::act;
use lotwarden_domain::clock::whole_microseconds;
use lotwarden_domain::loads::LoadKind;
use lotwarden_store::loads::{NewLoad, NewPack, RecordLoad, RecordLoadRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A cycle with its specific contents.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LoadBody {
    /// The sterilizer.
    sterilizer_id: Uuid,
    /// The cycle or load number.
    #[schema(example = "L104", min_length = 1, max_length = 50)]
    cycle: String,
    /// `terminal` or `immediate_use`.
    #[schema(value_type = String, example = "terminal", pattern = "^(terminal|immediate_use)$")]
    kind: LoadKind,
    /// The case of an immediate-use cycle, which names its patient.
    case_id: Option<Uuid>,
    /// Why it was an immediate-use cycle; it is never run for convenience.
    #[schema(min_length = 3, max_length = 500)]
    reason: Option<String>,
    /// When it started.
    #[schema(value_type = String, format = DateTime)]
    started_at: Timestamp,
    /// The exposure time, 0.1 to 1440.
    #[schema(example = "4")]
    exposure_minutes: Exact,
    /// The exposure temperature, 20 to 200.
    #[schema(example = "132")]
    exposure_celsius: Exact,
    /// What was in it, up to 50; none for an empty-chamber cycle.
    #[schema(max_items = 50)]
    packs: Vec<PackBody>,
}

/// A pack with its lot-control label.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PackBody {
    /// The lot-control label.
    #[schema(example = "L104-01", min_length = 1, max_length = 50)]
    label: String,
    /// What it is.
    #[schema(example = "Cannula set, 1.5 mm", min_length = 1, max_length = 200)]
    name: String,
    /// Whether an implant is in it.
    implant: bool,
    /// The reusable pieces in it, up to 50.
    #[schema(max_items = 50)]
    unit_ids: Vec<Uuid>,
}

impl Checked for LoadBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/cycle", &self.cycle, 1, 50);
        let immediate = self.kind == LoadKind::ImmediateUse;
        errors.require(
            self.case_id.is_some() == immediate,
            "/case_id",
            "must be given for an immediate-use cycle, and for none other",
        );
        match &self.reason {
            Some(reason) if immediate => errors.text("/reason", reason, 3, 500),
            reason => errors.require(
                reason.is_some() == immediate,
                "/reason",
                "must be given for an immediate-use cycle, and for none other",
            ),
        }
        errors.range("/exposure_minutes", self.exposure_minutes, "0.1", "1440");
        errors.range("/exposure_celsius", self.exposure_celsius, "20", "200");
        errors.require(self.packs.len() <= 50, "/packs", "must be at most 50");
        for (number, pack) in self.packs.iter().enumerate() {
            let at = |member: &str| format!("/packs/{number}/{member}");
            errors.text(&at("label"), &pack.label, 1, 50);
            errors.text(&at("name"), &pack.name, 1, 200);
            errors.require(
                pack.unit_ids.len() <= 50,
                &at("unit_ids"),
                "must be at most 50",
            );
        }
    }
}

impl From<RecordLoadRefusal> for ApiError {
    fn from(refusal: RecordLoadRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let because = |problem| ApiError::new(problem).detail(detail.clone());
        let field = |pointer: String| ApiError::fields(vec![FieldError::new(pointer, &detail)]);
        match refusal {
            RecordLoadRefusal::NoSuchSterilizer => field("/sterilizer_id".to_owned()),
            RecordLoadRefusal::OutOfService => because(&catalogue::OUT_OF_ORDER),
            RecordLoadRefusal::CycleTaken => because(&catalogue::TAKEN),
            RecordLoadRefusal::LabelTwice => field("/packs".to_owned()),
            RecordLoadRefusal::NotStarted => field("/started_at".to_owned()),
            RecordLoadRefusal::Case(reason) => reason.into(),
            RecordLoadRefusal::NoSuchUnit { pack, unit } => {
                field(format!("/packs/{pack}/unit_ids/{unit}"))
            }
        }
    }
}

/// Puts a load on record with its specific contents. Nothing of it is used before its release.
#[utoipa::path(
    operation_id = "record_load", tag = "loads", request_body = LoadBody, params(IdempotencyKey),
    responses((status = 201, description = "On record, not released.", body = Load), Refusals),
)]
#[post("/v1/loads")]
pub(super) async fn record_load(
    allowed: Allowed<act::RecordLoad>,
    app: Data<App>,
    keyed: Keyed<LoadBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let packs = body.packs.into_iter().map(|pack| NewPack {
        implant: pack.implant,
        label: pack.label,
        name: pack.name,
        units: pack.unit_ids,
    });
    let new = NewLoad {
        case: body.case_id,
        cycle: body.cycle,
        exposure_celsius: body.exposure_celsius.0,
        exposure_minutes: body.exposure_minutes.0,
        kind: body.kind,
        packs: packs.collect(),
        reason: body.reason,
        started_at: whole_microseconds(body.started_at),
        sterilizer: body.sterilizer_id,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        RecordLoad { new },
        changed(StatusCode::CREATED),
    );
    Ok(reply(recorded.await?))
}
