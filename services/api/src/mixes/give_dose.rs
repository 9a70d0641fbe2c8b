//! `POST /v1/mixes/{mix}/doses`

use super::mix::{MixJudged, judged};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::mixes::{GiveDose, GiveDoseRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A volume in a zone.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DoseBody {
    /// The zone, by the site's own list.
    #[schema(example = "Calf, left", min_length = 1, max_length = 100)]
    zone: String,
    /// The volume, more than 0 and at most 20000.
    #[schema(example = "180")]
    volume_ml: Exact,
}

impl Checked for DoseBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/zone", &self.zone, 1, 100);
        errors.range("/volume_ml", self.volume_ml, "0.000001", "20000");
    }
}

impl From<GiveDoseRefusal> for ApiError {
    fn from(refusal: GiveDoseRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            GiveDoseRefusal::NoSuchMix => ApiError::no_such("mix"),
            GiveDoseRefusal::NotChecked => ApiError::new(&catalogue::OUT_OF_ORDER).detail(detail),
            GiveDoseRefusal::Closed => ApiError::new(&catalogue::ALREADY_DONE).detail(detail),
            GiveDoseRefusal::Case(reason) => reason.into(),
            GiveDoseRefusal::MoreThanLeft => {
                ApiError::fields(vec![FieldError::new("/volume_ml", detail)])
            }
        }
    }
}

/// Puts on record that a volume of a checked mix is given in a zone. A hold on an ingredient or a
/// use-by that is over stops it: then it is on record as asked for and not given.
#[utoipa::path(
    operation_id = "give_dose", tag = "mixes", request_body = DoseBody,
    params(("mix" = Uuid, Path, description = "The mix."), IdempotencyKey),
    responses((status = 201, description = "On record; given unless stopped.", body = MixJudged), Refusals),
)]
#[post("/v1/mixes/{mix}/doses")]
pub(super) async fn give_dose(
    allowed: Allowed<act::GiveDose>,
    app: Data<App>,
    mix: Path<Uuid>,
    keyed: Keyed<DoseBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = GiveDose {
        mix: mix.into_inner(),
        zone: keyed.body.zone,
        volume_ml: keyed.body.volume_ml.0,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, judged);
    Ok(reply(recorded.await?))
}
