//! What several documents say in the same words.

use crate::pages::english;
use lotwarden_documents::{Column, Report};
use lotwarden_domain::cases::Disposition;
use lotwarden_domain::mixes::Amount;
use lotwarden_store::documents::{CaseFile, Identified, Item};
use rust_decimal::{Decimal, RoundingStrategy};
use std::collections::BTreeMap;
use uuid::Uuid;

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
        ("Status", word("status", case.status.as_str())),
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
    format!("{}{}", words.join(", "), amended(file, item.scan.id))
}

/// Marks what an amendment concerns.
pub(super) fn amended(file: &CaseFile, part: Uuid) -> &'static str {
    match file.is_amended(part) {
        true => " (amended, see below)",
        false => "",
    }
}

/// A word of the service as the pages say it in English.
pub(super) fn word(group: &str, word: &str) -> String {
    let key = format!("{group}.{word}");
    english(&key).to_owned()
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

/// A recorded amount, or a sum or product of recorded ones, with the digits it has; at most the six
/// places that a record can have.
pub(super) fn exact(amount: Decimal) -> String {
    amount.round_dp(6).to_string()
}

/// A computed amount as a person writes it: four figures, or whole where that is more (`computed` in
/// the pages' `format.js`).
pub(super) fn computed(amount: Decimal) -> String {
    let half_away = RoundingStrategy::MidpointAwayFromZero;
    let amount = amount.round_dp(6);
    let whole = amount.round_dp_with_strategy(0, half_away);
    let figures = amount
        .round_sf_with_strategy(4, half_away)
        .unwrap_or(amount);
    let closer = if whole.abs() >= Decimal::ONE_THOUSAND {
        whole
    } else {
        figures
    };
    closer.normalize().to_string()
}

/// An amount of a substance in words.
pub(super) fn amount(amount: Amount) -> String {
    let mg = amount.mg.map(|mg| format!("{} mg", computed(mg)));
    let meq = amount.meq.map(|meq| format!("{} mEq", computed(meq)));
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
    format!(
        "{} {name}: {}",
        word("part", correction.part.as_str()),
        stated(amendment)
    )
}

/// Which value an amendment concerns, in words.
pub(super) fn stated(amendment: &lotwarden_store::cases::Amendment) -> String {
    let field = amendment.correction.field.as_deref();
    field.map_or_else(
        || english("closing.addition").to_owned(),
        |field| word("stated", field),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_computed_amount_has_four_figures_and_a_recorded_one_all_of_its_own() {
        for (amount, told) in [
            ("951.020408", "951"),
            ("212.016", "212"),
            ("3.5336", "3.534"),
            ("2.70027", "2.7"),
            ("0.0012346", "0.001235"),
            ("999.96", "1000"),
            ("12345.5", "12346"),
            ("0", "0"),
        ] {
            assert_eq!(computed(amount.parse().unwrap()), told);
        }
        for amount in ["70.50", "12345.678901", "0.000001"] {
            assert_eq!(exact(amount.parse().unwrap()), amount);
        }
    }
}
