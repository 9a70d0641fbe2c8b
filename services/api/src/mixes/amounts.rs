//! `GET /v1/cases/{case}/amounts`

use super::mix::shown;
use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::http::answer::render;
use crate::http::{Exact, reply};
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_domain::computations::CAUTION;
use lotwarden_domain::mixes::{Amount, references_for};
use lotwarden_store::Request;
use lotwarden_store::mixes::{self as store, ShowAmountsRefusal};
use lotwarden_store::moment::instant_text;
use rust_decimal::Decimal;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Amounts recorded so far, beside published values. Shown, never judged.
#[derive(Debug, Serialize, ToSchema)]
pub struct Amounts {
    /// The patient's weight by the newest order; without it nothing by weight can be computed.
    #[serde(skip_serializing_if = "Option::is_none")]
    weight: Option<Weight>,
    /// By substance.
    substances: Vec<SubstanceAmount>,
    /// Drugs in given mixes whose strength nobody named: their amounts cannot be computed.
    without_strength: usize,
    /// What these numbers are for.
    #[schema(value_type = String)]
    caution: &'static str,
}

/// A weight with who entered it and when.
#[derive(Debug, Serialize, ToSchema)]
pub struct Weight {
    /// Kilograms.
    #[schema(example = "60")]
    kilogram: Exact,
    /// The printed name of who signed the order.
    entered_by: String,
    /// When.
    #[schema(format = DateTime)]
    entered_at: String,
}

/// The amount of a substance.
#[derive(Debug, Serialize, ToSchema)]
pub struct SubstanceAmount {
    /// The substance.
    #[schema(example = "lidocaine")]
    substance: String,
    /// Milligrams.
    #[serde(skip_serializing_if = "Option::is_none")]
    mg: Option<Exact>,
    /// Milligrams a kilogram.
    #[serde(skip_serializing_if = "Option::is_none")]
    mg_per_kg: Option<Exact>,
    /// Milliequivalents.
    #[serde(skip_serializing_if = "Option::is_none")]
    meq: Option<Exact>,
    /// Published values, lowest first.
    references: Vec<PublishedValue>,
}

/// A published value beside a recorded amount.
#[derive(Debug, Serialize, ToSchema)]
pub struct PublishedValue {
    /// What it is about.
    #[schema(value_type = String)]
    about: &'static str,
    /// Milligrams a kilogram.
    mg_per_kg: Exact,
    /// The value at the patient's weight, in milligrams.
    #[serde(skip_serializing_if = "Option::is_none")]
    mg_at_weight: Option<Exact>,
    /// Milligrams in all, where the source names them.
    #[serde(skip_serializing_if = "Option::is_none")]
    mg: Option<Exact>,
    /// Where it is published.
    #[schema(value_type = String)]
    source: &'static str,
}

impl From<&store::AmountsShown> for Amounts {
    fn from(found: &store::AmountsShown) -> Self {
        let kilogram = found.weight.as_ref().map(|weight| weight.kilogram);
        let substances = found.amounts.iter();
        Self {
            weight: found.weight.as_ref().map(|weight| Weight {
                kilogram: weight.kilogram.into(),
                entered_by: weight.entered_by.clone(),
                entered_at: instant_text(weight.entered_at),
            }),
            substances: substances
                .map(|(name, amount)| SubstanceAmount::of(name, *amount, kilogram))
                .collect(),
            without_strength: found.without_strength,
            caution: CAUTION,
        }
    }
}

impl SubstanceAmount {
    fn of(name: &str, amount: Amount, kilogram: Option<Decimal>) -> Self {
        let mg_per_kg = amount.mg.zip(kilogram).map(|(mg, kg)| mg / kg);
        let references = references_for(name).map(|reference| PublishedValue {
            about: reference.about,
            mg_per_kg: reference.mg_per_kg.into(),
            mg_at_weight: kilogram.map(|kg| shown(reference.at(kg))),
            mg: reference.mg.map(Exact),
            source: reference.source,
        });
        Self {
            substance: name.to_owned(),
            mg: amount.mg.map(shown),
            mg_per_kg: mg_per_kg.map(shown),
            meq: amount.meq.map(shown),
            references: references.collect(),
        }
    }
}

impl From<ShowAmountsRefusal> for ApiError {
    fn from(refusal: ShowAmountsRefusal) -> Self {
        match refusal {
            ShowAmountsRefusal::NoSuchCase => ApiError::no_such("case"),
        }
    }
}

/// Shows what was given on a case by substance, with the patient's weight and published values
/// beside it. Each look is a ledger entry. For information only; the licensed practitioner decides.
#[utoipa::path(
    operation_id = "show_amounts", tag = "mixes",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The amounts.", body = Amounts), Refusals),
)]
#[get("/v1/cases/{case}/amounts")]
pub(super) async fn show_amounts(
    allowed: Allowed<act::ShowAmounts>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let (_, facility_key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = store::ShowAmounts {
        facility_key,
        case: case.into_inner(),
    };
    // Without a key nothing of the answer is kept.
    let recorded = app.recorder.record(
        &allowed.grant,
        Request::default(),
        operation,
        |found, receipt| render(StatusCode::OK, &Amounts::from(found), receipt, None),
    );
    Ok(reply(recorded.await?))
}
