//! `POST /v1/mixes/{mix}/check`

use super::mix::{MixJudged, judged};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::Nothing;
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::mixes::{CheckMix, CheckMixRefusal};
use uuid::Uuid;

impl From<CheckMixRefusal> for ApiError {
    fn from(refusal: CheckMixRefusal) -> Self {
        let because = |problem| ApiError::new(problem).detail(sentence(&refusal.to_string()));
        match refusal {
            CheckMixRefusal::NoSuchMix => ApiError::no_such("mix"),
            CheckMixRefusal::Stale => ApiError::new(&catalogue::STALE),
            CheckMixRefusal::NotMade => because(&catalogue::OUT_OF_ORDER),
            CheckMixRefusal::CheckedAlready => because(&catalogue::ALREADY_DONE),
            CheckMixRefusal::Case(reason) => reason.into(),
            CheckMixRefusal::SamePerson => because(&catalogue::FORBIDDEN),
        }
    }
}

/// Puts on record that the caller, who is not the one who made the mix, checked it against its
/// order and read it back. A hold on an ingredient or a use-by that is over stops it.
#[utoipa::path(
    operation_id = "check_mix", tag = "mixes", request_body = Nothing,
    params(("mix" = Uuid, Path, description = "The mix."), Change, IdempotencyKey),
    responses((status = 201, description = "On record; checked unless stopped.", body = MixJudged), Refusals),
)]
#[post("/v1/mixes/{mix}/check")]
pub(super) async fn check_mix(
    allowed: Allowed<act::CheckMix>,
    app: Data<App>,
    mix: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let operation = CheckMix {
        mix: mix.into_inner(),
        version: version.0,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, judged);
    Ok(reply(recorded.await?))
}
