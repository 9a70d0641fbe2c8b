//! `POST /v1/loads/{load}/indicators`

use super::load::{Load, Reached};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::loads::{IndicatorKind, IndicatorResult};
use lotwarden_store::loads::{self as store, RecordIndicator, RecordIndicatorRefusal};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What an indicator showed.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IndicatorBody {
    /// `mechanical` (the monitor's print, reviewed), `chemical` or `biological`.
    #[schema(value_type = String, example = "biological", pattern = "^(mechanical|chemical|biological)$")]
    kind: IndicatorKind,
    /// `good` or `not_good`; for a biological one `negative` or `positive`.
    #[schema(value_type = String, example = "negative", pattern = "^(good|not_good|negative|positive)$")]
    result: IndicatorResult,
    /// Whether it is the test that follows a positive one.
    #[serde(default)]
    repeat: bool,
}

impl Checked for IndicatorBody {
    fn check(&self, errors: &mut Fields) {
        let detail = "must be good or not_good, and for a biological one negative or positive";
        errors.require(self.result.fits(self.kind), "/result", detail);
    }
}

/// A load with what follows from its indicator.
#[derive(Debug, Serialize, ToSchema)]
pub struct IndicatorRecorded {
    /// The load.
    load: Load,
    /// After a positive one, by the sterilizer's policy: `recall`, or `decide` for a person. The
    /// suspect loads are held either way.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "recall")]
    follows: Option<&'static str>,
    /// The suspect loads back to the last negative indicator, in the order they were run.
    suspects: Vec<Load>,
    /// The cases they reached.
    reached: Vec<Reached>,
}

impl From<&store::IndicatorRecorded> for IndicatorRecorded {
    fn from(recorded: &store::IndicatorRecorded) -> Self {
        Self {
            load: Load::from(&recorded.load),
            follows: recorded.follows.map(|follows| follows.as_str()),
            suspects: recorded.suspects.iter().map(Load::from).collect(),
            reached: recorded.reached.iter().map(Reached::from).collect(),
        }
    }
}

impl From<RecordIndicatorRefusal> for ApiError {
    fn from(refusal: RecordIndicatorRefusal) -> Self {
        match refusal {
            RecordIndicatorRefusal::NoSuchLoad => ApiError::no_such("load"),
            RecordIndicatorRefusal::NothingToRepeat => {
                ApiError::new(&catalogue::OUT_OF_ORDER).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Records what an indicator of a load showed. A positive biological one holds every load back to
/// the last negative one in the same commit, takes the sterilizer out of service, and names every
/// case that was reached.
#[utoipa::path(
    operation_id = "record_indicator", tag = "loads", request_body = IndicatorBody,
    params(("load" = Uuid, Path, description = "The load."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = IndicatorRecorded), Refusals),
)]
#[post("/v1/loads/{load}/indicators")]
pub(super) async fn record_indicator(
    allowed: Allowed<act::RecordIndicator>,
    app: Data<App>,
    load: Path<Uuid>,
    keyed: Keyed<IndicatorBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = RecordIndicator {
        load: load.into_inner(),
        kind: keyed.body.kind,
        result: keyed.body.result,
        repeat: keyed.body.repeat,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |recorded, receipt| {
            let version = Some(recorded.load.version);
            let answer = IndicatorRecorded::from(recorded);
            render(StatusCode::CREATED, &answer, receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
