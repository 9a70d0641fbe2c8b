//! Paired stations, badges and PINs.

use crate::harness::client::text;
use crate::harness::people::PASSWORD;
use crate::harness::{Client, Reply, Suite};
use jiff::SignedDuration;
use lotwarden_domain::access::{BadgeText, Role};
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

const PIN: &str = "471903";

/// A facility with an administrator, a paired station and its credential.
pub struct Room {
    pub suite: Suite,
    pub administrator: Client,
    pub station: String,
    pub credential: String,
}

impl Room {
    pub async fn new() -> Self {
        let suite = Suite::start().await;
        let administrator = suite.service.role(Role::Administrator).await;
        let added = administrator
            .post("/v1/stations", &json!({"name": "Room 2, setup table"}))
            .await
            .expect(201);
        let station = text(&added, "id");
        let room = Self {
            suite,
            administrator,
            station,
            credential: String::new(),
        };
        let paired = room.pair(&room.code().await).await.expect(201);
        let credential = text(&paired, "credential");
        Self { credential, ..room }
    }

    async fn code(&self) -> String {
        let path = format!("/v1/stations/{}/pairing-codes", self.station);
        let made = self.administrator.post(&path, &json!({})).await.expect(201);
        text(&made, "code")
    }

    async fn pair(&self, code: &str) -> Reply {
        let anybody = self.suite.service.anybody();
        anybody
            .post("/v1/stations/pair", &json!({"code": code}))
            .await
    }

    /// A request with the station's credential.
    pub async fn at(&self, method: Method, path: &str, body: &Value) -> Reply {
        let request = self.suite.service.anybody().request(method, path);
        let header = format!("Station {}", self.credential);
        request
            .header("authorization", &header)
            .json(body)
            .send()
            .await
    }

    pub async fn badge_in(&self, badge: &str, pin: &str) -> Reply {
        let body = json!({"badge": badge, "pin": pin});
        self.at(Method::POST, "/v1/stations/current/sessions", &body)
            .await
    }

    /// Adds a circulator with a badge and a PIN, and gives the badge's text.
    pub async fn badge_of(&self, login: &str) -> String {
        self.badge_for(login, Role::Circulator).await
    }

    async fn badge_for(&self, login: &str, role: Role) -> String {
        let facility = self.suite.service.site.facility;
        let person = self
            .suite
            .service
            .add_person(facility, login, &[role])
            .await;
        self.set_pin(login, PIN).await;
        let path = format!("/v1/people/{person}/badge");
        let given = self.administrator.post(&path, &json!({})).await.expect(201);
        text(&given, "text")
    }

    async fn set_pin(&self, login: &str, pin: &str) {
        let session = self.suite.service.sign_in(login).await.expect(201);
        let person = self.caller(&session);
        let body = json!({"password": PASSWORD, "pin": pin});
        person
            .post("/v1/people/current/pin", &body)
            .await
            .expect(200);
    }

    pub fn caller(&self, session: &Value) -> Client {
        self.suite
            .service
            .anybody()
            .with_token(&text(session, "access_token"))
    }

