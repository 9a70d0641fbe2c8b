//! An authority's records taken in: new ones, the same again, and updates.

use super::{confirm_as, criterion};
use crate::harness::Suite;
use lotwarden_domain::access::{Grant, act};
use lotwarden_domain::import::read_notices;
use lotwarden_store::notices::{ImportNotices, ImportedNotices};
use lotwarden_store::{Rendered, Request};
use serde_json::{Value, json};
use std::ops::ControlFlow;

/// A record in the form of openFDA's enforcement reports; its content is invented.
fn record(number: &str, status: &str, codes: &str) -> Value {
    json!({
        "recall_number": number, "event_id": "90001", "status": status,
        "classification": "Class II", "recalling_firm": "Invented Instruments",
        "product_description": "Infiltration cannula", "code_info": codes,
        "reason_for_recall": "Pouch seals may be open", "report_date": "20260304",
    })
}

async fn import(suite: &Suite, records: &[Value]) -> ImportedNotices {
    let file = json!({"results": records}).to_string();
    let mut read = Vec::new();
    read_notices(file.as_bytes(), &mut |record| {
        read.push(record.expect("a record"));
        ControlFlow::Continue(())
    })
    .expect("a file");
    let operation = ImportNotices {
        records: read,
        file_sha256: "0".repeat(64),
    };
    let facility = suite.service.site.facility;
    let grant: Grant<act::AddNotice> = Grant::to_operator("test", facility);
    let rendered = |outcome: &ImportedNotices, _| Rendered {
        status: 200,
        body: serde_json::to_vec(outcome).expect("JSON"),
        etag: None,
    };
    let recorder = &suite.service.app.recorder;
    let recorded = recorder.record(&grant, Request::default(), operation, rendered);
    let answer = recorded.await.expect("it is recorded");
    serde_json::from_slice(&answer.rendered.body).expect("an outcome")
}

#[actix_web::test]
async fn records_are_taken_in_once_and_what_differs_is_an_update() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let ours = format!("UDI-DI {}, Lot L1", cannula.gtin);
    let file = [
        record("Z-0001-2026", "Ongoing", &ours),
        record("Z-0002-2026", "Ongoing", "Lot 77"),
        record("Z-0002-2026", "Ongoing", "Lot 77"),
    ];
    let outcome = import(&suite, &file).await;
    let counted = |added, updated, unchanged, in_catalogue| ImportedNotices {
        added,
        updated,
        unchanged,
        in_catalogue,
    };
    assert_eq!(outcome, counted(2, 0, 1, 1));
    assert_eq!(import(&suite, &file).await, counted(0, 0, 3, 0));
    let wider = [record("Z-0002-2026", "Completed", "Lots 77, 78")];
    assert_eq!(import(&suite, &wider).await, counted(0, 1, 0, 0));
    let count = async |query: &str| {
        let path = format!("/v1/notices?{query}");
        let page = suite.circulator.get(&path).await.expect(200);
        page["items"].as_array().map_or(0, Vec::len)
    };
    assert_eq!(count("state=unconfirmed").await, 3);
    assert_eq!(count("in_catalogue=true").await, 1);
    assert_eq!(count("in_catalogue=false").await, 2);
    // The catalogue grows, and the notice is found by what was read of it.
    suite
        .product(json!({"identifiers": [
            {"agency": "gs1", "code": cannula_box(), "level": "package", "quantity": 5},
        ]}))
        .await;
    let boxed = [record(
        "Z-0003-2026",
        "Ongoing",
        &format!("GTIN {}", cannula_box()),
    )];
    assert_eq!(import(&suite, &boxed).await.in_catalogue, 1);
}

/// A GTIN-14 of GS1's example range 952.
fn cannula_box() -> String {
    crate::harness::labels::gtin(900_000_001)
}

#[actix_web::test]
async fn an_imported_notice_is_confirmed_as_any_other() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("L1")).await;
    import(&suite, &[record("Z-0001-2026", "Ongoing", "Lot L1")]).await;
    let listed = suite.circulator.get("/v1/notices").await.expect(200);
    let notice = &listed["items"][0];
    assert_eq!(
        (&notice["source"], &notice["class"]),
        (&json!("feed"), &json!("II"))
    );
    let criteria = [criterion(&cannula, json!({"lots": ["L1"]}))];
    let confirmed = confirm_as(&suite.materials, notice, &criteria).await;
    assert_eq!(confirmed["counts"]["affected"], 1);
    crate::conformance::chain::holds(&suite.service, suite.service.site.facility).await;
}
