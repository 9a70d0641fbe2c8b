//! The record of a case: what a signature is over.

use crate::harness::Suite;
use crate::harness::client::{Client, text, version};
use crate::harness::people::PASSWORD;
use crate::harness::record::on_case;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

/// A signed case with one of everything on it, an unread scan and an unopened return too.
pub(super) async fn signed_with_everything(suite: &Suite) -> String {
    let case = suite.case().await;
    on_case(suite, &case).await;
    suite.scan_text(&case, "Robin Example").await;
    let path = format!("/v1/cases/{case}/checks");
    let checks = suite.circulator.get(&path).await.expect(200);
    let check = format!("{path}/{}/confirm", text(&checks["items"][0], "id"));
    suite
        .practitioner
        .post(&check, &json!({}))
        .await
        .expect(200);
    let mixes = suite
        .circulator
        .get(&format!("/v1/mixes?case_id={case}"))
        .await
        .expect(200);
    let mix = &mixes["items"][0];
    let close = json!({"discarded_ml": "0", "left_ml": "0", "explanation": "None was left"});
    let path = format!("/v1/mixes/{}/close", text(mix, "id"));
    suite
        .circulator
        .change(&path, version(mix), &close)
        .await
        .expect(200);
    let pad = suite.cannula().await;
    let scan = suite.scan(&case, &pad.of_lot("P")).await;
    suite.dispose(&case, &scan, "opened_unused").await;
    let other = suite.scan(&case, &pad.of_lot("Q")).await;
    suite.strike(&case, &text(&other, "id")).await;
    suite.advance(&case, "start").await;
    suite.advance(&case, "complete").await;
    sign(suite, &case).await;
    case
}

pub(super) async fn sign(suite: &Suite, case: &str) -> Value {
    let body = json!({"meaning": "Record reviewed", "password": PASSWORD});
    let shown = suite.show(case).await;
    let path = format!("/v1/cases/{case}/sign");
    let signed = suite
        .practitioner
        .change(&path, version(&shown), &body)
        .await;
    signed.expect(201)
}

/// The row of the case that is signed.
const OWN: &str = "id IN (SELECT case_id FROM signatures)";

/// What somebody with every right to the database changes: table, column, which row, new value.
const CHANGES: &[(&str, &str, &str, &str)] = &[
    ("cases", "procedure_name", OWN, "procedure_name || '.'"),
    ("cases", "started_at", OWN, "started_at - interval '1s'"),
    ("cases", "ended_at", OWN, "ended_at + interval '1s'"),
    ("cases", "version", OWN, "version + 1"),
    ("scans", "actor", "verdict = 'taken'", "actor || '.'"),
    ("scans", "text", "verdict = 'taken'", "text || '.'"),
    ("scans", "lot_id", "verdict = 'taken'", "id"),
    ("scans", "findings", "true", "'[{\"slug\": \"expired\"}]'"),
    (
        "uses",
        "disposition",
        "disposition = 'opened_unused'",
        "'failed'",
    ),
    (
        "uses",
        "disposition_reason",
        "disposition = 'opened_unused'",
        "'Other'",
    ),
    ("strikes", "reason", "true", "reason || '.'"),
    ("mixes", "written_order", "true", "written_order || '.'"),
    (
        "mixes",
        "use_within_minutes",
        "true",
        "use_within_minutes + 1",
    ),
    (
        "mixes",
        "order_hash",
        "true",
        "set_byte(order_hash, 0, 255 - get_byte(order_hash, 0))",
    ),
    ("mixes", "use_by", "true", "use_by + interval '1s'"),
    ("mixes", "checked_at", "true", "checked_at + interval '1s'"),
    ("mixes", "left_ml", "true", "left_ml + 1"),
    ("mixes", "explanation", "true", "explanation || '.'"),
    ("mix_ingredients", "volume_ml", "true", "volume_ml + 1"),
    (
        "mix_ingredients",
        "strengths",
        "true",
        "'[{\"substance\": \"lidocaine\", \"mg_per_ml\": \"10\"}]'",
    ),
    ("mix_doses", "zone", "true", "zone || '.'"),
    ("mix_doses", "volume_ml", "true", "volume_ml - 1"),
    ("gas_uses", "minutes", "true", "minutes + 1"),
    ("gas_uses", "zone", "true", "zone || '.'"),
    ("energy_log", "passes", "true", "passes + 1"),
    ("energy_log", "active_seconds", "true", "active_seconds + 1"),
    (
        "energy_log",
        "max_skin_celsius",
        "true",
        "max_skin_celsius + 1",
    ),
    ("energy_log", "notes", "true", "'Another'"),
    (
        "case_checks",
        "lines",
        "true",
        "'[{\"item\": \"Site\", \"answer\": \"no\"}]'",
    ),
    ("case_checks", "confirmed_at", "true", "now()"),
    ("equipment_uses", "scanned", "true", "NOT scanned"),
    ("equipment_runs", "minutes", "true", "minutes + 1"),
    ("picks", "quantity", "true", "quantity + 1"),
    ("picks", "kind", "true", "'returned'"),
    (
        "ledger_entries",
        "body",
        "action = 'open_case' AND case_id IN (SELECT case_id FROM signatures)",
        "convert_to(replace(convert_from(body, 'UTF8'), '\"name\":\"', '\"name\":\"A'), 'UTF8')",
    ),
    (
        "ledger_entries",
        "body",
        "action = 'record_scan' AND convert_from(body, 'UTF8') LIKE '%commitments%'",
        "convert_to(replace(convert_from(body, 'UTF8'), '\"text\":\"', '\"text\":\"A'), 'UTF8')",
    ),
];

