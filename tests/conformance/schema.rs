//! The migrations: there and back, every constraint named, every table explained.

use crate::harness::Database;
use crate::harness::cluster::{cluster, connect, make_database};
use lotwarden_store::migrations;
use std::process::Command;
use uuid::Uuid;

/// The schema as pg_dump writes it, without what differs from call to call.
fn dump(database: &str) -> String {
    let url = cluster().superuser_url(database);
    let output = Command::new("pg_dump")
        .args(["--schema-only", "--dbname", &url])
        .output();
    let output = output.expect("pg_dump is installed with PostgreSQL's client programs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    // Newer versions of pg_dump guard their output with a random word (CVE-2025-8714).
    let lines = text
        .lines()
        .filter(|line| !line.starts_with("\\restrict") && !line.starts_with("\\unrestrict"));
    lines.collect::<Vec<_>>().join("\n")
}

#[actix_web::test]
async fn up_down_up_leaves_the_same_schema_and_down_leaves_nothing() {
    let name = format!("updown_{}", Uuid::new_v4().simple());
    let cluster = cluster();
    let admin = connect(&cluster.superuser_url("postgres")).await;
    make_database(&admin, &name, &cluster.superuser_url(&name)).await;
    // So that the database goes however the test ends.
    let database = Database { name };
    let owner = database.owner_url();
    let empty = dump(&database.name);

    let applied = migrations::up(&owner).expect("up");
    assert!(applied.len() >= 5, "{applied:?}");
    let first = dump(&database.name);
    let mut reverted = migrations::down(&owner).expect("down");
    reverted.reverse();
    assert_eq!(reverted, applied);
    let without_history = dump(&database.name);
    let left: Vec<String> = database
        .column("SELECT relname FROM pg_class JOIN pg_namespace n ON n.oid = relnamespace WHERE nspname = 'public' AND relname NOT LIKE '\\_\\_diesel%'")
        .await;
    assert_eq!(
        left,
        Vec::<String>::new(),
        "down leaves tables, indexes or sequences"
    );
    let functions = database
        .column("SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace")
        .await;
    assert_eq!(functions, Vec::<String>::new(), "down leaves functions");
    assert_ne!(without_history, first);
    assert_ne!(empty, first);

    migrations::up(&owner).expect("up again");
    let second = dump(&database.name);
    assert_eq!(first, second);
    assert_eq!(
        migrations::up(&owner).expect("nothing to do"),
        Vec::<String>::new()
    );
}

#[actix_web::test]
async fn two_processes_may_migrate_at_once() {
    let name = format!("twice_{}", Uuid::new_v4().simple());
    let cluster = cluster();
    let admin = connect(&cluster.superuser_url("postgres")).await;
    make_database(&admin, &name, &cluster.superuser_url(&name)).await;
    let database = Database { name };
    let owner = database.owner_url();
    let other = owner.clone();
    let second = std::thread::spawn(move || migrations::up(&other).map(|applied| applied.len()));
    let first = migrations::up(&owner).expect("up").len();
    let second = second
        .join()
        .expect("a thread")
        .expect("up at the same time");
    assert!(
        first == 0 || second == 0,
        "both applied migrations: {first} and {second}"
    );
    assert!(first + second >= 5);
}

#[actix_web::test]
async fn every_constraint_is_named_for_the_rule_it_keeps() {
    let database = Database::new().await;
    // The names PostgreSQL makes up end so (ChooseConstraintName in the server's source).
    let made_up = database
        .column(
            "SELECT conrelid::regclass || ' ' || conname FROM pg_constraint \
             WHERE connamespace = 'public'::regnamespace AND conrelid <> 0 \
             AND conrelid::regclass::text NOT LIKE '\\_\\_diesel%' \
             AND conname ~ '_(check|fkey|key|pkey|excl|not_null)[0-9]*$'",
        )
        .await;
    assert_eq!(made_up, Vec::<String>::new());
    let count = database
        .column("SELECT count(*) FROM pg_constraint WHERE connamespace = 'public'::regnamespace")
        .await;
    assert!(
        count[0].parse::<u32>().expect("a number") > 50,
        "too few constraints were looked at"
    );
}

#[actix_web::test]
async fn every_table_and_function_says_what_it_is() {
    let database = Database::new().await;
    let silent = database
        .column(
            "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace \
             AND relkind IN ('r', 'p', 'v', 'm') AND relname NOT LIKE '\\_\\_diesel%' \
             AND obj_description(oid, 'pg_class') IS NULL \
             UNION ALL SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace \
             AND obj_description(oid, 'pg_proc') IS NULL",
        )
        .await;
    assert_eq!(silent, Vec::<String>::new());
}

#[actix_web::test]
async fn every_row_of_a_facility_is_behind_row_level_security() {
    let database = Database::new().await;
    let open = database
        .column(
            "SELECT c.relname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid \
             WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p') \
             AND a.attname = 'facility_id' AND NOT c.relrowsecurity ORDER BY 1",
        )
        .await;
    // The login is looked up before anybody is signed in, and the table holds nothing else.
    assert_eq!(open, ["logins"]);
    let without_facility = database
        .column(
            "SELECT relname FROM pg_class c WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') \
             AND relname NOT LIKE '\\_\\_diesel%' AND NOT EXISTS (SELECT FROM pg_attribute a \
             WHERE a.attrelid = c.oid AND a.attname = 'facility_id') ORDER BY 1",
        )
        .await;
    assert_eq!(
        without_facility,
        ["facilities", "installation", "token_keys"]
    );
}
