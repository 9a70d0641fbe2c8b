//! Two real service processes on one database.

use crate::harness::labels::Label;
use crate::harness::service::MASTER;
use crate::harness::{Client, Instance, Suite};
use futures_util::future::join_all;
use serde_json::json;

/// Attempts at one piece, over both processes together.
const ATTEMPTS: usize = 240;

#[actix_web::test]
async fn of_240_simultaneous_scans_of_one_piece_over_two_processes_exactly_one_is_taken() {
    // The facility and its people come from a service in this process, which then only looks on.
    let suite = Suite::start().await;
    let gtin = suite.handpiece().await.gtin;
    let piece = Label::of(&gtin)
        .expiry("401231")
        .lot("L1")
        .serial("SN-000417");
    suite.receive(&piece, 1).await;
    let cases = join_all((0..ATTEMPTS).map(|_| suite.case())).await;
    // The processes live by the machine's own clock, which must not be behind the head.
    let login = "r.lindqvist";
    let facility = suite.service.site.facility;
    suite
        .service
        .add_person(
            facility,
            login,
            &[lotwarden_domain::access::Role::Circulator],
        )
        .await;
    let database = &suite.service.site.database;
    let (service_url, owner_url) = (database.service_url(), database.owner_url());
    let mut processes = [(); 2].map(|()| Instance::beside(&service_url, &owner_url, &MASTER));
    let mut callers = Vec::new();
    for process in &mut processes {
        process.serve();
        let anybody = process.anybody();
        let body = json!({"login": login, "password": crate::harness::people::PASSWORD});
        let session = anybody.post("/v1/sessions", &body).await.expect(201);
        let token = session["access_token"].as_str().expect("a token");
        callers.push(anybody.with_token(token));
    }
    // A token of one process is good at the other: both have the keys from the database.
    let crossed = Client {
        base: callers[1].base.clone(),
        ..callers[0].clone()
    };
    crossed.get("/v1/sessions/current").await.expect(200);

    let body = json!({"text": piece.text()});
    let attempts = cases.iter().enumerate().map(|(at, case)| {
        let (caller, body) = (callers[at % 2].clone(), body.clone());
        async move {
            caller
                .post(&format!("/v1/cases/{case}/scans"), &body)
                .await
                .expect(201)
        }
    });
    let scans = join_all(attempts).await;
    let taken = scans.iter().filter(|scan| scan["item"].is_object());
    assert_eq!(taken.count(), 1);
    let stopped = scans.iter().filter(|scan| scan["verdict"] == "stop");
    assert_eq!(stopped.count(), ATTEMPTS - 1);
    assert_eq!(database.column("SELECT count(*) FROM uses").await, ["1"]);
    assert_eq!(
        database.column("SELECT count(*) FROM scans").await,
        [ATTEMPTS.to_string()]
    );
    crate::conformance::chain::holds(&suite.service, facility).await;
}
