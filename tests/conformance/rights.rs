//! What the service's own database login can and cannot do, whatever the service is made to send.

use crate::harness::cluster::SERVICE_LOGIN;
use crate::harness::rows::one_of_everything;
use crate::harness::{Database, Service};
use lotwarden_domain::access::Role;
use serde_json::json;
use tokio_postgres::Client;
use tokio_postgres::error::SqlState;

/// Tables whose rows stay as they were written.
const APPEND_ONLY: &[&str] = &[
    "ledger_entries",
    "scans",
    "shelf_movements",
    "shelf_counts",
    "shelf_count_lines",
    "shelf_adjustments",
    "strikes",
    "signatures",
    "receipts",
    "receipt_lines",
    "parcels",
    "gauge_readings",
    "gas_uses",
    "preference_lists",
    "picks",
    "energy_log",
    "follow_up_rules",
    "follow_ups",
    "facility_statuses",
    "adverse_events",
    "packs",
    "pack_units",
    "indicators",
    "cleanings",
    "mix_ingredients",
    "mix_doses",
    "task_settlements",
    "access_reviews",
    "notice_proposals",
    "notice_criteria",
    "notice_names",
    "notice_clearances",
    "notice_events",
];

async fn refused(client: &Client, statement: &str) {
    let error = match client.batch_execute(statement).await {
        Ok(()) => panic!("{statement} is possible"),
        Err(error) => error,
    };
    assert_eq!(
        error.code(),
        Some(&SqlState::INSUFFICIENT_PRIVILEGE),
        "{statement}: {error}"
    );
}

#[actix_web::test]
async fn the_services_login_is_nothing_but_a_member_of_lotwarden_app() {
    let database = Database::new().await;
    let member_of = format!(
        "SELECT r.rolname FROM pg_auth_members m JOIN pg_roles r ON r.oid = m.roleid \
         JOIN pg_roles l ON l.oid = m.member WHERE l.rolname = '{SERVICE_LOGIN}'"
    );
    assert_eq!(database.column(&member_of).await, ["lotwarden_app"]);
    let powers = format!(
        "SELECT rolsuper OR rolcreaterole OR rolcreatedb OR rolbypassrls OR rolreplication \
         FROM pg_roles WHERE rolname IN ('{SERVICE_LOGIN}', 'lotwarden_app')"
    );
    assert_eq!(database.column(&powers).await, ["f", "f"]);
}

#[actix_web::test]
async fn the_application_cannot_change_what_is_append_only() {
    let service = Service::start().await;
    let client = service
        .site
        .database
        .application(service.site.facility)
        .await;
    for table in APPEND_ONLY {
        refused(
            &client,
            &format!("UPDATE {table} SET facility_id = facility_id"),
        )
        .await;
        refused(&client, &format!("DELETE FROM {table}")).await;
        refused(&client, &format!("TRUNCATE {table}")).await;
    }
    refused(&client, "TRUNCATE ledger_heads").await;
    refused(&client, "DELETE FROM ledger_heads").await;
}

#[actix_web::test]
async fn not_even_the_owner_can_change_an_entry() {
    let service = Service::start().await;
    service.role(Role::Circulator).await;
    let owner = service.site.database.owner().await;
    for table in APPEND_ONLY {
        refused(&owner, &format!("TRUNCATE {table} CASCADE")).await;
    }
    refused(&owner, "UPDATE ledger_entries SET actor = 'nobody'").await;
    refused(&owner, "DELETE FROM ledger_entries").await;
    // ENABLE ALWAYS: also where replication turns ordinary triggers off.
    let superuser = service.site.database.superuser().await;
    superuser
        .batch_execute("SET session_replication_role = replica")
        .await
        .expect("a superuser may");
    refused(&superuser, "DELETE FROM ledger_entries").await;
    refused(&superuser, "UPDATE ledger_heads SET size = 0").await;
}

#[actix_web::test]
async fn a_head_only_advances() {
    let service = Service::start().await;
    service.role(Role::Circulator).await;
    let client = service
        .site
        .database
        .application(service.site.facility)
        .await;
    refused(&client, "UPDATE ledger_heads SET size = size - 1").await;
    refused(&client, "UPDATE ledger_heads SET size = size").await;
    refused(
        &client,
        "UPDATE ledger_heads SET size = size + 1, at = at - interval '1 second'",
    )
    .await;
    refused(
        &client,
        "UPDATE ledger_heads SET facility_id = gen_random_uuid(), size = size + 1",
    )
    .await;
    client
        .batch_execute("BEGIN; UPDATE ledger_heads SET size = size + 1; ROLLBACK")
        .await
        .expect("forwards it may");
}

