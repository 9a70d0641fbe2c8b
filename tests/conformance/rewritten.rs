//! A ledger that its database's owner changed behind the service: verification names the place.

use crate::harness::Suite;
use lotwarden_store::ledger::{VerifyError, verify_all};

/// Makes a change that takes every right there is, and gives the first entry that does not fit then.
async fn found(suite: &Suite, change: &str) -> u64 {
    let site = &suite.service.site;
    let superuser = site.database.superuser().await;
    // Only a superuser who turns the triggers off by name gets this far.
    let off = "ALTER TABLE ledger_entries DISABLE TRIGGER ALL; ALTER TABLE ledger_heads DISABLE TRIGGER ALL";
    superuser.batch_execute(off).await.expect("a superuser may");
    superuser
        .batch_execute("BEGIN")
        .await
        .expect("a transaction");
    superuser
        .batch_execute(change)
        .await
        .unwrap_or_else(|error| panic!("{change}: {error}"));
    superuser.batch_execute("COMMIT").await.expect("a commit");
    let database = lotwarden_store::Database::new(&site.database.service_url(), 1).expect("a pool");
    match verify_all(&database, site.facility, |_| ()).await {
        Err(VerifyError::DoesNotFit { position, .. }) => position,
        Err(other) => panic!("{change}: {other}"),
        Ok(verified) => panic!("{change}: every one of {} entries fits", verified.size),
    }
}

async fn suite_with_entries() -> (Suite, u64) {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("A")).await;
    let size = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .len() as u64;
    assert!(size > 5);
    (suite, size)
}

#[actix_web::test]
async fn an_untouched_ledger_verifies_to_its_head() {
    let (suite, size) = suite_with_entries().await;
    let site = &suite.service.site;
    let database = lotwarden_store::Database::new(&site.database.service_url(), 1).expect("a pool");
    let verified = verify_all(&database, site.facility, |_| ())
        .await
        .expect("every entry fits");
    assert_eq!((verified.size, verified.checked), (size, size));
}

#[actix_web::test]
async fn a_changed_body_is_found_where_it_stands() {
    let (suite, _) = suite_with_entries().await;
    let change = "UPDATE ledger_entries SET body = convert_to(replace(convert_from(body, 'UTF8'), 'person', 'nobody'), 'UTF8') WHERE position = 4";
    assert_eq!(found(&suite, change).await, 4);
}

#[actix_web::test]
async fn a_body_changed_together_with_its_hash_is_found_at_the_next_link() {
    let (suite, _) = suite_with_entries().await;
    let change = "UPDATE ledger_entries SET body = convert_to(replace(convert_from(body, 'UTF8'), 'role', 'rule'), 'UTF8') WHERE position = 1; \
         UPDATE ledger_entries SET hash = sha256('\\x00'::bytea || body) WHERE position = 1";
    assert_eq!(found(&suite, change).await, 2);
}

#[actix_web::test]
async fn a_column_that_does_not_say_what_the_body_says_is_found() {
    for change in [
        "action = 'sign_out'",
        "actor = 'nobody'",
        "subject = 'case:0'",
        "at = at + interval '1 second'",
    ] {
        let (suite, _) = suite_with_entries().await;
        let change = format!("UPDATE ledger_entries SET {change} WHERE position = 3");
        assert_eq!(found(&suite, &change).await, 3, "{change}");
    }
}

#[actix_web::test]
async fn a_removed_entry_is_missed() {
    let (suite, _) = suite_with_entries().await;
    assert_eq!(
        found(&suite, "DELETE FROM ledger_entries WHERE position = 3").await,
        3
    );
}

#[actix_web::test]
async fn a_cut_end_is_missed_as_long_as_the_head_stands() {
    let (suite, size) = suite_with_entries().await;
    let cut = format!("DELETE FROM ledger_entries WHERE position = {}", size - 1);
    assert_eq!(found(&suite, &cut).await, size - 1);
}

#[actix_web::test]
async fn a_head_that_was_set_back_leaves_entries_beyond_it() {
    let (suite, size) = suite_with_entries().await;
    let back = format!(
        "UPDATE ledger_heads h SET size = {0}, hash = e.hash, at = e.at FROM ledger_entries e \
         WHERE e.facility_id = h.facility_id AND e.position = {0} - 1",
        size - 2
    );
    assert_eq!(found(&suite, &back).await, size - 2);
}
