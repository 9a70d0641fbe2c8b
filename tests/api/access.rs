//! People, stations and the site's policy.

use crate::harness::Service;
use crate::harness::client::{text, version};
use crate::harness::people::PASSWORD;
use lotwarden_domain::access::Role;
use serde_json::{Value, json};

fn person(login: &str, roles: &[&str]) -> Value {
    json!({"login": login, "name": "Mina Okafor", "roles": roles, "password": PASSWORD})
}

#[actix_web::test]
async fn a_person_added_by_an_administrator_can_sign_in() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let added = administrator
        .post("/v1/people", &person("m.okafor", &["circulator"]))
        .await
        .expect(201);
    assert_eq!(added["login"], "m.okafor");
    assert!(added.get("password").is_none() && added.get("password_hash").is_none());
    service.sign_in("m.okafor").await.expect(201);
    let listed = administrator.get("/v1/people").await.expect(200);
    let items = listed["items"].as_array().expect("a list");
    assert!(items.iter().any(|item| item["id"] == added["id"]));
}

#[actix_web::test]
async fn a_login_is_never_given_twice_even_in_another_facility() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    administrator
        .post("/v1/people", &person("m.okafor", &["circulator"]))
        .await
        .expect(201);
    let again = administrator
        .post("/v1/people", &person("m.okafor", &["materials"]))
        .await;
    again.problem(409, "taken");
    let elsewhere = service.site.add_facility("South Hill").await;
    let other = service.caller(elsewhere, &[Role::Administrator]).await;
    other
        .post("/v1/people", &person("m.okafor", &["circulator"]))
        .await
        .problem(409, "taken");
}

#[actix_web::test]
async fn an_inspectors_account_has_to_end() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let endless = administrator
        .post("/v1/people", &person("i.vance", &["inspector"]))
        .await;
    let problem = endless.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/ends_at");
    let mut timed = person("i.vance", &["inspector"]);
    timed["ends_at"] = json!("2026-04-01T00:00:00Z");
    let added = administrator.post("/v1/people", &timed).await.expect(201);
    let change = json!({"roles": ["inspector"]});
    let path = format!("/v1/people/{}", text(&added, "id"));
    administrator
        .put(&path, version(&added), &change)
        .await
        .problem(400, "invalid");
}

#[actix_web::test]
async fn every_fault_of_a_body_is_named_at_once() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let body = json!({"login": "No Spaces", "name": " ", "roles": [], "password": "short"});
    let problem = administrator
        .post("/v1/people", &body)
        .await
        .problem(400, "invalid");
    let errors = problem["errors"].as_array().expect("errors by field");
    let pointers: Vec<&str> = errors
        .iter()
        .filter_map(|error| error["pointer"].as_str())
        .collect();
    for field in ["/login", "/name", "/roles", "/password"] {
        assert!(
            pointers.contains(&field),
            "{field} is not named in {problem}"
        );
    }
}

#[actix_web::test]
async fn easily_guessed_passwords_are_refused() {
    // NIST SP 800-63B-4, 3.1.1.2: 15 characters for a single factor; no context-specific words.
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    for password in [
        "fourteen chars",
        "aaaaaaaaaaaaaaaaaaaa",
        "password password",
        "m.okaforlotwarden1",
    ] {
        let mut body = person("m.okafor", &["circulator"]);
        body["password"] = json!(password);
        let problem = administrator
            .post("/v1/people", &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/password");
        assert!(
            !problem.to_string().contains(password),
            "the answer repeats the password"
        );
    }
}

#[actix_web::test]
async fn new_roles_count_from_the_next_sign_in_and_end_open_sessions() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let added = administrator
        .post("/v1/people", &person("m.okafor", &["circulator"]))
        .await
        .expect(201);
    let session = service.sign_in("m.okafor").await.expect(201);
    let path = format!("/v1/people/{}", text(&added, "id"));
    let changed = administrator
        .put(&path, version(&added), &json!({"roles": ["materials"]}))
        .await
        .expect(200);
    assert_eq!(changed["roles"], json!(["materials"]));
    assert_eq!(version(&changed), version(&added) + 1);
    let refresh = json!({"refresh_token": session["refresh_token"]});
    service
        .anybody()
        .post("/v1/sessions/refresh", &refresh)
        .await
        .problem(401, "not-signed-in");
    let again = service.sign_in("m.okafor").await.expect(201);
    assert_eq!(again["person"]["roles"], json!(["materials"]));
}

#[actix_web::test]
async fn a_changed_policy_stands_in_the_ledger_with_old_values_new_values_and_reason() {
    let service = Service::start().await;
    let compliance = service.role(Role::Compliance).await;
    let policy = compliance.get("/v1/policy").await.expect(200);
    let settings = json!({"expires_soon_days": 45, "short_dated_days": 182, "keeps_stock": true, "idle_lock_minutes": 15, "due_equipment_stops": false, "clock_skew_seconds": 120});
    let change = json!({"settings": settings, "reason": "The board asked for a longer warning."});
    let changed = compliance
        .put("/v1/policy", version(&policy), &change)
        .await
        .expect(200);
    assert_eq!(changed["settings"], settings);
    let entries = service.entries(service.site.facility).await;
    let (_, entry) = entries.last().expect("an entry");
    for part in [
        r#""action":"change_policy""#,
        "30",
        "45",
        "The board asked for a longer warning.",
    ] {
        assert!(entry.contains(part), "{part} is not in {entry}");
    }
}

