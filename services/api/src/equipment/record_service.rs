//! `POST /v1/equipment/{equipment}/services`

use super::{Due, Equipment, EquipmentService};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::equipment::ServiceKind;
use lotwarden_store::equipment::{NewService, RecordService, RecordServiceRefusal};
use uuid::Uuid;

impl Checked for EquipmentService {
    fn check(&self, errors: &mut Fields) {
        errors.day("/done_on", Some(self.done_on));
        errors.day("/due_on", Some(self.due_on));
        errors.require(
            self.due_on > self.done_on,
            "/due_on",
            "must come after done_on",
        );
        errors.text("/done_by", &self.done_by, 1, 200);
        if let Some(certificate) = &self.certificate {
            errors.text("/certificate", certificate, 1, 100);
        }
        errors.require(
            self.as_found.is_some() == (self.kind == ServiceKind::Calibration),
            "/as_found",
            "must be given with a calibration, and with nothing else",
        );
    }
}

impl From<RecordServiceRefusal> for ApiError {
    fn from(refusal: RecordServiceRefusal) -> Self {
        match refusal {
            RecordServiceRefusal::NoSuchEquipment => ApiError::no_such("equipment"),
            RecordServiceRefusal::NotYet => ApiError::fields(vec![FieldError::new(
                "/done_on",
                sentence(&refusal.to_string()),
            )]),
        }
    }
}

/// Records maintenance or calibration. A calibration that found the piece out of tolerance takes
/// it out of service; `GET /v1/equipment/{equipment}/cases` names the cases that had it since.
#[utoipa::path(
    operation_id = "record_service", tag = "equipment", request_body = EquipmentService,
    params(("equipment" = Uuid, Path, description = "The piece."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = Equipment), Refusals),
)]
#[post("/v1/equipment/{equipment}/services")]
pub(super) async fn record_service(
    allowed: Allowed<act::RecordService>,
    app: Data<App>,
    equipment: Path<Uuid>,
    keyed: Keyed<EquipmentService>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = RecordService {
        equipment: equipment.into_inner(),
        new: NewService {
            as_found: body.as_found,
            certificate: body.certificate,
            done_by: body.done_by,
            done_on: body.done_on,
            due_on: body.due_on,
            kind: body.kind,
        },
    };
    let due = Due::of(&app, allowed.caller.facility).await?;
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |piece, receipt| {
            let (answer, version) = (Equipment::of(piece, &due), Some(piece.version));
            render(StatusCode::CREATED, &answer, receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
