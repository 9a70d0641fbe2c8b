//! What the rules can say: each sentence once, with places for its values.
//!
//! A page in another language has its own text for each, found by rule and variant, and puts the
//! same values in it.

use super::finding::{Finding, Rule};
use crate::sentence::{filled, values};
use std::borrow::Cow;
use std::fmt::Display;

/// One sentence of one rule.
#[derive(Debug)]
pub struct Sentence {
    /// The rule.
    pub rule: Rule,
    /// Which of the rule's sentences; empty where it has one alone.
    pub variant: &'static str,
    /// The sentence in English; `{name}` stands for a value.
    pub text: &'static str,
}

macro_rules! sentences {
    ($($name:ident = $rule:ident $variant:literal $text:literal;)+) => {
        $(pub(super) static $name: Sentence =
            Sentence { rule: Rule::$rule, variant: $variant, text: $text };)+

        /// Every sentence of every rule.
        pub static SENTENCES: &[&Sentence] = &[$(&$name,)+];
    };
}

sentences! {
    USED_ON_CASE = AlreadyUsed "case" "This single-use piece was put on another case on {day}; it must not be used again.";
    USED_AT_DOCK = AlreadyUsed "dock" "This single-use piece was put on a case on {day}, so it was not counted into stock; it must not be used again.";
    PRODUCT_HELD = OnHold "product" "The product is on hold: {reason}.";
    LOT_HELD = OnHold "lot" "The lot is on hold: {reason}.";
    PIECE_HELD = OnHold "unit" "The piece is on hold: {reason}.";
    SOME_LOT_HELD = OnHold "some_lot" "A lot of this product is on hold ({reason}) and this reading does not show which one it is; scan the label part with lot or serial.";
    SOME_PIECE_HELD = OnHold "some_unit" "A piece of this product is on hold ({reason}) and this reading does not show which one it is; scan the label part with lot or serial.";
    RECALLED = Recalled "affected" "Recalled: notice {reference} of {firm} names this item.";
    MAY_BE_RECALLED = Recalled "possible" "Notice {reference} of {firm} may name this item: what it names is written a little differently. It stays out until a person has compared them.";
    RECALL_OPEN = Recalled "cannot_exclude" "Notice {reference} of {firm} names items of this product and this reading does not show that it is another one; scan the label part with lot or serial.";
    EXPIRED = Expired "" "Expired: the last usable day was {day}.";
    EXPIRED_AT = Expired "time" "Expired: the label says {day}, {time}.";
    CASE_CLOSED = CaseClosed "" "This case is {status}; no item can be added to it.";
    NOT_IN_STOCK = NotInStock "" "No such item is on this site's shelves; it may not have been received.";
    UNKNOWN_PRODUCT = UnknownProduct "" "The catalogue does not have {code}; tell the materials manager.";
    LABEL_LACKS = IncompleteLabel "lacks" "The label of {product} carries its {missing}, which this reading does not have; scan the label's other symbol.";
    NO_PRODUCT = IncompleteLabel "no_product" "This reading names no product. Scan the label's other symbol, the one with the device identifier or drug code.";
    EXPIRES_TODAY = ExpiresSoon "today" "Expires today ({day}).";
    EXPIRES_TOMORROW = ExpiresSoon "tomorrow" "Expires tomorrow ({day}).";
    EXPIRES_IN = ExpiresSoon "days" "Expires in {days} days ({day}).";
    SHORT_DATED = ShortDated "" "Short-dated: {days} {days:day is|days are} left, through {day}.";
    OTHER_LOT = RecordDiffers "lot" "The record of this piece says lot {lot}, the label says another; compare them.";
    OTHER_EXPIRY = RecordDiffers "expiry" "The label says {label}, the record of this lot says {record}; the earlier one counts.";
    IN_STOCK_ALREADY = RecordDiffers "in_stock" "The record has this piece at {place} already, so it was not counted again; compare the serial.";
    CHECK_DIGIT = WrongCheckDigitButKnown "" "The check digit does not fit, but the catalogue has this identifier as printed; compare the label with the record.";
    SEPARATOR = SeparatorSuspect "" "Two values may have run together because the scanner lost a separator; compare lot and serial with the label.";
    NO_DAY = DayNotOnLabel "" "The label gives a month without a day; the last day of that month is taken.";
    LOAD_HELD = LoadFailed "" "{load} is held: {reason}.";
    NO_LOAD = LoadNotReleased "none" "No load of this piece is on record; scan its serial.";
    LOAD_WAITS = LoadNotReleased "waits" "{load} is not released yet.";
    USED_SINCE_LOAD = LoadNotReleased "used_since" "This piece was used since {load} and not processed again.";
    CYCLES = CyclesExhausted "" "This piece went through {cycles} {cycles:cycle|cycles}; its maker's limit is {limit}.";
    MIX_PAST_USE_BY = MixPastUseBy "" "This mix is past its use-by, {until} (the site's rule: {rule}).";
    CYLINDER_LOW = CylinderLow "low" "As little as {low} litres may be left (between {low} and {high}); the site expects a case to use {expected}.";
    CYLINDER_NOT_COMPUTED = CylinderLow "not_computed" "What is left in this cylinder cannot be computed: there is no gauge reading of this fill, or the gas is not helium.";
    RETEST_AFTER_FILL = RetestDue "after_fill" "The retest mark ran out on {due_on}, after the fill of {filled_on}; the cylinder is not refilled before its retest.";
    RETEST_BEFORE_FILL = RetestDue "before_fill" "The retest mark had run out on {due_on}, before the fill of {filled_on}; tell the materials manager.";
    NOT_READ_BACK = LabelNotReadBack "" "The name on this cylinder's label was not read back; outlet and colour do not prove what is in it.";
    VIAL_OVER = VialPastLastDay "over" "Vial {vial} was first punctured on {punctured_on}; its last usable day was {last_day}.";
    VIAL_MAY_BE_OVER = VialPastLastDay "may_be" "Vial {vial} of this lot was first punctured on {punctured_on}; its last usable day was {last_day}. Look at the container: this label does not show which vial it is.";
    OUT_OF_SERVICE = OutOfService "" "Out of service: {reason}.";
    CALIBRATION_OVER = CalibrationDue "over" "Its calibration was good through {day}.";
    NO_CALIBRATION = CalibrationDue "none" "No calibration of this instrument is on record.";
    MAINTENANCE_DUE = MaintenanceDue "" "Its maintenance was due by {day}.";
    NO_FILTER = FilterSpent "none" "No filter of this evacuator is on record.";
    FILTER_HOURS_SHORT = FilterSpent "hours_short" "The filter may not last for a case: {used} of its {life} h are used and the site expects a case to use {case} h.";
    FILTER_HOURS_OVER = FilterSpent "hours_over" "The filter's life is over: {used} of its {life} h are used.";
    FILTER_CASES_SHORT = FilterSpent "cases_short" "The filter may not last for a case: it was in for {used} of {life} {life:case|cases}.";
    FILTER_CASES_OVER = FilterSpent "cases_over" "The filter's life is over: it was in for {used} of {life} {life:case|cases}.";
    CLOCK_AHEAD = ClockDiffers "ahead" "This scan was held, and its station's clock was {seconds} {seconds:second|seconds} ahead when it was delivered; the time of the scan may be wrong by as much.";
    CLOCK_BEHIND = ClockDiffers "behind" "This scan was held, and its station's clock was {seconds} {seconds:second|seconds} behind when it was delivered; the time of the scan may be wrong by as much.";
    SAME_AGAIN = SameScanAgain "" "The same label is on this case already. Scan it with \"another piece\" if a second piece of this lot is being used.";
}

impl Sentence {
    /// The finding that says this with these values.
    pub(super) fn with(&self, given: &[(&'static str, &dyn Display)]) -> Finding {
        let data = values(given);
        Finding {
            slug: self.rule,
            severity: self.rule.severity(),
            variant: self.variant,
            sentence: filled(self.text, &data),
            data,
            source: Cow::Borrowed(self.rule.source()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_says_something_and_no_two_sentences_are_told_apart_by_nothing() {
        for rule in Rule::ALL {
            assert!(SENTENCES.iter().any(|one| one.rule == *rule), "{rule}");
        }
        let mut keys: Vec<_> = SENTENCES
            .iter()
            .map(|one| (one.rule, one.variant))
            .collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), SENTENCES.len());
    }

    #[test]
    fn values_stand_in_their_places_as_they_are() {
        let said = LOAD_HELD.with(&[("load", &"Load {reason} 4"), ("reason", &"positive")]);
        assert_eq!(said.sentence, "Load {reason} 4 is held: positive.");
        assert_eq!(said.data["load"], "Load {reason} 4");
    }
}
