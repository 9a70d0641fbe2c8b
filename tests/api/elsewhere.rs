//! Nobody reaches anything of another facility.

use crate::harness::Suite;
use crate::harness::client::{Client, text};
use crate::harness::description::operations;
use lotwarden_domain::access::Role;
use serde_json::json;
use std::collections::BTreeMap;

/// One person with every role but the integration's.
async fn everybody(suite: &Suite, facility: uuid::Uuid) -> Client {
    let roles: Vec<Role> = Role::ALL
        .iter()
        .copied()
        .filter(|role| *role != Role::Integration)
        .collect();
    suite.service.caller(facility, &roles).await
}

/// An id of the suite's facility for each name that a path's parameter has.
async fn ids(suite: &Suite, own: &Client) -> BTreeMap<&'static str, String> {
    let cannula = suite.cannula().await;
    let receipt = suite.receive(&cannula.of_lot("A"), 3).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("A")).await;
    let hold = suite.hold("product", &cannula.id).await;
    let cylinder = crate::harness::record::cylinder(suite).await;
    let mix = crate::harness::record::made_mix(suite, &case).await;
    let equipment = crate::harness::record::equipment(suite, "generator").await;
    let routine = crate::harness::record::routine(suite).await;
    let limit = crate::harness::record::energy_limit(suite).await;
    let (vial, _) = crate::harness::record::vial(suite).await;
    let check = json!({"kind": "sign_in", "lines": [{"item": "Name", "answer": "said"}]});
    let path = format!("/v1/cases/{case}/checks");
    let check = suite.circulator.post(&path, &check).await.expect(201);
    let sterilizer = crate::harness::record::sterilizer(suite, "recall_suspect").await;
    let body = crate::harness::record::load_body(suite, &sterilizer, "L1", &[]);
    let load = suite.materials.post("/v1/loads", &body).await.expect(201);
    let notice = super::notices::recall(suite, "FSN-1", &cannula, &["A", "B"]).await;
    let patient = text(&suite.show(&case).await, "patient_id");
    let review = json!({"patient_id": patient, "decision": "notify", "reason": "A test"});
    let reviews = format!("/v1/notices/{}/reviews", text(&notice, "id"));
    own.post(&reviews, &review).await.expect(201);
    let answer = json!({
        "adverse_events": false, "contact_name": "M. Okafor", "contact_title": "Materials manager",
        "contact_phone": "+1 555 0100", "sent_by": "Form by mail",
    });
    let answers = format!("/v1/notices/{}/answers", text(&notice, "id"));
    own.post(&answers, &answer).await.expect(201);
    let tasks = own.get("/v1/notice-tasks").await.expect(200);
    let task = &tasks["items"][0];
    let parcel = own
        .post("/v1/ledger/parcels", &json!({"reason": "A test"}))
        .await
        .expect(201);
    let counts = format!("/v1/locations/{}/counts", suite.shelf);
    let nothing = json!({"lines": []});
    let count = suite.materials.post(&counts, &nothing).await.expect(201);
    let station = own
        .post("/v1/stations", &json!({"name": "Room 2, table"}))
        .await
        .expect(201);
    BTreeMap::from([
        ("station", text(&station, "id")),
        ("product", cannula.id),
        ("location", suite.shelf.clone()),
        ("receipt", text(&receipt, "id")),
        ("count", text(&count, "id")),
        ("lot", text(&scan, "lot_id")),
        ("case", case),
        ("scan", text(&scan, "id")),
        ("hold", text(&hold, "id")),
        ("cylinder", cylinder.id),
        ("mix", mix),
        ("sterilizer", sterilizer),
        ("load", text(&load, "id")),
        ("equipment", equipment),
        ("vial", vial),
        ("limit", limit),
        ("routine", text(&routine, "routine_id")),
        ("record", text(&routine, "id")),
        ("check", text(&check, "id")),
        ("patient", patient),
        ("webhook", uuid::Uuid::new_v4().to_string()),
        ("message", uuid::Uuid::new_v4().to_string()),
        ("access", uuid::Uuid::new_v4().to_string()),
        ("session", uuid::Uuid::new_v4().to_string()),
        ("notice", text(&notice, "id")),
        ("task", text(task, "id")),
        ("person", suite.circulator.person.to_string()),
        ("position", parcel["position"].to_string()),
    ])
}

#[actix_web::test]
async fn every_address_with_an_id_of_another_facility_answers_404() {
    let suite = Suite::start().await;
    let own = everybody(&suite, suite.service.site.facility).await;
    let ids = ids(&suite, &own).await;
    let other = suite.service.site.add_facility("South Hill").await;
    let stranger = everybody(&suite, other).await;
    let mut looked_at = 0;
    for operation in operations() {
        if operation.public || operation.names().next().is_none() {
            continue;
        }
        let path = operation.filled(|name| {
            let id = ids.get(name);
            id.unwrap_or_else(|| {
                panic!(
                    "{}: say which id of a facility {{{name}}} stands for",
                    operation.id
                )
            })
            .clone()
        });
        if operation.method == reqwest::Method::GET {
            let known = own.get(&path).await;
            assert_eq!(
                known.status,
                200,
                "{} in its own facility: {}",
                operation.id,
                known.text()
            );
            let reply = stranger.get(&path).await;
            assert_eq!(
                reply.status,
                404,
                "{} from another facility: {}",
                operation.id,
                reply.text()
            );
            reply.problem(404, "no-such-thing");
            looked_at += 1;
        }
    }
    assert!(looked_at >= 8, "only {looked_at} addresses were looked at");
}

