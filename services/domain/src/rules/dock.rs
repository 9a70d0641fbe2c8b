//! Judging one line of a receipt.

use super::checks;
use super::finding::Finding;
use super::judge::{HoldFacts, LabelFacts, NoticeFacts, ProductFacts};
use super::sentences as said;
use crate::policy::SitePolicy;
use jiff::civil::Date;
use std::fmt::Display;

/// What the record says about a serialised piece that arrives.
#[derive(Clone, Copy, Debug)]
pub enum PieceFacts<'a> {
    /// It stands nowhere on record, or the line names no single piece.
    Elsewhere,
    /// It stands at a place already.
    InStock {
        /// The place's name.
        place: &'a str,
    },
    /// A case claims it as a single-use piece.
    OnCase {
        /// The facility's civil day of that use.
        on: Date,
    },
}

impl PieceFacts<'_> {
    /// Whether the arrival adds to stock; a piece is never counted twice, and a used one never again.
    #[must_use]
    pub const fn adds_to_stock(self) -> bool {
        match self {
            Self::Elsewhere => true,
            Self::InStock { .. } | Self::OnCase { .. } => false,
        }
    }
}

/// Everything the rules need to know about one line of a receipt.
#[derive(Clone, Debug)]
pub struct DockFacts<'a> {
    /// The civil day of the receipt in the facility's zone.
    pub today: Date,
    /// The site's settings.
    pub policy: &'a SitePolicy,
    /// What was read or typed.
    pub label: LabelFacts<'a>,
    /// The product.
    pub product: ProductFacts<'a>,
    /// The lot on record for the serial, when the label says another.
    pub other_lot_on_record: Option<&'a str>,
    /// The expiry on record for the lot.
    pub lot_expires_on: Option<Date>,
    /// Holds in force that hit the line.
    pub holds: &'a [HoldFacts<'a>],
    /// Confirmed notices that hit the line.
    pub notices: &'a [NoticeFacts<'a>],
    /// What the record says about the piece.
    pub piece: PieceFacts<'a>,
}

/// Judges one line of a receipt: every finding, worst first.
///
/// A finding keeps nothing out: what has arrived is in the building, and the scan of a case judges
/// again.
#[must_use]
pub fn judge_at_dock(facts: &DockFacts<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    piece(facts.piece, &mut findings);
    findings.extend(facts.notices.iter().map(checks::recalled));
    findings.extend(facts.holds.iter().map(checks::on_hold));
    checks::record(
        facts.other_lot_on_record,
        facts.label.expires_on,
        facts.lot_expires_on,
        &mut findings,
    );
    expiry(facts, &mut findings);
    checks::product(
        &facts.product,
        &facts.label,
        facts.lot_expires_on,
        &mut findings,
    );
    checks::label(&facts.label, &mut findings);
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    findings
}

fn piece(piece: PieceFacts<'_>, findings: &mut Vec<Finding>) {
    match piece {
        PieceFacts::Elsewhere => {}
        PieceFacts::InStock { place } => {
            findings.push(said::IN_STOCK_ALREADY.with(&[("place", &place)]));
        }
        PieceFacts::OnCase { on } => findings.push(said::USED_AT_DOCK.with(&[("day", &on)])),
    }
}

fn expiry(facts: &DockFacts<'_>, findings: &mut Vec<Finding>) {
    let Some(last_day) = checks::last_day(facts.label.expires_on, facts.lot_expires_on) else {
        return;
    };
    let expired = checks::expired(last_day, facts.today);
    if let Some(expired) = expired.or_else(|| checks::ended(facts.label.ended)) {
        findings.push(expired);
        return;
    }
    let left = checks::days_left(last_day, facts.today);
    if left <= i32::from(facts.policy.short_dated_days) {
        let values: [(_, &dyn Display); 2] = [("days", &left), ("day", &last_day)];
        findings.push(said::SHORT_DATED.with(&values));
    }
}

#[cfg(test)]
mod tests;
