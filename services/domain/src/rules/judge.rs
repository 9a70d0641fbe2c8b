//! Judging one scan.

use super::checks;
use super::cylinder::cylinder_findings;
use super::finding::{Finding, verdict_of};
use super::processing::{ProcessingFacts, judge_processing};
use super::sentences as said;
use super::vial::{VialFacts, judge_vial};
use crate::cases::{CaseStatus, HoldScope, Verdict};
use crate::catalogue::{LabelCarries, UseClass};
use crate::gas::CylinderFacts;
use crate::notices::MatchClass;
use crate::policy::SitePolicy;
use jiff::civil::{Date, DateTime};
use std::fmt::Display;

/// What the reading says, as far as the rules ask.
#[derive(Clone, Copy, Debug, Default)]
pub struct LabelFacts<'a> {
    /// The identifier as shown to people, when the label carries one.
    pub identifier: Option<&'a str>,
    /// The lot as printed, or the one on record for the serial.
    pub lot: Option<&'a str>,
    /// The serial as printed.
    pub serial: Option<&'a str>,
    /// The last usable day by the label.
    pub expires_on: Option<Date>,
    /// The last usable moment by the label, in the facility's zone, when it has passed.
    pub ended: Option<DateTime>,
    /// The check digit or character is wrong.
    pub wrong_check_digit: bool,
    /// A separator may have been lost.
    pub separator_suspect: bool,
    /// A date on the label has no day.
    pub day_not_on_label: bool,
}

/// What the catalogue says about the product.
#[derive(Clone, Copy, Debug)]
pub struct ProductFacts<'a> {
    /// The product's name.
    pub name: &'a str,
    /// Whether a person or an import has described it; false for one met first by a scan.
    pub catalogued: bool,
    /// How often a piece may be used.
    pub use_class: UseClass,
    /// What its label has to carry.
    pub carries: LabelCarries,
}

/// A hold that bars the item, or cannot be excluded.
#[derive(Clone, Copy, Debug)]
pub struct HoldFacts<'a> {
    /// What it bars.
    pub scope: HoldScope,
    /// Why, in the words of the person who placed it.
    pub reason: &'a str,
    /// False when the hold names a lot or piece and the label did not give its own.
    pub certain: bool,
}

/// A confirmed notice that hits the item.
#[derive(Clone, Copy, Debug)]
pub struct NoticeFacts<'a> {
    /// The firm's or the authority's reference number.
    pub reference: &'a str,
    /// The firm.
    pub firm: &'a str,
    /// How it hits.
    pub class: MatchClass,
}

/// An earlier use of the same single-use piece.
#[derive(Clone, Copy, Debug)]
pub struct ClaimFacts {
    /// Whether that use is on the case being set up.
    pub same_case: bool,
    /// The facility's civil day of that use.
    pub on: Date,
}

/// Everything the rules need to know about one scan.
#[derive(Clone, Debug)]
pub struct Facts<'a> {
    /// The civil day of the scan in the facility's zone.
    pub today: Date,
    /// The site's settings.
    pub policy: &'a SitePolicy,
    /// The state of the case.
    pub case: CaseStatus,
    /// What was read.
    pub label: LabelFacts<'a>,
    /// The product, when the label names one.
    pub product: Option<ProductFacts<'a>>,
    /// The lot on record for the serial, when the label says another.
    pub other_lot_on_record: Option<&'a str>,
    /// The expiry on record for the lot.
    pub lot_expires_on: Option<Date>,
    /// Holds in force that hit the item.
    pub holds: &'a [HoldFacts<'a>],
    /// Confirmed notices that hit the item.
    pub notices: &'a [NoticeFacts<'a>],
    /// An earlier use of the same piece that stands.
    pub claim: Option<ClaimFacts>,
    /// The same characters are on this case already and that use stands.
    pub same_characters: bool,
    /// The person confirmed a further piece of the same lot.
    pub another_piece: bool,
    /// Whether the item is on a shelf of the site.
    pub on_shelf: bool,
    /// The gas cylinder it is, without its outdate, which the lot has.
    pub cylinder: Option<CylinderFacts>,
    /// For a held scan: seconds that its station's clock was ahead of the service's; negative behind.
    pub clock_ahead: Option<i64>,
    /// The processing of a reusable piece that the site sterilizes.
    pub processing: Option<ProcessingFacts<'a>>,
    /// The multi-dose vial it is, or may be.
    pub vial: Option<VialFacts<'a>>,
}

