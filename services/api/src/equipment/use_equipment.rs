//! `POST` and `GET /v1/cases/{case}/equipment`, `POST /v1/equipment/{equipment}/strike`

use crate::access::Allowed;
use crate::app::App;
use crate::cases::Finding;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::Verdict;
use lotwarden_domain::equipment::EquipmentKind;
use lotwarden_store::equipment::{
    self as store, Named, StrikeEquipment, StrikeEquipmentRefusal, UseEquipment,
    UseEquipmentRefusal,
};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// Which piece is set up; one of both.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EquipmentNamed {
    /// Chosen from the list.
    equipment_id: Option<Uuid>,
    /// What a scanner read: the asset number, or the maker's label.
    #[schema(example = "EQ-0042", min_length = 1, max_length = 200)]
    code: Option<String>,
}

impl Checked for EquipmentNamed {
    fn check(&self, errors: &mut Fields) {
        errors.require(
            self.equipment_id.is_some() != self.code.is_some(),
            "/equipment_id",
            "give either equipment_id or code",
        );
        if let Some(code) = &self.code {
            errors.text("/code", &code.replace('\u{1d}', " "), 1, 200);
        }
    }
}

/// Equipment that was set up on a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct EquipmentOnCase {
    /// The record.
    id: Uuid,
    /// The piece.
    equipment_id: Uuid,
    /// Name, asset number and serial.
    #[schema(example = "Generator 2 (EQ-0042, SN 00417)")]
    described: String,
    /// What it is for.
    #[schema(value_type = String, example = "generator")]
    kind: EquipmentKind,
    /// Whether it was scanned, or chosen from the list.
    scanned: bool,
    /// `taken`, `look` or `stop`.
    #[schema(value_type = String, example = "taken")]
    verdict: Verdict,
    /// Every finding as it was told, worst first.
    #[schema(value_type = Vec<Finding>)]
    findings: serde_json::Value,
    /// Whether it is on the case: neither stopped nor taken back.
    on_case: bool,
    /// Why it was taken back.
    #[serde(skip_serializing_if = "Option::is_none")]
    struck_reason: Option<String>,
    /// Who set it up.
    recorded_by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

/// The equipment of a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseEquipment {
    /// In the order it was set up, stopped and taken back included.
    items: Vec<EquipmentOnCase>,
}

impl From<&store::EquipmentUse> for EquipmentOnCase {
    fn from(used: &store::EquipmentUse) -> Self {
        Self {
            id: used.id,
            equipment_id: used.equipment,
            described: used.described.clone(),
            kind: used.kind,
            scanned: used.scanned,
            verdict: used.verdict,
            findings: used.findings.clone(),
            on_case: used.verdict != Verdict::Stop && used.struck.is_none(),
            struck_reason: used.struck.clone(),
            recorded_by: used.by.clone(),
            at: instant_text(used.at),
        }
    }
}

impl From<UseEquipmentRefusal> for ApiError {
    fn from(refusal: UseEquipmentRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            UseEquipmentRefusal::Case(reason) => reason.into(),
            UseEquipmentRefusal::NoSuchEquipment => {
                ApiError::fields(vec![FieldError::new("/equipment_id", detail)])
            }
            UseEquipmentRefusal::OnCase => ApiError::new(&catalogue::ALREADY_DONE).detail(detail),
        }
    }
}

impl From<StrikeEquipmentRefusal> for ApiError {
    fn from(refusal: StrikeEquipmentRefusal) -> Self {
        match refusal {
            StrikeEquipmentRefusal::Case(reason) => reason.into(),
            StrikeEquipmentRefusal::NotOnCase => {
                ApiError::new(&catalogue::DIFFERS).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Sets equipment up on a case, by its scanned label or chosen. What a rule stops stays on record
/// and is not on the case.
#[utoipa::path(
    operation_id = "use_equipment", tag = "equipment", request_body = EquipmentNamed,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = EquipmentOnCase), Refusals),
)]
#[post("/v1/cases/{case}/equipment")]
pub(super) async fn use_equipment(
    allowed: Allowed<act::UseEquipment>,
    app: Data<App>,
    case: Path<Uuid>,
    keyed: Keyed<EquipmentNamed>,
) -> Result<HttpResponse, ApiError> {
    let EquipmentNamed { equipment_id, code } = keyed.body;
    let scanned = code.map(|code| Named::Scanned(code.trim().to_owned()));
    let named = scanned.or(equipment_id.map(Named::Chosen));
    let operation = UseEquipment {
        case: case.into_inner(),
        named: named.ok_or_else(|| ApiError::new(&catalogue::INVALID))?,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |used, receipt| {
                let answer = EquipmentOnCase::from(used);
                render(StatusCode::CREATED, &answer, receipt, None)
            });
    Ok(reply(recorded.await?))
}

/// Lists the equipment of a case.
#[utoipa::path(
    operation_id = "list_case_equipment", tag = "equipment",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The equipment.", body = CaseEquipment), Refusals),
)]
#[get("/v1/cases/{case}/equipment")]
pub(super) async fn list_case_equipment(
    allowed: Allowed<act::ListCaseEquipment>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let items = store::list_on_case(&mut reading, case.into_inner()).await?;
    let items = items.ok_or_else(|| ApiError::no_such("case"))?;
    Ok(HttpResponse::Ok().json(CaseEquipment {
        items: items.iter().map(EquipmentOnCase::from).collect(),
    }))
}

/// On which case equipment was set up by mistake, and why it is taken back.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EquipmentStrike {
    /// The case.
    case_id: Uuid,
    /// Why.
    #[schema(
        example = "The other generator is in the room.",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for EquipmentStrike {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

/// Takes equipment back from a case on which it was set up by mistake; the record stays visible.
#[utoipa::path(
    operation_id = "strike_equipment", tag = "equipment", request_body = EquipmentStrike,
    params(("equipment" = Uuid, Path, description = "The piece."), IdempotencyKey),
    responses((status = 201, description = "Taken back.", body = EquipmentOnCase), Refusals),
)]
#[post("/v1/equipment/{equipment}/strike")]
pub(super) async fn strike_equipment(
    allowed: Allowed<act::StrikeEquipment>,
    app: Data<App>,
    equipment: Path<Uuid>,
    keyed: Keyed<EquipmentStrike>,
) -> Result<HttpResponse, ApiError> {
    let operation = StrikeEquipment {
        case: keyed.body.case_id,
        equipment: equipment.into_inner(),
        reason: keyed.body.reason,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |used, receipt| {
                let answer = EquipmentOnCase::from(used);
                render(StatusCode::CREATED, &answer, receipt, None)
            });
    Ok(reply(recorded.await?))
}
