//! Texts that are code elsewhere: SQL, markup, templates, paths, formulas. They are kept and given
//! back as they came, or refused; nothing else happens.

use crate::harness::client::text;
use crate::harness::description::operations;
use crate::harness::{Client, Suite};
use lotwarden_domain::access::Role;
use serde_json::{Value, json};

/// Classics of each kind, from memory (OWASP Cheat Sheets: injection, XSS, formula injection).
const HOSTILE: &[&str] = &[
    "'; DROP TABLE people; --",
    "' OR '1'='1",
    "1; SELECT pg_sleep(30)",
    "$1 %s {0} {{7*7}} ${7*7} #{7*7}",
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "../../../../etc/passwd",
    "=HYPERLINK(\"http://example.invalid\")",
    "a\u{202e}b\u{feff}c",
    "https://example.invalid/?a=1&b=2",
];

async fn everybody(suite: &Suite) -> Client {
    let roles: Vec<Role> = Role::ALL
        .iter()
        .copied()
        .filter(|role| *role != Role::Integration)
        .collect();
    let facility = suite.service.site.facility;
    suite.service.caller(facility, &roles).await
}

/// Every text field of a write: kept exactly, wherever it is shown again.
#[actix_web::test]
async fn hostile_texts_are_kept_as_they_came() {
    let suite = Suite::start().await;
    let all = everybody(&suite).await;
    let cannula = suite.cannula().await;
    for (number, hostile) in HOSTILE.iter().enumerate() {
        let place = json!({"name": hostile, "kind": "shelf"});
        let place = all.post("/v1/locations", &place).await.expect(201);
        assert_eq!(place["name"], *hostile);
        let station = all
            .post("/v1/stations", &json!({"name": hostile}))
            .await
            .expect(201);
        assert_eq!(station["name"], *hostile);
        let person = json!({
            "login": format!("p{number}"), "name": hostile, "roles": ["circulator"],
            "password": "three quiet otters 41",
        });
        let person = all.post("/v1/people", &person).await.expect(201);
        assert_eq!(person["name"], *hostile);
        let product = suite
            .product(json!({"name": hostile, "maker": hostile, "model": hostile}))
            .await;
        let shown = all
            .get(&format!("/v1/products/{}", product.id))
            .await
            .expect(200);
        assert_eq!(shown["name"], *hostile);
        let mut opened = suite.case_body(hostile, hostile);
        opened["procedure"] = json!(hostile);
        opened["patient"]["record_number"] = json!(format!("MRN-{number}"));
        let case = text(&all.post("/v1/cases", &opened).await.expect(201), "id");
        let patient = all
            .get(&format!("/v1/cases/{case}/patient"))
            .await
            .expect(200);
        assert_eq!(patient["name"], *hostile);
        let scans = format!("/v1/cases/{case}/scans");
        let scan = all
            .post(&scans, &json!({"text": hostile}))
            .await
            .expect(201);
        let strike = format!("{scans}/{}/strike", text(&scan, "id"));
        all.post(&strike, &json!({"reason": hostile}))
            .await
            .expect(200);
        let hold = json!({"scope": "product", "target_id": cannula.id, "reason": hostile});
        let hold = all.post("/v1/holds", &hold).await.expect(201);
        assert_eq!(hold["reason"], *hostile);
        let emergency = json!({"reason": format!("{hostile} {hostile}"), "minutes": 5});
        let path = format!("/v1/cases/{case}/emergency-access");
        all.post(&path, &emergency).await.expect(201);
    }
    let people = suite
        .service
        .site
        .database
        .column("SELECT count(*) FROM people")
        .await;
    let people: usize = people[0].parse().expect("a number");
    assert!(people >= HOSTILE.len(), "people are missing");
    // The chain still fits: the texts stand in its entries as canonical JSON.
    let facility = suite.service.site.facility;
    let parsed = suite.service.entries(facility).await;
    for (_, body) in parsed {
        serde_json::from_str::<Value>(&body).expect("an entry is JSON");
    }
}

/// Every parameter of every address that reads.
#[actix_web::test]
async fn hostile_parameters_are_refused_or_find_nothing() {
    let suite = Suite::start().await;
    let all = everybody(&suite).await;
    for operation in operations() {
        if operation.public || operation.station || operation.method != reqwest::Method::GET {
            continue;
        }
        for hostile in HOSTILE {
            let encoded: String = hostile.bytes().map(|byte| format!("%{byte:02X}")).collect();
            let path = operation.filled(|_| encoded.clone());
            for query in ["cursor", "limit", "lot", "identifier", "actor", "status"] {
                let reply = all.get(&format!("{path}?{query}={encoded}")).await;
                assert!(
                    reply.status < 500,
                    "{} {query}={hostile}: {}",
                    operation.id,
                    reply.text()
                );
                let kind = reply.header("content-type").unwrap_or_default().to_owned();
                assert!(!kind.starts_with("text/html"), "{}: {kind}", operation.id);
            }
        }
    }
}

#[actix_web::test]
async fn addresses_that_climb_or_are_endless_reach_nothing() {
    let suite = Suite::start().await;
    let all = everybody(&suite).await;
    let long = "a".repeat(20_000);
    for path in [
        "/v1/../v1/people/../../etc/passwd".to_owned(),
        "/v1/%2e%2e/%2e%2e/etc/passwd".to_owned(),
        "/problems/..%2f..%2fetc%2fpasswd".to_owned(),
        "/v1/cases/%00".to_owned(),
        "/v1//cases".to_owned(),
        format!("/v1/cases/{long}"),
    ] {
        let reply = all.get(&path).await;
        assert!(
            (400..500).contains(&reply.status),
            "{path}: {}",
            reply.status
        );
        assert!(!reply.text().contains("root:"), "{path}");
    }
}

#[actix_web::test]
async fn sizes_beyond_what_a_field_takes_are_refused_by_name() {
    let suite = Suite::start().await;
    let all = everybody(&suite).await;
    let case = suite.case().await;
    let long = |length: usize| "x".repeat(length);
    let scans = format!("/v1/cases/{case}/scans");
    let many: Vec<String> = vec!["administrator".to_owned(); 20_000];
    let tries = [
        ("/v1/stations", json!({"name": long(101)})),
        ("/v1/locations", json!({"name": long(101), "kind": "shelf"})),
        (scans.as_str(), json!({"text": long(4_097)})),
        (
            "/v1/people",
            json!({"login": "m.okafor", "name": long(201), "roles": many, "password": long(257)}),
        ),
    ];
    for (path, body) in tries {
        let reply = all.post(path, &body).await;
        assert!(
            matches!(reply.status, 400 | 413),
            "{path}: {}",
            reply.status
        );
        assert!(
            reply.body.len() < 4_096,
            "{path} answers with what it was sent"
        );
    }
}
