//! The attacks on a parcel, each judged by this crate and by the second verifier in Python.
use std::{fs, path::PathBuf, process::Command};

use lotwarden_ledger::{Head, parcel::verify};
use serde_json::Value;

use crate::sample::{Sample, ledger, reseal};

const SCRIPT: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../../tests/conformance/verify_parcel.py"
);

fn file(name: &str, text: &str) -> PathBuf {
    let file = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.parcel"));
    fs::write(&file, text).unwrap();
    file
}

/// Gives the exit status and the report of the Python verifier; none where there is no Python.
fn python(name: &str, text: &str) -> Option<(i32, Value)> {
    match Command::new("python3")
        .arg(SCRIPT)
        .arg(file(name, text))
        .output()
    {
        Ok(output) => {
            let report = serde_json::from_slice(&output.stdout);
            let errors = String::from_utf8_lossy(&output.stderr);
            Some((
                output.status.code().unwrap(),
                report.unwrap_or_else(|_| panic!("{errors}")),
            ))
        }
        Err(fault) => {
            eprintln!("skipped: the second verifier needs python3 ({fault})");
            None
        }
    }
}

/// Both verifiers must refuse the text and name the same entry.
fn refused(name: &str, text: &str, position: Option<u64>) {
    let fault = verify(text.as_bytes(), |_| {}).unwrap_err();
    assert_eq!(fault.position(), position, "{name}: {fault}");
    let status = if fault.is_unreadable() { 2 } else { 1 };
    if let Some((python_status, report)) = python(name, text) {
        assert_eq!(python_status, status, "{name}: {report}");
        assert_eq!(report["position"].as_u64(), position, "{name}: {report}");
    }
}

fn line(position: u64) -> usize {
    position as usize + 3
}

/// Applies a change to the lines and puts the last line right.
fn forged(change: impl FnOnce(&mut Vec<String>)) -> String {
    let mut lines: Vec<String> = Sample::new(10)
        .parcel()
        .lines()
        .map(str::to_owned)
        .collect();
    change(&mut lines);
    reseal(&(lines.join("\n") + "\n"))
}

fn edit(line: &mut String, from: &str, to: &str) {
    assert!(line.contains(from), "{line}");
    *line = line.replacen(from, to, 1);
}

#[test]
fn both_verifiers_take_an_untouched_parcel() {
    for (name, sample) in [
        ("whole", Sample::new(10)),
        ("later", Sample::after(&Sample::new(5).head, 4)),
        (
            "short",
            Sample {
                disclosed: vec![],
                ..Sample::after(&Head::empty(ledger()), 0)
            },
        ),
    ] {
        let text = sample.parcel();
        let report = serde_json::to_value(verify(text.as_bytes(), |_| {}).unwrap()).unwrap();
        if let Some((status, python)) = python(name, &text) {
            assert_eq!(status, 0, "{python}");
            let members = [
                "entries",
                "head",
                "cases",
                "signatures",
                "people",
                "disclosed",
                "withheld",
            ];
            for member in members {
                assert_eq!(report[member], python[member], "{member}");
            }
        }
    }
}

#[test]
fn an_edited_entry() {
    let text = forged(|lines| edit(&mut lines[line(4)], "L004", "L904"));
    refused("edited", &text, Some(5));
}

#[test]
fn an_edited_last_entry() {
    let text = forged(|lines| edit(&mut lines[line(11)], "person:7", "person:8"));
    refused("edited_last", &text, Some(11));
}

#[test]
fn an_entry_deleted_from_the_middle() {
    let text = forged(|lines| {
        lines.remove(line(4));
    });
    refused("deleted", &text, Some(4));
    let text = forged(|lines| {
        lines.remove(line(4));
        edit(&mut lines[1], "{\"entries\":12", "{\"entries\":11");
        edit(&mut lines[2], "entries 12", "entries 11");
    });
    refused("deleted_recounted", &text, Some(4));
}

#[test]
fn swapped_entries() {
    let text = forged(|lines| lines.swap(line(4), line(5)));
    refused("swapped", &text, Some(4));
}

#[test]
fn entries_cut_from_the_end() {
    let whole = Sample::new(10).parcel();
    let mut lines = whole.split_inclusive('\n');
    let cut: String = lines.by_ref().take(line(8)).collect();
    refused("cut", &cut, Some(8));
    let half = lines.next().unwrap();
    refused("cut_in_a_line", &(cut + &half[..half.len() / 2]), Some(8));
    let text = forged(|lines| {
        lines.drain(line(8)..=line(11));
    });
    refused("tail_removed", &text, Some(8));
}

