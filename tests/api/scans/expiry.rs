//! The printed day, the facility's zone, and labels with a month only.

use crate::harness::Suite;
use crate::harness::clock::instant;
use crate::harness::labels::Label;
use crate::harness::service::Setup;
use crate::harness::suite::{judged, on_case};
use serde_json::json;

async fn suite_at(zone: &'static str, now: &'static str) -> Suite {
    Suite::with(Setup {
        zone,
        now,
        ..Setup::default()
    })
    .await
}

/// Scans a fresh piece with this expiry on a fresh case at this instant.
async fn scan_at(suite: &Suite, gtin: &str, expiry: &str, at: &str) -> serde_json::Value {
    let text = Label::of(gtin).expiry(expiry).lot("E").text();
    scan_text_at(suite, &text, at).await
}

/// Scans these characters on a fresh case at this instant.
async fn scan_text_at(suite: &Suite, text: &str, at: &str) -> serde_json::Value {
    suite.service.site.clock.set(instant(at));
    // The clock was set, so the old tokens are from another time.
    let facility = suite.service.site.facility;
    let circulator = suite
        .service
        .caller(facility, &[lotwarden_domain::access::Role::Circulator])
        .await;
    let case = suite.circulator_case(&circulator).await;
    circulator
        .post(&format!("/v1/cases/{case}/scans"), &json!({"text": text}))
        .await
        .expect(201)
}

#[actix_web::test]
async fn an_item_is_usable_through_its_printed_day_and_stopped_the_day_after() {
    let suite = suite_at("UTC", "2026-03-01T08:00:00Z").await;
    let cannula = suite.cannula().await;
    suite
        .receive(&Label::of(&cannula.gtin).expiry("260331").lot("E"), 5)
        .await;
    let last_day = scan_at(&suite, &cannula.gtin, "260331", "2026-03-31T23:59:59Z").await;
    judged(&last_day, "look", &["expires_soon"]);
    assert!(on_case(&last_day));
    assert!(
        last_day["findings"][0]["sentence"]
            .as_str()
            .is_some_and(|text| text.contains("today"))
    );
    let day_after = scan_at(&suite, &cannula.gtin, "260331", "2026-04-01T00:00:00Z").await;
    judged(&day_after, "stop", &["expired"]);
    assert!(!on_case(&day_after));
    assert!(
        day_after["findings"][0]["sentence"]
            .as_str()
            .is_some_and(|text| text.contains("2026-03-31"))
    );
}

#[actix_web::test]
async fn west_of_utc_the_printed_day_ends_at_local_midnight() {
    let suite = suite_at("America/Los_Angeles", "2026-03-30T20:00:00Z").await;
    let cannula = suite.cannula().await;
    suite
        .receive(&Label::of(&cannula.gtin).expiry("260331").lot("E"), 5)
        .await;
    // 23:30 of 31 March in Los Angeles (UTC-7, daylight saving time) is 06:30 of 1 April in UTC.
    let evening = scan_at(&suite, &cannula.gtin, "260331", "2026-04-01T06:30:00Z").await;
    judged(&evening, "look", &["expires_soon"]);
    let midnight = scan_at(&suite, &cannula.gtin, "260331", "2026-04-01T07:00:00Z").await;
    judged(&midnight, "stop", &["expired"]);
}

#[actix_web::test]
async fn east_of_utc_the_printed_day_ends_before_it_does_in_utc() {
    let suite = suite_at("Pacific/Auckland", "2026-03-30T20:00:00Z").await;
    let cannula = suite.cannula().await;
    suite
        .receive(&Label::of(&cannula.gtin).expiry("260331").lot("E"), 5)
        .await;
    // 00:00 of 1 April in Auckland (UTC+13, daylight saving time) is 11:00 of 31 March in UTC.
    let before = scan_at(&suite, &cannula.gtin, "260331", "2026-03-31T10:59:00Z").await;
    judged(&before, "look", &["expires_soon"]);
    let after = scan_at(&suite, &cannula.gtin, "260331", "2026-03-31T11:00:00Z").await;
    judged(&after, "stop", &["expired"]);
}

