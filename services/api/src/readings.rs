//! `POST /v1/readings`: reading one label without recording it.

use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::problem::{ApiError, Refusals};
use crate::stock::Location;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_codes::read;
use lotwarden_domain::access::act;
use lotwarden_domain::label::{Label, place};
use lotwarden_store::catalogue;
use lotwarden_store::stock::show_location;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

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
    /// The station whose scanner sent them; its setting says what stands for the separator.
    station_id: Option<Uuid>,
}

/// What a label says; a place's own label names the place, an item's the item on record.
#[derive(Serialize)]
struct ReadingShown<'a> {
    #[serde(flatten)]
    reading: lotwarden_codes::Reading<'a>,
    #[serde(skip_serializing_if = "Option::is_none")]
    location: Option<Location>,
    #[serde(skip_serializing_if = "Option::is_none")]
    on_record: Option<OnRecord>,
}

/// The item of the label as the record has it.
#[derive(Serialize)]
struct OnRecord {
    product_id: Uuid,
    product_name: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot_id: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
}

impl From<catalogue::OnRecord> for OnRecord {
    fn from(found: catalogue::OnRecord) -> Self {
        Self {
            product_id: found.product.0,
            product_name: found.product.1,
            lot_id: found.lot,
            unit_id: found.unit,
        }
    }
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

/// Reads one label and records nothing; the label of a place answers with its `location` too, that
/// of an item with its product, lot and piece `on_record`.
///
/// What cannot be read answers 200 too: `{"error": {"code", "at", "message"}}`.
#[utoipa::path(
    operation_id = "read_label", tag = "service", request_body = ReadingBody,
    responses((status = 200, description = "What the label says, or why it cannot be read.", body = serde_json::Value), Refusals),
)]
#[post("/v1/readings")]
async fn read_label(
    allowed: Allowed<act::ReadLabel>,
    app: Data<App>,
    body: Body<ReadingBody>,
) -> Result<HttpResponse, ApiError> {
    let mut rows = app.reading(allowed.caller.facility).await?;
    let circumstances = app.circumstances(&mut rows, body.0.station_id).await?;
    let text = place::marked(&body.0.text);
    let reading = match read(&text, &circumstances.context()) {
        Ok(reading) => reading,
        Err(unread) => return Ok(HttpResponse::Ok().json(unread)),
    };
    let location = match place::named(&reading) {
        Some(id) => show_location(&mut rows, id).await?,
        None => None,
    };
    let location = location.as_ref().map(Location::from);
    let on_record = catalogue::on_record(&mut rows, &Label::of(&reading)).await?;
    Ok(HttpResponse::Ok().json(ReadingShown {
        reading,
        location,
        on_record: on_record.map(OnRecord::from),
    }))
}
