//! Holds: who bars, who lifts, with which reason.

use crate::harness::Suite;
use crate::harness::client::text;
use serde_json::json;
use uuid::Uuid;

#[actix_web::test]
async fn a_hold_is_lifted_by_materials_or_compliance_and_by_nobody_else() {
    let suite = Suite::start().await;
    let product = suite.cannula().await;
    let reason = json!({"reason": "Supplier confirmed the seals"});
    for lifter in [&suite.materials, &suite.compliance] {
        let hold = suite.hold("product", &product.id).await;
        let path = format!("/v1/holds/{}/lift", text(&hold, "id"));
        for other in [&suite.circulator, &suite.practitioner] {
            other
                .change(&path, 1, &reason)
                .await
                .problem(403, "forbidden");
        }
        let lifted = lifter.change(&path, 1, &reason).await.expect(200);
        assert_eq!(lifted["lifted"]["by"], format!("person:{}", lifter.person));
        assert_eq!(lifted["lifted"]["reason"], "Supplier confirmed the seals");
    }
}

#[actix_web::test]
async fn a_hold_is_lifted_with_a_reason_and_once() {
    let suite = Suite::start().await;
    let product = suite.cannula().await;
    let hold = suite.hold("product", &product.id).await;
    let path = format!("/v1/holds/{}/lift", text(&hold, "id"));
    for short in [json!({}), json!({"reason": ""}), json!({"reason": "ok"})] {
        assert_eq!(suite.materials.change(&path, 1, &short).await.status, 400);
    }
    let reason = json!({"reason": "Supplier confirmed the seals"});
    suite.materials.change(&path, 1, &reason).await.expect(200);
    for version in [1, 2] {
        suite
            .materials
            .change(&path, version, &reason)
            .await
            .problem(409, "already-done");
    }
}

#[actix_web::test]
async fn a_hold_needs_a_thing_to_bar() {
    let suite = Suite::start().await;
    let product = suite.cannula().await;
    let place = |scope: &str, target: String| {
        let body = json!({"scope": scope, "target_id": target, "reason": "A test of targets"});
        let compliance = suite.compliance.clone();
        async move { compliance.post("/v1/holds", &body).await }
    };
    for scope in ["product", "lot", "unit"] {
        let problem = place(scope, Uuid::new_v4().to_string())
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/target_id");
    }
    // A product's id is no lot's id.
    place("lot", product.id.clone())
        .await
        .problem(400, "invalid");
    let unknown = place("shelf", product.id.clone()).await;
    assert_eq!(unknown.status, 400);
}

#[actix_web::test]
async fn holds_are_listed_by_force_and_product() {
    let suite = Suite::start().await;
    let (one, two) = (suite.cannula().await, suite.cannula().await);
    let first = suite.hold("product", &one.id).await;
    suite.hold("product", &two.id).await;
    let path = format!("/v1/holds/{}/lift", text(&first, "id"));
    suite
        .materials
        .change(&path, 1, &json!({"reason": "Seals were checked"}))
        .await
        .expect(200);
    let count = async |query: &str| {
        let page = suite
            .circulator
            .get(&format!("/v1/holds?{query}"))
            .await
            .expect(200);
        page["items"].as_array().map_or(0, Vec::len)
    };
    assert_eq!(count("").await, 2);
    assert_eq!(count("in_force=true").await, 1);
    assert_eq!(count("in_force=false").await, 1);
    assert_eq!(count(&format!("product_id={}", one.id)).await, 1);
    assert_eq!(
        count(&format!("product_id={}&in_force=true", one.id)).await,
        0
    );
}

#[actix_web::test]
async fn a_hold_shows_its_entity_tag_and_both_its_ends_are_entries() {
    let suite = Suite::start().await;
    let product = suite.cannula().await;
    let hold = suite.hold("product", &product.id).await;
    let shown = suite
        .circulator
        .get(&format!("/v1/holds/{}", text(&hold, "id")))
        .await;
    shown.expect(200);
    let tag = shown.header("etag").expect("an entity tag");
    assert!(tag.starts_with("\"1-"), "{tag}");
    let path = format!("/v1/holds/{}/lift", text(&hold, "id"));
    suite
        .materials
        .change(&path, 1, &json!({"reason": "Seals were checked"}))
        .await
        .expect(200);
    let entries = suite.service.entries(suite.service.site.facility).await;
    let about = |action: &str| {
        let start = format!(r#"{{"action":"{action}""#);
        entries
            .iter()
            .filter(|(_, body)| body.starts_with(&start))
            .count()
    };
    assert_eq!((about("place_hold"), about("lift_hold")), (1, 1));
}
