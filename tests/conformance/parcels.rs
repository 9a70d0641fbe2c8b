//! Parcels: checked offline by the project's own verifier and by a second one in another language,
//! `verify_parcel.py`, which was written from the format's description alone.

use crate::harness::binaries::lotwarden_verify;
use crate::harness::rows::one_of_everything;
use crate::harness::{Reply, Service, Suite, root};
use serde_json::{Value, json};
use std::process::Command;

/// A file under the system's directory for such, removed with this value.
pub struct File(std::path::PathBuf);

impl File {
    pub fn of(bytes: &[u8]) -> Self {
        let path = std::env::temp_dir().join(format!("lotwarden-parcel-{}", uuid::Uuid::new_v4()));
        std::fs::write(&path, bytes).expect("a file can be written");
        Self(path)
    }
}

impl Drop for File {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

/// What a verifier says: its exit status and its JSON object.
fn run(command: &mut Command) -> (i32, Value) {
    let output = command
        .output()
        .unwrap_or_else(|error| panic!("{command:?}: {error}"));
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let report = serde_json::from_str(text.trim());
    let report = report.unwrap_or_else(|_| {
        panic!(
            "{command:?}: {text} {}",
            String::from_utf8_lossy(&output.stderr)
        )
    });
    (output.status.code().expect("an exit status"), report)
}

pub fn own(parcel: &File) -> (i32, Value) {
    run(Command::new(lotwarden_verify())
        .args(["parcel", "--json"])
        .arg(&parcel.0))
}

pub fn second(parcel: &File) -> (i32, Value) {
    let program = root().join("tests/conformance/verify_parcel.py");
    run(Command::new("python3").arg(program).arg(&parcel.0))
}

/// A suite with one of everything, and its parcel.
async fn exported(with_identity: bool) -> (Suite, Value, Reply) {
    let suite = one_of_everything(Service::start().await).await;
    let body = json!({"reason": "A test of parcels", "with_identity": with_identity});
    let parcel = suite
        .compliance
        .post("/v1/ledger/parcels", &body)
        .await
        .expect(201);
    let path = parcel["download"].as_str().expect("a path").to_owned();
    let fetched = suite.compliance.get(&path).await;
    assert_eq!(fetched.status, 200, "{}", fetched.text());
    (suite, parcel, fetched)
}

#[actix_web::test]
async fn a_parcel_is_valid_by_two_independent_verifiers() {
    let (_suite, parcel, fetched) = exported(false).await;
    let file = File::of(&fetched.body);
    let (status, report) = own(&file);
    assert_eq!((status, &report["valid"]), (0, &json!(true)), "{report}");
    let report = &report["report"];
    assert_eq!(report["entries"], parcel["entries"]);
    assert_eq!(report["head"], parcel["entry"]["hash"]);
    assert_eq!(
        (&report["cases"], &report["signatures"]),
        (&json!(2), &json!(1))
    );
    assert_eq!(report["disclosed"], 0);
    assert!(
        report["withheld"]
            .as_u64()
            .is_some_and(|withheld| withheld >= 3)
    );
    let (status, report) = second(&file);
    assert_eq!((status, &report["valid"]), (0, &json!(true)), "{report}");
    assert_eq!(report["head"], parcel["entry"]["hash"]);
    assert_eq!(report["entries"], parcel["entries"]);
}

#[actix_web::test]
async fn a_parcel_with_identity_discloses_what_re_hashes_to_the_commitments() {
    let (_suite, _, fetched) = exported(true).await;
    let text = fetched.text();
    assert!(text.contains("Example, Robin") && text.contains("MRN-004217"));
    assert!(
        text.contains("EXAMPLE*ROBIN*19840229"),
        "the characters of the unread scan are missing"
    );
    let file = File::of(&fetched.body);
    for (status, report) in [own(&file), second(&file)] {
        assert_eq!((status, &report["valid"]), (0, &json!(true)), "{report}");
        let report = report.get("report").unwrap_or(&report);
        assert!(
            report["disclosed"]
                .as_u64()
                .is_some_and(|disclosed| disclosed >= 3),
            "{report}"
        );
        assert_eq!(report["withheld"], 0);
    }
}

#[actix_web::test]
async fn a_parcel_without_identity_holds_none() {
    let (_suite, _, fetched) = exported(false).await;
    let text = fetched.text();
    for part in [
        "Example, Robin",
        "MRN-004217",
        "1984-02-29",
        "EXAMPLE*ROBIN",
    ] {
        assert!(
            !text.contains(part),
            "{part} stands in a parcel without identity"
        );
    }
}

#[actix_web::test]
async fn the_same_parcel_is_fetched_again_although_the_case_moved_on() {
    let (suite, parcel, first) = exported(false).await;
    let case = suite.case().await;
    suite.scan_text(&case, "another reading").await;
    let path = parcel["download"].as_str().expect("a path");
    let before = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .len();
    let again = suite.compliance.get(path).await;
    assert_eq!(again.body, first.body);
    let entries = suite.service.entries(suite.service.site.facility).await;
    assert_eq!(entries.len(), before + 1);
    assert!(
        entries
            .last()
            .expect("an entry")
            .1
            .starts_with(r#"{"action":"show_parcel""#)
    );
}

/// Where the entry at a position stands in a parcel that starts at 0: after three lines.
const FIRST_ENTRY: usize = 3;

#[actix_web::test]
async fn a_tampered_parcel_is_refused_by_both_verifiers_naming_the_entry() {
    let (_suite, parcel, fetched) = exported(true).await;
    let text = fetched.text();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let entries = parcel["entries"].as_u64().expect("a number") as usize;
    let last = entries - 1;
    let scan = lines
        .iter()
        .position(|line| line.contains(r#""action":"record_scan""#))
        .expect("a scan");
    let with = |at: usize, line: String| {
        let mut lines: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
        lines[at] = line;
        lines.concat()
    };
    let without = |at: usize| {
        let mut lines = lines.clone();
        lines.remove(at);
        lines.concat()
    };
    let swapped = |one: usize, two: usize| {
        let mut lines = lines.clone();
        lines.swap(one, two);
        lines.concat()
    };
    let position = scan - FIRST_ENTRY;
    let tampered = [
        // A value changed: the entry after it does not link to it any more.
        (
            "a changed lot",
            with(scan, lines[scan].replace(r#""lot":"A""#, r#""lot":"B""#)),
            Some(position + 1),
        ),
        (
            "a changed time",
            with(
                scan,
                lines[scan].replacen(r#""at":"2026"#, r#""at":"2025"#, 1),
            ),
            Some(position),
        ),
        (
            "a member in another order",
            with(scan, reordered(lines[scan])),
            Some(position),
        ),
        (
            "a space",
            with(scan, lines[scan].replacen(':', ": ", 1)),
            Some(position),
        ),
        ("a removed entry", without(scan), Some(position)),
        ("swapped entries", swapped(scan, scan + 1), Some(position)),
        (
            "a repeated entry",
            with(scan + 1, lines[scan].to_owned()),
            Some(position + 1),
        ),
        (
            "another reason in the last entry",
            with(
                FIRST_ENTRY + last,
                lines[FIRST_ENTRY + last].replace("A test of parcels", "Another reason"),
            ),
            Some(last),
        ),
        (
            "a case that is not the bound one",
            text.replace(
                "\"procedure\":\"Vein ablation, left leg\"",
                "\"procedure\":\"Something else\"",
            ),
            None,
        ),
        (
            "another name in a disclosure",
            replaced_last(&text, "Example, Robin", "Example, Robyn"),
            None,
        ),
        (
            "another meaning in a signature",
            replaced_last(
                &text,
                "Procedure performed and record reviewed",
                "Procedure witnessed",
            ),
            None,
        ),
        (
            "a changed end",
            with(lines.len() - 1, "end ".to_owned() + &"0".repeat(64) + "\n"),
            None,
        ),
        ("bytes after the end", format!("{text}more\n"), None),
        ("a cut end", lines[..lines.len() - 1].concat(), None),
    ];
    for (how, changed, position) in tampered {
        assert_ne!(changed, text, "{how}: nothing was changed");
        let file = File::of(changed.as_bytes());
        let ((own_status, own), (second_status, second)) = (own(&file), second(&file));
        assert_eq!(
            (own_status, &own["valid"]),
            (1, &json!(false)),
            "{how}: {own}"
        );
        assert_eq!(
            (second_status, &second["valid"]),
            (1, &json!(false)),
            "{how}: {second}"
        );
        assert_eq!(own["position"], second["position"], "{how}: {own} {second}");
        if let Some(position) = position {
            assert_eq!(own["position"], position, "{how}: {own}");
        }
        assert!(
            !own.to_string().contains("Robyn"),
            "{how}: the report repeats a value"
        );
    }
}

/// The entry with its first two members changed over.
fn reordered(line: &str) -> String {
    let (first, rest) = line[1..].split_once(',').expect("two members");
    let (second, rest) = rest.split_once(',').expect("three members");
    format!("{{{second},{first},{rest}")
}

fn replaced_last(text: &str, from: &str, to: &str) -> String {
    let at = text
        .rfind(from)
        .unwrap_or_else(|| panic!("{from} is not in the parcel"));
    format!("{}{to}{}", &text[..at], &text[at + from.len()..])
}

#[actix_web::test]
async fn what_is_no_parcel_is_said_to_be_none() {
    for bytes in [&b""[..], b"lotwarden-parcel 2\n{}\n", b"\x00\xff\xfe"] {
        let file = File::of(bytes);
        let (status, report) = own(&file);
        assert_eq!((status, &report["valid"]), (2, &json!(false)), "{report}");
        assert_eq!(second(&file).0, 2);
    }
}

#[actix_web::test]
async fn a_receipt_that_somebody_kept_shows_a_chain_that_was_written_anew() {
    let (suite, _, fetched) = exported(false).await;
    let receipt = suite.circulator.get("/v1/ledger/head").await.expect(200);
    let text = fetched.text();
    // The entry with the kept hash follows from the parcel's bytes alone.
    let size = receipt["size"].as_u64().expect("a number") as usize;
    let entries: Vec<&str> = text
        .lines()
        .skip(FIRST_ENTRY)
        .take_while(|line| line.starts_with('{'))
        .collect();
    assert!(size > entries.len(), "the fetch itself is an entry");
    let (hash, body) = &suite.service.entries(suite.service.site.facility).await[entries.len() - 1];
    assert_eq!(entries[entries.len() - 1], body);
    let rewritten = body.replace("A test of parcels", "Another reason");
    let again = sha2::Digest::finalize(sha2::Digest::chain_update(
        sha2::Digest::chain_update(<sha2::Sha256 as sha2::Digest>::new(), [0]),
        rewritten,
    ));
    assert_ne!(super::chain::hex(&again), *hash);
}
