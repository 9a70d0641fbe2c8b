//! Correcting a signed case: the signed record stays, the amendment stands beside it.

use super::record::{sign, signed_with_everything};
use crate::harness::Suite;
use crate::harness::client::{Reply, text};
use crate::harness::people::PASSWORD;
use reqwest::Method;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::fmt::Write;

async fn record(suite: &Suite, case: &str) -> Value {
    let path = format!("/v1/cases/{case}/record");
    suite.practitioner.get(&path).await.expect(200)
}

/// The first part of a kind, as the record states it.
fn part<'a>(record: &'a Value, kind: &str) -> &'a Value {
    let parts = record["parts"].as_array().expect("parts");
    let found = parts.iter().find(|part| part["part"] == kind);
    found.unwrap_or_else(|| panic!("the record has no {kind}"))
}

fn value<'a>(part: &'a Value, field: &str) -> &'a Value {
    let values = part["values"].as_array().expect("values");
    let found = values.iter().find(|value| value["field"] == field);
    found.unwrap_or_else(|| panic!("{part} has no {field}"))
}

async fn amend(suite: &Suite, case: &str, body: Value) -> Reply {
    let mut whole =
        json!({"reason": "Counted again", "meaning": "Corrected", "password": PASSWORD});
    for (member, value) in body.as_object().expect("an object") {
        whole[member] = value.clone();
    }
    let path = format!("/v1/cases/{case}/amendments");
    suite.circulator.post(&path, &whole).await
}

#[actix_web::test]
async fn every_part_is_amended_beside_the_signed_record_with_old_and_new_value() {
    // 21 CFR 11.10(e): a change does not obscure what was recorded before; 11.50: name, time, meaning.
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let before = suite.show(&case).await;
    let amended = [
        ("scan", "disposition", "wasted"),
        ("mix", "left_ml", "1.5"),
        ("dose", "volume_ml", "4"),
        ("gas_use", "minutes", "3"),
        ("energy", "passes", "8"),
        ("equipment", "minutes", "30"),
        ("check", "lines", "Site: marked left"),
        ("pick", "quantity", "2"),
    ];
    for (kind, field, new_value) in amended {
        let stands = record(&suite, &case).await;
        let part = part(&stands, kind);
        let old = &value(part, field)["value"];
        let body = json!({
            "part": kind, "part_id": part["part_id"], "field": field, "old_value": old,
            "new_value": new_value,
        });
        let answer = amend(&suite, &case, body).await.expect(201);
        assert_eq!(
            [&answer["old_value"], &answer["new_value"]],
            [old, &json!(new_value)]
        );
        assert_eq!(answer["record_hash"], before["record_hash"]);
        let stands = record(&suite, &case).await;
        let now = value(self::part(&stands, kind), field);
        assert_eq!(
            (&now["value"], &now["amended"]),
            (&json!(new_value), &json!(true))
        );
    }
    let whole = json!({"part": "record", "new_value": "A garment was put on, lot C1"});
    amend(&suite, &case, whole).await.expect(201);
    let after = suite.show(&case).await;
    assert_eq!(after["record_hash"], before["record_hash"]);
    assert_eq!(after["signatures"][0]["unchanged"], true);
    let shown = after["amendments"].as_array().expect("amendments");
    assert_eq!(shown.len(), amended.len() + 1);
    for one in shown {
        assert_eq!(one["unchanged"], true);
        assert_eq!(one["meaning"], "Corrected");
        assert!(one["name"].is_string() && one["signed_at"].is_string());
    }
}

#[actix_web::test]
async fn a_second_amendment_of_a_value_has_the_first_one_as_its_old_value() {
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let of = |old: &str, new: &str| json!({"part": "record", "field": "procedure", "old_value": old, "new_value": new});
    let first = of("Vein ablation, left leg", "Vein ablation, right leg");
    amend(&suite, &case, first.clone()).await.expect(201);
    // Somebody who read the record before it was amended does not sign over it.
    let field = |reply: Reply| {
        let problem = reply.problem(400, "invalid");
        text(&problem["errors"][0], "pointer")
    };
    assert_eq!(field(amend(&suite, &case, first).await), "/old_value");
    let second = of("Vein ablation, right leg", "Vein ablation, both legs");
    amend(&suite, &case, second).await.expect(201);
    let same = of("Vein ablation, both legs", "Vein ablation, both legs");
    assert_eq!(field(amend(&suite, &case, same).await), "/new_value");
    let stands = record(&suite, &case).await;
    let procedure = value(part(&stands, "record"), "procedure");
    assert_eq!(procedure["value"], "Vein ablation, both legs");
}