    async fn count(&self, action: &str) -> usize {
        let start = format!(r#"{{"action":"{action}""#);
        let entries = self
            .suite
            .service
            .entries(self.suite.service.site.facility)
            .await;
        entries
            .iter()
            .filter(|(_, body)| body.starts_with(&start))
            .count()
    }
}

#[actix_web::test]
async fn a_station_is_paired_once_with_a_code_and_knows_itself_then() {
    let room = Room::new().await;
    let shown = room
        .at(Method::GET, "/v1/stations/current", &json!({}))
        .await
        .expect(200);
    assert_eq!(shown["id"], json!(room.station));
    assert_eq!(shown["idle_lock_minutes"], 15);
    let listed = room.administrator.get("/v1/stations").await.expect(200);
    assert_eq!(listed["items"][0]["paired_at"], shown["paired_at"]);
    assert_eq!(room.count("make_pairing_code").await, 1);
    assert_eq!(room.count("pair_station").await, 1);
    let entries = room
        .suite
        .service
        .entries(room.suite.service.site.facility)
        .await;
    assert!(
        !entries
            .iter()
            .any(|(_, body)| body.contains(&room.credential))
    );
}

#[actix_web::test]
async fn a_pairing_code_counts_once_and_for_ten_minutes() {
    let room = Room::new().await;
    let code = room.code().await;
    let typed = format!(" {}", code.to_lowercase().replace('-', " "));
    room.pair(&typed).await.expect(201);
    room.pair(&code).await.problem(401, "not-paired");
    let late = room.code().await;
    room.suite
        .service
        .site
        .clock
        .advance(SignedDuration::from_mins(10));
    room.pair(&late).await.problem(401, "not-paired");
    room.pair("AAAA-AAAA").await.problem(401, "not-paired");
}

#[actix_web::test]
async fn pairing_anew_and_unpairing_end_the_credential() {
    let room = Room::new().await;
    let code = room.code().await;
    let anew = room.pair(&code).await.expect(201);
    let current = "/v1/stations/current";
    room.at(Method::GET, current, &json!({}))
        .await
        .problem(401, "not-paired");
    let room = Room {
        credential: text(&anew, "credential"),
        ..room
    };
    room.at(Method::GET, current, &json!({})).await.expect(200);
    let badge = room.badge_of("m.okafor").await;
    let session = room.badge_in(&badge, PIN).await.expect(201);
    let path = format!("/v1/stations/{}/credential", room.station);
    room.administrator.delete(&path).await.expect(204);
    room.at(Method::GET, current, &json!({}))
        .await
        .problem(401, "not-paired");
    let there = room.caller(&session).get("/v1/sessions/current").await;
    there.problem(401, "not-signed-in");
    room.administrator
        .delete(&path)
        .await
        .problem(409, "already-done");
}

#[actix_web::test]
async fn a_stations_credential_opens_nothing_else() {
    let room = Room::new().await;
    let badge = room.badge_of("m.okafor").await;
    let session = room.badge_in(&badge, PIN).await.expect(201);
    for path in [
        "/v1/cases",
        "/v1/people",
        "/v1/sessions/current",
        "/v1/policy",
    ] {
        let reply = room.at(Method::GET, path, &json!({})).await;
        reply.problem(401, "not-signed-in");
        // Nor does it count where a person's token or a refresh token is asked for.
        let as_token = room.suite.service.anybody().with_token(&room.credential);
        as_token.get(path).await.problem(401, "not-signed-in");
    }
    let refresh = json!({"refresh_token": room.credential});
    let renewed = room
        .suite
        .service
        .anybody()
        .post("/v1/sessions/refresh", &refresh)
        .await;
    renewed.problem(401, "not-signed-in");
    let as_station = Room {
        credential: text(&session, "refresh_token"),
        ..room
    };
    let reply = as_station
        .at(Method::GET, "/v1/stations/current", &json!({}))
        .await;
    reply.problem(401, "not-paired");
}

#[actix_web::test]
async fn a_browser_keeps_the_credential_in_a_cookie_that_counts_for_our_own_pages_only() {
    let room = Room::new().await;
    let code = room.code().await;
    let body = json!({"code": code, "browser": true});
    let paired = room
        .suite
        .service
        .anybody()
        .post("/v1/stations/pair", &body)
        .await;
    assert_eq!(paired.expect(201)["credential"], Value::Null);
    let cookie = paired.header("set-cookie").expect("a cookie");
    for attribute in [
        "HttpOnly",
        "Secure",
        "SameSite=Strict",
        "Path=/v1/stations/current",
    ] {
        assert!(cookie.contains(attribute), "{cookie}");
    }
    let pair = cookie.split(';').next().unwrap_or_default().to_owned();
    let anybody = room.suite.service.anybody();
    let ask = |site: &'static str| {
        let request = anybody.request(Method::GET, "/v1/stations/current");
        request
            .header("cookie", &pair)
            .header("sec-fetch-site", site)
            .send()
    };
    ask("same-origin").await.expect(200);
    ask("cross-site").await.problem(401, "not-paired");
    ask("none").await.problem(401, "not-paired");
}

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
    let entries = room
        .suite
        .service
        .entries(room.suite.service.site.facility)
        .await;
    assert!(
        !entries
            .iter()
            .any(|(_, body)| body.contains(&badge) || body.contains(PIN))
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
    let refresh = json!({"refresh_token": okafor["refresh_token"]});
    let renewed = room
        .suite
        .service
        .anybody()
        .post("/v1/sessions/refresh", &refresh)
        .await;
    renewed.problem(401, "not-signed-in");
    room.caller(&lindqvist).get(current).await.expect(200);
    room.caller(&elsewhere).get(current).await.expect(200);
    let entries = room
        .suite
        .service
        .entries(room.suite.service.site.facility)
        .await;
    let (_, last) = entries.last().expect("an entry");
    assert!(
        last.contains(r#""action":"badge_in""#) && last.contains("ended_session"),
        "{last}"
    );
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

#[actix_web::test]
async fn stations_and_badges_of_another_facility_cannot_be_reached() {
    let room = Room::new().await;
    let badge = room.badge_of("m.okafor").await;
    let session = room.badge_in(&badge, PIN).await.expect(201);
    let other = room.suite.service.site.add_facility("South Hill").await;
    let stranger = room
        .suite
        .service
        .caller(other, &[Role::Administrator])
        .await;
    let code = format!("/v1/stations/{}/pairing-codes", room.station);
    stranger
        .post(&code, &json!({}))
        .await
        .problem(404, "no-such-thing");
    let credential = format!("/v1/stations/{}/credential", room.station);
    stranger
        .delete(&credential)
        .await
        .problem(404, "no-such-thing");
    let path = format!("/v1/people/{}/badge", text(&session["person"], "id"));
    stranger
        .post(&path, &json!({}))
        .await
        .problem(404, "no-such-thing");
    stranger.delete(&path).await.problem(404, "no-such-thing");
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
    let body = json!({"badge": waiting, "voucher": {"badge": voucher, "pin": PIN}});
    room.at(Method::POST, "/v1/stations/current/vouches", &body)
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
    let vouch = async |badge: &str, by: &str, pin: &str| {
        let body = json!({"badge": badge, "voucher": {"badge": by, "pin": pin}});
        room.at(Method::POST, "/v1/stations/current/vouches", &body)
            .await
    };
    // The PIN still counts.
    vouch(&held_back, &voucher, PIN)
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
    vouch(&held_back, &voucher, "471904")
        .await
        .problem(401, "wrong-badge");
    vouch("LWBAAAAAAAAAAAAAAAAAAAA", &voucher, PIN)
        .await
        .problem(401, "wrong-badge");
    vouch(&voucher, &voucher, PIN)
        .await
        .problem(403, "forbidden");
    let session = vouch(&held_back, &voucher, PIN).await.expect(201);
    let let_in = room.caller(&session);
    let who = let_in.get("/v1/sessions/current").await.expect(200);
    assert_eq!(who["id"], session["person"]["id"]);
    let facility = room.suite.service.site.facility;
    let entries = room.suite.service.entries(facility).await;
    let (_, last) = entries.last().expect("an entry");
    assert!(last.contains(r#""action":"vouch_in""#), "{last}");
    assert!(last.contains(&text(&session["person"], "id")), "{last}");
    assert!(
        last.contains(r#""actor":"person:"#) && last.contains(r#""voucher":"#),
        "{last}"
    );
    // It lasts an hour, and the PIN is as it was.
    let clock = &room.suite.service.site.clock;
    clock.advance(SignedDuration::from_mins(61));
    let refresh = json!({"refresh_token": session["refresh_token"]});
    let renewed = room
        .suite
        .service
        .anybody()
        .post("/v1/sessions/refresh", &refresh)
        .await;
    renewed.problem(401, "not-signed-in");
    room.badge_in(&held_back, PIN)
        .await
        .problem(429, "pin-held-back");
}
