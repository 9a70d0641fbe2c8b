//! What was given: volumes of mixes, and drugs that went on the patient by themselves.

use super::{decimal, is_device, reference};
use crate::documents::sections::was_used;
use lotwarden_store::documents::{CaseFile, Item};
use lotwarden_store::mixes::{Mix, MixIngredient};
use lotwarden_store::moment::instant_text;
use rust_decimal::Decimal;
use serde_json::{Value, json};
use uuid::Uuid;

pub(super) fn administrations(file: &CaseFile) -> Vec<(Uuid, Value)> {
    let case = &file.recorded.case;
    let whole = |medication: Vec<Value>, at: String| {
        json!({
            "resourceType": "MedicationAdministration",
            "status": "completed",
            "contained": medication,
            "medicationReference": {"reference": "#given"},
            "subject": reference(case.patient),
            "effectiveDateTime": at,
            "partOf": [reference(case.id)],
        })
    };
    let mut given = Vec::new();
    for mix in &file.recorded.mixes {
        for dose in mix.doses.iter().filter(|dose| dose.given) {
            let mut one = whole(of_mix(mix), instant_text(dose.at));
            one["dosage"] = json!({
                "site": {"text": dose.zone},
                "dose": millilitres(dose.volume_ml),
            });
            given.push((dose.id, one));
        }
    }
    let mixed = |item: &&Item| {
        let mut ingredients = file.recorded.mixes.iter().flat_map(|mix| &mix.ingredients);
        ingredients.any(|each| each.scan == item.scan.id)
    };
    let alone = file
        .items
        .iter()
        .filter(|item| !is_device(item) && was_used(item));
    for item in alone.filter(|item| !mixed(item)) {
        let lot = item.scan.lot.as_ref();
        let number = lot.and_then(|(_, number, _)| number.as_deref());
        let name = &item.product.description.name;
        let medication = medication("given", name, number, lot.and_then(|(.., day)| *day));
        let at = instant_text(item.scan.occurred_at);
        given.push((item.scan.id, whole(vec![medication], at)));
    }
    given
}

fn medication(
    id: &str,
    name: &str,
    lot: Option<&str>,
    expires_on: Option<jiff::civil::Date>,
) -> Value {
    let mut medication = json!({
        "resourceType": "Medication", "id": id, "code": {"text": name},
    });
    if let Some(lot) = lot {
        medication["batch"]["lotNumber"] = json!(lot);
    }
    if let Some(day) = expires_on {
        medication["batch"]["expirationDate"] = json!(day);
    }
    medication
}

/// A mix with its ingredients, each with its lot.
fn of_mix(mix: &Mix) -> Vec<Value> {
    let name = |at: usize| format!("ingredient-{}", at + 1);
    let total = mix.mixture().map(|mixture| mixture.volume_ml);
    let ingredient = |(at, each): (usize, &MixIngredient)| {
        let mut own = json!({"itemReference": {"reference": format!("#{}", name(at))}});
        if let Some(total) = total {
            own["strength"] = json!({
                "numerator": millilitres(each.volume_ml), "denominator": millilitres(total),
            });
        }
        own
    };
    let mut whole = medication("given", &mix.name, None, None);
    let ingredients: Vec<Value> = mix.ingredients.iter().enumerate().map(ingredient).collect();
    if !ingredients.is_empty() {
        whole["ingredient"] = json!(ingredients);
    }
    let mut all = vec![whole];
    for (at, each) in mix.ingredients.iter().enumerate() {
        let lot = each.lot.1.as_deref();
        all.push(medication(&name(at), &each.product.1, lot, each.last_day));
    }
    all
}

fn millilitres(volume: Decimal) -> Value {
    json!({
        "value": decimal(volume), "unit": "mL", "system": "http://unitsofmeasure.org", "code": "mL",
    })
}
