//! What a station is set to, and that its readings are taken so.

use crate::harness::client::{text, version};
use crate::harness::service::Setup;
use crate::harness::suite::judged;
use crate::harness::{Client, Suite};
use lotwarden_domain::access::Role;
use serde_json::{Value, json};

async fn administrator(suite: &Suite) -> Client {
    let facility = suite.service.site.facility;
    suite.service.caller(facility, &[Role::Administrator]).await
}

async fn station(administrator: &Client, name: &str, separator: &str) -> Value {
    let body = json!({"name": name, "separator": separator});
    administrator.post("/v1/stations", &body).await.expect(201)
}

/// The newest entry of the ledger.
async fn last_entry(suite: &Suite) -> Value {
    let entries = suite.service.entries(suite.service.site.facility).await;
    let (_, body) = entries.last().expect("an entry");
    serde_json::from_str(body).expect("JSON")
}

/// A label as a scanner that types `<GS>` for GS sends it: legal characters, so that only the
/// station's setting makes them a separator.
fn typed(gtin: &str, serial: &str) -> String {
    format!("01{gtin}1728123110LOT7<GS>21{serial}")
}

#[actix_web::test]
async fn a_station_sends_gs_itself_unless_it_is_set_otherwise() {
    let suite = Suite::start().await;
    let administrator = administrator(&suite).await;
    let body = json!({"name": "Room 2, table"});
    let added = administrator.post("/v1/stations", &body).await.expect(201);
    assert_eq!(
        (&added["separator"], &added["version"]),
        (&json!("raw"), &json!(1))
    );
    let path = format!("/v1/stations/{}", text(&added, "id"));
    let change = json!({"name": "Room 2, table", "separator": "text:<GS>"});
    let mut changed = administrator
        .put(&path, version(&added), &change)
        .await
        .expect(200);
    changed.as_object_mut().expect("an object").remove("entry");
    assert_eq!(
        (&changed["separator"], &changed["version"]),
        (&json!("text:<GS>"), &json!(2))
    );
    let listed = administrator.get("/v1/stations").await.expect(200);
    assert_eq!(listed["items"], json!([changed]));
    // Whoever saw the first version does not overwrite the second.
    administrator
        .put(&path, version(&added), &change)
        .await
        .problem(412, "stale");
    let last = last_entry(&suite).await;
    assert_eq!(last["action"], "change_station");
    assert_eq!(last["data"]["old"]["separator"], "raw");
    assert_eq!(last["data"]["new"]["separator"], "text:<GS>");
}

#[actix_web::test]
async fn what_cannot_stand_for_gs_is_refused() {
    let suite = Suite::start().await;
    let administrator = administrator(&suite).await;
    let added = station(&administrator, "Room 2, table", "f8").await;
    let path = format!("/v1/stations/{}", text(&added, "id"));
    for separator in [
        "",
        "F8",
        "f13",
        "gs",
        "text:",
        "text:A",
        "text:-",
        "text:123456789",
    ] {
        let body = json!({"name": "Room 3", "separator": separator});
        for reply in [
            administrator.post("/v1/stations", &body).await,
            administrator.put(&path, version(&added), &body).await,
        ] {
            let problem = reply.problem(400, "invalid");
            assert_eq!(problem["errors"][0]["pointer"], "/separator", "{separator}");
        }
    }
    let other = station(&administrator, "Room 4", "raw").await;
    let taken = json!({"name": "Room 2, table", "separator": "raw"});
    let path = format!("/v1/stations/{}", text(&other, "id"));
    administrator
        .put(&path, version(&other), &taken)
        .await
        .problem(409, "taken");
}