/// The proof that the rules let an item onto a case; only [`judge`] makes one.
#[derive(Debug)]
pub struct Cleared(());

/// What the rules say about one scan.
#[derive(Debug)]
pub struct Judgement {
    /// Every finding, worst first.
    pub findings: Vec<Finding>,
    /// The worst severity in the words of a verdict.
    pub verdict: Verdict,
    /// Present when the item goes on the case.
    pub cleared: Option<Cleared>,
}

/// Judges one scan: every finding, not only the first, and the verdict they add up to.
///
/// A repeated reading and a label that names no product put nothing on the case, whatever their
/// verdict.
#[must_use]
pub fn judge(facts: &Facts<'_>) -> Judgement {
    let mut findings = Vec::new();
    let again = said_again(facts);
    if again {
        findings.push(said::SAME_AGAIN.with(&[]));
    }
    if !facts.case.takes_items() {
        findings.push(said::CASE_CLOSED.with(&[("status", &facts.case)]));
    }
    if let Some(claim) = facts.claim.filter(|claim| !claim.same_case) {
        findings.push(said::USED_ON_CASE.with(&[("day", &claim.on)]));
    }
    findings.extend(facts.notices.iter().map(checks::recalled));
    findings.extend(facts.holds.iter().map(checks::on_hold));
    record_and_expiry(facts, &mut findings);
    catalogue(facts, &mut findings);
    if let Some(processing) = &facts.processing {
        findings.extend(judge_processing(processing));
    }
    if let Some(cylinder) = &facts.cylinder {
        findings.extend(cylinder_findings(cylinder));
    }
    if let Some(vial) = &facts.vial {
        findings.extend(judge_vial(vial, facts.today));
    }
    checks::label(&facts.label, &mut findings);
    findings.extend(clock(facts));

    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let verdict = verdict_of(&findings);
    let on_case = verdict != Verdict::Stop && !again && facts.product.is_some();
    Judgement {
        findings,
        verdict,
        cleared: on_case.then_some(Cleared(())),
    }
}

fn clock(facts: &Facts<'_>) -> Option<Finding> {
    let ahead = facts.clock_ahead?;
    let seconds = ahead.unsigned_abs();
    let sentence = match ahead > 0 {
        true => &said::CLOCK_AHEAD,
        false => &said::CLOCK_BEHIND,
    };
    (seconds > u64::from(facts.policy.clock_skew_seconds))
        .then(|| sentence.with(&[("seconds", &seconds)]))
}

fn said_again(facts: &Facts<'_>) -> bool {
    let same_piece = facts.claim.is_some_and(|claim| claim.same_case);
    let lot_controlled = facts.label.serial.is_none();
    same_piece || (facts.same_characters && !(lot_controlled && facts.another_piece))
}

fn record_and_expiry(facts: &Facts<'_>, findings: &mut Vec<Finding>) {
    checks::record(
        facts.other_lot_on_record,
        facts.label.expires_on,
        facts.lot_expires_on,
        findings,
    );
    let Some(last_day) = checks::last_day(facts.label.expires_on, facts.lot_expires_on) else {
        return;
    };
    let expired = checks::expired(last_day, facts.today);
    if let Some(expired) = expired.or_else(|| checks::ended(facts.label.ended)) {
        findings.push(expired);
        return;
    }
    let left = checks::days_left(last_day, facts.today);
    if left <= i32::from(facts.policy.expires_soon_days) {
        let sentence = match left {
            0 => &said::EXPIRES_TODAY,
            1 => &said::EXPIRES_TOMORROW,
            _ => &said::EXPIRES_IN,
        };
        let values: [(_, &dyn Display); 2] = [("days", &left), ("day", &last_day)];
        findings.push(sentence.with(&values));
    }
}

fn catalogue(facts: &Facts<'_>, findings: &mut Vec<Finding>) {
    let Some(product) = facts.product else {
        if facts.label.identifier.is_none() {
            findings.push(said::NO_PRODUCT.with(&[]));
        }
        return;
    };
    checks::product(&product, &facts.label, facts.lot_expires_on, findings);
    if facts.policy.keeps_stock && !facts.on_shelf && facts.claim.is_none() {
        findings.push(said::NOT_IN_STOCK.with(&[]));
    }
}
