//! What the ledger keeps of a receipt.

use super::ReceiptLine;
use super::judged::JudgedLine;
use crate::recorder::Failure;
use serde::Serialize;
use uuid::Uuid;

/// Bytes of lines in one entry at most, so that the entry stays below its own bound of 65,535.
const MOST_BYTES: usize = 60_000;

/// One entry of a receipt; a long receipt has several, one behind the other.
#[derive(Serialize)]
pub(super) struct Part<'a> {
    first_line: usize,
    /// Lines of the whole receipt.
    line_count: usize,
    lines: Vec<Line<'a>>,
}

#[derive(Serialize)]
struct Line<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    expires_on: Option<String>,
    findings: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    identifier: Option<String>,
    location: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot_expires_on: Option<Change<String>>,
    lot_id: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    manufactured_on: Option<String>,
    packages: u32,
    product: Uuid,
    quantity: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_lot: Option<Change<Uuid>>,
}

#[derive(Serialize)]
struct Change<T> {
    new: T,
    #[serde(skip_serializing_if = "Option::is_none")]
    old: Option<T>,
}

/// The entries of a receipt, in order.
pub(super) fn parts<'a>(
    lines: &'a [ReceiptLine],
    judged: &[JudgedLine],
) -> Result<Vec<Part<'a>>, Failure> {
    let line_count = lines.len();
    let mut parts: Vec<Part<'a>> = Vec::new();
    let mut bytes = 0;
    for (at, (line, judged)) in lines.iter().zip(judged).enumerate() {
        let line = entry_line(line, judged);
        let length = serde_json::to_string(&line)
            .map_err(|_| Failure::Unfit)?
            .len()
            + 1;
        bytes += length;
        match parts.last_mut() {
            Some(part) if bytes <= MOST_BYTES => part.lines.push(line),
            _ => {
                bytes = length;
                parts.push(Part {
                    first_line: at + 1,
                    line_count,
                    lines: vec![line],
                });
            }
        }
    }
    Ok(parts)
}

fn entry_line<'a>(line: &'a ReceiptLine, judged: &JudgedLine) -> Line<'a> {
    let label = &line.label;
    let slugs = judged.findings.iter().map(|finding| finding.slug.as_str());
    Line {
        expires_on: label.expires_on.map(|date| date.to_string()),
        findings: slugs.collect(),
        identifier: label.code.as_ref().map(ToString::to_string),
        location: line.location,
        lot: label.lot.as_deref(),
        lot_expires_on: judged.expiry.map(|(new, old)| Change {
            new: new.to_string(),
            old: old.map(|old| old.to_string()),
        }),
        lot_id: judged.lot,
        manufactured_on: label.manufactured_on.map(|date| date.to_string()),
        packages: line.packages,
        product: judged.product,
        quantity: judged.quantity,
        serial: label.serial.as_deref(),
        text: line.text.as_deref(),
        unit: judged.unit,
        unit_lot: judged.unit_lot.map(|(new, old)| Change {
            new,
            old: Some(old),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use lotwarden_domain::label::{Circumstances, Label};
    use lotwarden_ledger::Event;

    fn line(text: &str) -> (ReceiptLine, JudgedLine) {
        let line = ReceiptLine {
            text: Some(text.to_owned()),
            label: Label::read(
                "(01)09520123456788(10)A",
                Circumstances::on(date(2026, 11, 24)),
            )
            .unwrap(),
            packages: 1,
            location: Uuid::nil(),
        };
        let judged = JudgedLine {
            product: Uuid::nil(),
            lot: Uuid::nil(),
            unit: Some(Uuid::nil()),
            quantity: 1,
            findings: Vec::new(),
            expiry: Some((date(2027, 1, 31), Some(date(2027, 2, 28)))),
            unit_lot: Some((Uuid::nil(), Uuid::nil())),
        };
        (line, judged)
    }

    fn entries(count: usize, text: &str) -> Vec<(usize, usize, String)> {
        let (lines, judged): (Vec<_>, Vec<_>) = (0..count).map(|_| line(text)).unzip();
        let parts = parts(&lines, &judged).unwrap();
        parts
            .iter()
            .map(|part| {
                let data = Event::new("record_receipt", "a", None, "b", part).unwrap();
                (part.first_line, part.lines.len(), data.data().to_owned())
            })
            .collect()
    }

    // An entry's body is 65,535 bytes at most; what stands around the data is below 1,000.
    #[test]
    fn a_long_receipt_has_several_entries_that_each_fit() {
        let all = entries(200, &"\u{1d}".repeat(500));
        let mut next = 1;
        for (first, count, data) in &all {
            assert_eq!(*first, next);
            assert!(data.len() < 64_000, "{}", data.len());
            next += count;
        }
        assert_eq!(next, 201);
        assert!(all.len() > 1);
    }

    // The profile of the ledger refuses keys out of order and null; Event::new checks it.
    #[test]
    fn a_short_receipt_has_one() {
        let all = entries(3, "(01)09520123456788(10)A");
        assert_eq!(all.len(), 1);
        assert!(
            all[0]
                .2
                .contains(r#""lot_expires_on":{"new":"2027-01-31","old":"2027-02-28"}"#)
        );
    }
}
