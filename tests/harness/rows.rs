//! One row of everything, made through the API, for tests that look at every table.

use super::client::text;
use super::people::PASSWORD;
use super::{Service, Suite};
use lotwarden_domain::access::Role;
use serde_json::json;

/// Puts at least one row of the test's facility into every table.
pub async fn one_of_everything(service: Service) -> Suite {
    let suite = Suite::of(service).await;
    let facility = suite.service.site.facility;
    suite
        .service
        .add_person(
            facility,
            "p.moreau",
            &[Role::Practitioner, Role::Administrator],
        )
        .await;
    let session = suite.service.sign_in("p.moreau").await.expect(201);
    let moreau = suite
        .service
        .anybody()
        .with_token(&text(&session, "access_token"));
    moreau
        .post("/v1/stations", &json!({"name": "Room 2, table"}))
        .await
        .expect(201);
    let stations = moreau.get("/v1/stations").await.expect(200);
    let station = text(&stations["items"][0], "id");
    let path = format!("/v1/stations/{station}/pairing-codes");
    let code = moreau.post(&path, &json!({})).await.expect(201);
    let anybody = suite.service.anybody();
    let code = json!({"code": code["code"]});
    let paired = anybody.post("/v1/stations/pair", &code).await.expect(201);
    let credential = format!("Station {}", text(&paired, "credential"));
    let at_station = async |path: &str, body: &serde_json::Value| {
        let request = anybody.request(reqwest::Method::POST, path);
        let reply = request.header("authorization", &credential).json(body);
        reply.send().await
    };
    let person = text(&session["person"], "id");
    let path = format!("/v1/people/{person}/badge");
    let badge = moreau.post(&path, &json!({})).await.expect(201);
    let pin = json!({"password": PASSWORD, "pin": "471903"});
    moreau
        .post("/v1/people/current/pin", &pin)
        .await
        .expect(200);
    let badge = json!({"badge": badge["text"], "pin": "471903"});
    let there = at_station("/v1/stations/current/sessions", &badge)
        .await
        .expect(201);
    let path = format!("/v1/people/{}/access-review", suite.materials.person);
    let review = json!({"roles": ["materials"], "note": "As it should be"});
    suite.compliance.change(&path, 1, &review).await.expect(200);
    let handpiece = suite.handpiece().await;
    suite.receive(&handpiece.piece("A", "1"), 1).await;
    suite.receive(&handpiece.piece("A", "2"), 1).await;
    let path = format!("/v1/locations/{}/counts", suite.shelf);
    let nothing = json!({"lines": []});
    let count = suite.materials.post(&path, &nothing).await.expect(201);
    let path = format!("/v1/counts/{}/adjust", text(&count, "id"));
    let found = json!({"lines": [1], "reason": "Not found on the shelf"});
    suite.materials.post(&path, &found).await.expect(201);
    suite.receive(&handpiece.piece("A", "1"), 1).await;
    suite.receive(&handpiece.piece("A", "2"), 1).await;
    let case = suite.case_of("MRN-004217", "Example, Robin").await;
    suite.scan(&case, &handpiece.piece("A", "1")).await;
    let second = suite.scan(&case, &handpiece.piece("A", "2")).await;
    suite.strike(&case, &text(&second, "id")).await;
    suite.scan_text(&case, "EXAMPLE*ROBIN*19840229").await;
    suite.hold("product", &handpiece.id).await;
    super::record::on_case(&suite, &case).await;
    let scan = json!({"text": handpiece.piece("A", "3").text(), "occurred_at": suite.service.site.clock.reading().to_string()});
    let held = json!({"scans": [{"key": "held", "session_id": there["session_id"], "case_id": case, "scan": scan}]});
    let delivered = at_station("/v1/stations/current/held-scans", &held)
        .await
        .expect(200);
    let path = format!(
        "/v1/tasks/{}/settle",
        text(&delivered["items"][0]["scan"], "id")
    );
    let note = json!({"note": "Not opened"});
    moreau.post(&path, &note).await.expect(201);
    let reason = json!({"reason": "The circulator was called away", "minutes": 30});
    let path = format!("/v1/cases/{case}/emergency-access");
    suite.materials.post(&path, &reason).await.expect(201);
    outbox(&suite).await;
    notice(&suite, &handpiece).await;
    suite.advance(&case, "start").await;
    suite.advance(&case, "complete").await;
    let shown = suite.show(&case).await;
    let signature =
        json!({"meaning": "Procedure performed and record reviewed", "password": PASSWORD});
    let path = format!("/v1/cases/{case}/sign");
    moreau
        .change(&path, super::client::version(&shown), &signature)
        .await
        .expect(201);
    let amendment = json!({
        "part": "record", "field": "procedure", "old_value": "Vein ablation, left leg",
        "new_value": "Vein ablation, right leg", "reason": "Wrong side chosen", "meaning": "Corrected",
        "password": PASSWORD,
    });
    let path = format!("/v1/cases/{case}/amendments");
    moreau.post(&path, &amendment).await.expect(201);
    let parcel = json!({"reason": "Inspection of 10 March"});
    suite
        .compliance
        .post("/v1/ledger/parcels", &parcel)
        .await
        .expect(201);
    suite
}

/// A webhook, and addresses that are told of notices.
async fn outbox(suite: &Suite) {
    let webhook = json!({
        "address": "https://hooks.example.org/in", "events": ["notice.added"],
        "secret": "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
    });
    let added = suite.compliance.post("/v1/webhooks", &webhook).await;
    added.expect(201);
    let shown = suite.compliance.get("/v1/notice-policy").await.expect(200);
    let policy = json!({
        "letters": shown["letters"], "targets": shown["targets"], "remind_hours": 720,
        "mail_from": "site@example.org", "mail_to": ["desk@example.org"], "reason": "A test",
    });
    let changed = suite.compliance.put("/v1/notice-policy", 1, &policy).await;
    changed.expect(200);
}

/// A notice that is confirmed, with its tasks told of, with a lot that was compared with it.
async fn notice(suite: &Suite, product: &super::suite::Product) {
    let lot = suite.receive(&product.of_lot("0B"), 1).await;
    let body = json!({
        "firm": "Invented Instruments", "reference": "FSN-1", "source": "letter",
        "text": format!("GTIN {}, Lot B", product.gtin),
    });
    let notice = suite.materials.post("/v1/notices", &body).await.expect(201);
    let path = format!("/v1/notices/{}", text(&notice, "id"));
    let criteria = json!([{"identifiers": [product.gtin], "lots": ["B"]}]);
    let body = json!({"criteria": criteria, "settles_unread": true});
    let confirm = format!("{path}/confirm");
    suite.materials.change(&confirm, 1, &body).await.expect(200);
    let body = json!({"lot_id": text(&lot["lines"][0], "lot_id"), "reason": "Label compared"});
    let clear = format!("{path}/clear");
    suite.materials.post(&clear, &body).await.expect(201);
    let answer = json!({
        "adverse_events": false, "contact_name": "M. Okafor", "contact_title": "Materials manager",
        "contact_phone": "+1 555 0100", "sent_by": "Form by mail",
    });
    let answers = format!("{path}/answers");
    suite.materials.post(&answers, &answer).await.expect(201);
    let told = suite
        .materials
        .post("/v1/notice-reminders", &json!({}))
        .await;
    told.expect(200);
}
