//! What is entered for one ingredient of a mix.

use jiff::civil::Date;
use serde_json::Value;

use super::strengths;
use crate::computations::fault::{FaultCode, Faults};
use crate::computations::fields::Fields;
use crate::computations::parse::{count, day, number, outdate, text};
use crate::mixes::{Ingredient, MULTI_DOSE_DAYS, VialDays, last_day_of_vial};

/// An ingredient as entered.
pub struct Entered {
    /// What a person calls it.
    pub name: String,
    /// What tells products apart; the name where nothing else was entered.
    pub product: String,
    /// Volume and strengths.
    pub ingredient: Ingredient,
    /// Days of its container.
    pub days: VialDays,
    /// Whether its amount is counted under its name, as no substance was entered.
    pub counted_by_name: bool,
}

impl Entered {
    /// The last day on which it may be used.
    pub fn last_day(&self) -> Option<Date> {
        last_day_of_vial(self.days)
    }
}

/// Reads an ingredient at a path.
pub fn read(item: &Value, path: &str) -> Result<Entered, Faults> {
    let mut fields = Fields::of(item, path)?;
    let name = fields.needed("name", text);
    let product = fields.optional("product", text);
    // Kept with the inputs; nothing is computed from it.
    fields.optional("lot", text);
    let volume_ml = fields.needed("volume_ml", number("0.001", "100000"));
    // A name may carry a strength or a container, and would then count apart from its likes.
    let counted_by_name = !["substance", "substances", "diluent"]
        .iter()
        .any(|name| fields.has(name));
    let substances = strengths::substances(&mut fields, name.as_deref(), path);
    let expires_on = fields.optional("expires_on", outdate);
    let punctured_on = fields.optional("punctured_on", day);
    let in_use_days = fields.optional("in_use_days", count(1, 366));
    if fields.has("in_use_days") && !fields.has("punctured_on") {
        fields.fault(
            FaultCode::Conflict,
            "in_use_days",
            "goes with punctured_on; give the day of the first puncture",
        );
    }
    let entered = || {
        let name = name?;
        Some(Entered {
            product: product.unwrap_or_else(|| name.clone()),
            name,
            counted_by_name,
            ingredient: Ingredient {
                volume_ml: volume_ml?,
                substances: substances?,
            },
            days: VialDays {
                expires_on,
                punctured_on,
                in_use_days: in_use_days.map(|days| u16::try_from(days).unwrap_or(MULTI_DOSE_DAYS)),
            },
        })
    };
    let entered = entered();
    fields.finish(entered)
}
