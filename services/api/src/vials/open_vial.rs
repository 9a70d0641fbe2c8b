//! `POST /v1/vials`, `GET /v1/vials` and `POST /v1/vials/{vial}/discard`

use crate::access::Allowed;
use crate::app::App;
use crate::cases::Finding;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, List, Paging, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get, post};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::rules::{self, judge_vial};
use lotwarden_store::moment::instant_text;
use lotwarden_store::vials::{
    self as store, DiscardVial, DiscardVialRefusal, OpenVial, OpenVialRefusal,
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// The first puncture of a vial.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VialBody {
    /// The lot. Its product is of the kind `drug` or `diluent` and reusable.
    lot_id: Uuid,
    /// The container, when its label has a serial.
    unit_id: Option<Uuid>,
    /// What is written on the container, so that two of a lot are told apart.
    #[schema(example = "A", min_length = 1, max_length = 50)]
    name: String,
    /// The day of the first puncture; today without one.
    #[schema(value_type = Option<String>, format = Date)]
    punctured_on: Option<Date>,
    /// What it held, more than 0 and at most 20000; the catalogue's without one.
    #[schema(example = "50")]
    volume_ml: Option<Exact>,
}

impl Checked for VialBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 50);
        errors.day("/punctured_on", self.punctured_on);
        if let Some(volume) = self.volume_ml {
            errors.range("/volume_ml", volume, "0.000001", "20000");
        }
    }
}

/// A multi-dose vial.
#[derive(Debug, Serialize, ToSchema)]
pub struct Vial {
    /// The vial.
    id: Uuid,
    /// The product.
    product_id: Uuid,
    /// Its name.
    product_name: String,
    /// The lot.
    lot_id: Uuid,
    /// Its number, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<String>,
    /// The container.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// What is written on the container.
    name: String,
    /// The day of the first puncture.
    #[schema(value_type = String, format = Date)]
    punctured_on: Date,
    /// The last usable day: 28 days after the first puncture or the maker's days, or the label's last
    /// day where that comes first (USP <797> section 15.2, from memory).
    #[schema(value_type = String, format = Date)]
    last_day: Date,
    /// What it held.
    volume_ml: Exact,
    /// What was drawn into mixes.
    drawn_ml: Exact,
    /// What is left.
    left_ml: Exact,
    /// Who punctured it.
    opened_by: String,
    /// When that was put on record.
    #[schema(format = DateTime)]
    opened_at: String,
    /// When it was discarded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    discarded_at: Option<String>,
    /// Why.
    #[serde(skip_serializing_if = "Option::is_none")]
    discard_reason: Option<String>,
    /// What there is to look at today.
    #[schema(value_type = Vec<Finding>)]
    findings: Vec<rules::Finding>,
}

impl Vial {
    fn of(vial: &store::Vial, today: Date) -> Self {
        let discarded = vial.discarded.as_ref();
        let open = discarded.is_none();
        let finding = judge_vial(&vial.facts(true), today).filter(|_| open);
        Self {
            id: vial.id,
            product_id: vial.product.0,
            product_name: vial.product.1.clone(),
            lot_id: vial.lot.0,
            lot: vial.lot.1.clone(),
            unit_id: vial.unit,
            name: vial.name.clone(),
            punctured_on: vial.punctured_on,
            last_day: vial.last_day,
            volume_ml: vial.volume_ml.into(),
            drawn_ml: vial.drawn_ml.into(),
            left_ml: vial.left_ml().into(),
            opened_by: vial.opened_by.clone(),
            opened_at: instant_text(vial.opened_at),
            discarded_at: discarded.map(|(at, _)| instant_text(*at)),
            discard_reason: discarded.map(|(_, why)| why.clone()),
            findings: finding.into_iter().collect(),
        }
    }
}

impl From<OpenVialRefusal> for ApiError {
    fn from(refusal: OpenVialRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let field = |pointer| ApiError::fields(vec![FieldError::new(pointer, detail.clone())]);
        match refusal {
            OpenVialRefusal::NoSuchLot
            | OpenVialRefusal::NotADrug
            | OpenVialRefusal::NotReusable => field("/lot_id"),
            OpenVialRefusal::NoSuchUnit => field("/unit_id"),
            OpenVialRefusal::NotYet => field("/punctured_on"),
            OpenVialRefusal::VolumeMissing => field("/volume_ml"),
            OpenVialRefusal::OnRecord => ApiError::new(&catalogue::TAKEN).detail(detail),
        }
    }
}

impl From<DiscardVialRefusal> for ApiError {
    fn from(refusal: DiscardVialRefusal) -> Self {
        match refusal {
            DiscardVialRefusal::NoSuchVial => ApiError::no_such("vial"),
            DiscardVialRefusal::Discarded => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Puts the first puncture of a multi-dose vial on record. From then on its last day is known
/// wherever its label is scanned.
#[utoipa::path(
    operation_id = "open_vial", tag = "mixes", request_body = VialBody, params(IdempotencyKey),
    responses((status = 201, description = "On record.", body = Vial), Refusals),
)]
#[post("/v1/vials")]
pub(super) async fn open_vial(
    allowed: Allowed<act::OpenVial>,
    app: Data<App>,
    keyed: Keyed<VialBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = OpenVial {
        lot: body.lot_id,
        unit: body.unit_id,
        name: body.name,
        punctured_on: body.punctured_on,
        volume_ml: body.volume_ml.map(|volume| volume.0),
    };
    let today = app.today(allowed.caller.facility).await?;
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |vial, receipt| {
            let answer = Vial::of(vial, today);
            render(StatusCode::CREATED, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}

/// Which vials.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WhichVials {
    /// Only those that were not discarded.
    open: Option<bool>,
}

/// Lists multi-dose vials in the order they were punctured, with what is left and the last day.
#[utoipa::path(
    operation_id = "list_vials", tag = "mixes", params(WhichVials, Paging),
    responses((status = 200, description = "A page of vials.", body = List<Vial>), Refusals),
)]
#[get("/v1/vials")]
pub(super) async fn list_vials(
    allowed: Allowed<act::ListVials>,
    app: Data<App>,
    which: Query<WhichVials>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let today = app.today(allowed.caller.facility).await?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let open = which.open.unwrap_or(false);
    let page = store::list_vials(&mut reading, open, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |vial| Vial::of(&vial, today))))
}

/// Why a vial is discarded.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VialDiscard {
    /// Why.
    #[schema(example = "Past its last day.", min_length = 3, max_length = 500)]
    reason: String,
}

impl Checked for VialDiscard {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

/// Discards a vial with what is left in it.
#[utoipa::path(
    operation_id = "discard_vial", tag = "mixes", request_body = VialDiscard,
    params(("vial" = Uuid, Path, description = "The vial."), IdempotencyKey),
    responses((status = 200, description = "Discarded.", body = Vial), Refusals),
)]
#[post("/v1/vials/{vial}/discard")]
pub(super) async fn discard_vial(
    allowed: Allowed<act::DiscardVial>,
    app: Data<App>,
    vial: Path<Uuid>,
    keyed: Keyed<VialDiscard>,
) -> Result<HttpResponse, ApiError> {
    let operation = DiscardVial {
        vial: vial.into_inner(),
        reason: keyed.body.reason,
    };
    let today = app.today(allowed.caller.facility).await?;
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |vial, receipt| render(StatusCode::OK, &Vial::of(vial, today), receipt, None),
    );
    Ok(reply(recorded.await?))
}
