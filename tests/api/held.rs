//! Scans that a station held while it could not reach the service.

use super::pairing::Room;
use crate::harness::Client;
use crate::harness::client::text;
use crate::harness::suite::judged;
use jiff::SignedDuration;
use lotwarden_domain::access::Role;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

const PIN: &str = "471903";

/// A suite whose circulator is signed in at a paired station.
struct Held {
    room: Room,
    session: Value,
    caller: Client,
    case: String,
}

impl Held {
    async fn new() -> Self {
        let room = Room::new().await;
        let case = room.suite.case().await;
        let badge = room.badge_of("m.okafor").await;
        let session = room.badge_in(&badge, PIN).await.expect(201);
        let caller = room.caller(&session);
        Self {
            room,
            session,
            caller,
            case,
        }
    }

    fn now(&self) -> String {
        self.room.suite.service.site.clock.reading().to_string()
    }

    fn scan(&self, text: &str) -> Value {
        json!({"text": text, "occurred_at": self.now()})
    }

    fn held(&self, key: &str, scan: Value) -> Value {
        json!({"key": key, "session_id": self.session["session_id"], "case_id": self.case, "scan": scan})
    }

    async fn deliver(&self, scans: Vec<Value>) -> Vec<Value> {
        let body = json!({"scans": scans});
        let path = "/v1/stations/current/held-scans";
        let delivered = self.room.at(Method::POST, path, &body).await.expect(200);
        delivered["items"].as_array().expect("a list").clone()
    }
}

