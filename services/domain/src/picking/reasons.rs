//! Why a case cannot be set up: each sentence once, with places for its values, as the rules have
//! theirs.

use super::ReasonKind;
use crate::rules::Finding;
use crate::sentence::{filled, values};
use std::collections::BTreeMap;
use std::fmt::Display;

/// A reason in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    /// What it is about.
    pub kind: ReasonKind,
    /// Which of the kind's sentences it is; empty where the kind has one alone.
    pub variant: &'static str,
    /// The values in the sentence, by name.
    pub data: BTreeMap<&'static str, String>,
    /// The pieces that were looked at, with what the rules say of each.
    pub pieces: Vec<JudgedPiece>,
    /// One plain sentence, followed by one for each finding.
    pub sentence: String,
}

/// A piece that a rule keeps from being set up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JudgedPiece {
    /// Its name: a serial, a lot, or equipment as it is called.
    pub name: String,
    /// Every finding.
    pub findings: Vec<Finding>,
}

/// One sentence of one kind of reason.
#[derive(Debug)]
pub struct ReasonSentence {
    /// The kind.
    pub kind: ReasonKind,
    /// Which of the kind's sentences; empty where it has one alone.
    pub variant: &'static str,
    /// The sentence in English; `{name}` stands for a value.
    pub text: &'static str,
}

macro_rules! sentences {
    ($($name:ident = $kind:ident $variant:literal $text:literal;)+) => {
        $(
            #[doc = $text]
            pub static $name: ReasonSentence =
                ReasonSentence { kind: ReasonKind::$kind, variant: $variant, text: $text };
        )+

        /// Every sentence of every kind of reason.
        pub static REASON_SENTENCES: &[&ReasonSentence] = &[$(&$name,)+];
    };
}

sentences! {
    NO_LIST = NoList "" "There is no preference list for {procedure}, so nothing can be said of its items.";
    SHORT = Short "product" "{product}: {needed} needed, {taken} taken or to be taken, {short} short.";
    SHORT_OF_KIND = Short "kind" "{product_kind}: {needed} needed, {taken} taken or to be taken, {short} short.";
    STOCK_EXPIRES = Stock "expired" "{quantity} of {product}, lot {lot}, at {place}: expires before the case.";
    STOCK_HELD = Stock "held" "{quantity} of {product}, lot {lot}, at {place}: is on hold.";
    STOCK_NAMED = Stock "named" "{quantity} of {product}, lot {lot}, at {place}: is named, or not left out, by a recall notice.";
    NO_LOT_EXPIRES = Stock "expired_no_lot" "{quantity} of {product}, lot not recorded, at {place}: expires before the case.";
    NO_LOT_HELD = Stock "held_no_lot" "{quantity} of {product}, lot not recorded, at {place}: is on hold.";
    NO_LOT_NAMED = Stock "named_no_lot" "{quantity} of {product}, lot not recorded, at {place}: is named, or not left out, by a recall notice.";
    STANDS_IN = Substitute "" "{product}: {quantity} of {substitute} may stand in for it; a person has to agree.";
    NO_FILL = Gas "none" "No fill of {product} that is not empty is on record.";
    NO_FILL_OF_KIND = Gas "none_of_kind" "No fill of {product_kind} that is not empty is on record.";
    TOO_FEW_FILLS = Gas "too_few" "{product}: {needed} {needed:fill|fills} needed, {in_order} in order.";
    TOO_FEW_OF_KIND = Gas "too_few_of_kind" "{product_kind}: {needed} {needed:fill|fills} needed, {in_order} in order.";
    NO_EQUIPMENT = Equipment "none" "No {equipment_kind} is on record.";
    EQUIPMENT_FAULTY = Equipment "faulty" "No {equipment_kind} is in order.";
    CHECK_OUT_OF_LIMITS = Check "out_of_limits" "{check}: a value was out of its limits on {day}.";
    CHECK_UNCONFIRMED = Check "unconfirmed" "{check}: the second person is missing.";
    CHECK_MISSED = Check "missed" "{check}: missed on {day}.";
    CHECK_DUE = Check "due" "{check}: due by {day} and not done yet.";
}

impl ReasonSentence {
    /// The reason that says this with these values.
    #[must_use]
    pub fn with(&self, given: &[(&'static str, &dyn Display)]) -> Reason {
        let data = values(given);
        Reason {
            kind: self.kind,
            variant: self.variant,
            sentence: filled(self.text, &data),
            data,
            pieces: Vec::new(),
        }
    }
}

impl Reason {
    /// Adds what the rules say of each piece.
    #[must_use]
    pub fn of_pieces(mut self, pieces: Vec<JudgedPiece>) -> Self {
        for piece in &pieces {
            let said: Vec<&str> = piece
                .findings
                .iter()
                .map(|one| one.sentence.as_str())
                .collect();
            self.sentence += &format!(" {}: {}", piece.name, said.join(" "));
        }
        self.pieces = pieces;
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_reason_says_something_and_each_sentence_has_a_name_of_its_own() {
        for kind in ReasonKind::ALL {
            assert!(
                REASON_SENTENCES.iter().any(|one| one.kind == *kind),
                "{kind}"
            );
        }
        let mut names: Vec<_> = REASON_SENTENCES
            .iter()
            .map(|one| (one.kind.as_str(), one.variant))
            .collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), REASON_SENTENCES.len());
    }
}
