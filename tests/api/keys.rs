//! Idempotency-Key (draft-ietf-httpapi-idempotency-key-header-07), entity tags and versions.

use crate::harness::client::{text, version};
use crate::harness::{Client, Service};
use lotwarden_domain::access::Role;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

async fn administrator() -> (Service, Client) {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    (service, administrator)
}

fn station(name: &str) -> Value {
    json!({"name": name})
}

async fn add_station(caller: &Client, key: &str, name: &str) -> crate::harness::Reply {
    caller
        .request(Method::POST, "/v1/stations")
        .key(key)
        .json(&station(name))
        .send()
        .await
}

#[actix_web::test]
async fn a_write_without_a_key_is_refused() {
    let (_service, administrator) = administrator().await;
    let request = administrator
        .request(Method::POST, "/v1/stations")
        .json(&station("Room 2"));
    // Draft 07, 2.7: missing where required -> 400.
    request.send().await.problem(400, "key-missing");
    for empty in ["", "\"\"", &"k".repeat(256)] {
        let reply = add_station(&administrator, empty, "Room 2").await;
        reply.problem(400, "key-missing");
    }
    let listed = administrator.get("/v1/stations").await.expect(200);
    assert_eq!(listed["items"], json!([]));
}

#[actix_web::test]
async fn a_repeated_request_gets_the_same_bytes_and_says_so() {
    let (service, administrator) = administrator().await;
    let key = Uuid::new_v4().to_string();
    let first = add_station(&administrator, &key, "Room 2").await;
    first.expect(201);
    assert_eq!(first.header("idempotency-replayed"), None);
    let again = add_station(&administrator, &key, "Room 2").await;
    assert_eq!((again.status, &again.body), (first.status, &first.body));
    assert_eq!(again.header("idempotency-replayed"), Some("true"));
    assert_eq!(again.header("content-type"), first.header("content-type"));
    let count = service
        .site
        .database
        .column("SELECT count(*) FROM stations")
        .await;
    assert_eq!(count, ["1"]);
}

#[actix_web::test]
async fn a_key_counts_quoted_and_bare() {
    // Draft 07, 2.1: the key is a structured-field string, "..." with quotes (RFC 9651, 3.3.3).
    let (_service, administrator) = administrator().await;
    let first = add_station(
        &administrator,
        "\"8e03978e-40d5-43e8-bc93-6894a57f9324\"",
        "Room 2",
    )
    .await;
    let again = add_station(
        &administrator,
        "8e03978e-40d5-43e8-bc93-6894a57f9324",
        "Room 2",
    )
    .await;
    first.expect(201);
    assert_eq!(again.body, first.body);
    assert_eq!(again.header("idempotency-replayed"), Some("true"));
}

#[actix_web::test]
async fn a_key_with_another_payload_or_address_is_refused() {
    let (_service, administrator) = administrator().await;
    let key = Uuid::new_v4().to_string();
    add_station(&administrator, &key, "Room 2")
        .await
        .expect(201);
    // Draft 07, 2.7: reuse with a different payload -> 422.
    add_station(&administrator, &key, "Room 3")
        .await
        .problem(422, "key-reused");
    let body = json!({"login": "m.okafor", "name": "Mina Okafor", "roles": ["circulator"], "password": "three quiet otters 41"});
    let elsewhere = administrator
        .request(Method::POST, "/v1/people")
        .key(&key)
        .json(&body);
    elsewhere.send().await.problem(422, "key-reused");
}

#[actix_web::test]
async fn a_key_belongs_to_its_caller() {
    let (service, administrator) = administrator().await;
    let other = service.role(Role::Administrator).await;
    let key = Uuid::new_v4().to_string();
    add_station(&administrator, &key, "Room 2")
        .await
        .expect(201);
    let reply = add_station(&other, &key, "Room 3").await;
    reply.expect(201);
    assert_eq!(reply.header("idempotency-replayed"), None);
}

#[actix_web::test]
async fn a_refused_request_leaves_its_key_unused() {
    let (_service, administrator) = administrator().await;
    add_station(&administrator, &Uuid::new_v4().to_string(), "Room 2")
        .await
        .expect(201);
    let key = Uuid::new_v4().to_string();
    add_station(&administrator, &key, "Room 2")
        .await
        .problem(409, "taken");
    add_station(&administrator, &key, "Room 3")
        .await
        .expect(201);
}

#[actix_web::test]
async fn many_simultaneous_requests_with_one_key_are_recorded_once() {
    let (service, administrator) = administrator().await;
    let key = Uuid::new_v4().to_string();
    let attempts = (0..20).map(|_| add_station(&administrator, &key, "Room 2"));
    let replies = futures_util::future::join_all(attempts).await;
    let first = &replies[0];
    for reply in &replies {
        assert_eq!((reply.status, &reply.body), (201, &first.body));
    }
    let fresh = replies
        .iter()
        .filter(|reply| reply.header("idempotency-replayed").is_none());
    assert_eq!(fresh.count(), 1);
    assert_eq!(
        service
            .site
            .database
            .column("SELECT count(*) FROM stations")
            .await,
        ["1"]
    );
    let entries = service.entries(service.site.facility).await;
    assert_eq!(
        entries
            .iter()
            .filter(|(_, body)| body.contains("add_station"))
            .count(),
        1
    );
}