#[actix_web::test]
async fn held_scans_are_recorded_in_order_for_whoever_was_signed_in_then() {
    let held = Held::new().await;
    let handpiece = held.room.suite.handpiece().await;
    for serial in ["1", "2"] {
        held.room
            .suite
            .receive(&handpiece.piece("A", serial), 1)
            .await;
    }
    let made = [
        held.held("k1", held.scan(&handpiece.piece("A", "1").text())),
        held.held("k2", held.scan(&handpiece.piece("A", "2").text())),
        held.held("k3", held.scan(&handpiece.piece("A", "1").text())),
    ];
    // The access token is over by then; the station's own credential delivers.
    held.room
        .suite
        .service
        .site
        .clock
        .advance(SignedDuration::from_mins(90));
    held.caller
        .get("/v1/cases")
        .await
        .problem(401, "not-signed-in");
    let items = held.deliver(made.to_vec()).await;
    assert!(
        items.iter().all(|item| item["outcome"] == "recorded"),
        "{items:?}"
    );
    let scans: Vec<&Value> = items.iter().map(|item| &item["scan"]).collect();
    judged(scans[0], "taken", &[]);
    judged(scans[1], "taken", &[]);
    judged(scans[2], "look", &["same_scan_again"]);
    let path = format!("/v1/cases/{}/scans", held.case);
    let compliance = held.room.suite.service.role(Role::Compliance).await;
    let listed = compliance.get(&path).await.expect(200);
    let first = &listed["items"][0];
    assert_eq!(first["delivered_late"], true);
    assert_eq!(first["station_id"], json!(held.room.station));
    let person = text(&held.session["person"], "id");
    assert_eq!(first["actor"], json!(format!("person:{person}")));
    assert!(text(first, "received_at") > text(first, "occurred_at"));
    let entries = held
        .room
        .suite
        .service
        .entries(held.room.suite.service.site.facility)
        .await;
    let session = text(&held.session, "session_id");
    let named = entries.iter().filter(|(_, body)| {
        body.starts_with(r#"{"action":"record_scan""#) && body.contains(&session)
    });
    assert_eq!(named.count(), 3);
}

#[actix_web::test]
async fn a_delivery_that_comes_again_records_nothing_twice() {
    let held = Held::new().await;
    let handpiece = held.room.suite.handpiece().await;
    held.room.suite.receive(&handpiece.piece("A", "1"), 1).await;
    let scan = held.scan(&handpiece.piece("A", "1").text());
    // An attempt that reached the service, whose answer did not come back.
    let path = format!("/v1/cases/{}/scans", held.case);
    let request = held
        .caller
        .request(Method::POST, &path)
        .key("k1")
        .json(&scan);
    let direct = request.send().await.expect(201);
    let made = vec![held.held("k1", scan)];
    let first = held.deliver(made.clone()).await;
    let again = held.deliver(made).await;
    assert_eq!(first, again);
    assert_eq!(first[0]["scan"]["id"], direct["id"]);
    let count = held
        .room
        .suite
        .service
        .site
        .database
        .column("SELECT count(*) FROM scans")
        .await;
    assert_eq!(count, ["1"]);
}

#[actix_web::test]
async fn a_held_scan_that_turns_out_to_be_a_stop_is_a_task_until_a_person_settles_it() {
    let held = Held::new().await;
    let handpiece = held.room.suite.handpiece().await;
    held.room.suite.receive(&handpiece.piece("A", "1"), 1).await;
    let made = held.held("k1", held.scan(&handpiece.piece("A", "1").text()));
    // Meanwhile the lot is put on hold.
    held.room.suite.hold("product", &handpiece.id).await;
    let items = held.deliver(vec![made]).await;
    judged(&items[0]["scan"], "stop", &["on_hold"]);
    let compliance = &held.room.suite.compliance;
    let tasks = compliance.get("/v1/tasks").await.expect(200);
    let task = &tasks["items"][0];
    assert_eq!(task["kind"], "held_scan_stopped");
    assert_eq!(
        (&task["id"], &task["case_id"]),
        (&items[0]["scan"]["id"], &json!(held.case))
    );
    let path = format!("/v1/tasks/{}/settle", text(task, "id"));
    let note = json!({"note": "The piece had not been opened; it went to quarantine."});
    let other = held
        .room
        .suite
        .service
        .site
        .add_facility("South Hill")
        .await;
    let stranger = held
        .room
        .suite
        .service
        .caller(other, &[Role::Compliance])
        .await;
    stranger
        .post(&path, &note)
        .await
        .problem(404, "no-such-thing");
    assert_eq!(
        stranger.get("/v1/tasks").await.expect(200)["items"],
        json!([])
    );
    compliance.post(&path, &note).await.expect(201);
    compliance
        .post(&path, &note)
        .await
        .problem(409, "already-done");
    assert_eq!(
        compliance.get("/v1/tasks").await.expect(200)["items"],
        json!([])
    );
    // A stop at the station itself is seen there, and is no task.
    let direct = held
        .caller
        .post(
            &format!("/v1/cases/{}/scans", held.case),
            &held.scan(&handpiece.piece("A", "1").text()),
        )
        .await;
    assert_eq!(direct.expect(201)["verdict"], "stop");
    assert_eq!(
        compliance.get("/v1/tasks").await.expect(200)["items"],
        json!([])
    );
}

#[actix_web::test]
async fn a_held_scan_counts_only_with_a_session_that_was_open_there_and_then() {
    let held = Held::new().await;
    let elsewhere = held
        .room
        .suite
        .service
        .sign_in("m.okafor")
        .await
        .expect(201);
    let mut at_no_station = held.held("k1", held.scan("x"));
    at_no_station["session_id"] = elsewhere["session_id"].clone();
    let mut made_up = held.held("k2", held.scan("x"));
    made_up["session_id"] = json!(Uuid::new_v4());
    let mut before = held.held("k3", held.scan("x"));
    before["scan"]["occurred_at"] = json!("2026-03-10T13:50:00Z");
    held.caller.delete("/v1/sessions/current").await.expect(204);
    held.room
        .suite
        .service
        .site
        .clock
        .advance(SignedDuration::from_mins(5));
    let after = held.held("k4", held.scan("x"));
    for item in held
        .deliver(vec![at_no_station, made_up, before, after])
        .await
    {
        assert_eq!(item["outcome"], "refused");
        assert_eq!(item["problem"]["code"], "forbidden", "{item}");
    }
    let count = held
        .room
        .suite
        .service
        .site
        .database
        .column("SELECT count(*) FROM scans")
        .await;
    assert_eq!(count, ["0"]);
}

#[actix_web::test]
async fn one_held_scan_that_is_refused_does_not_keep_the_rest_from_being_recorded() {
    let held = Held::new().await;
    let mut nowhere = held.held("k1", held.scan("x"));
    nowhere["case_id"] = json!(Uuid::new_v4());
    let no_time = held.held("k2", json!({"text": "x"}));
    let no_scan = held.held("k3", json!(["x"]));
    let good = held.held("k4", held.scan("x"));
    let items = held.deliver(vec![nowhere, no_time, no_scan, good]).await;
    let of = |at: usize, member: &str| items[at]["problem"][member].clone();
    assert_eq!(of(0, "code"), "no-such-thing");
    assert_eq!(of(1, "code"), "invalid");
    assert_eq!(of(2, "code"), "not-json");
    assert_eq!(items[3]["outcome"], "recorded");
    assert_eq!(items[3]["scan"]["verdict"], "unread");
}

#[actix_web::test]
async fn a_held_scan_says_that_its_stations_clock_was_off_beyond_the_sites_limit() {
    let held = Held::new().await;
    let cannula = held.room.suite.cannula().await;
    for lot in ["A", "B", "C", "D"] {
        held.room.suite.receive(&cannula.of_lot(lot), 1).await;
    }
    let deliver = async |lot: &str, off: i64| {
        let scan = held.scan(&cannula.of_lot(lot).text());
        let now = held.room.suite.service.site.clock.reading();
        let sent_at = now + SignedDuration::from_secs(off);
        let body = json!({"scans": [held.held(lot, scan)], "sent_at": sent_at.to_string()});
        let path = "/v1/stations/current/held-scans";
        let delivered = held.room.at(Method::POST, path, &body).await.expect(200);
        delivered["items"][0]["scan"].clone()
    };
    // The policy's start is two minutes: common practice, no source.
    judged(&deliver("A", 119).await, "taken", &[]);
    let ahead = deliver("B", 125).await;
    judged(&ahead, "look", &["clock_differs"]);
    assert_eq!(ahead["findings"][0]["variant"], "ahead");
    assert_eq!(ahead["item"]["disposition"], "used");
    let behind = deliver("C", -3600).await;
    assert_eq!(behind["findings"][0]["variant"], "behind");
    let settings = json!({"expires_soon_days": 30, "short_dated_days": 182, "keeps_stock": true, "idle_lock_minutes": 15, "due_equipment_stops": false, "clock_skew_seconds": 3600});
    let change = json!({"settings": settings, "reason": "Tablets without a time server"});
    let compliance = &held.room.suite.compliance;
    compliance.put("/v1/policy", 1, &change).await.expect(200);
    judged(&deliver("D", 3000).await, "taken", &[]);
}