#[test]
fn a_tail_cut_with_the_header_made_to_fit() {
    let mut sample = Sample::new(10);
    sample.entries.truncate(9);
    let last = sample.entries.last().unwrap();
    (sample.head.size, sample.head.hash, sample.head.at) = (9, last.hash, Some(last.at));
    refused("tail_cut", &sample.parcel(), Some(8));
}

#[test]
fn changed_attachments() {
    let changes: [fn(&mut Vec<String>); 4] = [
        |lines| edit(&mut lines[line(13)], "\"room\":\"2\"", "\"room\":\"3\""),
        |lines| {
            lines.remove(line(13));
            edit(&mut lines[line(12)], "cases 2", "cases 1");
        },
        |lines| edit(&mut lines[line(18)], "Okafor", "Okafur"),
        |lines| edit(&mut lines[1], "Larkfield", "Larkfold"),
    ];
    for (number, change) in changes.into_iter().enumerate() {
        refused(&format!("attachments_{number}"), &forged(change), Some(11));
    }
    let text = forged(|lines| edit(&mut lines[line(16)], "checked", "chequed"));
    refused("signature", &text, Some(10));
}

#[test]
fn a_changed_disclosure() {
    let text = forged(|lines| edit(&mut lines[line(21)], "R-2", "R-3"));
    refused("disclosure_value", &text, Some(2));
    let text = forged(|lines| edit(&mut lines[line(21)], "\"position\":2", "\"position\":3"));
    refused("disclosure_moved", &text, Some(3));
    let text = forged(|lines| edit(&mut lines[line(20)], "\"salt\":\"A", "\"salt\":\"B"));
    refused("disclosure_salt", &text, Some(0));
}

#[test]
fn a_bad_end() {
    let whole = Sample::new(10).parcel();
    let digest = &whole[whole.len() - 65..whole.len() - 1];
    refused("end_digest", &whole.replace(digest, &"0".repeat(64)), None);
    refused("end_missing", &whole[..whole.len() - 69], None);
    refused("end_followed", &(whole.clone() + "more\n"), None);
    let text = whole.replacen(digest, &digest.to_uppercase(), 1);
    refused("end_upper_case", &text, None);
}

#[test]
fn bytes_that_are_not_canonical() {
    for (name, from, to) in [
        ("space", "\"verdict\":\"taken\"", "\"verdict\": \"taken\""),
        (
            "twice",
            "\"verdict\":\"taken\"",
            "\"verdict\":\"taken\",\"verdict\":\"stop\"",
        ),
        ("null", "\"verdict\":\"taken\"", "\"verdict\":null"),
        ("float", "\"verdict\":\"taken\"", "\"verdict\":1.5"),
        (
            "large",
            "\"verdict\":\"taken\"",
            "\"verdict\":9007199254740993",
        ),
        (
            "escape",
            "\"verdict\":\"taken\"",
            "\"verdict\":\"t\\u0061ken\"",
        ),
        ("version", "\"v\":1}", "\"v\":true}"),
    ] {
        let text = forged(|lines| edit(&mut lines[line(4)], from, to));
        refused(name, &text, Some(4));
    }
}

#[test]
fn what_is_no_parcel() {
    refused("empty", "", None);
    refused("other_format", "lotwarden-parcel 2\n", None);
}

/// The commands of the format text, run as they stand there.
#[test]
fn a_parcel_can_be_checked_by_hand() {
    let sample = Sample::new(10);
    let file = file("by_hand", &sample.parcel());
    let shell = |script: &str| {
        let output = Command::new("sh")
            .arg("-c")
            .arg(script)
            .env("FILE", &file)
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    let entry =
        shell(r#"p=4; { printf '\0'; sed -n "$((p+4))p" "$FILE" | tr -d '\n'; } | sha256sum"#);
    assert_eq!(
        entry.split(' ').next().unwrap(),
        sample.entries[4].hash.to_string()
    );
    let link = shell(r#"p=4; sed -n "$((p+5))p" "$FILE" | grep -o '"previous":"[0-9a-f]*"'"#);
    assert!(link.contains(&sample.entries[4].hash.to_string()), "{link}");
    let attachments = shell(
        r#"sed -n '/^cases [0-9]*$/,/^disclosures [0-9]*$/p' "$FILE" | sed '$d' | sha256sum"#,
    );
    assert_eq!(
        attachments.split(' ').next().unwrap(),
        sample.attachments.digest().to_string()
    );
    let end = shell(r#"sed '$d' "$FILE" | sha256sum; tail -n 1 "$FILE""#);
    let words: Vec<&str> = end.split_whitespace().collect();
    assert_eq!(words[0], words[3]);
}
