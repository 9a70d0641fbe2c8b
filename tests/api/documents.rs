//! Documents of a case and of a facility's days.

use super::record::signed_with_everything;
use crate::harness::Suite;
use crate::harness::client::{Reply, text};
use crate::harness::pdf::shown;
use crate::harness::people::PASSWORD;
use serde_json::{Value, json};

const IDENTITY: [&str; 4] = ["Robin", "Example", "MRN-", "1984-02-29"];

/// The documents that show who the patient is.
const IDENTIFIED: [(&str, &str); 3] = [
    ("device-record", "application/pdf"),
    ("chart-record", "application/pdf"),
    ("chart-bundle", "application/fhir+json"),
];

async fn compliance(suite: &Suite, path: &str) -> Reply {
    let reply = suite.compliance.get(path).await;
    assert_eq!(reply.status, 200, "{path}: {}", reply.text());
    reply
}

#[actix_web::test]
async fn a_document_that_shows_the_patient_is_an_entry_and_names_nobody_outside_itself() {
    let suite = Suite::start().await;
    let facility = suite.service.site.facility;
    let case = signed_with_everything(&suite).await;
    for (name, kind) in IDENTIFIED {
        let before = suite.service.entries(facility).await.len();
        let reply = compliance(&suite, &format!("/v1/cases/{case}/{name}")).await;
        assert_eq!(reply.header("content-type"), Some(kind));
        assert_eq!(reply.header("cache-control"), Some("no-store"));
        let file = reply.header("content-disposition").expect("a file's name");
        let entries = suite.service.entries(facility).await;
        assert_eq!(entries.len(), before + 1, "{name}");
        let (_, entry) = entries.last().expect("an entry");
        let action = format!("\"action\":\"show_{}\"", name.replace('-', "_"));
        assert!(entry.contains(&action), "{entry}");
        for identity in IDENTITY {
            assert!(!entry.contains(identity) && !file.contains(identity));
        }
    }
}

#[actix_web::test]
async fn the_patients_record_lists_what_was_used_with_lot_serial_and_expiry() {
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let reply = compliance(&suite, &format!("/v1/cases/{case}/device-record")).await;
    let text = shown(&reply.body);
    let hash = text_of(&suite.show(&case).await, "record_hash");
    for part in [
        "DEVICE RECORD FOR THE PATIENT",
        "Example, Robin",
        "1984-02-29",
        "Vein ablation, left leg",
        "E",
        "2028-12-31",
        "Thigh",
        "Mix: Bag A",
        "All zones",
        "How to read this",
        "Record reviewed",
        &format!("Record SHA-256 {hash}"),
        "Page 1 of",
    ] {
        assert!(text.contains(part), "{part} is not in\n{text}");
    }
    // What was not used on the patient is not in it.
    assert!(!text.contains("Opened, not used"));
    for advice in ["safe", "recommend", "should"] {
        assert!(!text.contains(advice), "{advice}");
    }
}

fn text_of(value: &Value, member: &str) -> String {
    text(value, member)
}

#[actix_web::test]
async fn every_document_shows_the_amendments() {
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let amendment = json!({
        "part": "record", "new_value": "A garment was put on", "reason": "Written down late",
        "meaning": "Corrected", "password": PASSWORD,
    });
    let path = format!("/v1/cases/{case}/amendments");
    suite.practitioner.post(&path, &amendment).await.expect(201);
    let said = |reply: Reply| {
        let pdf = reply.header("content-type") == Some("application/pdf");
        if pdf {
            shown(&reply.body)
        } else {
            reply.text()
        }
    };
    for path in [
        format!("/v1/cases/{case}/device-record"),
        format!("/v1/cases/{case}/chart-record"),
        format!("/v1/cases/{case}/chart-bundle"),
        format!("/v1/cases/{case}/billing-list"),
        "/v1/surgical-log?from=2026-03-01&to=2026-03-31&format=csv".to_owned(),
        "/v1/surgical-log?from=2026-03-01&to=2026-03-31".to_owned(),
    ] {
        let text = said(compliance(&suite, &path).await).replace('\n', " ");
        assert!(text.contains("garment"), "{path}: {text}");
    }
}

