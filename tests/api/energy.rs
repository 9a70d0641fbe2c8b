//! The energy log of a case, and the site's settings and end points beside it.

use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::record::{energy_body, energy_limit, instruments};
use serde_json::{Value, json};

/// A case with a handpiece and its instruments: the case, the handpiece's scan, generator and
/// thermometer.
async fn ready(suite: &Suite) -> (String, Value, (String, String)) {
    let case = suite.case().await;
    let handpiece = suite.handpiece().await;
    let scan = suite.scan(&case, &handpiece.piece("A", "1")).await;
    let with = instruments(suite, &case).await;
    (case, scan, with)
}

#[actix_web::test]
async fn energy_is_logged_by_zone_with_its_handpiece_and_the_instrument_that_measured() {
    let suite = Suite::start().await;
    let (case, scan, with) = ready(&suite).await;
    let path = format!("/v1/cases/{case}/energy");
    for (zone, seconds) in [("Calf, left", "120"), ("Calf, right", "132.5")] {
        let body = energy_body(&scan, &with, zone, seconds);
        suite.circulator.post(&path, &body).await.expect(201);
    }
    let log = suite.circulator.get(&path).await.expect(200);
    assert_eq!(log["active_seconds"], "252.5");
    assert_eq!(
        (&log["passes"], &log["gas_litre"]),
        (&json!(12), &json!("0"))
    );
    let entry = &log["entries"][1];
    assert_eq!(entry["zone"], "Calf, right");
    assert_eq!(entry["instrument_id"], with.1);
    let generator = text(entry, "generator");
    assert!(generator.starts_with("Piece (EQ-"), "{generator}");
    let mut nameless = energy_body(&scan, &with, "Thigh", "10");
    nameless["max_skin_celsius"] = json!("39.5");
    nameless
        .as_object_mut()
        .expect("an object")
        .remove("instrument_id");
    let mut swapped = energy_body(&scan, &with, "Thigh", "10");
    swapped["generator_id"] = json!(with.1);
    let other = suite.case().await;
    let elsewhere_only = instruments(&suite, &other).await;
    let mut unknown = energy_body(&scan, &with, "Thigh", "10");
    unknown["instrument_id"] = json!(elsewhere_only.1);
    let mut elsewhere = energy_body(&scan, &with, "Thigh", "10");
    elsewhere["handpiece_scan_id"] = json!(case);
    let mut hot = energy_body(&scan, &with, "Thigh", "10");
    hot["power_percent"] = json!("100.1");
    for (body, pointer) in [
        (nameless, "/instrument_id"),
        (swapped, "/generator_id"),
        (unknown, "/instrument_id"),
        (elsewhere, "/handpiece_scan_id"),
        (hot, "/power_percent"),
    ] {
        let problem = suite
            .circulator
            .post(&path, &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
}

#[actix_web::test]
async fn an_entry_says_which_of_the_sites_end_points_it_lies_outside_of() {
    // Skin end points of 38 to 40 C are quoted by clinics; thresholds are per type of instrument
    // (shared/trade.md, 9; Key, J Drugs Dermatol 2014;13:185). The site's own list decides.
    let suite = Suite::start().await;
    let (case, scan, with) = ready(&suite).await;
    let path = format!("/v1/cases/{case}/energy");
    let record = async |celsius: &str, power: &str| {
        let mut body = energy_body(&scan, &with, "Calf, left", "120");
        body["max_skin_celsius"] = json!(celsius);
        body["power_percent"] = json!(power);
        suite.circulator.post(&path, &body).await.expect(201)
    };
    record("45", "90").await;
    let skin = energy_limit(&suite).await;
    let power = json!({"value": "power_percent", "zone": "calf, left", "most": "80", "source": "Site policy 22"});
    let power = suite.compliance.post("/v1/energy-limits", &power).await;
    let power = text(&power.expect(201), "id");
    record("41", "90").await;
    record("39", "70").await;
    let end = format!("/v1/energy-limits/{skin}/end");
    let why = json!({"reason": "Another camera"});
    suite.practitioner.post(&end, &why).await.expect(200);
    let again = suite.practitioner.post(&end, &why).await;
    again.problem(409, "already-done");
    record("45", "70").await;
    let log = suite.circulator.get(&path).await.expect(200);
    let outside = |at: usize| -> Vec<String> {
        let outside = log["entries"][at]["outside"].as_array().expect("a list");
        outside.iter().map(|limit| text(limit, "id")).collect()
    };
    let found: Vec<Vec<String>> = (0..4).map(outside).collect();
    assert_eq!(found, [vec![], vec![skin, power], vec![], vec![]]);
    let listed = suite.compliance.get("/v1/energy-limits").await.expect(200);
    assert_eq!(listed["items"].as_array().map(Vec::len), Some(2));
    assert_eq!(listed["items"][0]["end_reason"], "Another camera");
}

#[actix_web::test]
async fn an_energy_limit_that_bounds_nothing_is_refused_by_its_field() {
    let suite = Suite::start().await;
    let of = |members: Value| {
        let mut body = json!({"value": "passes", "source": "Site policy 22"});
        for (member, value) in members.as_object().expect("an object") {
            body[member] = value.clone();
        }
        body
    };
    for (body, pointer) in [
        (of(json!({})), "/most"),
        (of(json!({"least": "5", "most": "4"})), "/most"),
        (of(json!({"least": "-1"})), "/least"),
        (
            of(json!({"most": "4", "thermometer_type": "contact"})),
            "/thermometer_type",
        ),
        (of(json!({"most": "4", "zone": ""})), "/zone"),
        (of(json!({"most": "4", "source": "x"})), "/source"),
    ] {
        let reply = suite.practitioner.post("/v1/energy-limits", &body).await;
        let problem = reply.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{body}");
    }
}

#[actix_web::test]
async fn energy_from_before_the_register_stays_readable() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let facility = suite.service.site.facility;
    let row = format!(
        "INSERT INTO energy_log (facility_id, id, case_id, zone, handpiece_scan_id, generator, \
         power_percent, passes, active_seconds, max_skin_celsius, instrument, actor, at) \
         VALUES ('{facility}', gen_random_uuid(), '{case}', 'Thigh', gen_random_uuid(), \
         'Generator 2, SN 00417', 70, 6, 10, 38.5, 'Infrared camera 1', 'service:test', now())"
    );
    let superuser = suite.service.site.database.superuser().await;
    superuser.batch_execute(&row).await.expect("an old row");
    let path = format!("/v1/cases/{case}/energy");
    let log = suite.practitioner.get(&path).await.expect(200);
    let entry = &log["entries"][0];
    assert_eq!(entry["generator"], "Generator 2, SN 00417");
    assert_eq!(entry["instrument"], "Infrared camera 1");
    assert_eq!(entry["generator_id"], Value::Null);
}