#[actix_web::test]
async fn a_label_with_a_month_only_is_good_through_the_last_day_of_the_month() {
    // GS1 General Specifications, 3.4.7: with day 00 the date is the last day of the month,
    // leap years included.
    let suite = suite_at("UTC", "2026-12-01T08:00:00Z").await;
    let cannula = suite.cannula().await;
    suite
        .receive(&Label::of(&cannula.gtin).expiry("270300").lot("E"), 5)
        .await;
    let read = scan_at(&suite, &cannula.gtin, "270300", "2027-03-31T12:00:00Z").await;
    assert_eq!(read["label"]["expires_on"], "2027-03-31");
    judged(&read, "look", &["day_not_on_label", "expires_soon"]);
    let after = scan_at(&suite, &cannula.gtin, "270300", "2027-04-01T00:00:00Z").await;
    judged(&after, "stop", &["expired", "day_not_on_label"]);
}

#[actix_web::test]
async fn february_without_a_day_ends_on_the_29th_in_a_leap_year() {
    let suite = suite_at("UTC", "2027-12-01T08:00:00Z").await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    let scan = suite
        .scan(&case, &Label::of(&cannula.gtin).expiry("280200").lot("E"))
        .await;
    assert_eq!(scan["label"]["expires_on"], "2028-02-29");
}

#[actix_web::test]
async fn an_item_close_to_its_day_is_shown_as_the_policy_says() {
    let suite = suite_at("UTC", "2026-03-01T08:00:00Z").await;
    let cannula = suite.cannula().await;
    // 30 days are the policy's start: 31 March is the 30th day after 1 March, 1 April the 31st.
    for (expiry, slugs) in [("260331", &["expires_soon"][..]), ("260401", &[][..])] {
        suite
            .receive(&Label::of(&cannula.gtin).expiry(expiry).lot(expiry), 1)
            .await;
        let case = suite.case().await;
        let scan = suite
            .scan(&case, &Label::of(&cannula.gtin).expiry(expiry).lot(expiry))
            .await;
        judged(
            &scan,
            if slugs.is_empty() { "taken" } else { "look" },
            slugs,
        );
    }
}

#[actix_web::test]
async fn a_scan_that_a_station_held_is_judged_by_the_day_it_was_scanned() {
    let suite = suite_at("UTC", "2026-04-02T08:00:00Z").await;
    let cannula = suite.cannula().await;
    suite
        .receive(&Label::of(&cannula.gtin).expiry("260331").lot("E"), 5)
        .await;
    let case = suite.case().await;
    let label = Label::of(&cannula.gtin).expiry("260331").lot("E").text();
    let held = suite
        .scan_body(
            &case,
            &json!({"text": label, "occurred_at": "2026-03-31T15:00:00Z"}),
        )
        .await;
    judged(&held, "look", &["expires_soon"]);
    assert_eq!(held["occurred_at"], "2026-03-31T15:00:00.000000Z");
    let path = format!("/v1/cases/{case}/scans");
    for outside in ["2026-03-30T07:59:59Z", "2026-04-02T09:00:00Z"] {
        let body = json!({"text": label, "occurred_at": outside});
        let problem = suite
            .circulator
            .post(&path, &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/occurred_at");
    }
}

// GS1 General Specifications, AI (7003) expiration date and time: local time of the facility, because
// the label names no zone; usable through the printed minute: common practice, no source.
#[actix_web::test]
async fn a_printed_time_ends_the_day_in_the_facility_s_zone() {
    let suite = suite_at("America/Los_Angeles", "2026-03-31T14:00:00Z").await;
    let cannula = suite.cannula().await;
    let text = format!("]d201{}10E\u{1d}70032603310800", cannula.gtin);
    let line = json!({"text": text, "quantity": 5, "location_id": suite.shelf});
    suite
        .materials
        .post("/v1/receipts", &json!({"lines": [line]}))
        .await
        .expect(201);
    // 08:00 in Los Angeles (UTC-7, daylight saving time) is 15:00 in UTC.
    let usable = scan_text_at(&suite, &text, "2026-03-31T15:00:59Z").await;
    judged(&usable, "look", &["expires_soon"]);
    let stopped = scan_text_at(&suite, &text, "2026-03-31T15:01:00Z").await;
    judged(&stopped, "stop", &["expired"]);
    assert_eq!(
        stopped["findings"][0]["sentence"],
        "Expired: the label says 2026-03-31, 08:00."
    );
}