#[actix_web::test]
async fn the_bundle_holds_least_identity_the_udi_and_the_signatures_hash() {
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let shown = suite.show(&case).await;
    let reply = compliance(&suite, &format!("/v1/cases/{case}/chart-bundle")).await;
    let bundle = reply.json();
    let entries = bundle["entry"].as_array().expect("entries");
    let of = |kind: &str| -> Vec<&Value> {
        let resources = entries.iter().map(|entry| &entry["resource"]);
        resources
            .filter(|one| one["resourceType"] == kind)
            .collect()
    };
    let patient = of("Patient")[0];
    assert_eq!(patient["birthDate"], "1984-02-29");
    assert_eq!(patient["name"], Value::Null);
    assert_eq!(of("Procedure")[0]["status"], "completed");
    let devices = of("Device");
    assert!(devices.iter().any(|device| device["serialNumber"] == "1"
        && device["lotNumber"] == "E"
        && device["udiCarrier"][0]["issuer"] == "http://hl7.org/fhir/NamingSystem/gs1-di"));
    // The pad that was opened and not used is a device of the record, and not used on the patient.
    assert!(of("DeviceUseStatement").len() < devices.len());
    let given = of("MedicationAdministration");
    assert!(
        given
            .iter()
            .any(|one| one["dosage"]["dose"]["value"] == 5
                && one["dosage"]["site"]["text"] == "Thigh")
    );
    let signed = of("Provenance")[0];
    let hash = &signed["entity"][0]["what"]["identifier"]["value"];
    assert_eq!(hash, &shown["signatures"][0]["record_hash"]);
    let mut urls: Vec<_> = entries
        .iter()
        .map(|entry| entry["fullUrl"].to_string())
        .collect();
    urls.sort_unstable();
    let all = urls.len();
    urls.dedup();
    assert_eq!(urls.len(), all);
    // Every reference leads to a resource of the Bundle or to one contained.
    let text = reply.text();
    for part in text.split("\"reference\":\"").skip(1) {
        let to = part.split('"').next().expect("a reference");
        let known = to.starts_with('#') || urls.contains(&format!("\"{to}\""));
        assert!(known, "{to} leads nowhere");
    }
}

/// The cells of a CSV file without line breaks in its cells.
fn cells(csv: &str) -> Vec<Vec<String>> {
    let line = |line: &str| {
        let inner = line.trim_start_matches('"').trim_end_matches('"');
        inner.split("\",\"").map(str::to_owned).collect()
    };
    csv.lines().map(line).collect()
}

#[actix_web::test]
async fn the_billing_list_has_a_line_for_each_lot_and_no_formula() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let pad = suite.product(json!({"name": "=1+1 pad"})).await;
    for label in [pad.of_lot("A"), pad.of_lot("A"), pad.of_lot("B")] {
        let body = json!({"text": label.text(), "another_piece": true});
        suite.scan_body(&case, &body).await;
    }
    let path = format!("/v1/cases/{case}/billing-list");
    let reply = compliance(&suite, &path).await;
    assert_eq!(
        reply.header("content-type"),
        Some("text/csv; charset=utf-8")
    );
    let rows = cells(&reply.text());
    let at = |name: &str| rows[0].iter().position(|head| head == name).expect(name);
    let lots: Vec<_> = rows[1..]
        .iter()
        .map(|row| (row[at("lot")].as_str(), row[at("quantity")].as_str()))
        .collect();
    assert_eq!(lots, [("A", "2"), ("B", "1")]);
    assert_eq!(rows[1][at("product")], "'=1+1 pad");
    assert_eq!(rows[1][at("signed")], "no");
    for identity in IDENTITY {
        assert!(!reply.text().contains(identity));
    }
    let reply = compliance(&suite, &format!("{path}?format=xlsx")).await;
    // A workbook is a ZIP file (ISO/IEC 29500-2).
    assert!(reply.body.starts_with(b"PK\x03\x04"));
}

#[actix_web::test]
async fn the_surgical_log_has_the_cases_of_the_local_days_that_were_asked_for() {
    let setup = crate::harness::service::Setup {
        zone: "America/Los_Angeles",
        ..Default::default()
    };
    let suite = Suite::with(setup).await;
    let mut body = suite.case_body("MRN-1", "Example, Robin");
    // 2026-03-12 at 23:30 in Los Angeles.
    body["scheduled_for"] = json!("2026-03-13T06:30:00Z");
    let late = suite.circulator.post("/v1/cases", &body).await.expect(201);
    let days = |from: &str, to: &str| format!("/v1/surgical-log?from={from}&to={to}&format=csv");
    let on = compliance(&suite, &days("2026-03-12", "2026-03-12")).await;
    assert!(on.text().contains(&text(&late, "id")));
    assert!(!on.text().contains("Robin"));
    let next = compliance(&suite, &days("2026-03-13", "2026-03-14")).await;
    assert_eq!(cells(&next.text()).len(), 1);
    for (from, to, pointer) in [
        ("2026-03-02", "2026-03-01", "to"),
        ("2026-03-02", "2027-03-03", "to"),
        ("1000-01-01", "1000-01-02", "from"),
        ("9999-12-31", "9999-12-31", "from"),
    ] {
        let problem = suite.compliance.get(&days(from, to)).await;
        let problem = problem.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{from} {to}");
    }
}
