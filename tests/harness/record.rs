//! The rest of a case's record: cylinders and the gas of them, mixes.

use super::Suite;
use super::client::{text, version};
use super::labels::Label;
use super::people::PASSWORD;
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
    let gas = json!({"case_id": case, "zone": "Thigh", "litre_per_minute": "1.5", "minutes": "2"});
    suite.circulator.post(&path, &gas).await.expect(201);
    let mix = made_mix(suite, case).await;
    let path = format!("/v1/mixes/{mix}");
    let made = suite.circulator.get(&path).await.expect(200);
    let check = format!("{path}/check");
    suite
        .practitioner
        .change(&check, version(&made), &json!({}))
        .await
        .expect(201);
    let dose = json!({"zone": "Thigh", "volume_ml": "5"});
    let given = suite.circulator.post(&format!("{path}/doses"), &dose).await;
    given.expect(201);
    processed(suite).await;
    recorded(suite, case).await;
}

/// A piece of equipment on record.
pub async fn equipment(suite: &Suite, kind: &str) -> String {
    let number = uuid::Uuid::new_v4().simple().to_string();
    let mut body =
        json!({"asset_number": format!("EQ-{}", &number[..8]), "kind": kind, "name": "Piece"});
    if kind == "thermometer" {
        body["thermometer_type"] = json!("infrared_camera");
    }
    let added = suite.materials.post("/v1/equipment", &body).await;
    text(&added.expect(201), "id")
}

/// Sets equipment up on a case by choosing it.
pub async fn set_up(suite: &Suite, case: &str, equipment: &str) -> Value {
    let path = format!("/v1/cases/{case}/equipment");
    let body = json!({"equipment_id": equipment});
    suite.circulator.post(&path, &body).await.expect(201)
}

/// A fresh generator and thermometer, set up on a case.
pub async fn instruments(suite: &Suite, case: &str) -> (String, String) {
    let (generator, thermometer) = (
        equipment(suite, "generator").await,
        equipment(suite, "thermometer").await,
    );
    set_up(suite, case, &generator).await;
    set_up(suite, case, &thermometer).await;
    (generator, thermometer)
}

/// An end point of the skin's temperature, as the infrared camera of [`equipment`] measures it.
pub async fn energy_limit(suite: &Suite) -> String {
    let body = json!({
        "value": "max_skin_celsius", "thermometer_type": "infrared_camera", "least": "38",
        "most": "40", "source": "Site policy 22",
    });
    let added = suite.practitioner.post("/v1/energy-limits", &body).await;
    text(&added.expect(201), "id")
}

/// Energy in a zone by the handpiece of a scan.
pub fn energy_body(
    scan: &Value,
    (generator, thermometer): &(String, String),
    zone: &str,
    seconds: &str,
) -> Value {
    json!({
        "zone": zone, "handpiece_scan_id": text(scan, "id"), "generator_id": generator,
        "power_percent": "70", "passes": 6, "active_seconds": seconds,
        "max_skin_celsius": "38.5", "instrument_id": thermometer, "emissivity": "0.98",
    })
}

/// The record of a routine check.
pub async fn routine(suite: &Suite) -> Value {
    let body = json!({
        "name": "Crash cart", "every": "day", "two_people": false, "source": "Site policy 19",
        "values": [{"name": "Seal intact", "kind": "yes_no"}],
    });
    let added = suite.materials.post("/v1/routines", &body).await;
    let path = format!("/v1/routines/{}/records", text(&added.expect(201), "id"));
    let found = json!({"values": [{"name": "Seal intact", "value": "yes"}]});
    suite.circulator.post(&path, &found).await.expect(201)
}

/// A multi-dose vial, punctured today, with its label.
pub async fn vial(suite: &Suite) -> (String, Label) {
    let drug = suite
        .product(json!({"kind": "drug", "use_class": "reusable"}))
        .await;
    let label = drug.of_lot("V1");
    let receipt = suite.receive(&label, 1).await;
    let facts = json!({"volume_ml": "50", "strengths": [{"substance": "lidocaine", "percent": "1"}], "source": "Label"});
    let path = format!("/v1/products/{}/drug", drug.id);
    suite.materials.post(&path, &facts).await.expect(200);
    let body = json!({"lot_id": receipt["lines"][0]["lot_id"], "name": "A"});
    let opened = suite.circulator.post("/v1/vials", &body).await;
    (text(&opened.expect(201), "id"), label)
}

