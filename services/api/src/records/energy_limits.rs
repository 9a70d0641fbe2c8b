//! `POST` and `GET /v1/energy-limits`, and `POST /v1/energy-limits/{limit}/end`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_domain::energy::{self as domain, EnergyValue};
use lotwarden_domain::equipment::ThermometerType;
use lotwarden_store::moment::instant_text;
use lotwarden_store::records::{
    self as store, AddEnergyLimit, EndEnergyLimit, EndEnergyLimitRefusal, SiteEnergyLimit,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A setting or an end point of energy, as the site wrote it down.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnergyLimitBody {
    /// What it is about: `power_percent`, `litre_per_minute`, `passes`, `active_seconds` or
    /// `max_skin_celsius`.
    #[schema(value_type = String, example = "max_skin_celsius", pattern = "^(power_percent|litre_per_minute|passes|active_seconds|max_skin_celsius)$")]
    value: EnergyValue,
    /// The zone; every zone unless told.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "Calf, left", min_length = 1, max_length = 100)]
    zone: Option<String>,
    /// Of a skin temperature, the type of thermometer: `contact`, `infrared_spot` or
    /// `infrared_camera`; every type unless told.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, pattern = "^(contact|infrared_spot|infrared_camera)$")]
    thermometer_type: Option<ThermometerType>,
    /// The least that lies within, 0 to 86400.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "38")]
    least: Option<Exact>,
    /// The most that lies within, 0 to 86400.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "40")]
    most: Option<Exact>,
    /// Where the site has it from.
    #[schema(
        example = "Instructions for use, rev. 4, table 2",
        min_length = 3,
        max_length = 200
    )]
    source: String,
}

impl Checked for EnergyLimitBody {
    fn check(&self, errors: &mut Fields) {
        if let Some(zone) = &self.zone {
            errors.text("/zone", zone, 1, 100);
        }
        let of_skin = self.thermometer_type.is_none() || self.value == EnergyValue::MaxSkinCelsius;
        errors.require(of_skin, "/thermometer_type", "goes with a skin temperature");
        for (pointer, bound) in [("/least", self.least), ("/most", self.most)] {
            if let Some(bound) = bound {
                errors.range(pointer, bound, "0", "86400");
            }
        }
        let some = self.least.is_some() || self.most.is_some();
        errors.require(some, "/most", "must be given where there is no least");
        let in_order = self.least.zip(self.most);
        let in_order = in_order.is_none_or(|(least, most)| least.0 <= most.0);
        errors.require(in_order, "/most", "must not be below the least");
        errors.text("/source", &self.source, 3, 200);
    }
}

/// A setting or an end point of energy of the site.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnergyLimit {
    /// The limit.
    id: Uuid,
    /// What the site wrote.
    #[serde(flatten)]
    limit: EnergyLimitBody,
    /// Since when it counts.
    #[schema(format = DateTime)]
    since: String,
    /// When it ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    ended_at: Option<String>,
    /// Why it ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    end_reason: Option<String>,
}

impl From<&SiteEnergyLimit> for EnergyLimit {
    fn from(one: &SiteEnergyLimit) -> Self {
        let (ended_at, end_reason) = one.ended.clone().unzip();
        Self {
            id: one.id,
            limit: EnergyLimitBody {
                value: one.limit.value,
                zone: one.limit.zone.clone(),
                thermometer_type: one.limit.thermometer_type,
                least: one.limit.least.map(Exact),
                most: one.limit.most.map(Exact),
                source: one.source.clone(),
            },
            since: instant_text(one.since),
            ended_at: ended_at.map(instant_text),
            end_reason,
        }
    }
}

/// Writes down a setting or an end point of energy of the site, with its source. It counts for what
/// is recorded from now on; nothing is refused by it.
#[utoipa::path(
    operation_id = "add_energy_limit", tag = "records", request_body = EnergyLimitBody,
    params(IdempotencyKey),
    responses((status = 201, description = "Written down.", body = EnergyLimit), Refusals),
)]
#[post("/v1/energy-limits")]
pub(super) async fn add_energy_limit(
    allowed: Allowed<act::AddEnergyLimit>,
    app: Data<App>,
    keyed: Keyed<EnergyLimitBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = AddEnergyLimit {
        limit: domain::EnergyLimit {
            value: body.value,
            zone: body.zone,
            thermometer_type: body.thermometer_type,
            least: body.least.map(|bound| bound.0),
            most: body.most.map(|bound| bound.0),
        },
        source: body.source,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |limit, receipt| {
            render(
                StatusCode::CREATED,
                &EnergyLimit::from(limit),
                receipt,
                None,
            )
        },
    );
    Ok(reply(recorded.await?))
}

/// Why a limit ends.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnergyLimitEnd {
    /// Why.
    #[schema(
        example = "The maker changed its instructions",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for EnergyLimitEnd {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<EndEnergyLimitRefusal> for ApiError {
    fn from(refusal: EndEnergyLimitRefusal) -> Self {
        match refusal {
            EndEnergyLimitRefusal::NoSuchLimit => Self::no_such("limit"),
            EndEnergyLimitRefusal::Ended => {
                Self::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Ends a setting or an end point of energy. What was recorded before is still compared with it.
#[utoipa::path(
    operation_id = "end_energy_limit", tag = "records", request_body = EnergyLimitEnd,
    params(("limit" = Uuid, Path, description = "The limit."), IdempotencyKey),
    responses((status = 200, description = "Ended.", body = EnergyLimit), Refusals),
)]
#[post("/v1/energy-limits/{limit}/end")]
pub(super) async fn end_energy_limit(
    allowed: Allowed<act::EndEnergyLimit>,
    app: Data<App>,
    limit: Path<Uuid>,
    keyed: Keyed<EnergyLimitEnd>,
) -> Result<HttpResponse, ApiError> {
    let operation = EndEnergyLimit {
        id: limit.into_inner(),
        reason: keyed.body.reason,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |limit, receipt| render(StatusCode::OK, &EnergyLimit::from(limit), receipt, None),
    );
    Ok(reply(recorded.await?))
}

/// The site's settings and end points of energy.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnergyLimits {
    /// Oldest first, ended ones too.
    items: Vec<EnergyLimit>,
}

/// Lists the site's settings and end points of energy, each with its source.
#[utoipa::path(
    operation_id = "list_energy_limits", tag = "records",
    responses((status = 200, description = "The limits.", body = EnergyLimits), Refusals),
)]
#[get("/v1/energy-limits")]
pub(super) async fn list_energy_limits(
    allowed: Allowed<act::ListEnergyLimits>,
    app: Data<App>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let limits = store::list_energy_limits(&mut reading).await?;
    let items = limits.iter().map(EnergyLimit::from).collect();
    Ok(HttpResponse::Ok().json(EnergyLimits { items }))
}