#[actix_web::test]
async fn readings_scans_and_receipts_of_a_station_are_cut_at_its_separator() {
    let suite = Suite::start().await;
    let administrator = administrator(&suite).await;
    let station = station(&administrator, "Dock", "text:<GS>").await;
    let id = text(&station, "id");
    let handpiece = suite.handpiece().await;

    let body = json!({"text": typed(&handpiece.gtin, "S1"), "station_id": id});
    let reading = suite
        .materials
        .post("/v1/readings", &body)
        .await
        .expect(200);
    assert_eq!(
        (&reading["lot"], &reading["serial"]),
        (&json!("LOT7"), &json!("S1"))
    );
    assert_eq!(reading["warnings"], json!([]));
    let elsewhere = json!({"text": typed(&handpiece.gtin, "S1")});
    let reading = suite
        .materials
        .post("/v1/readings", &elsewhere)
        .await
        .expect(200);
    assert_eq!(reading["lot"], "LOT7<GS>21S1");
    assert_eq!(reading["warnings"], json!(["separator_suspect"]));

    let line = json!({"text": typed(&handpiece.gtin, "S1"), "location_id": suite.shelf});
    let receipt = json!({"lines": [line], "station_id": id});
    let received = suite
        .materials
        .post("/v1/receipts", &receipt)
        .await
        .expect(201);
    let serials = suite
        .service
        .site
        .database
        .column("SELECT serial FROM units")
        .await;
    assert_eq!(serials, ["S1"], "{received}");
    assert_eq!(last_entry(&suite).await["station"], json!(id));

    let case = suite.case().await;
    let scan = json!({"text": typed(&handpiece.gtin, "S1"), "station_id": id});
    judged(&suite.scan_body(&case, &scan).await, "taken", &[]);
    // From the next reading on the station is read as it is set then.
    let path = format!("/v1/stations/{id}");
    let change = json!({"name": "Dock", "separator": "f8"});
    administrator
        .put(&path, version(&station), &change)
        .await
        .expect(200);
    let text = typed(&handpiece.gtin, "S2").replace("<GS>", "<F8>");
    let scan = json!({"text": text, "station_id": id});
    let scanned = suite.scan_body(&case, &scan).await;
    assert_eq!(scanned["label"]["serial"], "S2", "{scanned}");
    let scan = json!({"text": typed(&handpiece.gtin, "S3"), "station_id": id});
    let scanned = suite.scan_body(&case, &scan).await;
    assert_eq!(scanned["label"]["serial"], Value::Null, "{scanned}");
}

#[actix_web::test]
async fn a_station_is_checked_as_it_is_set() {
    let suite = Suite::start().await;
    let administrator = administrator(&suite).await;
    let station = station(&administrator, "Dock", "text:<GS>").await;
    let readings = [
        "010952012345678810Station-Zy<GS>21Matrix",
        "010952012345678810Station-Zy<GS>21Code128",
        "+A99912345/$$52001510X33",
    ];
    let mut body = json!({"readings": readings});
    let check = async |body: &Value| {
        suite
            .circulator
            .post("/v1/stations/check", body)
            .await
            .expect(200)
    };
    assert_eq!(check(&body).await["passes"], false);
    body["station_id"] = station["id"].clone();
    let checked = check(&body).await;
    assert_eq!(checked["passes"], true, "{checked}");
    assert_eq!(checked["symbols"][0]["outcome"], "proven");
}

#[actix_web::test]
async fn a_station_of_nobody_is_named_as_the_fault() {
    let suite = Suite::start().await;
    let nobody = uuid::Uuid::now_v7();
    let line = json!({"text": "(01)09520123456788", "location_id": suite.shelf});
    for (path, body) in [
        ("/v1/readings", json!({"text": "(01)09520123456788"})),
        ("/v1/stations/check", json!({"readings": ["x"]})),
        ("/v1/receipts", json!({"lines": [line]})),
    ] {
        let mut body = body;
        body["station_id"] = json!(nobody);
        let problem = suite
            .materials
            .post(path, &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/station_id", "{path}");
    }
}

#[actix_web::test]
async fn the_century_of_a_label_is_that_of_the_facilitys_day() {
    // GS1 General Specifications 7.12: 77 is 1977 in 2026 and 2077 in 2027. At this instant it is
    // still 31 December 2026 in Los Angeles.
    let suite = Suite::with(Setup {
        zone: "America/Los_Angeles",
        now: "2027-01-01T06:00:00Z",
        ..Setup::default()
    })
    .await;
    let label = "]d201095201234567881777013110A";
    let body = json!({"text": label});
    let reading = suite
        .materials
        .post("/v1/readings", &body)
        .await
        .expect(200);
    assert_eq!(reading["expires_on"], "1977-01-31");
    let case = suite.case().await;
    let scan = suite.scan_text(&case, label).await;
    assert_eq!(scan["label"]["expires_on"], "1977-01-31");
    let line = json!({"text": label, "location_id": suite.shelf});
    let receipt = json!({"lines": [line]});
    suite
        .materials
        .post("/v1/receipts", &receipt)
        .await
        .expect(201);
    let days = suite
        .service
        .site
        .database
        .column("SELECT DISTINCT expires_on FROM receipt_lines JOIN lots ON lots.id = lot_id")
        .await;
    assert_eq!(days, ["1977-01-31"]);
}
