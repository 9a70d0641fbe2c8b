//! `GET /v1/locations/{location}/label`

use super::location_label::{drawing, unprintable};
use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::http::header::ACCEPT;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_documents::{Drawing, Paper, png, sheet, svg};
use lotwarden_domain::access::act;
use lotwarden_store::stock as store;
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// How the label is wanted.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct LabelForm {
    /// The form; what `Accept` asks for when it is not given, and SVG when that does not say.
    #[param(inline)]
    format: Option<LabelFormat>,
}

/// The forms of a label.
#[derive(Clone, Copy, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum LabelFormat {
    /// SVG.
    Svg,
    /// PNG of 305 dots to the inch.
    Png,
    /// PDF on A4.
    Pdf,
}

impl LabelForm {
    /// The label in the form that was asked for.
    pub(crate) fn answer(
        &self,
        request: &HttpRequest,
        label: Drawing,
    ) -> Result<HttpResponse, ApiError> {
        let accepted = request.headers().get(ACCEPT).and_then(|v| v.to_str().ok());
        let (kind, bytes) = match self.format.unwrap_or_else(|| asked(accepted)) {
            LabelFormat::Svg => ("image/svg+xml", svg(&label).into_bytes()),
            LabelFormat::Png => ("image/png", png(&label).map_err(unprintable)?),
            LabelFormat::Pdf => {
                let sheet = sheet(&[label], Paper::A4).map_err(unprintable)?;
                ("application/pdf", sheet)
            }
        };
        Ok(HttpResponse::Ok().content_type(kind).body(bytes))
    }
}

/// Gives a place's label: a GS1 DataMatrix with its human-readable text and the place's name.
#[utoipa::path(
    operation_id = "show_label", tag = "stock",
    params(("location" = Uuid, Path, description = "The place."), LabelForm),
    responses(
        (status = 200, description = "The label.", content(
            (String = "image/svg+xml"), (String = "image/png"), (String = "application/pdf"),
        )),
        Refusals,
    ),
)]
#[get("/v1/locations/{location}/label")]
pub(super) async fn show_label(
    allowed: Allowed<act::ShowLabel>,
    app: Data<App>,
    request: HttpRequest,
    location: Path<Uuid>,
    form: Query<LabelForm>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let place = store::show_location(&mut reading, location.into_inner()).await?;
    let place = place.ok_or_else(|| ApiError::no_such("location"))?;
    let label = drawing(&place)?;
    form.answer(&request, label)
}

/// The form that an `Accept` header names first.
fn asked(accepted: Option<&str>) -> LabelFormat {
    let kinds = accepted
        .unwrap_or_default()
        .split([',', ';'])
        .map(str::trim);
    let known = |kind| match kind {
        "image/svg+xml" => Some(LabelFormat::Svg),
        "image/png" => Some(LabelFormat::Png),
        "application/pdf" => Some(LabelFormat::Pdf),
        _ => None,
    };
    kinds.filter_map(known).next().unwrap_or(LabelFormat::Svg)
}
