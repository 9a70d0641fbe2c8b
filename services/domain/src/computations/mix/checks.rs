//! What a person has to look at in a mix.

use jiff::civil::DateTime;
use serde::Serialize;

use super::input::{Entered, Input};
use crate::mixes::{STERILE_PRODUCT_LIMIT, VOLUME_TOLERANCE_ML, VolumeBalance, sterile_products};

/// A check and what it found.
#[derive(Debug, Serialize)]
pub struct Check {
    /// The check's permanent name.
    pub check: &'static str,
    /// Whether a person has to look.
    pub look: bool,
    /// What was found, in one sentence.
    pub text: String,
}

/// Every check for which there is enough to go by.
pub fn of(input: &Input, balance: Option<VolumeBalance>) -> Vec<Check> {
    let mut checks = vec![products(input)];
    checks.extend(
        input
            .ingredients
            .iter()
            .chain(&input.separately)
            .filter_map(by_name),
    );
    checks.extend(
        input
            .started_at
            .and_then(|at| order(input.order_signed_at, at)),
    );
    checks.extend(input.use_by().map(|use_by| Check {
        check: "use_by",
        look: input.started_at.is_some_and(|at| use_by <= at),
        text: format!("Administration starts before {}.", minutes(use_by)),
    }));
    checks.extend(
        input
            .ingredients
            .iter()
            .chain(&input.separately)
            .filter_map(|each| outdate(each, input.started_at)),
    );
    checks.extend(balance.map(volumes));
    checks
}

fn by_name(entered: &Entered) -> Option<Check> {
    let text = format!(
        "{0}: no substance is entered; its amount is counted as \"{1}\", apart from other names.",
        entered.name,
        entered.name.to_lowercase(),
    );
    entered.counted_by_name.then_some(Check {
        check: "substance_by_name",
        look: true,
        text,
    })
}

fn products(input: &Input) -> Check {
    let limit = input.sterile_product_limit.unwrap_or(STERILE_PRODUCT_LIMIT);
    let count = sterile_products(
        input.ingredients.iter().map(|each| each.product.as_str()),
        limit,
    );
    let text = if count.outside() {
        format!(
            "{} of {} sterile products - outside the immediate-use provision; the pharmacist or practitioner decides.",
            count.count, count.limit
        )
    } else {
        format!("{} of {} sterile products.", count.count, count.limit)
    };
    Check {
        check: "sterile_products",
        look: count.outside(),
        text,
    }
}

/// No mix is made without a signed order (Klein's textbook, chapter 23).
fn order(signed_at: Option<DateTime>, started_at: DateTime) -> Option<Check> {
    let signed_at = signed_at?;
    let late = signed_at > started_at;
    let text = if late {
        format!(
            "The order was signed at {}, after the mix was started at {}.",
            minutes(signed_at),
            minutes(started_at)
        )
    } else {
        format!(
            "The order was signed at {}, before the mix was started.",
            minutes(signed_at)
        )
    };
    Some(Check {
        check: "order_signed_before_mix",
        look: late,
        text,
    })
}

fn outdate(entered: &Entered, started_at: Option<DateTime>) -> Option<Check> {
    let last_day = entered.last_day()?;
    let past = started_at.is_some_and(|at| at.date() > last_day);
    let punctured_late = entered
        .days
        .punctured_on
        .is_some_and(|day| started_at.is_some_and(|at| day > at.date()));
    let text = if punctured_late {
        format!(
            "{}: the first puncture is dated after the mix was started.",
            entered.name
        )
    } else if past {
        format!("{}: the last day was {last_day}.", entered.name)
    } else {
        format!("{}: the last day is {last_day}.", entered.name)
    };
    Some(Check {
        check: "ingredient_last_day",
        look: past || punctured_late,
        text,
    })
}

fn volumes(balance: VolumeBalance) -> Check {
    let agrees = balance.agrees(VOLUME_TOLERANCE_ML);
    let difference = balance.difference_ml().normalize();
    let text = if agrees {
        format!(
            "Mixed and given, wasted and left agree within {VOLUME_TOLERANCE_ML} mL; difference {difference} mL."
        )
    } else {
        format!(
            "Mixed and given, wasted and left differ by {difference} mL, more than {VOLUME_TOLERANCE_ML} mL."
        )
    };
    Check {
        check: "volumes",
        look: !agrees,
        text,
    }
}

fn minutes(at: DateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M").to_string()
}
