//! `GET /v1/notices/{notice}/letters/{patient}`

use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::problem::{ApiError, Refusals};
use crate::stock::unprintable;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use lotwarden_documents::{LACKS, Paper, letter};
use lotwarden_domain::access::act;
use lotwarden_domain::notices::Language;
use lotwarden_store::notices::work::WriteLetter;
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

const LACKS_IN_GERMAN: &str = "Ein Fragezeichen in eckigen Klammern, [?], steht für ein Zeichen, \
     das die Schrift dieses Schreibens nicht hat.";

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
/// id, the patient. A character that the PDF's typeface lacks is `[?]`, and the letter says so.
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
    let (paper, lacks) = match language {
        Language::German => (Paper::A4, LACKS_IN_GERMAN),
        Language::English => (Paper::Letter, LACKS),
    };
    let (written, _) = app.recorder.look(&allowed.grant, operation).await?;
    let pdf = letter(written.text(), paper, lacks).map_err(unprintable)?;
    Ok(HttpResponse::Ok().content_type("application/pdf").body(pdf))
}
