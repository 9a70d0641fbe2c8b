//! Open sessions: seeing them, ending them, and their own end.

use super::{holder, refresh, service_with};
use crate::harness::Service;
use crate::harness::client::text;
use jiff::SignedDuration;
use lotwarden_domain::access::Role;
use serde_json::json;
use uuid::Uuid;

#[actix_web::test]
async fn a_person_sees_the_own_open_sessions_and_ends_one_of_them() {
    let (service, first) = service_with("m.okafor").await;
    service.site.clock.advance(SignedDuration::from_mins(5));
    let second = service.sign_in("m.okafor").await.expect(201);
    let caller = holder(&service, &second);
    let listed = caller.get("/v1/sessions").await.expect(200);
    let items = listed["items"].as_array().expect("a list").clone();
    assert_eq!(items.len(), 2);
    assert!(text(&items[0], "started_at").starts_with("2026-03-10T14:00:0"));
    assert!(text(&items[0], "ends_at").starts_with("2026-03-11T02:00:0"));
    assert_eq!(
        (&items[0]["current"], &items[1]["current"]),
        (&json!(false), &json!(true))
    );
    let path = format!("/v1/sessions/{}", text(&items[0], "id"));
    caller.delete(&path).await.expect(204);
    holder(&service, &first)
        .get("/v1/sessions/current")
        .await
        .problem(401, "not-signed-in");
    refresh(&service, &text(&first, "refresh_token"))
        .await
        .problem(401, "not-signed-in");
    caller.get("/v1/sessions/current").await.expect(200);
    caller.delete(&path).await.problem(404, "no-such-thing");
    service
        .add_person(service.site.facility, "r.lindqvist", &[Role::Materials])
        .await;
    let other = service.sign_in("r.lindqvist").await.expect(201);
    let stranger = holder(&service, &other);
    let path = format!("/v1/sessions/{}", text(&items[1], "id"));
    stranger.delete(&path).await.problem(404, "no-such-thing");
}

#[actix_web::test]
async fn a_person_ends_every_session_but_the_one_that_asks() {
    let (service, first) = service_with("m.okafor").await;
    let second = service.sign_in("m.okafor").await.expect(201);
    let caller = holder(&service, &second);
    caller.delete("/v1/sessions").await.expect(204);
    caller.get("/v1/sessions/current").await.expect(200);
    let ended = holder(&service, &first).get("/v1/sessions/current").await;
    ended.problem(401, "not-signed-in");
}

#[actix_web::test]
async fn compliance_and_administrators_see_and_end_the_sessions_of_others() {
    let (service, session) = service_with("m.okafor").await;
    let person = text(&session["person"], "id");
    let path = format!("/v1/people/{person}/sessions");
    for role in [Role::Compliance, Role::Administrator] {
        let caller = service.role(role).await;
        let listed = caller.get(&path).await.expect(200);
        let open = service.sign_in("m.okafor").await.expect(201);
        let listed_then = caller.get(&path).await.expect(200);
        let (before, after) = (&listed["items"], &listed_then["items"]);
        assert_eq!(before.as_array().map(Vec::len), Some(1));
        let one = text(&after[1], "id");
        caller
            .delete(&format!("{path}?session={one}"))
            .await
            .expect(204);
        holder(&service, &open)
            .get("/v1/sessions/current")
            .await
            .problem(401, "not-signed-in");
        holder(&service, &session)
            .get("/v1/sessions/current")
            .await
            .expect(200);
    }
    let administrator = service.role(Role::Administrator).await;
    administrator.delete(&path).await.expect(204);
    let ended = holder(&service, &session).get("/v1/sessions/current").await;
    ended.problem(401, "not-signed-in");
    let nobody = format!("/v1/people/{}/sessions", Uuid::new_v4());
    administrator
        .delete(&nobody)
        .await
        .problem(404, "no-such-thing");
    let entries = service.entries(service.site.facility).await;
    let count = |start: &str| {
        entries
            .iter()
            .filter(|(_, body)| body.starts_with(start))
            .count()
    };
    assert_eq!(count(r#"{"action":"revoke_person_sessions""#), 3);
}

#[actix_web::test]
async fn a_session_that_ended_is_over_in_every_process() {
    // ASVS 5.0, 7.4.1: after termination a self-contained token does not count either.
    let (service, session) = service_with("m.okafor").await;
    let second = Service::on(std::sync::Arc::clone(&service.site), 1_000_000).await;
    let there = second.anybody().with_token(&text(&session, "access_token"));
    there.get("/v1/sessions/current").await.expect(200);
    holder(&service, &session)
        .delete("/v1/sessions/current")
        .await
        .expect(204);
    // What the upkeep of each process does every ten seconds.
    let kept_up = second.app.ended.keep_up(&second.app.recorder).await;
    kept_up.expect("the sessions that ended can be read");
    there
        .get("/v1/sessions/current")
        .await
        .problem(401, "not-signed-in");
}

#[actix_web::test]
async fn a_session_that_was_idle_for_longer_than_the_policy_says_is_not_renewed() {
    let (service, first) = service_with("m.okafor").await;
    // Ten minutes of the access token and fifteen idle ones.
    service.site.clock.advance(SignedDuration::from_mins(24));
    let second = refresh(&service, &text(&first, "refresh_token"))
        .await
        .expect(201);
    service
        .site
        .clock
        .advance(SignedDuration::from_secs(25 * 60 + 1));
    refresh(&service, &text(&second, "refresh_token"))
        .await
        .problem(401, "not-signed-in");
    let compliance = service.role(Role::Compliance).await;
    let policy = compliance.get("/v1/policy").await.expect(200);
    assert_eq!(policy["settings"]["idle_lock_minutes"], 15);
    let mut settings = policy["settings"].clone();
    settings["idle_lock_minutes"] = json!(61);
    let change = json!({"settings": settings, "reason": "Longer procedures"});
    let problem = compliance
        .put("/v1/policy", 1, &change)
        .await
        .problem(400, "invalid");
    assert_eq!(
        problem["errors"][0]["pointer"],
        "/settings/idle_lock_minutes"
    );
    settings["idle_lock_minutes"] = json!(40);
    let change = json!({"settings": settings, "reason": "Longer procedures"});
    compliance.put("/v1/policy", 1, &change).await.expect(200);
    let third = service.sign_in("m.okafor").await.expect(201);
    service.site.clock.advance(SignedDuration::from_mins(49));
    refresh(&service, &text(&third, "refresh_token"))
        .await
        .expect(201);
}