#[actix_web::test]
async fn the_application_cannot_make_or_change_facilities_roles_or_tables() {
    let service = Service::start().await;
    let client = service
        .site
        .database
        .application(service.site.facility)
        .await;
    let statements = [
        "INSERT INTO facilities VALUES (gen_random_uuid(), 'Elsewhere', 'UTC', '\\x00', now())",
        "UPDATE facilities SET name = 'Other'",
        "INSERT INTO site_policies VALUES (gen_random_uuid(), 1, 1, true, 1)",
        "INSERT INTO ledger_heads VALUES (gen_random_uuid(), 0, sha256('')::bytea, NULL)",
        "CREATE TABLE mine (x int)",
        "CREATE ROLE somebody",
        "ALTER TABLE ledger_entries DISABLE TRIGGER no_change",
        "ALTER TABLE scans DISABLE ROW LEVEL SECURITY",
        "DROP TABLE strikes",
        "SET ROLE lotwarden_owner",
        "SET session_replication_role = replica",
        "UPDATE people SET name = 'x'",
        "UPDATE people SET login = 'x'",
        "UPDATE logins SET login = 'x'",
        "DELETE FROM people",
        "DELETE FROM cases",
        "DELETE FROM uses",
        "DELETE FROM holds",
        "UPDATE notices SET text = 'another one'",
        "DELETE FROM notices",
        "UPDATE holds SET reason = 'another one'",
        "UPDATE uses SET lot_id = gen_random_uuid()",
        "UPDATE cases SET patient_id = gen_random_uuid()",
    ];
    for statement in statements {
        refused(&client, statement).await;
    }
}

#[actix_web::test]
async fn the_application_sees_and_writes_the_rows_of_its_facility_only() {
    let suite = one_of_everything(Service::start().await).await;
    let site = &suite.service.site;
    let other = site.add_facility("South Hill").await;
    let tables = site
        .database
        .column(
            "SELECT table_name FROM information_schema.columns WHERE table_schema = 'public' \
             AND column_name = 'facility_id' AND table_name <> 'logins' ORDER BY 1",
        )
        .await;
    assert!(
        tables.len() > 20,
        "too few tables were looked at: {tables:?}"
    );
    let own = site.database.application(site.facility).await;
    let elsewhere = site.database.application(other).await;
    let nowhere = site.database.application(uuid::Uuid::nil()).await;
    for table in tables {
        let count = format!(
            "SELECT count(*) FROM {table} WHERE facility_id = '{}'",
            site.facility
        );
        let seen = async |client: &Client| {
            crate::harness::database::rows(client, &count).await[0][0].clone()
        };
        let there = seen(&own).await;
        assert_ne!(
            there.as_deref(),
            Some("0"),
            "{table} has no row, so nothing is shown about it"
        );
        assert_eq!(
            seen(&elsewhere).await.as_deref(),
            Some("0"),
            "{table} is seen from another facility"
        );
        assert_eq!(
            seen(&nowhere).await.as_deref(),
            Some("0"),
            "{table} is seen from no facility"
        );
        let all = site.database.column(&count).await;
        assert_eq!(
            there.as_deref(),
            Some(&*all[0]),
            "{table} is not seen whole by its own facility"
        );
    }
    refused(
        &elsewhere,
        &format!(
            "INSERT INTO stations VALUES ('{}', gen_random_uuid(), 'Smuggled', now())",
            site.facility
        ),
    )
    .await;
}

#[actix_web::test]
async fn a_write_that_the_ledger_does_not_take_leaves_nothing() {
    // NIST SP 800-53, AU-5: no processing without the audit record.
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let superuser = service.site.database.superuser().await;
    superuser
        .batch_execute(
            "CREATE FUNCTION no_room() RETURNS trigger LANGUAGE plpgsql AS \
             $$ BEGIN RAISE EXCEPTION USING ERRCODE = 'disk_full'; END $$; \
             CREATE TRIGGER no_room BEFORE INSERT ON ledger_entries FOR EACH ROW EXECUTE FUNCTION no_room()",
        )
        .await
        .expect("a trigger can be made");
    let reply = administrator
        .post("/v1/stations", &json!({"name": "Room 2"}))
        .await;
    reply.problem(503, "unavailable");
    // RFC 9110, 15.6.4: a 503 may say when to come back.
    assert!(reply.header("retry-after").is_some());
    superuser
        .batch_execute("DROP TRIGGER no_room ON ledger_entries")
        .await
        .expect("the disk has room again");
    let listed = administrator.get("/v1/stations").await.expect(200);
    assert_eq!(listed["items"], json!([]));
    administrator
        .post("/v1/stations", &json!({"name": "Room 2"}))
        .await
        .expect(201);
}
