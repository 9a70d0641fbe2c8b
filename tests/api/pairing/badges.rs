//! Signing in, and signing, by badge and PIN.

use super::{PIN, Room};
use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::people::PASSWORD;
use lotwarden_domain::access::{BadgeText, Role};
use serde_json::json;
use uuid::Uuid;

#[actix_web::test]
async fn badge_and_pin_sign_in_at_a_paired_station() {
    let room = Room::new().await;
    let badge = room.badge_of("m.okafor").await;
    let scanned = format!("]d292{badge}");
    let session = room.badge_in(&scanned, PIN).await.expect(201);
    let caller = room.caller(&session);
    let who = caller.get("/v1/sessions/current").await.expect(200);
    assert_eq!(who["roles"], json!(["circulator"]));
    let sessions = caller.get("/v1/sessions").await.expect(200);
    let items = sessions["items"].as_array().expect("a list");
    assert_eq!(items[1]["station"]["id"], json!(room.station));
    assert!(items[0].get("station").is_none());
    room.badge_in(&badge, "471904")
        .await
        .problem(401, "wrong-badge");
    room.badge_in("LWBAAAAAAAAAAAAAAAAAAAA", PIN)
        .await
        .problem(401, "wrong-badge");
    room.badge_in("]d2010952012345678810A", PIN)
        .await
        .problem(401, "wrong-badge");
    assert_eq!(room.count("badge_in").await, 1);
    assert_eq!(room.count("refuse_badge_in").await, 1);
    let kept = room
        .suite
        .service
        .site
        .database
        .column("SELECT pin_hash FROM people WHERE pin_hash IS NOT NULL")
        .await;
    assert!(kept[0].starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
    let entries = room.entries().await;
    assert!(
        !entries
            .iter()
            .any(|body| body.contains(&badge) || body.contains(PIN))
    );
}

#[actix_web::test]
async fn the_next_person_at_a_station_ends_the_former_ones_session_there() {
    let room = Room::new().await;
    let (first, second) = (
        room.badge_of("m.okafor").await,
        room.badge_of("r.lindqvist").await,
    );
    let okafor = room.badge_in(&first, PIN).await.expect(201);
    let elsewhere = room.suite.service.sign_in("m.okafor").await.expect(201);
    let lindqvist = room.badge_in(&second, PIN).await.expect(201);
    let current = "/v1/sessions/current";
    room.caller(&okafor)
        .get(current)
        .await
        .problem(401, "not-signed-in");
    let renewed = room.renew(&okafor["refresh_token"]).await;
    renewed.problem(401, "not-signed-in");
    room.caller(&lindqvist).get(current).await.expect(200);
    room.caller(&elsewhere).get(current).await.expect(200);
    let entries = room.entries().await;
    let last = entries.last().expect("an entry");
    assert!(
        last.contains(r#""action":"badge_in""#) && last.contains("ended_session"),
        "{last}"
    );
}

#[actix_web::test]
async fn a_new_badge_ends_the_former_one_and_an_ended_badge_signs_nobody_in() {
    let room = Room::new().await;
    let lost = room.badge_of("m.okafor").await;
    let session = room.badge_in(&lost, PIN).await.expect(201);
    let path = format!("/v1/people/{}/badge", text(&session["person"], "id"));
    let given = room.administrator.post(&path, &json!({})).await.expect(201);
    assert!(text(&given, "label_svg").starts_with("<svg"));
    room.badge_in(&lost, PIN).await.problem(401, "wrong-badge");
    room.badge_in(&text(&given, "text"), PIN).await.expect(201);
    room.administrator.delete(&path).await.expect(204);
    room.administrator
        .delete(&path)
        .await
        .problem(409, "already-done");
    room.badge_in(&text(&given, "text"), PIN)
        .await
        .problem(401, "wrong-badge");
    let nobody = format!("/v1/people/{}/badge", Uuid::new_v4());
    room.administrator
        .post(&nobody, &json!({}))
        .await
        .problem(404, "no-such-thing");
}

#[actix_web::test]
async fn a_pin_needs_the_password_and_must_not_be_easy() {
    let room = Room::new().await;
    room.badge_of("m.okafor").await;
    let session = room.suite.service.sign_in("m.okafor").await.expect(201);
    let caller = room.caller(&session);
    let path = "/v1/people/current/pin";
    let wrong = json!({"password": "three quiet otters 42", "pin": PIN});
    caller
        .post(path, &wrong)
        .await
        .problem(401, "wrong-credentials");
    for pin in ["123456", "12345", "4719o3"] {
        let easy = json!({"password": PASSWORD, "pin": pin});
        let problem = caller.post(path, &easy).await.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/pin");
        assert!(!problem.to_string().contains(pin));
    }
}

#[actix_web::test]
async fn a_badge_is_never_taken_for_an_item() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let badge = BadgeText::new([7; 20]);
    for text in [
        format!("]d292{}", badge.as_str()),
        badge.as_str().to_owned(),
    ] {
        let scan = suite.scan_text(&case, &text).await;
        assert_eq!(scan["verdict"], "unread");
        assert_eq!(scan["unread"]["code"], "badge");
    }
    let entries = suite.service.entries(suite.service.site.facility).await;
    assert!(
        !entries
            .iter()
            .any(|(_, body)| body.contains(badge.as_str()))
    );
}

/// A completed case, and the version to sign.
async fn completed(suite: &Suite) -> (String, i64) {
    let case = suite.case().await;
    suite.advance(&case, "start").await;
    suite.advance(&case, "complete").await;
    let version = crate::harness::client::version(&suite.show(&case).await);
    (format!("/v1/cases/{case}/sign"), version)
}

// 21 CFR 11.200(a)(1): two components, here badge and PIN, and every signature asks for both.
#[actix_web::test]
async fn a_case_is_signed_with_badge_and_pin_where_the_session_was_begun_with_them() {
    let room = Room::new().await;
    let (own, other) = (
        room.badge_for("p.moreau", Role::Practitioner).await,
        room.badge_of("m.okafor").await,
    );
    let (path, version) = completed(&room.suite).await;
    let sign = |badge: &str, pin: &str| json!({"meaning": "Performed", "by_badge": {"badge": badge, "pin": pin}});
    // By password nobody was at a station.
    let elsewhere = room.suite.service.sign_in("p.moreau").await.expect(201);
    let refused = room
        .caller(&elsewhere)
        .change(&path, version, &sign(&own, PIN))
        .await;
    let refused = refused.problem(400, "invalid");
    assert_eq!(refused["errors"][0]["pointer"], "/by_badge");

    let session = room.badge_in(&own, PIN).await.expect(201);
    let signer = room.caller(&session);
    let wrong = signer.change(&path, version, &sign(&own, "471904")).await;
    wrong.problem(401, "wrong-badge");
    let anothers = signer.change(&path, version, &sign(&other, PIN)).await;
    anothers.problem(401, "wrong-badge");
    for body in [
        json!({"meaning": "Performed"}),
        json!({"meaning": "Performed", "password": PASSWORD, "by_badge": {"badge": own, "pin": PIN}}),
    ] {
        let problem = signer.change(&path, version, &body).await;
        let problem = problem.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/password");
    }
    assert_eq!(room.count("sign_case").await, 0);
    let signed = signer
        .change(&path, version, &sign(&own, PIN))
        .await
        .expect(201);
    assert_eq!(signed["person_id"], session["person"]["id"]);
    assert_eq!(room.count("refuse_badge_in").await, 1);
}
