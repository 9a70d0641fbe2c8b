//! A procedure suite: a facility with its people, places and products, worked through the API.

use super::client::text;
use super::labels::{Label, fresh_gtin};
use super::service::Setup;
use super::{Client, Service};
use lotwarden_domain::access::Role;
use serde_json::{Value, json};
use uuid::Uuid;

pub struct Suite {
    pub service: Service,
    pub circulator: Client,
    pub practitioner: Client,
    pub materials: Client,
    pub compliance: Client,
    /// The procedure room.
    pub room: String,
    pub shelf: String,
}

/// A product of the catalogue.
#[derive(Clone, Debug)]
pub struct Product {
    pub id: String,
    pub gtin: String,
}

impl Product {
    /// A label with a lot and a serial, good until the end of 2028.
    pub fn piece(&self, lot: &str, serial: &str) -> Label {
        self.of_lot(lot).serial(serial)
    }

    /// A label with a lot, good until the end of 2028.
    pub fn of_lot(&self, lot: &str) -> Label {
        Label::of(&self.gtin).expiry("281231").lot(lot)
    }
}

impl Suite {
    pub async fn start() -> Self {
        Self::with(Setup::default()).await
    }

    pub async fn with(setup: Setup) -> Self {
        Self::of(Service::with(setup).await).await
    }

    /// People and places for a service that just started.
    pub async fn of(service: Service) -> Self {
        let facility = service.site.facility;
        let (circulator, practitioner, materials, compliance) = (
            service.caller(facility, &[Role::Circulator]).await,
            service.caller(facility, &[Role::Practitioner]).await,
            service.caller(facility, &[Role::Materials]).await,
            service.caller(facility, &[Role::Compliance]).await,
        );
        let room = add_location(&materials, "Procedure room 2", "room").await;
        let shelf = add_location(&materials, "Shelf 3", "shelf").await;
        Self {
            service,
            circulator,
            practitioner,
            materials,
            compliance,
            room,
            shelf,
        }
    }

    /// Goes a day on; access tokens do not last that long, so everybody signs in anew.
    pub async fn a_day_later(&mut self) {
        self.service
            .site
            .clock
            .advance(jiff::SignedDuration::from_hours(24));
        let service = &self.service;
        let facility = service.site.facility;
        self.circulator = service.caller(facility, &[Role::Circulator]).await;
        self.practitioner = service.caller(facility, &[Role::Practitioner]).await;
        self.materials = service.caller(facility, &[Role::Materials]).await;
        self.compliance = service.caller(facility, &[Role::Compliance]).await;
    }

    /// A single-use product whose label carries lot, serial and expiry.
    pub async fn handpiece(&self) -> Product {
        self.product(
            json!({"kind": "handpiece", "carries": {"lot": true, "serial": true, "expiry": true}}),
        )
        .await
    }

    /// A single-use product whose label carries lot and expiry.
    pub async fn cannula(&self) -> Product {
        self.product(
            json!({"kind": "cannula", "carries": {"lot": true, "serial": false, "expiry": true}}),
        )
        .await
    }

    /// A product with a fresh GTIN; `more` says what is not usual about it.
    pub async fn product(&self, more: Value) -> Product {
        let gtin = fresh_gtin();
        let mut body = json!({
            "name": format!("Test item {gtin}"),
            "maker": "Invented Instruments",
            "model": "T1",
            "kind": "other",
            "use_class": "single_use",
            "carries": {"lot": true, "serial": false, "expiry": true},
            "identifiers": [{"agency": "gs1", "code": gtin, "level": "unit", "quantity": 1}],
        });
        for (member, value) in more.as_object().expect("an object") {
            body[member] = value.clone();
        }
        let added = self.materials.post("/v1/products", &body).await.expect(201);
        Product {
            id: text(&added, "id"),
            gtin,
        }
    }

    /// Receives packages of one label onto the shelf.
    pub async fn receive(&self, label: &Label, quantity: u32) -> Value {
        let line = json!({"text": label.text(), "quantity": quantity, "location_id": self.shelf});
        self.materials
            .post("/v1/receipts", &json!({"lines": [line]}))
            .await
            .expect(201)
    }

    /// Opens a case for a patient of its own.
    pub async fn case(&self) -> String {
        self.circulator_case(&self.circulator).await
    }

    /// Opens a case for a patient.
    pub async fn case_of(&self, record_number: &str, name: &str) -> String {
        let body = self.case_body(record_number, name);
        text(
            &self.circulator.post("/v1/cases", &body).await.expect(201),
            "id",
        )
    }

