//! Labels with faults that a catalogue knows, and reading without recording.

use crate::harness::Suite;
use crate::harness::suite::{findings, judged, on_case};
use serde_json::json;

/// A GTIN that stands in the public device database with a wrong check digit (openFDA device/udi,
/// CC0): the right one would be 7.
const WRONG_IN_CATALOGUE: &str = "00841518100003";

#[actix_web::test]
async fn a_wrong_check_digit_that_the_catalogue_has_is_shown_and_usable() {
    let suite = Suite::start().await;
    let identifiers =
        json!([{"agency": "gs1", "code": WRONG_IN_CATALOGUE, "level": "unit", "quantity": 1}]);
    suite.product(json!({"identifiers": identifiers})).await;
    let case = suite.case().await;
    let scan = suite
        .scan_text(&case, &format!("]d201{WRONG_IN_CATALOGUE}1728123110A"))
        .await;
    judged(
        &scan,
        "look",
        &["wrong_check_digit_but_known", "not_in_stock"],
    );
    assert!(on_case(&scan));
}

#[actix_web::test]
async fn a_wrong_check_digit_that_nobody_has_is_unread() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let scan = suite
        .scan_text(&case, &format!("]d201{WRONG_IN_CATALOGUE}1728123110A"))
        .await;
    judged(&scan, "unread", &[]);
    assert_eq!(scan["unread"]["code"], "wrong_check_digit");
    let products = suite
        .service
        .site
        .database
        .column("SELECT count(*) FROM products")
        .await;
    assert_eq!(products, ["0"], "a misread code became a product");
}

#[actix_web::test]
async fn a_suspected_lost_separator_is_shown() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    // Without FNC1 the lot runs on into what looks like (17)271231: legal text, so only suspected.
    let scan = suite
        .scan_text(&case, &format!("]d201{}10LOT17271231", cannula.gtin))
        .await;
    assert!(findings(&scan).contains(&"separator_suspect"), "{scan}");
}

#[actix_web::test]
async fn an_hibc_label_names_the_product_with_or_without_its_check_character() {
    let suite = Suite::start().await;
    let identifiers =
        json!([{"agency": "hibcc", "code": "A99912345", "level": "package", "quantity": 1}]);
    let product = suite.product(json!({"identifiers": identifiers})).await;
    let case = suite.case().await;
    // ANSI/HIBC 2.6, the standard's concatenated example: LIC A999, PCN 1234, U/M 5, expiry 20015
    // (the 15th day of 2020), lot 10X3, check character 3 over all of it.
    let scan = suite.scan_text(&case, "+A99912345/$$52001510X33").await;
    assert_eq!(scan["product"]["id"], json!(product.id), "{scan}");
    assert_eq!(scan["label"]["lot"], "10X3");
    assert_eq!(scan["label"]["expires_on"], "2020-01-15");
    assert!(findings(&scan).contains(&"expired"));
}

#[actix_web::test]
async fn reading_a_label_records_nothing() {
    let suite = Suite::start().await;
    let before = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .len();
    let body = json!({"text": "]d2010952012345678817271231101A2B3C"});
    let request = suite
        .circulator
        .request(reqwest::Method::POST, "/v1/readings")
        .json(&body);
    let read = request.send().await.expect(200);
    assert_eq!(read["identifier"]["code"], "09520123456788");
    assert_eq!(read["lot"], "1A2B3C");
    let unread = suite
        .circulator
        .request(reqwest::Method::POST, "/v1/readings")
        .json(&json!({"text": "no label"}));
    let unread = unread.send().await.expect(200);
    assert!(unread["error"]["code"].is_string());
    assert!(unread["error"]["at"].is_u64());
    assert_eq!(
        suite
            .service
            .entries(suite.service.site.facility)
            .await
            .len(),
        before
    );
}
