//! The answer as text for people.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lotwarden_store::Receipt;
use lotwarden_store::where_used::{Class, Question, WhereUsed};
use uuid::Uuid;

/// Writes the whole answer.
pub fn text(question: &Question, found: &WhereUsed, zone: &TimeZone, receipt: Receipt) -> String {
    let mut out = String::new();
    let Some(product) = &found.uses.product else {
        let codes: Vec<String> = question.codes.iter().map(ToString::to_string).collect();
        return format!("No product has the identifier {}.\n", codes.join(" or "));
    };
    let lots: BTreeMap<Uuid, String> = found
        .uses
        .lots
        .iter()
        .map(|lot| {
            (
                lot.id,
                lot.number
                    .clone()
                    .unwrap_or_else(|| "(not recorded)".to_owned()),
            )
        })
        .collect();
    let lot = |id: &Uuid| {
        lots.get(id)
            .cloned()
            .unwrap_or_else(|| "(another)".to_owned())
    };
    let _ = writeln!(out, "{}  {} {}", product.name, product.maker, product.model);
    let _ = writeln!(out, "{}\n", summary(found));
    let items = found.uses.items.iter().map(|item| {
        let patient = match found.patients.get(&item.patient) {
            Some(patient) => format!("{}  {}", patient.record_number, patient.name),
            None => item.patient.to_string(),
        };
        [
            item.class.as_str().to_owned(),
            day(item.scheduled_for, zone),
            lot(&item.lot),
            item.disposition.to_string(),
            item.case.to_string(),
            item.procedure.clone(),
            patient,
        ]
    });
    let head = [
        "class",
        "planned",
        "lot",
        "disposition",
        "case",
        "procedure",
        "patient",
    ];
    out += &table("On cases", head, items.collect());
    let stopped = found.stopped.iter().map(|scan| {
        let findings = scan.findings.as_array().into_iter().flatten();
        let slugs: Vec<&str> = findings.filter_map(|one| one["slug"].as_str()).collect();
        [
            scan.class.as_str().to_owned(),
            day(scan.occurred_at, zone),
            lot(&scan.lot),
            scan.case.to_string(),
            slugs.join(", "),
        ]
    });
    let head = ["class", "scanned", "lot", "case", "findings"];
    out += &table("Stopped at", head, stopped.collect());
    let on_hand = found.on_hand.iter().map(|stock| {
        [
            stock.class.as_str().to_owned(),
            lot(&stock.lot),
            stock.location.1.clone(),
            stock.quantity.to_string(),
        ]
    });
    out += &table(
        "On hand",
        ["class", "lot", "place", "quantity"],
        on_hand.collect(),
    );
    let receipts = found.receipts.iter().map(|line| {
        [
            line.class.as_str().to_owned(),
            day(line.received_at, zone),
            lot(&line.lot),
            line.quantity.to_string(),
            if line.open { "yes" } else { "no" }.to_owned(),
            line.receipt.to_string(),
        ]
    });
    let head = [
        "class",
        "received",
        "lot",
        "quantity",
        "some left",
        "receipt",
    ];
    out += &table("Receipts", head, receipts.collect());
    let _ = writeln!(
        out,
        "Entry {} of the ledger, {}",
        receipt.position, receipt.hash
    );
    out
}

fn summary(found: &WhereUsed) -> String {
    let items = &found.uses.items;
    let of_class = |class| items.iter().filter(|item| item.class == class).count();
    let cases: BTreeSet<Uuid> = items.iter().map(|item| item.case).collect();
    let patients: BTreeSet<Uuid> = items.iter().map(|item| item.patient).collect();
    format!(
        "{} affected, {} cannot be excluded; cases: {}, patients: {}, struck: {}",
        of_class(Class::Affected),
        of_class(Class::CannotExclude),
        cases.len(),
        patients.len(),
        found.uses.struck
    )
}

fn day(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned(zone.clone()).date().to_string()
}

/// A titled table with columns as wide as their widest cell; nothing when it has no rows.
fn table<const N: usize>(title: &str, head: [&str; N], rows: Vec<[String; N]>) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let widths: [usize; N] = std::array::from_fn(|column| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        cells.chain([head[column].len()]).max().unwrap_or_default()
    });
    let line = |cells: [&str; N]| {
        let padded = cells
            .iter()
            .zip(widths)
            .map(|(cell, width)| format!("{cell:<width$}"));
        let text = padded.collect::<Vec<_>>().join("  ");
        format!("  {}\n", text.trim_end())
    };
    let mut out = format!("{title} ({})\n{}", rows.len(), line(head));
    for row in &rows {
        out += &line(std::array::from_fn(|column| row[column].as_str()));
    }
    out + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_lines_up_and_an_empty_one_is_not_there() {
        let rows = vec![
            ["affected".to_owned(), "1".to_owned()],
            ["x".to_owned(), "200".to_owned()],
        ];
        let expected = "On hand (2)\n  class     n\n  affected  1\n  x         200\n\n";
        assert_eq!(table("On hand", ["class", "n"], rows), expected);
        assert_eq!(table("On hand", ["class", "n"], Vec::new()), "");
    }
}