/// A smoke evacuator with a filter and a service, set up on a case, where it ran.
async fn evacuator(suite: &Suite, case: &str) {
    let evacuator = equipment(suite, "smoke_evacuator").await;
    let path = format!("/v1/equipment/{evacuator}");
    let service = json!({"kind": "maintenance", "done_on": "2026-03-01", "due_on": "2027-03-01", "done_by": "Brindlemoor"});
    let filter = json!({"filter": "UF-1", "life_hours": "8", "case_hours": "0.5"});
    for (what, body) in [("services", &service), ("filters", &filter)] {
        let path = format!("{path}/{what}");
        suite.materials.post(&path, body).await.expect(201);
    }
    set_up(suite, case, &evacuator).await;
    let run = json!({"case_id": case, "minutes": "35"});
    let ran = suite.circulator.post(&format!("{path}/runs"), &run).await;
    ran.expect(201);
}

/// One of everything else that is recorded on a case.
async fn recorded(suite: &Suite, case: &str) {
    let handpiece = suite.handpiece().await;
    let scan = suite.scan(case, &handpiece.piece("E", "1")).await;
    let path = format!("/v1/cases/{case}");
    evacuator(suite, case).await;
    routine(suite).await;
    drawn(suite, case).await;
    let energy = energy_body(&scan, &instruments(suite, case).await, "Thigh", "10");
    let energy = suite
        .circulator
        .post(&format!("{path}/energy"), &energy)
        .await;
    energy.expect(201);
    let lines = json!([{"lot_id": text(&scan, "lot_id"), "quantity": 1}]);
    let pick = json!({"kind": "picked", "lines": lines});
    let pick = suite.circulator.post(&format!("{path}/picks"), &pick).await;
    pick.expect(201);
    let check = json!({"kind": "time_out", "lines": [{"item": "Site", "answer": "marked"}]});
    let check = suite
        .circulator
        .post(&format!("{path}/checks"), &check)
        .await;
    check.expect(201);
    let list = json!({
        "procedure": "Vein ablation, left leg",
        "items": [{"product_id": handpiece.id, "open": 1, "hold": 0}],
    });
    suite.materials.post("/v1/lists", &list).await.expect(201);
    let rule = json!({"name": "Next-day call", "days": 1, "source": "Site policy 31"});
    let rule = suite.compliance.post("/v1/follow-up-rules", &rule).await;
    rule.expect(201);
    energy_limit(suite).await;
    let done = super::Suite::case(suite).await;
    suite.advance(&done, "start").await;
    suite.advance(&done, "complete").await;
    let call = json!({"name": "Next-day call", "done_on": "2026-03-10", "outcome": "Reached"});
    let call = suite
        .circulator
        .post(&format!("/v1/cases/{done}/follow-ups"), &call)
        .await;
    call.expect(201);
    let status = json!({"status": "user_facility", "reason": "A licensed suite"});
    let status = suite.compliance.post("/v1/facility-status", &status).await;
    status.expect(201);
    let years = json!({"years": 7, "source": "The state's rule on medical records"});
    let years = suite.compliance.post("/v1/record-years", &years).await;
    years.expect(201);
    let event = json!({
        "event": "malfunction", "happened_on": "2026-03-10", "aware_on": "2026-03-10",
        "deliberation": "No injury",
    });
    let event = suite
        .practitioner
        .post(&format!("{path}/events"), &event)
        .await;
    event.expect(201);
}

/// A reusable piece of a product that the site sterilizes, cleaned and through a load.
async fn processed(suite: &Suite) {
    let set = reusable(suite, "Reusable cannula set", "cannula").await;
    let (_, unit) = received(suite, &set.piece("R1", "S1")).await;
    let limit = json!({"cycle_limit": 20, "source": "Maker's instructions"});
    let path = format!("/v1/products/{}/processing", set.id);
    suite.materials.post(&path, &limit).await.expect(200);
    let cleaning =
        json!({"unit_id": unit, "flushed": true, "brush": "1.2 mm nylon", "inspected": true});
    let cleaned = suite.materials.post("/v1/cleanings", &cleaning).await;
    cleaned.expect(201);
    let sterilizer = sterilizer(suite, "recall_suspect").await;
    let body = load_body(suite, &sterilizer, "L1", &[&unit]);
    let load = suite.materials.post("/v1/loads", &body).await.expect(201);
    indicator(suite, &load, "mechanical", "good").await;
}

