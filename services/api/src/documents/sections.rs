//! What several documents say in the same words.

use lotwarden_documents::{Column, Report};
use lotwarden_domain::cases::Disposition;
use lotwarden_domain::mixes::Amount;
use lotwarden_store::documents::{CaseFile, Identified, Item};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// A document about a case: at its foot the record's hash, where it was signed, and the entry of
/// this copy.
pub(super) fn report(title: &str, file: &CaseFile, entry: u64) -> Report {
    let signed = match file.signatures.last() {
        Some(signature) if signature.unchanged => {
            format!("signed at ledger position {}", signature.position)
        }
        Some(signature) => format!(
            "signed at ledger position {} with another hash",
            signature.position
        ),
        None => "not signed".to_owned(),
    };
    let footer = vec![
        format!("Record SHA-256 {}", file.record_hash),
        format!("{signed}; this copy is ledger entry {entry}"),
    ];
    Report::new(title, footer)
}

pub(super) const fn column(heading: &'static str, share: usize) -> Column {
    Column { heading, share }
}

pub(super) fn patient(report: &mut Report, found: &Identified) {
    let (_, patient) = &found.patient;
    let born_on = patient.born_on.map(|day| day.to_string());
    report.heading("Patient");
    report.facts([
        ("Name", patient.name.clone()),
        ("Born on", born_on.unwrap_or_else(none)),
        ("Record number", patient.record_number.clone()),
    ]);
}

pub(super) fn none() -> String {
    "not recorded".to_owned()
}

pub(super) fn procedure(report: &mut Report, file: &CaseFile) {
    let case = &file.recorded.case;
    let at = |at: Option<_>| at.map_or_else(none, |at| file.local(at));
    report.heading("Procedure");
    report.facts([
        ("Facility", file.facility.1.clone()),
        ("Procedure", case.procedure.clone()),
        ("Practitioner", case.practitioner.1.clone()),
        ("Room", case.location.1.clone()),
        ("Started", at(case.started_at)),
        ("Ended", at(case.ended_at)),
        ("Status", case.status.to_string()),
        ("Case", case.id.to_string()),
    ]);
}

/// Whether an item was used on the patient, also when it failed there.
pub(super) fn was_used(item: &Item) -> bool {
    let piece = item.scan.on_case.as_ref();
    piece.is_some_and(|piece| matches!(piece.disposition, Disposition::Used | Disposition::Failed))
}

/// The product of an item with its maker; marked when an amendment concerns it.
pub(super) fn product(file: &CaseFile, item: &Item) -> String {
    let description = &item.product.description;
    let words = [&description.name, &description.maker, &description.model];
    let words = words.into_iter().filter(|word| !word.is_empty());
    let words: Vec<&str> = words.map(String::as_str).collect();
    let amended = if file.is_amended(item.scan.id) {
        " (amended, see below)"
    } else {
        ""
    };
    format!("{}{amended}", words.join(", "))
}

pub(super) fn identifier(item: &Item) -> String {
    let code = item.code.as_ref();
    code.map_or_else(none, |code| format!("{} {}", code.agency, code.code))
}

pub(super) fn lot(item: &Item) -> String {
    let lot = item.scan.lot.as_ref();
    lot.and_then(|(_, number, _)| number.clone())
        .unwrap_or_else(none)
}

pub(super) fn serial(item: &Item) -> String {
    let unit = item.scan.unit.as_ref();
    unit.map(|(_, serial)| serial.clone()).unwrap_or_default()
}

pub(super) fn expires_on(item: &Item) -> String {
    let lot = item.scan.lot.as_ref();
    lot.and_then(|(.., day)| *day)
        .map(|day| day.to_string())
        .unwrap_or_default()
}

pub(super) fn zones(item: &Item) -> String {
    let zones: Vec<&str> = item.zones.iter().map(String::as_str).collect();
    zones.join(", ")
}

/// A number without digits that say nothing.
pub(super) fn number(amount: Decimal) -> String {
    amount.round_dp(6).normalize().to_string()
}

/// An amount of a substance in words.
pub(super) fn amount(amount: Amount) -> String {
    let mg = amount.mg.map(|mg| format!("{} mg", number(mg)));
    let meq = amount.meq.map(|meq| format!("{} mEq", number(meq)));
    let words: Vec<String> = mg.into_iter().chain(meq).collect();
    words.join(", ")
}

pub(super) fn amounts(amounts: &BTreeMap<String, Amount>) -> String {
    let each = amounts.iter();
    let each: Vec<String> = each
        .map(|(substance, found)| format!("{substance} {}", amount(*found)))
        .collect();
    each.join("; ")
}

/// Signatures and amendments, each with name, time and meaning (21 CFR 11.50).
pub(super) fn signatures(report: &mut Report, file: &CaseFile) {
    report.heading("Signatures");
    let columns = [
        column("Name", 22),
        column("Meaning", 30),
        column("When", 22),
        column("Ledger", 8),
        column("Record", 14),
    ];
    let rows = file.signatures.iter().map(|signature| {
        let record = if signature.unchanged {
            "as signed"
        } else {
            "changed since"
        };
        vec![
            signature.name.clone(),
            signature.meaning.clone(),
            file.local(signature.signed_at),
            signature.position.to_string(),
            record.to_owned(),
        ]
    });
    report.table(&columns, rows.collect(), "Nobody signed this record.");
    if file.amendments.is_empty() {
        return;
    }
    report.heading("Amendments to the signed record");
    let columns = [
        column("What", 20),
        column("Stood", 15),
        column("Stands", 20),
        column("Reason", 18),
        column("Signed", 26),
    ];
    let rows = file.amendments.iter().map(|amendment| {
        let correction = &amendment.correction;
        let old = correction.old_value.clone();
        vec![
            concerned(file, amendment),
            old.unwrap_or_else(none),
            correction.new_value.clone(),
            correction.reason.clone(),
            format!(
                "{}, {}, {}; ledger {}",
                correction.name,
                file.local(correction.signed_at),
                correction.meaning,
                amendment.position
            ),
        ]
    });
    report.table(&columns, rows.collect(), "");
}

/// What an amendment concerns, in words.
pub(super) fn concerned(file: &CaseFile, amendment: &lotwarden_store::cases::Amendment) -> String {
    let correction = &amendment.correction;
    let mut parts = file.parts.iter();
    let part = parts.find(|part| part.id == correction.part_id && part.kind == correction.part);
    let name = part.map(|part| part.name.as_str()).unwrap_or_default();
    let field = correction.field.as_deref().unwrap_or("addition");
    format!("{} {name}: {field}", correction.part)
}