#[actix_web::test]
async fn nothing_of_another_facility_can_be_changed() {
    let suite = Suite::start().await;
    let own = everybody(&suite, suite.service.site.facility).await;
    let ids = ids(&suite, &own).await;
    let other = suite.service.site.add_facility("South Hill").await;
    let stranger = everybody(&suite, other).await;
    let before = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .len();
    let id = |name: &str| ids[name].clone();
    let reason = json!({"reason": "From elsewhere"});
    let (case, scan) = (id("case"), id("scan"));
    let writes = [
        (
            "PUT",
            format!("/v1/people/{}", id("person")),
            json!({"roles": ["materials"]}),
        ),
        (
            "PUT",
            format!("/v1/stations/{}", id("station")),
            json!({"name": "Ours now", "separator": "raw"}),
        ),
        (
            "POST",
            format!("/v1/holds/{}/lift", id("hold")),
            reason.clone(),
        ),
        (
            "POST",
            format!("/v1/energy-limits/{}/end", id("limit")),
            reason.clone(),
        ),
        (
            "POST",
            format!("/v1/notices/{}/confirm", id("notice")),
            json!({"criteria": [{"product_ids": [id("product")]}], "settles_unread": true}),
        ),
        (
            "POST",
            format!("/v1/notices/{}/end", id("notice")),
            json!({"end": "withdrawn", "reason": "From elsewhere"}),
        ),
        (
            "POST",
            format!("/v1/notices/{}/clear", id("notice")),
            json!({"lot_id": id("lot"), "reason": "From elsewhere"}),
        ),
        (
            "PUT",
            format!("/v1/notice-tasks/{}", id("task")),
            json!({"due_at": "2026-03-10T14:00:00Z", "state": "done"}),
        ),
        (
            "POST",
            format!("/v1/notices/{}/counts", id("notice")),
            json!({"lot_id": id("lot"), "quarantined": 0, "left_in_place": 0}),
        ),
        ("POST", format!("/v1/cases/{case}/start"), json!({})),
        ("POST", format!("/v1/cases/{case}/complete"), json!({})),
        ("POST", format!("/v1/cases/{case}/cancel"), reason.clone()),
        (
            "POST",
            format!("/v1/cases/{case}/scans"),
            json!({"text": "]d20109520123456788"}),
        ),
        (
            "POST",
            format!("/v1/cases/{case}/scans/{scan}/strike"),
            reason,
        ),
        (
            "PUT",
            format!("/v1/cases/{case}/scans/{scan}/disposition"),
            json!({"disposition": "returned"}),
        ),
    ];
    for (method, path, body) in writes {
        let request = stranger
            .request(method.parse().expect("a method"), &path)
            .fresh_key()
            .if_match(1);
        let reply = request.json(&body).send().await;
        assert_eq!(reply.status, 404, "{method} {path}: {}", reply.text());
    }
    let hold = json!({"scope": "product", "target_id": id("product"), "reason": "From elsewhere"});
    stranger
        .post("/v1/holds", &hold)
        .await
        .problem(400, "invalid");
    assert_eq!(
        suite
            .service
            .entries(suite.service.site.facility)
            .await
            .len(),
        before
    );
}

#[actix_web::test]
async fn lists_and_where_used_of_one_facility_hold_nothing_of_another() {
    let suite = Suite::start().await;
    let own = everybody(&suite, suite.service.site.facility).await;
    let ids = ids(&suite, &own).await;
    let other = suite.service.site.add_facility("South Hill").await;
    let stranger = everybody(&suite, other).await;
    let lists = operations().into_iter().filter(|operation| {
        operation.method == reqwest::Method::GET
            && operation.id.starts_with("list_")
            && operation.names().next().is_none()
    });
    let mut looked_at = 0;
    for list in lists.filter(|list| !list.public) {
        let found = stranger.get(&list.path).await.expect(200).to_string();
        for (name, id) in ids.iter().filter(|(name, _)| **name != "position") {
            assert!(
                !found.contains(id.as_str()),
                "{} shows the {name} of another facility",
                list.id
            );
        }
        looked_at += 1;
    }
    assert!(looked_at >= 8, "only {looked_at} lists were looked at");
    let gtin = suite
        .service
        .site
        .database
        .column("SELECT code FROM product_identifiers LIMIT 1")
        .await;
    let used = stranger
        .get(&format!("/v1/where-used?identifier={}", gtin[0]))
        .await
        .expect(200);
    assert_eq!((&used["items"], &used["on_hand"]), (&json!([]), &json!([])));
}

#[actix_web::test]
async fn the_same_serial_in_two_facilities_is_two_pieces() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("L1", "SN-1");
    let case = suite.case().await;
    suite.scan(&case, &piece).await;
    let other = suite.service.site.add_facility("South Hill").await;
    let stranger = everybody(&suite, other).await;
    let room = crate::harness::suite::add_location(&stranger, "Room", "room").await;
    let mut body = suite.case_body("MRN-1", "Example, Robin");
    body["location_id"] = json!(room);
    body["practitioner_id"] = json!(stranger.person);
    let case = text(&stranger.post("/v1/cases", &body).await.expect(201), "id");
    let scan = stranger
        .post(
            &format!("/v1/cases/{case}/scans"),
            &json!({"text": piece.text()}),
        )
        .await
        .expect(201);
    assert_eq!(scan["verdict"], "look", "{scan}");
    assert!(scan["item"].is_object());
}
