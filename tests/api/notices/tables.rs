//! Notices whose items come as a table.

use crate::harness::Suite;
use crate::harness::client::text;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use reqwest::Method;
use rust_xlsxwriter::Workbook;
use serde_json::{Value, json};

fn body(more: &Value) -> Value {
    let mut body = json!({
        "firm": "Invented Instruments, Inc.", "reference": "FSN-1", "source": "mail",
    });
    for (member, value) in more.as_object().expect("an object") {
        body[member] = value.clone();
    }
    body
}

async fn refused(suite: &Suite, more: Value) -> (Value, String) {
    let answer = suite.materials.post("/v1/notices", &body(&more)).await;
    let problem = answer.problem(400, "invalid");
    let error = &problem["errors"][0];
    (error["pointer"].clone(), error["detail"].to_string())
}

#[actix_web::test]
async fn a_workbook_is_taken_in_as_the_table_that_its_one_sheet_shows() {
    let suite = Suite::start().await;
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    for (row, cells) in (0..).zip([["GTIN", "Lot"], ["09521400010204", "L2611A"]]) {
        for (column, cell) in (0..).zip(cells) {
            sheet.write(row, column, cell).expect("a cell");
        }
    }
    let bytes = workbook.save_to_buffer().expect("a workbook");
    let encoded = STANDARD.encode(&bytes);
    let added = suite
        .materials
        .post("/v1/notices", &body(&json!({"workbook": encoded})))
        .await
        .expect(201);
    let path = format!("/v1/notices/{}", text(&added, "id"));
    let shown = suite.materials.get(&path).await.expect(200);
    assert_eq!(shown["text"], "GTIN\tLot\n09521400010204\tL2611A\n");
    let proposal = &added["reading"]["proposals"][0];
    assert_eq!(proposal["lots"], json!(["L2611A"]));
    assert_eq!(proposal["identifiers"], json!(["09521400010204"]));
    let beside = json!({"workbook": encoded, "text": "Lot L1"});
    for wrong in [
        beside,
        json!({"workbook": "?"}),
        json!({"workbook": "UEsDBA=="}),
    ] {
        assert_eq!(refused(&suite, wrong).await.0, "/workbook");
    }
}

#[actix_web::test]
async fn a_workbook_larger_than_other_bodies_is_taken_in_and_one_beyond_its_own_limit_is_not() {
    let suite = Suite::start().await;
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write(0, 0, "GTIN").expect("a cell");
    sheet.write(0, 1, "Lot").expect("a cell");
    // Lots that hardly pack.
    let lot = |row: u32| {
        format!(
            "L{:016X}",
            u64::from(row).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        )
    };
    for row in 1..10_000 {
        sheet.write(row, 0, "09521400010204").expect("a cell");
        sheet.write(row, 1, lot(row)).expect("a cell");
    }
    let encoded = STANDARD.encode(workbook.save_to_buffer().expect("a workbook"));
    assert!(encoded.len() > 256 * 1024, "{}", encoded.len());
    let more = json!({"workbook": encoded});
    let added = suite.materials.post("/v1/notices", &body(&more)).await;
    let added = added.expect(201);
    assert_eq!(added["reading"]["unread"], json!([]));
    // Beyond the workbook's limit the field is named, beyond the body's the limit.
    let long = "A".repeat(4_000_004);
    let (pointer, detail) = refused(&suite, json!({"workbook": long})).await;
    assert_eq!(pointer, "/workbook");
    assert!(detail.contains("at most 3000000 bytes"), "{detail}");
    let longer = json!({"workbook": "A".repeat(4 * 1024 * 1024)});
    let detail = too_large(&suite, "/v1/notices", &body(&longer)).await;
    assert!(detail.is_none_or(|detail| detail == "This operation takes at most 4096 KiB."));
    // Every other body keeps the common limit.
    let reading = json!({"text": "A".repeat(256 * 1024)});
    let detail = too_large(&suite, "/v1/readings", &reading).await;
    assert!(detail.is_none_or(|detail| detail == "This operation takes at most 256 KiB."));
}

/// What is said of a body that is too large; none where the service closed while it was being sent.
async fn too_large(suite: &Suite, path: &str, body: &Value) -> Option<String> {
    let request = suite.materials.request(Method::POST, path).fresh_key();
    let request = request.body("application/json", body.to_string());
    let reply = request.try_send().await.ok()?;
    Some(text(&reply.problem(413, "too-large"), "detail"))
}

#[actix_web::test]
async fn a_row_of_more_products_than_one_may_name_is_refused_by_its_number() {
    let suite = Suite::start().await;
    let codes: Vec<String> = (0..51).map(|at| format!("A{at}")).collect();
    let table = format!("REF;Lot\nB1;L1\n\"{}\";L2\n", codes.join(","));
    let (pointer, detail) = refused(&suite, json!({"text": table})).await;
    assert_eq!(pointer, "/text");
    assert!(
        detail.contains("row 3") && detail.contains("50 products"),
        "{detail}"
    );
}