/// A sterilizer with this policy after a positive indicator.
pub async fn sterilizer(suite: &Suite, policy: &str) -> String {
    let name = format!("Autoclave {}", uuid::Uuid::new_v4().simple());
    let body = json!({"name": name, "positive_policy": policy});
    let added = suite.compliance.post("/v1/sterilizers", &body).await;
    text(&added.expect(201), "id")
}

/// A terminal cycle that starts now, with these pieces in one pack or empty.
pub fn load_body(suite: &Suite, sterilizer: &str, cycle: &str, units: &[&str]) -> Value {
    let pack = json!({"label": format!("{cycle}-01"), "name": "Cannula set", "implant": false, "unit_ids": units});
    let packs = if units.is_empty() {
        json!([])
    } else {
        json!([pack])
    };
    json!({
        "sterilizer_id": sterilizer, "cycle": cycle, "kind": "terminal",
        "started_at": suite.service.site.clock.reading().to_string(),
        "exposure_minutes": "4", "exposure_celsius": "132", "packs": packs,
    })
}

/// Records what an indicator of a load showed.
pub async fn indicator(suite: &Suite, load: &Value, kind: &str, result: &str) -> Value {
    let path = format!("/v1/loads/{}/indicators", text(load, "id"));
    let body = json!({"kind": kind, "result": result});
    suite.materials.post(&path, &body).await.expect(201)
}

/// The order of a mix with the signer's password.
pub fn order_body(minutes: u16) -> Value {
    json!({
        "name": "Bag A", "written_order": "As the worked example", "weight_kg": "60",
        "use_within_minutes": minutes, "use_by_source": "Site policy 12", "password": PASSWORD,
    })
}

/// A mix for four hours, ordered and signed.
pub async fn order(suite: &Suite, case: &str) -> Value {
    let path = format!("/v1/cases/{case}/mixes");
    let ordered = suite.practitioner.post(&path, &order_body(240)).await;
    ordered.expect(201)
}

/// A fresh product of a kind, received and scanned on a case, as an ingredient.
pub async fn ingredient(
    suite: &Suite,
    case: &str,
    kind: &str,
    volume: &str,
    strengths: Value,
) -> Value {
    let product = suite.product(json!({"kind": kind})).await;
    suite.receive(&product.of_lot("D1"), 5).await;
    let scan = suite.scan(case, &product.of_lot("D1")).await;
    json!({"scan_id": text(&scan, "id"), "volume_ml": volume, "strengths": strengths})
}

/// A mix drawn from a vial.
async fn drawn(suite: &Suite, case: &str) {
    let (vial, label) = vial(suite).await;
    let scan = suite.scan(case, &label).await;
    let mix = order(suite, case).await;
    let one = json!({"scan_id": text(&scan, "id"), "volume_ml": "5", "vial_id": vial});
    let started_at = suite.service.site.clock.reading().to_string();
    let body = json!({"started_at": started_at, "ingredients": [one]});
    let path = format!("/v1/mixes/{}/make", text(&mix, "id"));
    let made = suite.circulator.change(&path, version(&mix), &body).await;
    made.expect(201);
}

/// A mix of one ingredient on a case, made and not checked.
pub async fn made_mix(suite: &Suite, case: &str) -> String {
    let mix = order(suite, case).await;
    let one = ingredient(suite, case, "drug", "5", json!([])).await;
    let started_at = suite.service.site.clock.reading().to_string();
    let body = json!({"started_at": started_at, "ingredients": [one]});
    let path = format!("/v1/mixes/{}/make", text(&mix, "id"));
    let made = suite.circulator.change(&path, version(&mix), &body).await;
    made.expect(201);
    text(&mix, "id")
}
