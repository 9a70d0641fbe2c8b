//! Notices whose items come as a table.

use crate::harness::Suite;
use crate::harness::client::text;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
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
