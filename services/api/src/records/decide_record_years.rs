//! `POST /v1/record-years`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::records::DecideRecordYears;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How many years the state has medical records kept.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RecordYears {
    /// The years.
    #[schema(example = 7, minimum = 1, maximum = 100)]
    years: u16,
    /// The rule that says so.
    #[schema(
        example = "The state's rule on medical records, as counsel named it",
        min_length = 3,
        max_length = 200
    )]
    source: String,
}

impl Checked for RecordYears {
    fn check(&self, errors: &mut Fields) {
        errors.require(
            (1..=100).contains(&self.years),
            "/years",
            "must be 1 to 100",
        );
        errors.text("/source", &self.source, 3, 200);
    }
}

/// Puts on record how many years the state has medical records kept. Nothing is assumed without it.
#[utoipa::path(
    operation_id = "decide_record_years", tag = "records", request_body = RecordYears,
    params(IdempotencyKey),
    responses((status = 201, description = "On record.", body = RecordYears), Refusals),
)]
#[post("/v1/record-years")]
pub(super) async fn decide_record_years(
    allowed: Allowed<act::DecideRecordYears>,
    app: Data<App>,
    keyed: Keyed<RecordYears>,
) -> Result<HttpResponse, ApiError> {
    let RecordYears { years, source } = keyed.body;
    let operation = DecideRecordYears { source, years };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |decided, receipt| {
            let answer = RecordYears {
                years: decided.years,
                source: decided.source.clone(),
            };
            render(StatusCode::CREATED, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
