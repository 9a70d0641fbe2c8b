//! Labels of places, and the check of a station.

use crate::harness::Service;
use crate::harness::client::text;
use lotwarden_domain::access::Role;
use serde_json::json;

#[actix_web::test]
async fn a_place_has_a_label_in_the_form_that_is_asked_for() {
    let service = Service::start().await;
    let materials = service.role(Role::Materials).await;
    let body = json!({"name": "Shelf <3>", "kind": "shelf"});
    let added = materials.post("/v1/locations", &body).await.expect(201);
    let path = format!("/v1/locations/{}/label", text(&added, "id"));
    // The first bytes of each form: PNG 5.2 (W3C), PDF 7.5.2 (ISO 32000-1).
    for (query, kind, start) in [
        ("", "image/svg+xml", &b"<svg "[..]),
        ("?format=svg", "image/svg+xml", b"<svg "),
        ("?format=png", "image/png", b"\x89PNG\r\n\x1a\n"),
        ("?format=pdf", "application/pdf", b"%PDF-"),
    ] {
        let reply = materials.get(&format!("{path}{query}")).await;
        assert_eq!(reply.status, 200, "{query}");
        assert_eq!(reply.header("content-type"), Some(kind), "{query}");
        assert!(reply.body.starts_with(start), "{query}");
    }
    let asked = materials.request(reqwest::Method::GET, &path);
    let reply = asked.header("Accept", "image/png").send().await;
    assert_eq!(reply.header("content-type"), Some("image/png"));
    let id: uuid::Uuid = text(&added, "id").parse().expect("an id");
    let svg = materials.get(&path).await.text();
    assert!(svg.contains(&format!("(91){:039}", id.as_u128())), "{svg}");
    assert!(svg.contains("Shelf &lt;3&gt;"), "{svg}");
    let sheet = materials.get("/v1/locations/labels").await;
    assert_eq!(sheet.header("content-type"), Some("application/pdf"));
    materials
        .get(&format!("{path}?format=gif"))
        .await
        .expect(400);
}

#[actix_web::test]
async fn a_station_is_told_which_fault_it_has() {
    let service = Service::start().await;
    let circulator = service.role(Role::Circulator).await;
    let check = async |readings: [&str; 3]| {
        let body = json!({"readings": readings});
        circulator
            .post("/v1/stations/check", &body)
            .await
            .expect(200)
    };
    let hibc = "+A99912345/$$52001510X33";
    let matrix = "]d2010952012345678810Station-Zy\u{1d}21Matrix";
    let linear = "]C1010952012345678810Station-Zy\u{1d}21Code128";
    assert_eq!(check([matrix, linear, hibc]).await["passes"], true);
    let lost = linear.replace('\u{1d}', "");
    let checked = check([matrix, &lost, hibc]).await;
    assert_eq!(checked["passes"], false);
    assert_eq!(checked["symbols"][1]["outcome"], "separator_lost");
}

#[actix_web::test]
async fn a_places_label_is_read_back_to_the_place() {
    let service = Service::start().await;
    let materials = service.role(Role::Materials).await;
    let body = json!({"name": "Shelf 3", "kind": "shelf"});
    let mut shelf = materials.post("/v1/locations", &body).await.expect(201);
    shelf.as_object_mut().expect("an object").remove("entry");
    let id: uuid::Uuid = text(&shelf, "id").parse().expect("an id");
    let digits = format!("{:039}", id.as_u128());
    for label in [
        format!("]d291{digits}"),
        format!("]C191{digits}"),
        format!("(91){digits}"),
        format!("91{digits}\r\n"),
    ] {
        let body = json!({"text": label});
        let reading = materials.post("/v1/readings", &body).await.expect(200);
        assert_eq!(reading["location"], shelf, "{label}");
        let line = json!({"text": "(01)09520123456788(10)A", "location_text": label});
        let receipt = json!({"lines": [line]});
        materials.post("/v1/receipts", &receipt).await.expect(201);
    }
    let stock = materials.get("/v1/stock").await.expect(200);
    let item = &stock["items"][0];
    assert_eq!(
        (&item["location_id"], &item["quantity"]),
        (&shelf["id"], &json!(4)),
        "{stock}"
    );
    // Another company-internal number, and the place of another facility.
    let elsewhere = service.site.add_facility("South Hill").await;
    let other = service.caller(elsewhere, &[Role::Materials]).await;
    for (caller, label) in [
        (&materials, "]d291SHELF-3".to_owned()),
        (&other, format!("]d291{digits}")),
    ] {
        let body = json!({"text": label});
        let reading = caller.post("/v1/readings", &body).await.expect(200);
        assert_eq!(reading["form"], "gs1_element_string", "{label}");
        assert!(reading.get("location").is_none(), "{label}");
        let line = json!({"text": "(01)09520123456788(10)A", "location_text": label});
        let receipt = json!({"lines": [line]});
        let problem = caller
            .post("/v1/receipts", &receipt)
            .await
            .problem(400, "invalid");
        let pointer = text(&problem["errors"][0], "pointer");
        assert!(pointer.starts_with("/lines/0/location_"), "{problem}");
    }
    let neither = json!({"lines": [{"text": "(01)09520123456788(10)A"}]});
    let problem = materials
        .post("/v1/receipts", &neither)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/lines/0");
}
