//! `POST /v1/mixes/{mix}/make`

use super::mix::{MixJudged, judged};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::clock::whole_microseconds;
use lotwarden_domain::mixes::Strength;
use lotwarden_store::mixes::{MakeMix, MakeMixRefusal, NewIngredient, SubstanceStrength};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// How a mix was made.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MakeBody {
    /// When preparation started.
    #[schema(value_type = String, format = DateTime)]
    started_at: Timestamp,
    /// What went in, 1 to 20.
    #[schema(min_items = 1, max_items = 20)]
    ingredients: Vec<IngredientBody>,
}

/// A container whose label was scanned on the case.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IngredientBody {
    /// The scan.
    scan_id: Uuid,
    /// How much of it went in, more than 0 and at most 20000.
    #[schema(example = "25")]
    volume_ml: Exact,
    /// What is in it, as printed; none for a diluent.
    #[serde(default)]
    #[schema(max_items = 10)]
    strengths: Vec<StrengthBody>,
    /// The multi-dose vial it was drawn from: its own last day counts then, and what is left of it.
    vial_id: Option<Uuid>,
    /// The first puncture of a vial that is not on record: it is used for 28 days then (USP <797> section 15.2,
    /// from memory).
    #[schema(value_type = Option<String>, format = Date)]
    punctured_on: Option<Date>,
    /// The maker's days in use, which take the place of the 28.
    #[schema(example = 28)]
    in_use_days: Option<u16>,
}

/// A strength as printed; exactly one of the four.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StrengthBody {
    /// The substance.
    #[schema(example = "lidocaine", min_length = 1, max_length = 100)]
    substance: String,
    /// A percentage of weight in volume: 1 % is 10 mg/mL.
    #[schema(example = "1")]
    percent: Option<Exact>,
    /// A ratio of grams to millilitres: 1:1000 is 1 mg/mL.
    #[schema(example = "1:1000")]
    ratio: Option<String>,
    /// Milligrams a millilitre.
    mg_per_ml: Option<Exact>,
    /// Milliequivalents a millilitre.
    meq_per_ml: Option<Exact>,
}

impl StrengthBody {
    fn read(&self) -> Result<Strength, String> {
        let given = [
            self.percent
                .map(|percent| Ok(Strength::from_percent(percent.0))),
            self.ratio.as_deref().map(Strength::from_ratio),
            self.mg_per_ml
                .map(|mg| Ok(Strength::MilligramPerMillilitre(mg.0))),
            self.meq_per_ml
                .map(|meq| Ok(Strength::MilliequivalentPerMillilitre(meq.0))),
        ];
        let mut given = given.into_iter().flatten();
        match (given.next(), given.next()) {
            (Some(read), None) => read.map_err(|fault| fault.to_string()),
            _ => Err("give exactly one of percent, ratio, mg_per_ml and meq_per_ml".to_owned()),
        }
    }

    /// Adds an error for each strength that does not fit.
    pub(crate) fn check_all(all: &[Self], pointer: &str, errors: &mut Fields) {
        errors.require(all.len() <= 10, pointer, "must be at most 10");
        for (number, strength) in all.iter().enumerate() {
            let at = format!("{pointer}/{number}");
            errors.text(&format!("{at}/substance"), &strength.substance, 1, 100);
            match strength.read() {
                Err(fault) => errors.require(false, &at, &fault),
                Ok(
                    Strength::MilligramPerMillilitre(value)
                    | Strength::MilliequivalentPerMillilitre(value),
                ) => errors.range(&at, Exact(value), "0.000001", "100000"),
            }
        }
    }

    pub(crate) fn stored(&self) -> Option<SubstanceStrength> {
        let (mg_per_ml, meq_per_ml) = match self.read().ok()? {
            Strength::MilligramPerMillilitre(mg) => (Some(mg), None),
            Strength::MilliequivalentPerMillilitre(meq) => (None, Some(meq)),
        };
        Some(SubstanceStrength {
            meq_per_ml,
            mg_per_ml,
            substance: self.substance.trim().to_lowercase(),
        })
    }
}

impl Checked for MakeBody {
    fn check(&self, errors: &mut Fields) {
        let count = (1..=20).contains(&self.ingredients.len());
        errors.require(count, "/ingredients", "must be 1 to 20");
        for (line, ingredient) in self.ingredients.iter().enumerate() {
            let at = |member: &str| format!("/ingredients/{line}/{member}");
            errors.range(&at("volume_ml"), ingredient.volume_ml, "0.000001", "20000");
            StrengthBody::check_all(&ingredient.strengths, &at("strengths"), errors);
        }
    }
}

impl From<MakeMixRefusal> for ApiError {
    fn from(refusal: MakeMixRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let because = |problem| ApiError::new(problem).detail(detail.clone());
        let field = |pointer: String| ApiError::fields(vec![FieldError::new(pointer, &detail)]);
        match refusal {
            MakeMixRefusal::NoSuchMix => ApiError::no_such("mix"),
            MakeMixRefusal::Stale => ApiError::new(&catalogue::STALE),
            MakeMixRefusal::MadeAlready => because(&catalogue::ALREADY_DONE),
            MakeMixRefusal::Case(reason) => reason.into(),
            MakeMixRefusal::NotOnCase { line } => field(format!("/ingredients/{line}/scan_id")),
            MakeMixRefusal::NoSuchVial { line } => field(format!("/ingredients/{line}/vial_id")),
            MakeMixRefusal::VialShort { line } => field(format!("/ingredients/{line}/volume_ml")),
            MakeMixRefusal::StartOutOfRange => field("/started_at".to_owned()),
            MakeMixRefusal::NotAPerson => because(&catalogue::FORBIDDEN),
        }
    }
}

/// Puts on record that an ordered mix was made. A hold on an ingredient stops it: the answer says
/// so with the source, and the mix stays as ordered.
#[utoipa::path(
    operation_id = "make_mix", tag = "mixes", request_body = MakeBody,
    params(("mix" = Uuid, Path, description = "The mix."), Change, IdempotencyKey),
    responses((status = 201, description = "On record; made unless stopped.", body = MixJudged), Refusals),
)]
#[post("/v1/mixes/{mix}/make")]
pub(super) async fn make_mix(
    allowed: Allowed<act::MakeMix>,
    app: Data<App>,
    mix: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<MakeBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let ingredients = body.ingredients.into_iter().map(|each| NewIngredient {
        scan: each.scan_id,
        volume_ml: each.volume_ml.0,
        strengths: each
            .strengths
            .iter()
            .filter_map(StrengthBody::stored)
            .collect(),
        vial: each.vial_id,
        punctured_on: each.punctured_on,
        in_use_days: each.in_use_days,
    });
    let operation = MakeMix {
        mix: mix.into_inner(),
        version: version.0,
        started_at: whole_microseconds(body.started_at),
        ingredients: ingredients.collect(),
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, judged);
    Ok(reply(recorded.await?))
}
