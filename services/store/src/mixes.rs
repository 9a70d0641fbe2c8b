//! Mixes: ordered, made from scanned lots, checked by a second person, given by zone, closed.

mod bars;
mod check_mix;
mod close_mix;
mod give_dose;
mod list_mixes;
mod make_mix;
mod order_mix;
mod rows;
mod show_amounts;

pub(crate) use rows::{of_case, of_cases};
pub(crate) use show_amounts::newest_weight;

pub use check_mix::{CheckMix, CheckMixRefusal};
pub use close_mix::{CloseMix, CloseMixRefusal};
pub use give_dose::{GiveDose, GiveDoseRefusal};
pub use list_mixes::{list, show};
pub use make_mix::{MakeMix, MakeMixRefusal, NewIngredient};
pub use order_mix::{OrderMix, OrderMixRefusal};
pub use show_amounts::{AmountsShown, ShowAmounts, ShowAmountsRefusal, Weight, sums};

use crate::step::Step;
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::mixes::{
    Amount, Ingredient, Mixture, ProductCount, STERILE_PRODUCT_LIMIT, Strength, VolumeBalance,
    sterile_products,
};
use lotwarden_domain::rules::Finding;
use lotwarden_ledger::Hash;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A mix as it stands, without the patient's weight.
#[derive(Clone, Debug)]
pub struct Mix {
    /// The mix.
    pub id: Uuid,
    /// The case.
    pub case: Uuid,
    /// What the team calls it.
    pub name: String,
    /// The written order.
    pub written_order: String,
    /// The hash of the order as signed.
    pub order_hash: Hash,
    /// Minutes from the start of preparation.
    pub use_within_minutes: i32,
    /// Where the site has that time from.
    pub use_by_source: String,
    /// Who ordered it, by id and printed name, and when.
    pub ordered: Step,
    /// Who made it, and when it was ready.
    pub made: Option<Made>,
    /// Who checked it, and when.
    pub checked: Option<Step>,
    /// What became of the rest.
    pub closed: Option<Closed>,
    /// What it was made from.
    pub ingredients: Vec<MixIngredient>,
    /// What was given, and what was asked for and stopped.
    pub doses: Vec<Dose>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// How a mix was made.
#[derive(Clone, Debug)]
pub struct Made {
    /// Who and when it was ready.
    pub step: Step,
    /// When preparation started.
    pub started_at: Timestamp,
    /// Until when it may be used.
    pub use_by: Timestamp,
}

/// How a mix ended.
#[derive(Clone, Debug)]
pub struct Closed {
    /// Who, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Discarded.
    pub discarded_ml: Decimal,
    /// Left in the container.
    pub left_ml: Decimal,
    /// Why the volumes do not add up.
    pub explanation: Option<String>,
}

/// An ingredient of a mix.
#[derive(Clone, Debug)]
pub struct MixIngredient {
    /// The scan that put it on the case.
    pub scan: Uuid,
    /// The product, by id and name.
    pub product: (Uuid, String),
    /// Whether the product is a drug, so that a strength is missing where none is named.
    pub is_drug: bool,
    /// The lot, by id and number.
    pub lot: (Uuid, Option<String>),
    /// The piece.
    pub unit: Option<Uuid>,
    /// How much.
    pub volume_ml: Decimal,
    /// The last day of its container.
    pub last_day: Option<Date>,
    /// What is in it.
    pub strengths: Vec<SubstanceStrength>,
}

/// How much of a substance a millilitre holds; one of the two.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SubstanceStrength {
    /// Milliequivalents a millilitre.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub meq_per_ml: Option<Decimal>,
    /// Milligrams a millilitre.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mg_per_ml: Option<Decimal>,
    /// The substance, in lower case.
    pub substance: String,
}

/// A volume that was given, or asked for and stopped.
#[derive(Clone, Debug)]
pub struct Dose {
    /// The dose.
    pub id: Uuid,
    /// The zone.
    pub zone: String,
    /// The volume.
    pub volume_ml: Decimal,
    /// Whether it was given.
    pub given: bool,
    /// What the rules said, as it was told.
    pub findings: serde_json::Value,
    /// Who recorded it, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// A mix after a step, or as it was when the rules stopped the step.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The mix.
    pub mix: Mix,
    /// What the rules say; a stop means that the step was not taken.
    pub findings: Vec<Finding>,
}

impl From<&SubstanceStrength> for Option<(String, Strength)> {
    fn from(one: &SubstanceStrength) -> Self {
        let strength = match (one.mg_per_ml, one.meq_per_ml) {
            (Some(mg), _) => Strength::MilligramPerMillilitre(mg),
            (None, Some(meq)) => Strength::MilliequivalentPerMillilitre(meq),
            (None, None) => return None,
        };
        Some((one.substance.clone(), strength))
    }
}

impl From<&MixIngredient> for Ingredient {
    fn from(ingredient: &MixIngredient) -> Self {
        let strengths = ingredient.strengths.iter();
        Self {
            volume_ml: ingredient.volume_ml,
            substances: strengths.filter_map(Option::from).collect(),
        }
    }
}

impl Mix {
    /// What is in it; none before it is made.
    #[must_use]
    pub fn mixture(&self) -> Option<Mixture> {
        let ingredients: Vec<Ingredient> = self.ingredients.iter().map(Ingredient::from).collect();
        Mixture::of(&ingredients)
    }

    /// Millilitres given.
    #[must_use]
    pub fn given_ml(&self) -> Decimal {
        let given = self.doses.iter().filter(|dose| dose.given);
        given.map(|dose| dose.volume_ml).sum()
    }

    /// The amounts in what was given, by substance.
    #[must_use]
    pub fn given(&self) -> BTreeMap<String, Amount> {
        let mixture = self.mixture();
        mixture.map_or_else(BTreeMap::new, |mix| mix.amounts_in(self.given_ml()))
    }

    /// Different products in it, beside the limit of immediate use.
    #[must_use]
    pub fn sterile_products(&self) -> ProductCount {
        let ids: Vec<String> = self
            .ingredients
            .iter()
            .map(|i| i.product.0.to_string())
            .collect();
        sterile_products(ids.iter().map(String::as_str), STERILE_PRODUCT_LIMIT)
    }

    /// Mixed, given, discarded and left; none before it is made.
    #[must_use]
    pub fn balance(&self) -> Option<VolumeBalance> {
        let closed = self.closed.as_ref();
        Some(VolumeBalance {
            mixed_ml: self.mixture()?.volume_ml,
            given_ml: self.given_ml(),
            wasted_ml: closed.map_or(Decimal::ZERO, |closed| closed.discarded_ml),
            left_ml: closed.map_or(Decimal::ZERO, |closed| closed.left_ml),
        })
    }
}
