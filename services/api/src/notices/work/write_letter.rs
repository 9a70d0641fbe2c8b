//! `GET /v1/notices/{notice}/letters/{patient}`

use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use lotwarden_documents::{Paper, letter};
use lotwarden_domain::access::act;
use lotwarden_domain::notices::Language;
use lotwarden_store::notices::work::WriteLetter;
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

/// Which letter.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WhichLetter {
    /// The language: `en` unless told, or `de`.
    #[param(value_type = Option<String>, example = "en", pattern = "^(de|en)$")]
    language: Option<Language>,
}

/// Gives the site's letter to a patient whom the practitioner decided to tell, as PDF: on A4 in
/// German, on US letter paper in English. Each letter is an entry that names the text used and, by
/// id, the patient. The PDF's typeface has the characters of Latin-1; others are question marks.
#[utoipa::path(
    operation_id = "write_letter", tag = "notices",
    params(
        ("notice" = Uuid, Path, description = "The notice."),
        ("patient" = Uuid, Path, description = "The patient, by id."),
        WhichLetter,
    ),
    responses(
        (status = 200, description = "The letter.", body = String, content_type = "application/pdf"),
        Refusals,
    ),
)]
#[get("/v1/notices/{notice}/letters/{patient}")]
pub(super) async fn write_letter(
    allowed: Allowed<act::WriteLetter>,
    app: Data<App>,
    path: Path<(Uuid, Uuid)>,
    which: Query<WhichLetter>,
) -> Result<HttpResponse, ApiError> {
    let (_, key) = facility_key(&app, allowed.caller.facility).await?;
    let (notice, patient) = path.into_inner();
    let language = which.language.unwrap_or(Language::English);
    let operation = WriteLetter {
        facility_key: key,
        notice,
        patient,
        language,
    };
    let paper = match language {
        Language::German => Paper::A4,
        Language::English => Paper::Letter,
    };
    let (written, _) = app.recorder.look(&allowed.grant, operation).await?;
    let pdf = letter(written.text(), paper);
    Ok(HttpResponse::Ok().content_type("application/pdf").body(pdf))
}
