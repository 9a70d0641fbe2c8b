//! The rest of a case's record: cylinders and the gas of them.

use super::Suite;
use super::client::text;
use super::labels::Label;
use serde_json::{Value, json};

/// A fill of a cylinder with its label.
pub struct Filled {
    pub id: String,
    pub label: Label,
}

/// What a site puts on record of a fill.
pub fn cylinder_body(lot: &str, unit: &str) -> Value {
    json!({
        "lot_id": lot, "unit_id": unit, "gas": "helium", "name_read_back": "Helium",
        "filled_on": "2026-01-05", "water_volume_litre": "4.7", "service_psi": "2015",
        "plus": true, "retest_month": "2024-05-14", "star": false,
        "gauge_accuracy_percent": "2", "gauge_full_scale_psi": "3000", "reserve_psi": "0",
        "expected_litre": "138",
    })
}

/// The ids of lot and piece that a label names, after its receipt.
pub async fn received(suite: &Suite, label: &Label) -> (String, String) {
    let receipt = suite.receive(label, 1).await;
    let line = &receipt["lines"][0];
    (text(line, "lot_id"), text(line, "unit_id"))
}

/// A reusable product whose label carries lot, serial and expiry.
pub async fn reusable(suite: &Suite, name: &str, kind: &str) -> super::suite::Product {
    let carries = json!({"lot": true, "serial": true, "expiry": true});
    suite
        .product(json!({"name": name, "kind": kind, "use_class": "reusable", "carries": carries}))
        .await
}

/// A helium cylinder on record.
pub async fn cylinder(suite: &Suite) -> Filled {
    filled(suite, json!({})).await
}

/// A helium cylinder on record; `more` says what is not usual about it.
pub async fn filled(suite: &Suite, more: Value) -> Filled {
    let gas = reusable(suite, "Helium, compressed", "gas").await;
    let label = gas.piece("F26-01", "CYL-7");
    let (lot, unit) = received(suite, &label).await;
    let mut body = cylinder_body(&lot, &unit);
    for (member, value) in more.as_object().expect("an object") {
        body[member] = value.clone();
    }
    let added = suite.materials.post("/v1/cylinders", &body).await;
    Filled {
        id: text(&added.expect(201), "id"),
        label,
    }
}

/// Puts one of everything that is recorded beside scans on a case.
pub async fn on_case(suite: &Suite, case: &str) {
    let cylinder = cylinder(suite).await;
    let path = format!("/v1/cylinders/{}/gauge", cylinder.id);
    let gauge = json!({"gauge_psi": "2000", "celsius": "21.1"});
    suite.circulator.post(&path, &gauge).await.expect(201);
    suite.scan(case, &cylinder.label).await;
    let path = format!("/v1/cylinders/{}/uses", cylinder.id);
    let gas = json!({"case_id": case, "zone": "Neck", "litre_per_minute": "1.5", "minutes": "2"});
    suite.circulator.post(&path, &gas).await.expect(201);
}
