//! `POST /v1/readings`: reading one label without recording it.

use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::problem::{ApiError, Refusals};
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use jiff::tz::TimeZone;
use lotwarden_codes::{Context, read};
use lotwarden_domain::access::act;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(read_label);
}

/// The characters of one label.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingBody {
    /// As the scanner sent them, or as typed; `^` or U+001D stands for FNC1.
    #[schema(
        example = "]d2010952012345678817271231101A2B3C",
        min_length = 1,
        max_length = 4096
    )]
    text: String,
}

impl Checked for ReadingBody {
    fn check(&self, errors: &mut Fields) {
        let length = self.text.chars().count();
        errors.require(
            (1..=4096).contains(&length),
            "/text",
            "must be 1 to 4096 characters",
        );
    }
}

/// Reads one label and records nothing.
///
/// What cannot be read answers 200 too: `{"error": {"code", "at", "message"}}`.
#[utoipa::path(
    operation_id = "read_label", tag = "service", request_body = ReadingBody,
    responses((status = 200, description = "What the label says, or why it cannot be read.", body = serde_json::Value), Refusals),
)]
#[post("/v1/readings")]
async fn read_label(
    _allowed: Allowed<act::ReadLabel>,
    app: Data<App>,
    body: Body<ReadingBody>,
) -> Result<HttpResponse, ApiError> {
    let today = app.recorder.clock().now().to_zoned(TimeZone::UTC).date();
    Ok(match read(&body.0.text, &Context::new(today)) {
        Ok(reading) => HttpResponse::Ok().json(reading),
        Err(unread) => HttpResponse::Ok().json(unread),
    })
}
