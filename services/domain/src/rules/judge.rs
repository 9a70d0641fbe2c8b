//! Judging one scan.

use super::checks;
use super::cylinder::cylinder_findings;
use super::finding::{Finding, Rule, verdict_of};
use super::processing::{ProcessingFacts, judge_processing};
use crate::cases::{CaseStatus, HoldScope, Verdict};
use crate::catalogue::{LabelCarries, UseClass};
use crate::gas::CylinderFacts;
use crate::notices::MatchClass;
use crate::policy::SitePolicy;
use jiff::civil::Date;

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
    /// The processing of a reusable piece that the site sterilizes.
    pub processing: Option<ProcessingFacts<'a>>,
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
        let what = "The same label is on this case already. Scan it with \"another piece\" if a \
                    second piece of this lot is being used.";
        findings.push(Finding::new(Rule::SameScanAgain, what));
    }
    if !facts.case.takes_items() {
        let what = format!("This case is {}; no item can be added to it.", facts.case);
        findings.push(Finding::new(Rule::CaseClosed, what));
    }
    if let Some(claim) = facts.claim.filter(|claim| !claim.same_case) {
        let what = format!(
            "This single-use piece was put on another case on {}; it must not be used again.",
            claim.on
        );
        findings.push(Finding::new(Rule::AlreadyUsed, what));
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
    checks::label(&facts.label, &mut findings);

    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let verdict = verdict_of(&findings);
    let on_case = verdict != Verdict::Stop && !again && facts.product.is_some();
    Judgement {
        findings,
        verdict,
        cleared: on_case.then_some(Cleared(())),
    }
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
    if let Some(expired) = checks::expired(last_day, facts.today) {
        findings.push(expired);
        return;
    }
    let left = checks::days_left(last_day, facts.today);
    if left <= i32::from(facts.policy.expires_soon_days) {
        let what = match left {
            0 => format!("Expires today ({last_day})."),
            1 => format!("Expires tomorrow ({last_day})."),
            days => format!("Expires in {days} days ({last_day})."),
        };
        findings.push(Finding::new(Rule::ExpiresSoon, what));
    }
}

fn catalogue(facts: &Facts<'_>, findings: &mut Vec<Finding>) {
    let Some(product) = facts.product else {
        if facts.label.identifier.is_none() {
            let what = "This reading names no product. Scan the label's other symbol, the one with \
                        the device identifier or drug code.";
            findings.push(Finding::new(Rule::IncompleteLabel, what));
        }
        return;
    };
    checks::product(&product, &facts.label, facts.lot_expires_on, findings);
    if facts.policy.keeps_stock && !facts.on_shelf && facts.claim.is_none() {
        let what = "No such item is on this site's shelves; it may not have been received.";
        findings.push(Finding::new(Rule::NotInStock, what));
    }
}
