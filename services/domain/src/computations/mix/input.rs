//! What is entered for a mix.

mod ingredient;
mod strengths;

use jiff::SignedDuration;
use jiff::civil::DateTime;
use rust_decimal::Decimal;
use serde_json::Value;

use crate::computations::fault::{FaultCode, Faults};
use crate::computations::fields::Fields;
use crate::computations::parse::{count, local_time, number, text};
use crate::mixes::{Ingredient, Mixture, VOLUME_TOLERANCE_ML, VolumeBalance, start_within, use_by};
pub use ingredient::Entered;

/// Hours from the start of preparation to the start of administration, where the site has none.
const IMMEDIATE_USE_HOURS: u64 = 4;

/// The fields of a mix.
pub struct Input {
    pub ingredients: Vec<Entered>,
    pub weight_kg: Decimal,
    pub given: Option<Given>,
    pub wasted_ml: Option<Decimal>,
    pub left_ml: Option<Decimal>,
    pub separately: Vec<Entered>,
    pub started_at: Option<DateTime>,
    pub order_signed_at: Option<DateTime>,
    pub use_within_hours: Option<u64>,
    pub sterile_product_limit: Option<usize>,
}

/// What was given of a mix.
pub enum Given {
    /// A volume in millilitres.
    Whole(Decimal),
    /// A volume in millilitres for each zone.
    Zones(Vec<(String, Decimal)>),
}

impl Given {
    /// The whole volume in millilitres.
    pub fn volume_ml(&self) -> Decimal {
        match self {
            Self::Whole(volume) => *volume,
            Self::Zones(zones) => zones.iter().map(|(_, volume)| *volume).sum(),
        }
    }

    /// The zones, none where a whole volume was entered.
    pub fn zones(&self) -> &[(String, Decimal)] {
        match self {
            Self::Whole(_) => &[],
            Self::Zones(zones) => zones,
        }
    }
}

impl Input {
    /// Hours within which administration starts.
    pub fn hours(&self) -> Decimal {
        self.use_within_hours.unwrap_or(IMMEDIATE_USE_HOURS).into()
    }

    /// When the mix is past its use; none where nobody said when it was started.
    pub fn use_by(&self) -> Option<DateTime> {
        let hours = i64::try_from(self.use_within_hours.unwrap_or(IMMEDIATE_USE_HOURS)).ok()?;
        let latest = start_within(self.started_at?, SignedDuration::from_hours(hours));
        Some(use_by(
            latest,
            self.ingredients.iter().filter_map(Entered::last_day),
        ))
    }

    /// The identity of volumes, where every part was entered.
    pub fn balance(&self, mixed_ml: Decimal) -> Option<VolumeBalance> {
        Some(VolumeBalance {
            mixed_ml,
            given_ml: self.given.as_ref()?.volume_ml(),
            wasted_ml: self.wasted_ml?,
            left_ml: self.left_ml?,
        })
    }
}

/// Volumes and strengths alone.
pub fn ingredients_of(entered: &[Entered]) -> Vec<Ingredient> {
    entered.iter().map(|each| each.ingredient.clone()).collect()
}

/// Reads the fields, and the mix of the ingredients.
pub fn read(asked: &Value) -> Result<(Input, Mixture), Faults> {
    let mut fields = Fields::of(asked, "")?;
    if !fields.has("ingredients") {
        fields.fault(
            FaultCode::Missing,
            "ingredients",
            "is missing; give a list of objects",
        );
    }
    let ingredients = entered(&mut fields, "ingredients");
    let mixture = ingredients
        .as_ref()
        .and_then(|all| Mixture::of(&ingredients_of(all)));
    let weight_kg = fields.needed("weight_kg", number("0.3", "650"));
    let given = given(&mut fields);
    let volume = number("0", "100000");
    let wasted_ml = fields.optional("wasted_ml", &volume);
    let left_ml = fields.optional("left_ml", &volume);
    let separately = entered(&mut fields, "given_separately");
    let started_at = fields.optional("started_at", local_time);
    let order_signed_at = fields.optional("order_signed_at", local_time);
    let use_within_hours = fields.optional("use_within_hours", count(1, 336));
    let sterile_product_limit = fields.optional("sterile_product_limit", count(1, 50));
    if let (Some(mixture), Some(given)) = (&mixture, &given)
        && given.volume_ml() > mixture.volume_ml + VOLUME_TOLERANCE_ML
    {
        let name = if fields.has("given_ml") {
            "given_ml"
        } else {
            "given"
        };
        let message = format!(
            "{} mL is more than the {} mL that were mixed",
            given.volume_ml(),
            mixture.volume_ml
        );
        fields.fault(FaultCode::OutOfRange, name, message);
    }
    let input = || {
        let input = Input {
            ingredients: ingredients?,
            weight_kg: weight_kg?,
            given,
            wasted_ml,
            left_ml,
            separately: separately.unwrap_or_default(),
            started_at,
            order_signed_at,
            use_within_hours,
            sterile_product_limit: sterile_product_limit.and_then(|limit| limit.try_into().ok()),
        };
        Some((input, mixture?))
    };
    let input = input();
    fields.finish(input)
}

/// A list of ingredients or of what was given separately; none where it is left out or faulty.
fn entered(fields: &mut Fields<'_>, name: &'static str) -> Option<Vec<Entered>> {
    let items = fields.list(name)?;
    // Every item is read, so that every fault is named.
    let read: Vec<_> = items
        .into_iter()
        .map(|(item, path)| fields.take(ingredient::read(item, &path)))
        .collect();
    read.into_iter().collect()
}

fn given(fields: &mut Fields<'_>) -> Option<Given> {
    if fields.has("given_ml") && fields.has("given") {
        fields.fault(
            FaultCode::Conflict,
            "given",
            "give either given_ml or given, not both",
        );
    }
    let whole = fields.optional("given_ml", number("0", "100000"));
    let zones = fields.list("given").map(|items| {
        items
            .into_iter()
            .map(|(item, path)| fields.take(zone(item, &path)))
            .collect::<Vec<_>>()
    });
    match zones {
        Some(zones) => zones.into_iter().collect::<Option<_>>().map(Given::Zones),
        None => whole.map(Given::Whole),
    }
}

fn zone(item: &Value, path: &str) -> Result<(String, Decimal), Faults> {
    let mut fields = Fields::of(item, path)?;
    let zone = fields.needed("zone", text);
    let volume = fields.needed("volume_ml", number("0", "100000"));
    fields.finish(zone.zip(volume))
}
