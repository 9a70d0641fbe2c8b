//! `GET /v1/notices/{notice}/matches`

mod answer;

use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::http::answer::render;
use crate::http::reply;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
pub use answer::NoticeMatches;
use lotwarden_domain::access::act;
use lotwarden_store::Request;
use lotwarden_store::notices::{ListMatches, ListMatchesRefusal};
use uuid::Uuid;

impl From<ListMatchesRefusal> for ApiError {
    fn from(refusal: ListMatchesRefusal) -> Self {
        match refusal {
            ListMatchesRefusal::NoSuchNotice => ApiError::no_such("notice"),
            ListMatchesRefusal::NotInForce => {
                ApiError::new(&catalogue::NOTICE_STATE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Answers which patients, cases and places a notice hits: named as it stands (`affected`), named
/// but for case, spaces and leading zeros (`possible`), and not left out by its record
/// (`cannot_exclude`). Each answer is a ledger entry, without identity, and complete up to it.
#[utoipa::path(
    operation_id = "list_matches", tag = "notices",
    params(("notice" = Uuid, Path, description = "The notice; of an update, the whole matter is answered.")),
    responses((status = 200, description = "What it hits.", body = NoticeMatches), Refusals),
)]
#[get("/v1/notices/{notice}/matches")]
pub(super) async fn list_matches(
    allowed: Allowed<act::ListMatches>,
    app: Data<App>,
    notice: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let (_, key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = ListMatches {
        notice: notice.into_inner(),
        facility_key: key,
    };
    // Without a key nothing of the answer is kept.
    let recorded = app.recorder.record(
        &allowed.grant,
        Request::default(),
        operation,
        |found, receipt| render(StatusCode::OK, &NoticeMatches::of(found), receipt, None),
    );
    Ok(reply(recorded.await?))
}