#[actix_web::test]
async fn a_read_answers_304_while_nothing_changed() {
    let service = Service::start().await;
    let compliance = service.role(Role::Compliance).await;
    let read = compliance.get("/v1/policy").await;
    read.expect(200);
    let tag = read.header("etag").expect("an entity tag").to_owned();
    // RFC 9110, 8.8.3: a strong tag is a quoted string without W/.
    assert!(tag.starts_with('"') && tag.ends_with('"'), "{tag}");
    let with = |tag: &str| {
        compliance
            .request(Method::GET, "/v1/policy")
            .header("if-none-match", tag)
    };
    let same = with(&tag).send().await;
    assert_eq!((same.status, same.body.len()), (304, 0));
    // RFC 9110, 15.4.5: a 304 carries the ETag.
    assert_eq!(same.header("etag"), Some(&*tag));
    with(&format!("\"other\", {tag}")).send().await.expect(304);
    with("\"999\"").send().await.expect(200);
}

#[actix_web::test]
async fn any_version_matches_a_star() {
    // RFC 9110, 13.1.2: If-None-Match: * is false when there is a representation, so 304.
    let service = Service::start().await;
    let compliance = service.role(Role::Compliance).await;
    let star = compliance
        .request(Method::GET, "/v1/policy")
        .header("if-none-match", "*");
    assert_eq!(star.send().await.status, 304);
}

fn policy_change(days: u16) -> Value {
    let settings = json!({"expires_soon_days": days, "short_dated_days": 182, "keeps_stock": true, "idle_lock_minutes": 15, "due_equipment_stops": false, "clock_skew_seconds": 120});
    json!({"settings": settings, "reason": "A test of versions."})
}

#[actix_web::test]
async fn a_change_needs_the_version_it_is_made_to() {
    let service = Service::start().await;
    let compliance = service.role(Role::Compliance).await;
    let put = || {
        compliance
            .request(Method::PUT, "/v1/policy")
            .fresh_key()
            .json(&policy_change(40))
    };
    // RFC 6585, 3: a missing precondition is 428.
    put().send().await.problem(428, "no-match-header");
    // RFC 9110, 15.5.13: a false precondition is 412.
    put().if_match(99).send().await.problem(412, "stale");
    // RFC 9110, 13.1.1: If-Match compares strongly, so a weak tag never matches.
    put()
        .header("if-match", "W/\"1\"")
        .send()
        .await
        .problem(412, "stale");
    // RFC 9110, 8.8.3: an entity tag stands in quotes; what does not is none.
    let bare = put().header("if-match", "1").send().await;
    bare.problem(400, "invalid");
    put().if_match(1).send().await.expect(200);
    put().if_match(1).send().await.problem(412, "stale");
}

#[actix_web::test]
async fn of_two_changes_to_one_version_one_wins() {
    let service = Service::start().await;
    let compliance = service.role(Role::Compliance).await;
    let before = compliance.get("/v1/policy").await.expect(200);
    let (first, second) = (policy_change(40), policy_change(50));
    let both = futures_util::future::join(
        compliance.put("/v1/policy", version(&before), &first),
        compliance.put("/v1/policy", version(&before), &second),
    );
    let (one, two) = both.await;
    let mut statuses = [one.status, two.status];
    statuses.sort_unstable();
    assert_eq!(statuses, [200, 412]);
    let after = compliance.get("/v1/policy").await.expect(200);
    assert_eq!(version(&after), version(&before) + 1);
}

#[actix_web::test]
async fn a_write_answers_with_the_entity_tag_of_what_it_made() {
    let (_service, administrator) = administrator().await;
    let body = json!({"login": "m.okafor", "name": "Mina Okafor", "roles": ["circulator"], "password": "three quiet otters 41"});
    let added = administrator.post("/v1/people", &body).await;
    let person = added.expect(201);
    assert_eq!(
        added.header("etag"),
        Some(&*format!("\"{}\"", version(&person)))
    );
    let path = format!("/v1/people/{}", text(&person, "id"));
    let change = administrator
        .put(&path, version(&person), &json!({"roles": ["materials"]}))
        .await;
    change.expect(200);
    assert_eq!(change.header("etag"), Some("\"2\""));
}

#[actix_web::test]
async fn a_repeated_change_gets_its_answer_although_the_version_moved_on() {
    let service = Service::start().await;
    let compliance = service.role(Role::Compliance).await;
    let key = Uuid::new_v4().to_string();
    let put = || {
        compliance
            .request(Method::PUT, "/v1/policy")
            .key(&key)
            .if_match(1)
            .json(&policy_change(40))
    };
    let first = put().send().await;
    first.expect(200);
    let again = put().send().await;
    assert_eq!((again.status, &again.body), (200, &first.body));
    assert_eq!(again.header("etag"), first.header("etag"));
    assert_eq!(again.header("idempotency-replayed"), Some("true"));
}
