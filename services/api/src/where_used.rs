//! Where an item was used: `GET /v1/where-used`

mod answer;
mod through;

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
use lotwarden_store::where_used::{
    Container, Question, ShowReach, ShowReachRefusal, ShowWhereUsed,
};
use serde::Deserialize;
pub(crate) use through::{CylinderThrough, LoadThrough, MixThrough};
use utoipa::IntoParams;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

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
    identifier: Option<String>,
    /// A mix: its case, by its ingredients. In the place of an identifier.
    mix: Option<Uuid>,
    /// A fill of gas: the cases its cylinder was on. In the place of an identifier.
    cylinder: Option<Uuid>,
    /// A sterilizer load: the cases its pieces were on before they were processed again. In the
    /// place of an identifier.
    load: Option<Uuid>,
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
            ("identifier", self.identifier.as_ref(), 500),
            ("lot", self.lot.as_ref(), 50),
            ("serial", self.serial.as_ref(), 50),
        ];
        let wrong = parameters.into_iter().filter_map(|(name, text, most)| {
            let wrong = text.is_some_and(|text| !fits(text, most));
            wrong.then(|| FieldError::new(name, format!("must be 1 to {most} characters")))
        });
        let mut errors: Vec<FieldError> = wrong.collect();
        let containers = [self.mix, self.cylinder, self.load];
        let containers = containers.into_iter().flatten().count();
        if containers + usize::from(self.identifier.is_some()) != 1 {
            let detail = "give exactly one of identifier, mix, cylinder and load";
            errors.push(FieldError::new("identifier", detail));
        }
        if containers > 0 && (self.lot.is_some() || self.serial.is_some()) {
            let detail = "lot and serial go with an identifier only";
            errors.push(FieldError::new("lot", detail));
        }
        if errors.is_empty() {
            Ok(())
        } else {
            Err(ApiError::fields(errors))
        }
    }
}

impl Asked {
    fn container(&self) -> Option<Container> {
        let mix = self.mix.map(Container::Mix);
        let cylinder = self.cylinder.map(Container::Cylinder);
        mix.or(cylinder).or(self.load.map(Container::Load))
    }
}

impl From<ShowReachRefusal> for ApiError {
    fn from(refusal: ShowReachRefusal) -> Self {
        match refusal {
            ShowReachRefusal::NoSuchContainer => ApiError::no_such("mix, cylinder or load"),
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
    let (facility, key) = facility_key(&app, allowed.caller.facility).await?;
    if let Some(container) = asked.container() {
        let operation = ShowReach {
            facility_key: key,
            container,
        };
        let recorded = app.recorder.record(
            &allowed.grant,
            Request::default(),
            operation,
            |found, receipt| {
                let asked = Question {
                    codes: Vec::new(),
                    lot: None,
                    serial: None,
                };
                render(StatusCode::OK, &WhereUsed::of(&asked, found), receipt, None)
            },
        );
        return Ok(reply(recorded.await?));
    }
    let Asked {
        identifier,
        lot,
        serial,
        ..
    } = asked.into_inner();
    let identifier = identifier.unwrap_or_default();
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
