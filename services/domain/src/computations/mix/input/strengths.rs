//! The substances of an ingredient and their strengths.

use serde_json::Value;

use crate::computations::fault::{FaultCode, Faults};
use crate::computations::fields::Fields;
use crate::computations::parse::{Wrong, flag, number, text, wrong};
use crate::mixes::Strength;

/// The substances of an ingredient: a list, one given in the ingredient itself, or a diluent.
pub fn substances(
    fields: &mut Fields<'_>,
    name: Option<&str>,
    path: &str,
) -> Option<Vec<(String, Strength)>> {
    let diluent = fields.optional("diluent", flag).unwrap_or(false);
    let several = fields.has("substances");
    let own_name = fields.optional("substance", text);
    let own = strengths(fields);
    let listed = fields.list("substances");
    match (diluent, several, own.as_slice()) {
        (true, false, []) if own_name.is_none() => Some(Vec::new()),
        (true, _, _) => {
            fields.fault(
                FaultCode::Conflict,
                "diluent",
                "a diluent has no substance and no strength; give the one or the other",
            );
            None
        }
        (false, true, []) if own_name.is_none() => {
            let read: Vec<_> = listed?
                .into_iter()
                .map(|(item, path)| fields.take(substance(item, &path)))
                .collect();
            let each: Vec<Vec<_>> = read.into_iter().collect::<Option<_>>()?;
            Some(each.into_iter().flatten().collect())
        }
        (false, true, _) => {
            fields.fault(
                FaultCode::Conflict,
                "substances",
                "give substance and strength either in substances or in the ingredient itself",
            );
            None
        }
        (false, false, own) => {
            // Where the name is missing too, that has been said.
            let called = own_name.as_deref().or(name).unwrap_or_default();
            named(fields, called, own, path)
        }
    }
}

/// A substance of a list, at its path.
fn substance(item: &Value, path: &str) -> Result<Vec<(String, Strength)>, Faults> {
    let mut fields = Fields::of(item, path)?;
    let called = fields.needed("substance", text);
    let own = strengths(&mut fields);
    let read = named(
        &mut fields,
        called.as_deref().unwrap_or_default(),
        &own,
        path,
    );
    fields.finish(called.and(read))
}

/// One strength under its substance, with milliequivalents too where they were entered.
///
/// Substances are told apart in lower case, so that no spelling splits a sum.
fn named(
    fields: &mut Fields<'_>,
    called: &str,
    own: &[Option<Strength>],
    path: &str,
) -> Option<Vec<(String, Strength)>> {
    let per_meq = fields.optional("mg_per_meq", number("0.1", "1000"));
    match own {
        [] => {
            let message = format!(
                "{path} has no strength; give one of percent, ratio, mg_per_ml, meq_per_ml, or \"diluent\": true where there is nothing to count; it is never taken as zero"
            );
            fields.fault(FaultCode::Missing, "percent", message);
            None
        }
        [one] => {
            let strength = (*one)?;
            let also = match (strength, per_meq) {
                (Strength::MilligramPerMillilitre(mg), Some(per_meq)) => {
                    Some(Strength::MilliequivalentPerMillilitre(mg / per_meq))
                }
                _ => None,
            };
            Some(
                [Some(strength), also]
                    .into_iter()
                    .flatten()
                    .map(|each| (called.to_lowercase(), each))
                    .collect(),
            )
        }
        _ => {
            fields.fault(
                FaultCode::Conflict,
                "percent",
                "give one strength: percent, ratio, mg_per_ml or meq_per_ml",
            );
            None
        }
    }
}

/// The strengths given in an object, each none where it is faulty.
fn strengths(fields: &mut Fields<'_>) -> Vec<Option<Strength>> {
    let mut own = Vec::new();
    let percent = |value: &Value| number("0.000001", "100")(value).map(Strength::from_percent);
    let mg =
        |value: &Value| number("0.000001", "1000")(value).map(Strength::MilligramPerMillilitre);
    let meq = |value: &Value| {
        number("0.000001", "100")(value).map(Strength::MilliequivalentPerMillilitre)
    };
    for (given, read) in [
        (fields.has("percent"), fields.optional("percent", percent)),
        (fields.has("ratio"), fields.optional("ratio", ratio)),
        (fields.has("mg_per_ml"), fields.optional("mg_per_ml", mg)),
        (fields.has("meq_per_ml"), fields.optional("meq_per_ml", meq)),
    ] {
        if given {
            own.push(read);
        }
    }
    own
}

fn ratio(value: &Value) -> Result<Strength, Wrong> {
    let printed = text(value)?;
    Strength::from_ratio(&printed).or_else(|error| wrong(FaultCode::NotANumber, error.to_string()))
}