    /// Opens a case as another circulator.
    pub async fn circulator_case(&self, circulator: &Client) -> String {
        let number = Uuid::new_v4().simple().to_string();
        let body = self.case_body(&format!("MRN-{}", &number[..12]), "Example, Robin");
        text(&circulator.post("/v1/cases", &body).await.expect(201), "id")
    }

    pub fn case_body(&self, record_number: &str, name: &str) -> Value {
        json!({
            "patient": {"record_number": record_number, "name": name, "born_on": "1984-02-29"},
            "procedure": "Vein ablation, left leg",
            "location_id": self.room,
            "practitioner_id": self.practitioner.person,
            "scheduled_for": "2026-03-11T08:30:00Z",
        })
    }

    /// Scans a label on a case.
    pub async fn scan(&self, case: &str, label: &Label) -> Value {
        self.scan_text(case, &label.text()).await
    }

    pub async fn scan_text(&self, case: &str, text: &str) -> Value {
        self.scan_body(case, &json!({"text": text})).await
    }

    pub async fn scan_body(&self, case: &str, body: &Value) -> Value {
        self.circulator
            .post(&format!("/v1/cases/{case}/scans"), body)
            .await
            .expect(201)
    }

    /// Moves a case on: `start`, `complete`.
    pub async fn advance(&self, case: &str, verb: &str) -> Value {
        let shown = self.show(case).await;
        let path = format!("/v1/cases/{case}/{verb}");
        self.circulator
            .change(&path, super::client::version(&shown), &json!({}))
            .await
            .expect(200)
    }

    pub async fn show(&self, case: &str) -> Value {
        self.circulator
            .get(&format!("/v1/cases/{case}"))
            .await
            .expect(200)
    }

    /// Places a hold on a product, lot or piece.
    pub async fn hold(&self, scope: &str, target: &str) -> Value {
        let body = json!({"scope": scope, "target_id": target, "reason": "Pouch seals open"});
        self.compliance.post("/v1/holds", &body).await.expect(201)
    }

    /// Strikes a scan.
    pub async fn strike(&self, case: &str, scan: &str) -> Value {
        let path = format!("/v1/cases/{case}/scans/{scan}/strike");
        self.circulator
            .post(&path, &json!({"reason": "Scanned on the wrong case"}))
            .await
            .expect(200)
    }

    /// Says what became of an item.
    pub async fn dispose(&self, case: &str, scan: &Value, disposition: &str) -> Value {
        let path = format!("/v1/cases/{case}/scans/{}/disposition", text(scan, "id"));
        let body = json!({"disposition": disposition, "reason": "As the team said"});
        let version = super::client::version(&scan["item"]);
        self.circulator.put(&path, version, &body).await.expect(200)
    }

    /// Asks where something was used.
    pub async fn where_used(&self, query: &str) -> Value {
        self.compliance
            .get(&format!("/v1/where-used?{query}"))
            .await
            .expect(200)
    }

    /// The stock by lot and place, as the database has it.
    pub async fn stock(&self) -> Vec<Vec<Option<String>>> {
        let query = "SELECT lot_id, location_id, quantity FROM stock_levels WHERE quantity <> 0 ORDER BY 1, 2";
        self.service.site.database.rows(query).await
    }
}

pub async fn add_location(caller: &Client, name: &str, kind: &str) -> String {
    text(
        &caller
            .post("/v1/locations", &json!({"name": name, "kind": kind}))
            .await
            .expect(201),
        "id",
    )
}

/// The slugs of a scan's findings, in the order of the answer.
pub fn findings(scan: &Value) -> Vec<&str> {
    let findings = scan["findings"].as_array().expect("findings").iter();
    findings
        .map(|finding| finding["slug"].as_str().expect("a slug"))
        .collect()
}

/// Whether a scan put its item on the case.
pub fn on_case(scan: &Value) -> bool {
    scan["item"].is_object()
}

/// A scan must have this verdict with exactly these findings, in any order.
#[track_caller]
pub fn judged(scan: &Value, verdict: &str, slugs: &[&str]) {
    let mut found = findings(scan);
    found.sort_unstable();
    let mut wanted = slugs.to_vec();
    wanted.sort_unstable();
    assert_eq!(
        (scan["verdict"].as_str(), found),
        (Some(verdict), wanted),
        "{scan:#}"
    );
    for finding in scan["findings"].as_array().expect("findings") {
        for member in ["slug", "severity", "sentence", "source"] {
            assert!(
                finding[member]
                    .as_str()
                    .is_some_and(|text| !text.is_empty()),
                "no {member} in {finding}"
            );
        }
    }
}
