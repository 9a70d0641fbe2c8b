//! Where an item was used: `GET /v1/where-used`

mod answer;

use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::http::answer::render;
use crate::http::reply;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
pub use answer::WhereUsed;
use lotwarden_domain::access::act;
use lotwarden_store::Request;
use lotwarden_store::where_used::{Question, ShowWhereUsed};
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show_where_used);
}

/// What is asked for.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Asked {
    /// Any identifier of the product: a GTIN, an HIBC code, an NDC, `agency:code`, or the text of a
    /// scanned label, whose own lot and serial then count.
    #[param(example = "09520123456788", min_length = 1, max_length = 500)]
    identifier: String,
    /// The lot, exactly as printed.
    #[param(example = "L2611A", min_length = 1, max_length = 50)]
    lot: Option<String>,
    /// The serial, exactly as printed.
    #[param(min_length = 1, max_length = 50)]
    serial: Option<String>,
}

impl Asked {
    fn check(&self) -> Result<(), ApiError> {
        let fits = |text: &str, most| {
            let length = text.chars().count();
            (1..=most).contains(&length) && !text.contains('\0')
        };
        let parameters = [
            ("identifier", Some(&self.identifier), 500),
            ("lot", self.lot.as_ref(), 50),
            ("serial", self.serial.as_ref(), 50),
        ];
        let wrong = parameters.into_iter().filter_map(|(name, text, most)| {
            let wrong = text.is_some_and(|text| !fits(text, most));
            wrong.then(|| FieldError::new(name, format!("must be 1 to {most} characters")))
        });
        let errors: Vec<FieldError> = wrong.collect();
        if errors.is_empty() {
            Ok(())
        } else {
            Err(ApiError::fields(errors))
        }
    }
}

/// Answers which patients, cases and places an item reached: what its record names (`affected`) and
/// what its record cannot exclude (`cannot_exclude`). Each answer is a ledger entry, without
/// identity, and complete up to that entry.
#[utoipa::path(
    operation_id = "show_where_used", tag = "where-used", params(Asked),
    responses((status = 200, description = "Where it was used and is.", body = WhereUsed), Refusals),
)]
#[get("/v1/where-used")]
async fn show_where_used(
    allowed: Allowed<act::ShowWhereUsed>,
    app: Data<App>,
    asked: Query<Asked>,
) -> Result<HttpResponse, ApiError> {
    asked.check()?;
    let Asked {
        identifier,
        lot,
        serial,
    } = asked.into_inner();
    let (facility, key) = facility_key(&app, allowed.caller.facility).await?;
    let today = facility.day(app.recorder.clock().now());
    let question = Question::read(&identifier, lot, serial, today).map_err(|fault| {
        let detail = sentence(&fault.to_string());
        ApiError::fields(vec![FieldError::new("identifier", detail)])
    })?;
    let operation = ShowWhereUsed {
        facility_key: Some(key),
        question: question.clone(),
    };
    // Without a key nothing of the answer is kept.
    let recorded = app.recorder.record(
        &allowed.grant,
        Request::default(),
        operation,
        move |found, receipt| {
            let answer = WhereUsed::of(&question, found);
            render(StatusCode::OK, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
