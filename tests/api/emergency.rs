//! Emergency access to a case, and the review of who holds what.

use crate::harness::client::{text, version};
use crate::harness::{Service, Suite};
use jiff::SignedDuration;
use lotwarden_domain::access::Role;
use serde_json::{Value, json};

fn reason(minutes: u16) -> Value {
    json!({"reason": "The circulator was called away", "minutes": minutes})
}

#[actix_web::test]
async fn emergency_access_works_at_once_in_its_case_alone_and_ends_by_itself() {
    let suite = Suite::start().await;
    let (case, other) = (suite.case().await, suite.case().await);
    let path = format!("/v1/cases/{case}");
    let scan = json!({"text": "x"});
    let materials = &suite.materials;
    materials
        .post(&format!("{path}/scans"), &scan)
        .await
        .problem(403, "forbidden");
    let taken = materials
        .post(&format!("{path}/emergency-access"), &reason(30))
        .await
        .expect(201);
    assert!(text(&taken, "ends_at").starts_with("2026-03-10T14:30:0"));
    materials
        .post(&format!("{path}/scans"), &scan)
        .await
        .expect(201);
    materials.get(&format!("{path}/patient")).await.expect(200);
    materials
        .change(&format!("{path}/start"), 1, &json!({}))
        .await
        .expect(200);
    // Nothing outside the case, and no signature in it.
    materials
        .post(&format!("/v1/cases/{other}/scans"), &scan)
        .await
        .problem(403, "forbidden");
    let signature = json!({"meaning": "Reviewed", "password": "x"});
    materials
        .change(&format!("{path}/sign"), 1, &signature)
        .await
        .problem(403, "forbidden");
    materials
        .get("/v1/ledger/entries")
        .await
        .problem(403, "forbidden");
    // Nor does it work for somebody else.
    let another = suite.service.role(Role::Materials).await;
    another
        .post(&format!("{path}/scans"), &scan)
        .await
        .problem(403, "forbidden");
    suite
        .service
        .site
        .clock
        .advance(SignedDuration::from_mins(9));
    materials
        .post(&format!("{path}/scans"), &scan)
        .await
        .expect(201);
}

#[actix_web::test]
async fn emergency_access_is_over_when_its_time_is() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let materials = &suite.materials;
    let path = format!("/v1/cases/{case}/emergency-access");
    materials.post(&path, &reason(5)).await.expect(201);
    let patient = format!("/v1/cases/{case}/patient");
    materials.get(&patient).await.expect(200);
    suite
        .service
        .site
        .clock
        .advance(SignedDuration::from_mins(6));
    materials.get(&patient).await.problem(403, "forbidden");
    for minutes in [4, 241] {
        let problem = materials
            .post(&path, &reason(minutes))
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/minutes");
    }
    let inspector = suite.service.role(Role::Inspector).await;
    inspector
        .post(&path, &reason(5))
        .await
        .problem(403, "forbidden");
}

#[actix_web::test]
async fn emergency_access_is_a_task_until_somebody_else_reviewed_it() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/emergency-access");
    let taken = suite.compliance.post(&path, &reason(30)).await.expect(201);
    let tasks = suite.compliance.get("/v1/tasks").await.expect(200);
    let task = &tasks["items"][0];
    assert_eq!(
        (&task["kind"], &task["id"]),
        (&json!("emergency_access"), &taken["id"])
    );
    assert_eq!(task["person_id"], json!(suite.compliance.person));
    let review = format!("/v1/emergency-accesses/{}/review", text(&taken, "id"));
    let finding = json!({"finding": "Justified: the room's log agrees."});
    suite
        .compliance
        .post(&review, &finding)
        .await
        .problem(403, "forbidden");
    let settle = format!("/v1/tasks/{}/settle", text(&taken, "id"));
    let note = json!({"note": "Settled without a review"});
    suite
        .compliance
        .post(&settle, &note)
        .await
        .problem(404, "no-such-thing");
    let other = suite.service.role(Role::Compliance).await;
    let elsewhere = suite.service.site.add_facility("South Hill").await;
    let stranger = suite.service.caller(elsewhere, &[Role::Compliance]).await;
    stranger
        .post(&review, &finding)
        .await
        .problem(404, "no-such-thing");
    other.post(&review, &finding).await.expect(201);
    other
        .post(&review, &finding)
        .await
        .problem(409, "already-done");
    assert_eq!(other.get("/v1/tasks").await.expect(200)["items"], json!([]));
    let entries = suite.service.entries(suite.service.site.facility).await;
    let count = |action: &str| {
        let start = format!(r#"{{"action":"{action}""#);
        entries
            .iter()
            .filter(|(_, body)| body.starts_with(&start))
            .count()
    };
    assert_eq!(
        (
            count("take_emergency_access"),
            count("review_emergency_access")
        ),
        (1, 1)
    );
}