#[actix_web::test]
async fn a_case_read_before_an_amendment_is_no_longer_the_same_answer() {
    // RFC 9110, 8.8.1: a strong validator changes whenever a change occurs to the representation.
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let read = || {
        suite
            .practitioner
            .request(Method::GET, &format!("/v1/cases/{case}"))
    };
    let before = read().send().await;
    let tag = before.header("etag").expect("an entity tag").to_owned();
    let same = || read().header("if-none-match", &tag).send();
    assert_eq!(same().await.status, 304);
    let whole = json!({"part": "record", "new_value": "A garment was put on, lot C1"});
    amend(&suite, &case, whole).await.expect(201);
    same().await.expect(200);
}

#[actix_web::test]
async fn what_cannot_be_amended_is_refused_by_its_field() {
    let suite = Suite::start().await;
    let open = suite.case().await;
    let whole = json!({"part": "record", "new_value": "Something"});
    amend(&suite, &open, whole.clone())
        .await
        .problem(409, "out-of-order");
    suite.advance(&open, "start").await;
    suite.advance(&open, "complete").await;
    sign(&suite, &open).await;
    let none = uuid::Uuid::new_v4();
    for (body, pointer) in [
        (
            json!({"part": "scan", "part_id": none, "new_value": "x"}),
            "/part_id",
        ),
        (json!({"part": "scan", "new_value": "x"}), "/part_id"),
        (
            json!({"part": "record", "part_id": none, "new_value": "x"}),
            "/part_id",
        ),
        (
            json!({"part": "record", "field": "patient", "new_value": "x"}),
            "/field",
        ),
        (
            json!({"part": "record", "field": "status", "new_value": "x"}),
            "/old_value",
        ),
        (
            json!({"part": "record", "old_value": "x", "new_value": "x"}),
            "/old_value",
        ),
        (json!({"part": "record", "new_value": ""}), "/new_value"),
    ] {
        let problem = amend(&suite, &open, body.clone())
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{body}");
    }
    let mut wrong = whole;
    wrong["password"] = json!("three quiet otters 42");
    amend(&suite, &open, wrong)
        .await
        .problem(401, "wrong-credentials");
    assert_eq!(suite.show(&open).await["amendments"], json!([]));
}

#[actix_web::test]
async fn an_amendments_signature_is_over_what_its_entry_says() {
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let body = json!({"part": "record", "new_value": "Late entry"});
    let answer = amend(&suite, &case, body).await.expect(201);
    let entries = suite.service.entries(suite.service.site.facility).await;
    let (_, entry) = entries.last().expect("an entry");
    let entry: Value = serde_json::from_str(entry).expect("JSON");
    assert_eq!(entry["action"], "amend_case");
    // Keys are sorted and no number stands in it, so that this is RFC 8785.
    let correction = entry["data"]["correction"].to_string();
    let digest = Sha256::digest(correction.as_bytes());
    let digest = digest.iter().fold(String::new(), |mut hex, byte| {
        let _ = write!(hex, "{byte:02x}");
        hex
    });
    assert_eq!(text(&answer, "amendment_hash"), digest);
    assert_eq!(entry["data"]["amendment_hash"], digest);
    let superuser = suite.service.site.database.superuser().await;
    let change =
        "ALTER TABLE amendments DISABLE TRIGGER ALL; UPDATE amendments SET new_value = 'Other'";
    superuser
        .batch_execute(change)
        .await
        .expect("a superuser may");
    assert_eq!(suite.show(&case).await["amendments"][0]["unchanged"], false);
}
