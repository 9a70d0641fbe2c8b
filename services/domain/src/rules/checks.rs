//! What a reading alone says, at the dock as on a case.

use super::finding::{Finding, Rule};
use super::judge::{HoldFacts, LabelFacts, NoticeFacts, ProductFacts};
use crate::cases::HoldScope;
use crate::notices::MatchClass;
use jiff::civil::Date;

/// A hold that bars the item, or cannot be excluded.
pub(super) fn on_hold(hold: &HoldFacts<'_>) -> Finding {
    let what = if hold.certain {
        format!(
            "The {} is on hold: {}.",
            noun(hold.scope),
            hold.reason.trim_end_matches('.')
        )
    } else {
        format!(
            "A {} of this product is on hold ({}) and this reading does not show which one it is; \
             scan the label part with lot or serial.",
            noun(hold.scope),
            hold.reason.trim_end_matches('.')
        )
    };
    Finding::new(Rule::OnHold, what)
}

/// A notice that names the item, or does not leave it out; the finding's source is the notice.
pub(super) fn recalled(notice: &NoticeFacts<'_>) -> Finding {
    let NoticeFacts {
        reference, firm, ..
    } = notice;
    let what = match notice.class {
        MatchClass::Affected => format!("Recalled: notice {reference} of {firm} names this item."),
        MatchClass::Possible => format!(
            "Notice {reference} of {firm} may name this item: what it names is written a little \
             differently. It stays out until a person has compared them."
        ),
        MatchClass::CannotExclude => format!(
            "Notice {reference} of {firm} names items of this product and this reading does not \
             show that it is another one; scan the label part with lot or serial."
        ),
    };
    let mut finding = Finding::new(Rule::Recalled, what);
    finding.source = format!("Notice {reference} of {firm}; 21 CFR 7.49(c)").into();
    finding
}

const fn noun(scope: HoldScope) -> &'static str {
    match scope {
        HoldScope::Product => "product",
        HoldScope::Lot => "lot",
        HoldScope::Unit => "piece",
    }
}

/// Where label and record differ about the lot of a piece or the expiry of a lot.
pub(super) fn record(
    other_lot: Option<&str>,
    on_label: Option<Date>,
    on_record: Option<Date>,
    findings: &mut Vec<Finding>,
) {
    if let Some(record) = other_lot {
        let what = format!(
            "The record of this piece says lot {record}, the label says another; compare them."
        );
        findings.push(Finding::new(Rule::RecordDiffers, what));
    }
    if let (Some(label), Some(record)) = (on_label, on_record)
        && label != record
    {
        let what = format!(
            "The label says {label}, the record of this lot says {record}; the earlier one counts."
        );
        findings.push(Finding::new(Rule::RecordDiffers, what));
    }
}

/// The last usable day: the earlier one where label and record differ.
pub(super) fn last_day(on_label: Option<Date>, on_record: Option<Date>) -> Option<Date> {
    on_label.into_iter().chain(on_record).min()
}

/// Usable through the printed day.
pub(super) fn expired(last_day: Date, today: Date) -> Option<Finding> {
    let what = format!("Expired: the last usable day was {last_day}.");
    (last_day < today).then(|| Finding::new(Rule::Expired, what))
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
        let what = format!("The catalogue does not have {code}; tell the materials manager.");
        findings.push(Finding::new(Rule::UnknownProduct, what));
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
        let what = format!(
            "The label of {} carries its {}, which this reading does not have; scan the label's other symbol.",
            product.name,
            missing.join(" and ")
        );
        findings.push(Finding::new(Rule::IncompleteLabel, what));
    }
}

/// What the characters themselves leave in doubt.
pub(super) fn label(label: &LabelFacts<'_>, findings: &mut Vec<Finding>) {
    if label.wrong_check_digit {
        let what = "The check digit does not fit, but the catalogue has this identifier as printed; compare the label with the record.";
        findings.push(Finding::new(Rule::WrongCheckDigitButKnown, what));
    }
    if label.separator_suspect {
        let what = "Two values may have run together because the scanner lost a separator; compare lot and serial with the label.";
        findings.push(Finding::new(Rule::SeparatorSuspect, what));
    }
    if label.day_not_on_label {
        let what = "The label gives a month without a day; the last day of that month is taken.";
        findings.push(Finding::new(Rule::DayNotOnLabel, what));
    }
}