#[actix_web::test]
async fn the_policy_shows_every_rule_with_its_weight_and_source() {
    let service = Service::start().await;
    let policy = service
        .role(Role::Inspector)
        .await
        .get("/v1/policy")
        .await
        .expect(200);
    let rules = policy["rules"].as_array().expect("rules");
    let rule = |slug: &str| {
        let found = rules.iter().find(|rule| rule["slug"] == slug);
        found.unwrap_or_else(|| panic!("no rule {slug}")).clone()
    };
    for stop in ["already_used", "on_hold", "expired", "case_closed"] {
        assert_eq!(rule(stop)["severity"], "stop");
    }
    for look in [
        "not_in_stock",
        "unknown_product",
        "incomplete_label",
        "expires_soon",
        "wrong_check_digit_but_known",
        "same_scan_again",
    ] {
        assert_eq!(rule(look)["severity"], "look");
    }
    assert!(rules.iter().all(|rule| {
        rule["source"]
            .as_str()
            .is_some_and(|source| source.len() > 10)
    }));
}

#[actix_web::test]
async fn two_stations_cannot_have_one_name() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let station = json!({"name": "Room 2, setup table"});
    administrator
        .post("/v1/stations", &station)
        .await
        .expect(201);
    administrator
        .post("/v1/stations", &station)
        .await
        .problem(409, "taken");
    let elsewhere = service.site.add_facility("South Hill").await;
    let other = service.caller(elsewhere, &[Role::Administrator]).await;
    other.post("/v1/stations", &station).await.expect(201);
}

#[actix_web::test]
async fn a_refused_password_comes_with_the_reason() {
    // NIST SP 800-63B-4, 3.1.1.2: a refused password comes with the reason for the refusal.
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    for (password, reason) in [
        ("north hill north hill", "the facility's name"),
        ("Mina Mina Okafor 1", "the person's name"),
        ("P@ssw0rd Password 1", "many people choose"),
        ("lotwarden m.okafor", "the service's name"),
    ] {
        let mut body = person("m.okafor", &["circulator"]);
        body["password"] = json!(password);
        let reply = administrator.post("/v1/people", &body).await;
        let problem = reply.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/password");
        let detail = text(&problem["errors"][0], "detail");
        assert!(detail.contains(reason), "{detail}");
    }
}

const NEXT: &str = "nine amber lanterns 27";

#[actix_web::test]
async fn a_changed_password_counts_at_once_and_ends_the_other_sessions() {
    let service = Service::start().await;
    let facility = service.site.facility;
    service
        .add_person(facility, "m.okafor", &[Role::Circulator])
        .await;
    let other = service.sign_in("m.okafor").await.expect(201);
    let session = service.sign_in("m.okafor").await.expect(201);
    let caller = service
        .anybody()
        .with_token(&text(&session, "access_token"));
    let wrong = json!({"password": "three quiet otters 42", "new_password": NEXT});
    let path = "/v1/people/current/password";
    caller
        .post(path, &wrong)
        .await
        .problem(401, "wrong-credentials");
    let easy = json!({"password": PASSWORD, "new_password": "test m.okafor 1234"});
    let problem = caller.post(path, &easy).await.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/new_password");
    let change = json!({"password": PASSWORD, "new_password": NEXT});
    caller.post(path, &change).await.expect(200);
    service
        .sign_in("m.okafor")
        .await
        .problem(401, "wrong-credentials");
    let next = json!({"login": "m.okafor", "password": NEXT});
    service
        .anybody()
        .post("/v1/sessions", &next)
        .await
        .expect(201);
    caller.get("/v1/sessions/current").await.expect(200);
    let other = service.anybody().with_token(&text(&other, "access_token"));
    other
        .get("/v1/sessions/current")
        .await
        .problem(401, "not-signed-in");
    let entries = service.entries(facility).await;
    assert!(
        entries
            .iter()
            .any(|(_, body)| body.starts_with(r#"{"action":"change_password""#))
    );
    assert!(!entries.iter().any(|(_, body)| body.contains("lanterns")));
}

#[actix_web::test]
async fn an_administrator_gives_a_person_another_password() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let added = administrator
        .post("/v1/people", &person("m.okafor", &["circulator"]))
        .await
        .expect(201);
    let session = service.sign_in("m.okafor").await.expect(201);
    let path = format!("/v1/people/{}/password", text(&added, "id"));
    let next = json!({"new_password": NEXT});
    administrator.post(&path, &next).await.expect(200);
    service
        .sign_in("m.okafor")
        .await
        .problem(401, "wrong-credentials");
    let caller = service
        .anybody()
        .with_token(&text(&session, "access_token"));
    caller
        .get("/v1/sessions/current")
        .await
        .problem(401, "not-signed-in");
    let elsewhere = service.site.add_facility("South Hill").await;
    let other = service.caller(elsewhere, &[Role::Administrator]).await;
    other.post(&path, &next).await.problem(404, "no-such-thing");
}
