//! Products and the identifiers that labels name them by.

use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::labels::{Label, fresh_gtin, gtin};
use crate::harness::suite::{judged, on_case};
use serde_json::{Value, json};

fn body(identifiers: Value) -> Value {
    json!({
        "name": "Inline smoke filter, 22 mm", "maker": "Invented Instruments", "model": "ISF-22", "kind": "filter",
        "use_class": "single_use", "carries": {"lot": true, "serial": false, "expiry": true},
        "identifiers": identifiers,
    })
}

#[actix_web::test]
async fn a_product_has_several_identifiers_each_with_its_packaging() {
    let suite = Suite::start().await;
    let (unit, boxed) = (fresh_gtin(), fresh_gtin());
    let identifiers = json!([
        {"agency": "gs1", "code": unit},
        {"agency": "gs1", "code": boxed, "quantity": 10},
        {"agency": "hibcc", "code": "+A99912345"},
    ]);
    let added = suite
        .materials
        .post("/v1/products", &body(identifiers))
        .await
        .expect(201);
    let shown = suite
        .circulator
        .get(&format!("/v1/products/{}", text(&added, "id")))
        .await
        .expect(200);
    assert_eq!(shown["identifiers"], added["identifiers"]);
    let level = |code: &str| {
        let all = shown["identifiers"].as_array().expect("identifiers").iter();
        let mut found = all.filter(|one| one["code"] == code);
        let one = found
            .next()
            .unwrap_or_else(|| panic!("{code} is not in {shown}"));
        (
            text(one, "level"),
            one["quantity"].as_i64().expect("a quantity"),
        )
    };
    assert_eq!(level(&unit), ("unit".to_owned(), 1));
    assert_eq!(level(&boxed), ("package".to_owned(), 10));
    assert_eq!(level("A99912345"), ("unit".to_owned(), 1));
}

#[actix_web::test]
async fn one_identifier_names_one_product() {
    // 21 CFR 830.40(b): an identifier is never used for two versions or models.
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let again = suite
        .materials
        .post(
            "/v1/products",
            &body(json!([{"agency": "gs1", "code": cannula.gtin}])),
        )
        .await;
    again.problem(409, "taken");
    let other = suite.handpiece().await;
    let path = format!("/v1/products/{}/identifiers", other.id);
    let further = suite
        .materials
        .post(&path, &json!({"agency": "gs1", "code": cannula.gtin}))
        .await;
    further.problem(409, "taken");
}

#[actix_web::test]
async fn a_further_identifier_names_the_same_product() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let code = fresh_gtin();
    let path = format!("/v1/products/{}/identifiers", cannula.id);
    suite
        .materials
        .post(&path, &json!({"agency": "gs1", "code": code}))
        .await
        .expect(201);
    let case = suite.case().await;
    let scan = suite
        .scan(&case, &Label::of(&code).expiry("281231").lot("A"))
        .await;
    assert_eq!(scan["product"]["id"], json!(cannula.id));
}

#[actix_web::test]
async fn a_wrong_check_digit_is_kept_as_printed_with_a_warning() {
    // 00841518100003 stands so in the public device database (openFDA device/udi, CC0).
    let suite = Suite::start().await;
    let identifiers = json!([{"agency": "gs1", "code": "00841518100003"}]);
    let added = suite
        .materials
        .post("/v1/products", &body(identifiers))
        .await
        .expect(201);
    assert_eq!(added["identifiers"][0]["check_digit_right"], false);
    assert!(
        added["warnings"][0]
            .as_str()
            .is_some_and(|text| text.contains("00841518100003")),
        "{added}"
    );
}

#[actix_web::test]
async fn describing_a_product_that_a_label_brought_in_keeps_what_it_was_used_for() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let label = Label::of(&gtin(555_000_111)).expiry("281231").lot("A");
    let scan = suite.scan(&case, &label).await;
    judged(&scan, "look", &["unknown_product", "not_in_stock"]);
    let added = suite
        .materials
        .post(
            "/v1/products",
            &body(json!([{"agency": "gs1", "code": label.gtin}])),
        )
        .await;
    let added = added.expect(201);
    assert_eq!(added["id"], scan["product"]["id"]);
    let used = suite
        .where_used(&format!("identifier={}&lot=A", label.gtin))
        .await;
    assert_eq!(used["counts"]["affected"], 1);
    assert_eq!(used["product"]["name"], "Inline smoke filter, 22 mm");
}

