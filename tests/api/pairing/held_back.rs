//! PINs that were guessed at: who waits, and whom others may vouch for.

use super::{PIN, Room};
use crate::harness::Reply;
use crate::harness::client::text;
use jiff::SignedDuration;
use reqwest::Method;
use serde_json::json;

/// Somebody vouches at the station for whoever has the badge.
async fn vouch(room: &Room, badge: &str, by: &str, pin: &str) -> Reply {
    let body = json!({"badge": badge, "voucher": {"badge": by, "pin": pin}});
    room.at(Method::POST, "/v1/stations/current/vouches", &body)
        .await
}

#[actix_web::test]
async fn guessing_at_one_pin_does_not_lock_the_room_out() {
    let room = Room::new().await;
    let (guessed, other) = (
        room.badge_of("m.okafor").await,
        room.badge_of("r.lindqvist").await,
    );
    let mut waited = false;
    for _ in 0..6 {
        let reply = room.badge_in(&guessed, "471904").await;
        waited |= reply.status == 429;
    }
    assert!(waited, "a guesser is told to wait");
    room.badge_in(&guessed, PIN)
        .await
        .problem(429, "pin-held-back");
    room.badge_in(&other, PIN).await.expect(201);
    room.suite.service.sign_in("m.okafor").await.expect(201);
}

#[actix_web::test]
async fn ten_wrong_pins_end_a_pin_until_its_owner_sets_another() {
    // NIST SP 800-63B-4, 3.2.2: consecutive failures are limited; ten is the site's own, lower number.
    let room = Room::new().await;
    let badge = room.badge_of("m.okafor").await;
    let owner = room.suite.service.site.database.owner().await;
    let failed = owner
        .batch_execute("UPDATE people SET pin_failures = 9 WHERE login = 'm.okafor'")
        .await;
    failed.expect("the owner may");
    room.badge_in(&badge, "471904")
        .await
        .problem(401, "wrong-badge");
    room.badge_in(&badge, PIN).await.problem(401, "pin-ended");
    room.set_pin("m.okafor", "660218").await;
    room.badge_in(&badge, "660218").await.expect(201);
    let failures = room
        .suite
        .service
        .site
        .database
        .column("SELECT pin_failures FROM people WHERE login = 'm.okafor'")
        .await;
    assert_eq!(failures, ["0"]);
}

#[actix_web::test]
async fn who_waits_without_five_wrong_pins_in_a_row_is_not_told_that_others_may_vouch() {
    let room = Room::new().await;
    let (waiting, voucher) = (
        room.badge_of("m.okafor").await,
        room.badge_of("r.lindqvist").await,
    );
    for _ in 0..4 {
        room.badge_in(&waiting, "471904")
            .await
            .problem(401, "wrong-badge");
    }
    // The right one ends the row, and is the fifth at once.
    room.badge_in(&waiting, PIN).await.expect(201);
    room.badge_in(&waiting, PIN).await.problem(429, "too-many");
    vouch(&room, &waiting, &voucher, PIN)
        .await
        .problem(409, "out-of-order");
}

#[actix_web::test]
async fn another_person_lets_somebody_in_whose_pin_is_held_back_and_the_ledger_names_both() {
    let room = Room::new().await;
    let (held_back, voucher) = (
        room.badge_of("m.okafor").await,
        room.badge_of("r.lindqvist").await,
    );
    // The PIN still counts.
    vouch(&room, &held_back, &voucher, PIN)
        .await
        .problem(409, "out-of-order");
    for _ in 0..5 {
        room.badge_in(&held_back, "471904")
            .await
            .problem(401, "wrong-badge");
    }
    room.badge_in(&held_back, PIN)
        .await
        .problem(429, "pin-held-back");
    vouch(&room, &held_back, &voucher, "471904")
        .await
        .problem(401, "wrong-badge");
    vouch(&room, "LWBAAAAAAAAAAAAAAAAAAAA", &voucher, PIN)
        .await
        .problem(401, "wrong-badge");
    vouch(&room, &voucher, &voucher, PIN)
        .await
        .problem(403, "forbidden");
    let session = vouch(&room, &held_back, &voucher, PIN).await.expect(201);
    let let_in = room.caller(&session);
    let who = let_in.get("/v1/sessions/current").await.expect(200);
    assert_eq!(who["id"], session["person"]["id"]);
    let entries = room.entries().await;
    let last = entries.last().expect("an entry");
    assert!(last.contains(r#""action":"vouch_in""#), "{last}");
    assert!(last.contains(&text(&session["person"], "id")), "{last}");
    assert!(
        last.contains(r#""actor":"person:"#) && last.contains(r#""voucher":"#),
        "{last}"
    );
    // It lasts an hour, and the PIN is as it was.
    let clock = &room.suite.service.site.clock;
    clock.advance(SignedDuration::from_mins(61));
    let renewed = room.renew(&session["refresh_token"]).await;
    renewed.problem(401, "not-signed-in");
    room.badge_in(&held_back, PIN)
        .await
        .problem(429, "pin-held-back");
}
