//! Paired stations; badges and PINs at them.

mod badges;
mod held_back;

use crate::harness::client::text;
use crate::harness::people::PASSWORD;
use crate::harness::{Client, Reply, Suite};
use jiff::SignedDuration;
use lotwarden_domain::access::Role;
use reqwest::Method;
use serde_json::{Value, json};

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

    /// Asks for new tokens with a session's refresh token.
    async fn renew(&self, refresh_token: &Value) -> Reply {
        let body = json!({"refresh_token": refresh_token});
        let anybody = self.suite.service.anybody();
        anybody.post("/v1/sessions/refresh", &body).await
    }

    /// The bodies of the ledger's entries.
    async fn entries(&self) -> Vec<String> {
        let service = &self.suite.service;
        let entries = service.entries(service.site.facility).await;
        entries.into_iter().map(|(_, body)| body).collect()
    }

    async fn count(&self, action: &str) -> usize {
        let start = format!(r#"{{"action":"{action}""#);
        let entries = self.entries().await;
        entries
            .iter()
            .filter(|body| body.starts_with(&start))
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
    let entries = room.entries().await;
    assert!(!entries.iter().any(|body| body.contains(&room.credential)));
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
    let renewed = room.renew(&json!(room.credential)).await;
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