#[actix_web::test]
async fn a_changed_product_changes_the_next_verdict_and_stands_in_the_ledger_with_both_values() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite
        .receive(&Label::of(&cannula.gtin).expiry("281231").lot("A"), 5)
        .await;
    let (before, after) = (suite.case().await, suite.case().await);
    judged(
        &suite.scan(&before, &cannula.of_lot("A")).await,
        "taken",
        &[],
    );
    let path = format!("/v1/products/{}", cannula.id);
    let change = json!({
        "name": "Cannula, 3 mm", "maker": "Invented Instruments", "model": "T1", "kind": "cannula",
        "use_class": "single_use", "carries": {"lot": true, "serial": true, "expiry": true},
    });
    let shown = suite.materials.get(&path).await.expect(200);
    suite
        .materials
        .put(&path, version(&shown), &change)
        .await
        .expect(200);
    judged(
        &suite.scan(&after, &cannula.of_lot("A")).await,
        "look",
        &["incomplete_label"],
    );
    let entries = suite.service.entries(suite.service.site.facility).await;
    let changed = entries
        .iter()
        .find(|(_, body)| body.starts_with(r#"{"action":"change_product""#));
    let (_, changed) = changed.expect("an entry");
    assert!(
        changed.contains("Cannula, 3 mm") && changed.contains("Test item"),
        "{changed}"
    );
}

#[actix_web::test]
async fn what_is_no_product_is_refused_field_by_field() {
    let suite = Suite::start().await;
    let good = json!([{"agency": "gs1", "code": fresh_gtin()}]);
    let wrong = [
        (json!([]), "/identifiers"),
        (
            json!([{"agency": "gs2", "code": "1"}]),
            "/identifiers/0/agency",
        ),
        (
            json!([{"agency": "gs1", "code": "95"}]),
            "/identifiers/0/code",
        ),
        (
            json!([{"agency": "gs1", "code": fresh_gtin(), "quantity": 0}]),
            "/identifiers/0/quantity",
        ),
        (
            json!([{"agency": "gs1", "code": fresh_gtin(), "quantity": 5, "level": "unit"}]),
            "/identifiers/0/level",
        ),
    ];
    for (identifiers, pointer) in wrong {
        let problem = suite
            .materials
            .post("/v1/products", &body(identifiers))
            .await
            .problem(400, "invalid");
        let errors = problem["errors"].as_array().expect("errors");
        assert!(
            errors.iter().any(|error| error["pointer"] == pointer),
            "{pointer} is not named in {problem}"
        );
    }
    for (member, value) in [("kind", "laser"), ("use_class", "twice"), ("name", "")] {
        let mut wrong = body(good.clone());
        wrong[member] = json!(value);
        assert_eq!(
            suite.materials.post("/v1/products", &wrong).await.status,
            400,
            "{member}"
        );
    }
}

#[actix_web::test]
async fn a_drug_is_found_by_the_gtin_its_code_comes_in() {
    // FDA's example: NDC 0067-6382-30 comes as UPC-A 300676382302 (21 CFR 201.25 and GS1 Healthcare).
    let suite = Suite::start().await;
    let mut drug = body(json!([{"agency": "ndc", "code": "0067-6382-30"}]));
    drug["kind"] = json!("drug");
    let added = suite
        .materials
        .post("/v1/products", &drug)
        .await
        .expect(201);
    let case = suite.case().await;
    for text in ["]d201003006763823021728123110A", "]E00300676382302"] {
        let scan = suite.scan_text(&case, text).await;
        assert_eq!(scan["product"]["id"], added["id"], "{text}: {scan}");
        assert!(on_case(&scan));
    }
}

#[actix_web::test]
async fn a_drug_in_the_catalogue_by_its_gtin_is_found_by_the_code_printed_on_it() {
    // FDA's example: UPC-A 300676382302 holds NDC 0067-6382-30 (21 CFR 201.25 and GS1 Healthcare).
    let suite = Suite::start().await;
    let mut drug = body(json!([{"agency": "gs1", "code": "00300676382302"}]));
    drug["kind"] = json!("drug");
    let added = suite
        .materials
        .post("/v1/products", &drug)
        .await
        .expect(201);
    let case = suite.case().await;
    let scan = suite.scan_text(&case, "0067-6382-30").await;
    assert_eq!(scan["product"]["id"], added["id"], "{scan}");
    assert!(on_case(&scan));
    let found = suite
        .materials
        .get("/v1/where-used?identifier=0067-6382-30")
        .await
        .expect(200);
    assert_eq!(found["items"][0]["case_id"], json!(case), "{found}");
}