/// Makes one change, gives what `look` saw meanwhile, and takes the change back.
async fn while_changed<T>(
    suite: &Suite,
    (table, column, which, value): (&str, &str, &str, &str),
    look: impl AsyncFnOnce() -> T,
) -> T {
    let database = &suite.service.site.database;
    let superuser = database.superuser().await;
    let row = format!(
        "SELECT ctid, pg_typeof({column}), quote_nullable({column}::text) FROM {table}
         WHERE {which} AND {column}::text IS DISTINCT FROM ({value})::text ORDER BY 1 LIMIT 1"
    );
    let row = database.rows(&row).await.pop();
    let row = row.unwrap_or_else(|| panic!("{table} has no row where {which}"));
    let [Some(place), Some(kind), Some(old)] = &row[..] else {
        panic!("{table}.{column}: {row:?}");
    };
    let change = format!(
        "ALTER TABLE {table} DISABLE TRIGGER ALL;
         CREATE TEMPORARY TABLE changed (place tid);
         WITH one AS (UPDATE {table} SET {column} = {value} WHERE ctid = '{place}' RETURNING ctid)
         INSERT INTO changed SELECT ctid FROM one"
    );
    let done = superuser.batch_execute(&change).await;
    done.unwrap_or_else(|error| panic!("{table}.{column}: {error}"));
    let seen = look().await;
    let back = format!(
        "UPDATE {table} SET {column} = {old}::{kind} FROM changed WHERE {table}.ctid = place"
    );
    superuser.batch_execute(&back).await.expect("the way back");
    seen
}

#[actix_web::test]
async fn a_signature_binds_every_part_of_the_record() {
    // 21 CFR 11.70: a signature is linked to its record, so that it cannot stand for another one.
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let signed = suite.show(&case).await;
    assert_eq!(signed["signatures"][0]["unchanged"], true);
    assert_eq!(signed["signatures"][0]["record_version"], 2);
    for change in CHANGES {
        let look = async || suite.show(&case).await;
        let meanwhile = while_changed(&suite, *change, look).await;
        assert_ne!(
            meanwhile["record_hash"], signed["record_hash"],
            "{change:?}"
        );
        assert_eq!(meanwhile["signatures"][0]["unchanged"], false, "{change:?}");
        let after = suite.show(&case).await;
        assert_eq!(after["record_hash"], signed["record_hash"], "{change:?}");
    }
}

async fn record(caller: &Client, case: &str) -> (Value, String) {
    let path = format!("/v1/cases/{case}/record");
    let shown = caller.get(&path).await.expect(200);
    let record = text(&shown, "record");
    (shown, record)
}

