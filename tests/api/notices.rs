//! Recall notices: taken in, confirmed, and met from then on.

mod desk;
mod import;
mod matching;
mod meeting;
mod oracle;
mod race;
mod standing;
mod tables;
mod through;
mod work;

use crate::harness::Suite;
use crate::harness::client::{Client, text, version};
use crate::harness::suite::Product;
use serde_json::{Value, json};

/// A notice's body with a text.
pub fn body(reference: &str, text: &str) -> Value {
    json!({
        "firm": "Invented Instruments, Inc.",
        "reference": reference,
        "class": "II",
        "source": "letter",
        "product": "A test item",
        "reason": "Pouch seals may be open",
        "text": text,
    })
}

/// Takes in a notice.
pub async fn add(suite: &Suite, reference: &str, text: &str) -> Value {
    let body = body(reference, text);
    suite.materials.post("/v1/notices", &body).await.expect(201)
}

/// What a criterion names of a product.
pub fn criterion(product: &Product, items: Value) -> Value {
    let mut criterion = items;
    criterion["identifiers"] = json!([product.gtin]);
    criterion
}

/// Confirms a notice as somebody.
pub async fn confirm_as(caller: &Client, notice: &Value, criteria: &[Value]) -> Value {
    let path = format!("/v1/notices/{}/confirm", text(notice, "id"));
    let body = json!({"criteria": criteria, "settles_unread": true});
    caller
        .change(&path, version(notice), &body)
        .await
        .expect(200)
}

/// Takes in a notice and confirms that it names these lots of a product.
pub async fn recall(suite: &Suite, reference: &str, product: &Product, lots: &[&str]) -> Value {
    let notice = add(suite, reference, &format!("Lots {}", lots.join(", "))).await;
    let criteria = [criterion(product, json!({"lots": lots}))];
    confirm_as(&suite.materials, &notice, &criteria).await
}

/// What a notice hits.
pub async fn matches(suite: &Suite, notice: &Value) -> Value {
    let path = format!("/v1/notices/{}/matches", text(notice, "id"));
    suite.compliance.get(&path).await.expect(200)
}

/// The class of each item in the order they were taken.
pub fn classes(matches: &Value) -> Vec<&str> {
    let items = matches["items"].as_array().expect("items").iter();
    items
        .map(|item| item["class"].as_str().expect("a class"))
        .collect()
}
