//! Every reading is kept; what may be a wristband is kept sealed.

use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::suite::judged;
use lotwarden_domain::access::Role;
use serde_json::json;
use uuid::Uuid;

/// Characters that are no known form, and could be a wristband.
const WRISTBAND: &str = "DELACROIX-OWUSU*MARGUERITE*19840229";

#[actix_web::test]
async fn an_unread_scan_is_kept_and_its_characters_are_sealed() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let scan = suite.scan_text(&case, WRISTBAND).await;
    judged(&scan, "unread", &[]);
    assert!(scan["unread"]["code"].is_string() && scan["unread"]["message"].is_string());
    assert!(scan.get("item").is_none());
    assert!(!scan.to_string().contains("DELACROIX"));

    let database = &suite.service.site.database;
    assert_eq!(
        database
            .column("SELECT count(*) FROM scans WHERE text IS NULL")
            .await,
        ["1"]
    );
    let entries = suite.service.entries(suite.service.site.facility).await;
    let (_, entry) = entries.last().expect("an entry");
    assert!(
        entry.contains(r#""verdict":"unread""#) && entry.contains(r#""commitments":{"text":""#),
        "{entry}"
    );
    assert!(!entry.contains("DELACROIX"));
    let everywhere = "SELECT count(*) FROM disclosures WHERE position(convert_to('DELACROIX', 'UTF8') IN sealed) > 0";
    assert_eq!(
        database.column(everywhere).await,
        ["0"],
        "the seal holds the characters in clear"
    );
}

#[actix_web::test]
async fn who_may_see_the_patient_may_open_an_unread_scan_and_each_look_is_an_entry() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let scan = suite.scan_text(&case, WRISTBAND).await;
    let path = format!("/v1/cases/{case}/scans/{}", text(&scan, "id"));
    let closed = suite.circulator.get(&path).await.expect(200);
    assert!(closed.get("text").is_none());
    let before = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .len();
    let opened = suite
        .circulator
        .get(&format!("{path}?with_text=true"))
        .await
        .expect(200);
    assert_eq!(opened["text"], WRISTBAND);
    let entries = suite.service.entries(suite.service.site.facility).await;
    assert_eq!(entries.len(), before + 1);
    assert!(!entries.last().expect("an entry").1.contains("DELACROIX"));
    let materials = suite.materials.get(&format!("{path}?with_text=true")).await;
    materials.problem(403, "forbidden");
}

#[actix_web::test]
async fn a_read_label_stands_in_the_scan_and_its_entry_as_it_was_scanned() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    let label = cannula.of_lot("A");
    let body = json!({"text": label.text(), "symbology": "]d2"});
    let scan = suite.scan_body(&case, &body).await;
    let shown = suite
        .circulator
        .get(&format!("/v1/cases/{case}/scans/{}", text(&scan, "id")))
        .await
        .expect(200);
    assert_eq!(shown["text"], label.text());
    assert_eq!(shown["symbology"], "]d2");
    assert_eq!(shown["position"], scan["entry"]["position"]);
    assert_eq!(
        shown["actor"],
        format!("person:{}", suite.circulator.person)
    );
    let (_, entry) = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .pop()
        .expect("an entry");
    let entry: serde_json::Value = serde_json::from_str(&entry).expect("JSON");
    assert_eq!(entry["data"]["text"], label.text());
    assert_eq!(entry["data"]["lot"], "A");
}

#[actix_web::test]
async fn a_scan_names_its_station_and_a_made_up_station_is_refused() {
    let suite = Suite::start().await;
    let administrator = suite.service.role(Role::Administrator).await;
    let station = administrator
        .post("/v1/stations", &json!({"name": "Room 2, table"}))
        .await
        .expect(201);
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    let body = json!({"text": cannula.of_lot("A").text(), "station_id": station["id"]});
    let scan = suite.scan_body(&case, &body).await;
    assert_eq!(scan["station_id"], station["id"]);
    let (_, entry) = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .pop()
        .expect("an entry");
    assert!(
        entry.contains(&format!(r#""station":"{}""#, text(&station, "id"))),
        "{entry}"
    );
    let body = json!({"text": cannula.of_lot("B").text(), "station_id": Uuid::new_v4()});
    let refused = suite
        .circulator
        .post(&format!("/v1/cases/{case}/scans"), &body)
        .await;
    let problem = refused.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/station_id");
}

#[actix_web::test]
async fn what_cannot_be_a_scan_is_refused() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/scans");
    let bodies = [
        json!({}),
        json!({"text": ""}),
        json!({"text": "x".repeat(4097)}),
        json!({"text": "a\u{0}b"}),
        json!({"text": "01", "symbology": "d2"}),
        json!({"text": "01", "occurred_at": "yesterday"}),
        json!({"text": "01", "verdict": "taken"}),
    ];
    for body in bodies {
        let reply = suite.circulator.post(&path, &body).await;
        assert_eq!(reply.status, 400, "{body}: {}", reply.text());
    }
    let nowhere = format!("/v1/cases/{}/scans", Uuid::new_v4());
    suite
        .circulator
        .post(&nowhere, &json!({"text": "01"}))
        .await
        .problem(404, "no-such-thing");
    let listed = suite.circulator.get(&path).await.expect(200);
    assert_eq!(listed["items"], json!([]));
}

// GS1 General Specifications: 8018 is a person who receives care, 7250 to 7259 say who it is.
#[actix_web::test]
async fn a_wristband_is_never_taken_for_an_item_and_its_characters_are_sealed() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    for text in [
        "]d28018952123450000000012",
        "]d28018952123450000000012\u{1d}7253EXAMPLE\u{1d}725019840229",
        "(8018)952123450000000012(7253)EXAMPLE(7250)19840229",
    ] {
        let scan = suite.scan_text(&case, text).await;
        assert_eq!(scan["verdict"], "unread", "{scan}");
        assert_eq!(scan["unread"]["code"], "person");
        assert!(!scan.to_string().contains("952123450000000012"));
    }
    let entries = suite.service.entries(suite.service.site.facility).await;
    assert!(
        !entries
            .iter()
            .any(|(_, body)| body.contains("952123450000000012"))
    );
    let kept = "SELECT text FROM scans WHERE text IS NOT NULL";
    let rows = suite.service.site.database.rows(kept).await;
    assert_eq!(rows, Vec::<Vec<Option<String>>>::new());
}
