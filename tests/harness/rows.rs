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
    let handpiece = suite.handpiece().await;
    suite.receive(&handpiece.piece("A", "1"), 1).await;
    suite.receive(&handpiece.piece("A", "2"), 1).await;
    let case = suite.case_of("MRN-004217", "Example, Robin").await;
    suite.scan(&case, &handpiece.piece("A", "1")).await;
    let second = suite.scan(&case, &handpiece.piece("A", "2")).await;
    suite.strike(&case, &text(&second, "id")).await;
    suite.scan_text(&case, "EXAMPLE*ROBIN*19840229").await;
    suite.hold("product", &handpiece.id).await;
    super::record::on_case(&suite, &case).await;
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
    let parcel = json!({"reason": "Inspection of 10 March"});
    suite
        .compliance
        .post("/v1/ledger/parcels", &parcel)
        .await
        .expect(201);
    suite
}