async fn held_by(service: &Service, login: &str) -> Value {
    let compliance = service.role(Role::Compliance).await;
    let listed = compliance.get("/v1/access-review").await.expect(200);
    let items = listed["items"].as_array().expect("a list");
    let found = items.iter().find(|item| item["person"]["login"] == login);
    found.expect("the person is listed").clone()
}

#[actix_web::test]
async fn the_access_review_shows_who_holds_what_and_when_a_review_is_due() {
    let service = Service::start().await;
    let person = service
        .add_person(
            service.site.facility,
            "m.okafor",
            &[Role::Circulator, Role::Materials],
        )
        .await;
    let fresh = held_by(&service, "m.okafor").await;
    assert_eq!(fresh["due"], false);
    assert!(fresh.get("signed_in_at").is_none() && fresh.get("badge_given_at").is_none());
    let session = service.sign_in("m.okafor").await.expect(201);
    let administrator = service.role(Role::Administrator).await;
    let badge = format!("/v1/people/{person}/badge");
    administrator.post(&badge, &json!({})).await.expect(201);
    let used = held_by(&service, "m.okafor").await;
    assert!(used["signed_in_at"].is_string() && used["badge_given_at"].is_string());
    let compliance = service.role(Role::Compliance).await;
    let path = format!("/v1/people/{person}/access-review");
    let gives = json!({"roles": ["circulator", "compliance"], "note": "Helps out"});
    let problem = compliance
        .change(&path, 1, &gives)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/roles");
    let less = json!({"roles": ["circulator"], "note": "No longer receives stock"});
    let reviewed = compliance.change(&path, 1, &less).await.expect(200);
    assert_eq!(
        (&reviewed["roles"], version(&reviewed)),
        (&json!(["circulator"]), 2)
    );
    compliance
        .change(&path, 1, &less)
        .await
        .problem(412, "stale");
    let caller = service
        .anybody()
        .with_token(&text(&session, "access_token"));
    caller
        .get("/v1/sessions/current")
        .await
        .problem(401, "not-signed-in");
    let entries = service.entries(service.site.facility).await;
    let (_, entry) = entries.last().expect("an entry");
    for part in [
        r#""action":"review_access""#,
        r#""new":{"roles":["circulator"]}"#,
        r#""old":{"roles":["circulator","materials"]}"#,
    ] {
        assert!(entry.contains(part), "{part} is not in {entry}");
    }
    service
        .site
        .clock
        .advance(SignedDuration::from_hours(24 * 91));
    assert_eq!(held_by(&service, "m.okafor").await["due"], true);
}

#[actix_web::test]
async fn nobody_reviews_the_own_access() {
    let service = Service::start().await;
    let compliance = service.role(Role::Compliance).await;
    let path = format!("/v1/people/{}/access-review", compliance.person);
    let review = json!({"roles": ["compliance"], "note": "All is well"});
    compliance
        .change(&path, 1, &review)
        .await
        .problem(403, "forbidden");
}
