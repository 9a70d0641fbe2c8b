//! The program as a person or a script meets it.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use std::{
    fs,
    io::Write,
    path::PathBuf,
    process::{Command, Output, Stdio},
};

use serde_json::Value;

#[path = "../../../ledger/tests/ledger/sample.rs"]
mod sample;

use sample::{Sample, reseal};

fn run(arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_lotwarden-verify"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The program may stop before it has read all of it.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap()
}

fn edited() -> String {
    reseal(&Sample::new(10).parcel().replacen("L004", "L904", 1))
}

#[test]
fn a_valid_parcel_is_described_with_its_head() {
    let sample = Sample::new(10);
    let file = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("valid.parcel");
    fs::write(&file, sample.parcel()).unwrap();
    let output = run(&["parcel", file.to_str().unwrap()], "");
    assert_eq!(output.status.code(), Some(0));
    let shown = text(&output.stdout);
    assert!(shown.starts_with("valid\n"), "{shown}");
    assert!(shown.contains(&sample.head.hash.to_string()), "{shown}");
    assert!(shown.contains("positions 0 to 11"), "{shown}");
    assert_eq!(text(&output.stderr), "");
}

#[test]
fn standard_input_and_json_serve_a_script() {
    let sample = Sample::new(10);
    let output = run(&["parcel", "--json", "-"], &sample.parcel());
    assert_eq!(output.status.code(), Some(0));
    let report = json(&output);
    assert_eq!(report["valid"], true);
    assert_eq!(report["report"]["head"], sample.head.hash.to_string());
    assert_eq!(report["report"]["withheld"], 8);
}

#[test]
fn the_first_entry_that_does_not_fit_is_named() {
    let output = run(&["parcel", "-"], &edited());
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(text(&output.stdout), "");
    assert!(text(&output.stderr).starts_with("not valid: entry 5: its link is not"));
    let output = run(&["parcel", "-", "--json"], &edited());
    assert_eq!(output.status.code(), Some(1));
    let report = json(&output);
    assert_eq!(
        (&report["valid"], &report["checked"]),
        (&false.into(), &true.into())
    );
    assert_eq!(report["position"], 5);
}

#[test]
fn what_cannot_be_checked_has_its_own_status() {
    let output = run(&["parcel", "/nowhere/at.all"], "");
    assert_eq!(output.status.code(), Some(2));
    let shown = text(&output.stderr);
    assert!(
        shown.starts_with("not checked: the parcel cannot be read: "),
        "{shown}"
    );
    let output = run(&["parcel", "-", "--json"], "another file\n");
    assert_eq!(output.status.code(), Some(2));
    let report = json(&output);
    assert_eq!(
        (&report["valid"], &report["checked"]),
        (&false.into(), &false.into())
    );
    assert_eq!(run(&[], "").status.code(), Some(2));
}

#[test]
fn help_shows_examples() {
    for arguments in [&["--help"][..], &["parcel", "--help"]] {
        let output = run(arguments, "");
        assert_eq!(output.status.code(), Some(0));
        assert!(text(&output.stdout).contains("lotwarden-verify parcel facility.parcel"));
    }
}