#[actix_web::test]
async fn the_record_that_is_signed_can_be_read_and_hashed_by_anybody() {
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let (shown, record) = record(&suite.compliance, &case).await;
    assert_eq!(hex(record.as_bytes()), text(&shown, "record_hash"));
    let signatures = suite.show(&case).await;
    assert_eq!(
        signatures["signatures"][0]["record_hash"],
        shown["record_hash"]
    );
    let parsed: Value = serde_json::from_str(&record).expect("JSON");
    for part in [
        "checks",
        "commitments",
        "energy",
        "equipment",
        "equipment_runs",
        "gas",
        "lots",
        "mixes",
        "picks",
        "scans",
    ] {
        let part = parsed[part]
            .as_array()
            .unwrap_or_else(|| panic!("no {part}"));
        assert!(!part.is_empty());
    }
    for identity in ["Robin", "Example", "MRN-", "1984-02-29", "\"60\""] {
        assert!(!record.contains(identity), "{identity} is in the record");
    }
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    let digest = Sha256::digest(bytes);
    digest.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[actix_web::test]
async fn a_signature_over_the_former_form_of_the_record_stays_checkable() {
    let suite = Suite::start().await;
    let case = signed_with_everything(&suite).await;
    let (_, record) = record(&suite.compliance, &case).await;
    let mut former: Value = serde_json::from_str(&record).expect("JSON");
    let members = former.as_object_mut().expect("an object");
    for part in [
        "checks",
        "commitments",
        "energy",
        "equipment",
        "equipment_runs",
        "gas",
        "lots",
        "mixes",
        "picks",
    ] {
        members.remove(part).expect("a part");
    }
    members.insert("v".to_owned(), json!(1));
    // Keys are sorted in both; the form has no number that RFC 8785 writes otherwise.
    let former = hex(former.to_string().as_bytes());
    let superuser = suite.service.site.database.superuser().await;
    let older = format!(
        "INSERT INTO signatures SELECT facility_id, gen_random_uuid(), case_id, person_id, name, 'Reviewed', '\\x{former}', signed_at, position, 1 FROM signatures"
    );
    superuser.batch_execute(&older).await.expect("a row");
    let unchanged = async || {
        let shown = suite.show(&case).await;
        let signatures = shown["signatures"].as_array().expect("signatures").clone();
        signatures
            .iter()
            .map(|one| (one["record_version"].as_i64(), one["unchanged"].as_bool()))
            .collect::<std::collections::BTreeMap<_, _>>()
    };
    let both = |first, second| [(Some(1), Some(first)), (Some(2), Some(second))].into();
    assert_eq!(unchanged().await, both(true, true));
    let scan = ("scans", "actor", "verdict = 'taken'", "actor || '.'");
    assert_eq!(
        while_changed(&suite, scan, unchanged).await,
        both(false, false)
    );
    let energy = ("energy_log", "passes", "true", "passes + 1");
    assert_eq!(
        while_changed(&suite, energy, unchanged).await,
        both(true, false)
    );
}

#[actix_web::test]
async fn the_record_says_until_when_it_is_kept_and_by_which_rule() {
    // trade.md 5.3: the latest of the state's years, 45 CFR 164.316(b)(2)(i) (six years) and
    // 21 CFR 803.18(c) (two years from the event); nothing is assumed of the state.
    let suite = Suite::start().await;
    let path = |case: &str| format!("/v1/cases/{case}/record");
    let bare = suite.case().await;
    let shown = suite.compliance.get(&path(&bare)).await.expect(200);
    assert_eq!(shown["retention"]["until"], Value::Null);
    let rules = &shown["retention"]["rules"];
    assert_eq!(rules.as_array().map(Vec::len), Some(1));
    assert_eq!(rules[0]["rule"], "required_documentation");
    // Planned for 2026-03-11.
    assert_eq!(rules[0]["until"], "2032-03-11");
    let case = signed_with_everything(&suite).await;
    let shown = suite.compliance.get(&path(&case)).await.expect(200);
    let day = suite.service.site.clock.reading();
    let day = day.to_zoned(jiff::tz::TimeZone::UTC).date();
    let until = day.saturating_add(jiff::Span::new().years(7));
    assert_eq!(shown["retention"]["until"], until.to_string());
    let rules = shown["retention"]["rules"].as_array().expect("rules");
    let rules: Vec<_> = rules.iter().map(|rule| text(rule, "rule")).collect();
    let named = [
        "state_medical_record",
        "required_documentation",
        "device_report_file",
    ];
    assert_eq!(rules, named);
}
