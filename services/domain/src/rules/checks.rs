//! What a reading alone says, at the dock as on a case.

use super::finding::Finding;
use super::judge::{HoldFacts, LabelFacts, NoticeFacts, ProductFacts};
use super::sentences as said;
use crate::cases::HoldScope;
use crate::notices::MatchClass;
use jiff::civil::{Date, DateTime};
use std::fmt::Display;

/// A hold that bars the item, or cannot be excluded.
pub(super) fn on_hold(hold: &HoldFacts<'_>) -> Finding {
    let sentence = match (hold.scope, hold.certain) {
        (HoldScope::Product, _) => &said::PRODUCT_HELD,
        (HoldScope::Lot, true) => &said::LOT_HELD,
        (HoldScope::Unit, true) => &said::PIECE_HELD,
        (HoldScope::Lot, false) => &said::SOME_LOT_HELD,
        (HoldScope::Unit, false) => &said::SOME_PIECE_HELD,
    };
    sentence.with(&[("reason", &hold.reason.trim_end_matches('.'))])
}

/// A notice that names the item, or does not leave it out; the finding's source is the notice.
pub(super) fn recalled(notice: &NoticeFacts<'_>) -> Finding {
    let NoticeFacts {
        reference, firm, ..
    } = notice;
    let sentence = match notice.class {
        MatchClass::Affected => &said::RECALLED,
        MatchClass::Possible => &said::MAY_BE_RECALLED,
        MatchClass::CannotExclude => &said::RECALL_OPEN,
    };
    let mut finding = sentence.with(&[("reference", reference), ("firm", firm)]);
    finding.source = format!("Notice {reference} of {firm}; 21 CFR 7.49(c)").into();
    finding
}

/// Where label and record differ about the lot of a piece or the expiry of a lot.
pub(super) fn record(
    other_lot: Option<&str>,
    on_label: Option<Date>,
    on_record: Option<Date>,
    findings: &mut Vec<Finding>,
) {
    if let Some(record) = other_lot {
        findings.push(said::OTHER_LOT.with(&[("lot", &record)]));
    }
    if let (Some(label), Some(record)) = (on_label, on_record)
        && label != record
    {
        findings.push(said::OTHER_EXPIRY.with(&[("label", &label), ("record", &record)]));
    }
}

/// The last usable day: the earlier one where label and record differ.
pub(super) fn last_day(on_label: Option<Date>, on_record: Option<Date>) -> Option<Date> {
    on_label.into_iter().chain(on_record).min()
}

/// Usable through the printed day.
pub(super) fn expired(last_day: Date, today: Date) -> Option<Finding> {
    (last_day < today).then(|| said::EXPIRED.with(&[("day", &last_day)]))
}

/// Usable through the printed time of that day.
pub(super) fn ended(ended: Option<DateTime>) -> Option<Finding> {
    let ended = ended?;
    let time = ended.strftime("%H:%M");
    let values: [(_, &dyn Display); 2] = [("day", &ended.date()), ("time", &time)];
    Some(said::EXPIRED_AT.with(&values))
}

/// Days until the last usable day; none is left on that day itself.
pub(super) fn days_left(last_day: Date, today: Date) -> i32 {
    today
        .until(last_day)
        .map_or(i32::MAX, |span| span.get_days())
}

/// What the catalogue says about the product and what its label has to carry.
pub(super) fn product(
    product: &ProductFacts<'_>,
    label: &LabelFacts<'_>,
    lot_expires_on: Option<Date>,
    findings: &mut Vec<Finding>,
) {
    if !product.catalogued {
        let code = label.identifier.unwrap_or_default();
        findings.push(said::UNKNOWN_PRODUCT.with(&[("code", &code)]));
    }
    let carries = product.carries;
    let dated = label.expires_on.is_some() || lot_expires_on.is_some();
    let missing: Vec<&str> = [
        ("lot", carries.lot && label.lot.is_none()),
        ("serial", carries.serial && label.serial.is_none()),
        ("expiry date", carries.expiry && !dated),
    ]
    .into_iter()
    .filter_map(|(name, absent)| absent.then_some(name))
    .collect();
    if !missing.is_empty() {
        let missing = missing.join(" and ");
        let values: [(_, &dyn Display); 2] = [("product", &product.name), ("missing", &missing)];
        findings.push(said::LABEL_LACKS.with(&values));
    }
}

/// What the characters themselves leave in doubt.
pub(super) fn label(label: &LabelFacts<'_>, findings: &mut Vec<Finding>) {
    if label.wrong_check_digit {
        findings.push(said::CHECK_DIGIT.with(&[]));
    }
    if label.separator_suspect {
        findings.push(said::SEPARATOR.with(&[]));
    }
    if label.day_not_on_label {
        findings.push(said::NO_DAY.with(&[]));
    }
}
