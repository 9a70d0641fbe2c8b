//! Which words are codes.

use crate::notices::labels;
use crate::notices::tokens::{Kind, Token};

const UNITS: &[&str] = &[
    "mg", "ml", "mcg", "g", "kg", "l", "cm", "mm", "oz", "fr", "ga", "gauge", "inch", "inches",
    "ct", "count", "iu", "meq", "lb", "lbs", "unit", "units", "tablet", "tablets", "capsule",
    "capsules", "vial", "vials", "bottle", "bottles", "box", "boxes", "carton", "cartons", "case",
    "cases", "kit", "kits", "piece", "pieces", "pcs", "ea", "pack", "packs", "pk", "bag", "bags",
    "syringe", "syringes", "tube", "tubes", "pair", "pairs", "device", "devices", "system",
    "systems", "test", "tests", "day", "days", "month", "months", "year", "years", "patch",
    "patches", "times", "percent", "ampules",
];

const NONE: &[&str] = &["n/a", "na", "none", "unknown", "n.a"];

/// How sure a word has to be.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Sureness {
    /// Right behind its label, or in a list of codes.
    Announced,
    /// After words: four characters or more.
    AfterWords,
    /// Without any label: four characters or more, no small letters.
    Unannounced,
}

/// Words that say there is no such code.
pub(super) fn says_none(token: &Token<'_>) -> bool {
    NONE.iter().any(|word| token.is(word))
}

/// Whether a word is a code of a lot or a product; `letters` allows capital letters without digit.
pub(super) fn is_code(tokens: &[Token<'_>], at: usize, sureness: Sureness, letters: bool) -> bool {
    let Some(token) = tokens.get(at).filter(|t| t.kind == Kind::Word) else {
        return false;
    };
    let word = token.text;
    if !word.is_ascii()
        || word.len() > 40
        || word.contains(['%', '\'', '$'])
        || is_quantity(tokens, at)
    {
        return false;
    }
    if !word.bytes().any(|b| b.is_ascii_digit()) {
        let capitals = word.bytes().all(|b| b.is_ascii_uppercase() || b == b'-');
        return letters && capitals && (2..=10).contains(&word.len());
    }
    let has_word = word
        .split(['-', '/'])
        .any(|part| part.len() >= 3 && part.bytes().all(|b| b.is_ascii_lowercase()));
    if has_word || is_ordinal(word) {
        return false;
    }
    match sureness {
        Sureness::Announced => true,
        Sureness::AfterWords => word.len() >= 4,
        Sureness::Unannounced => word.len() >= 4 && !word.bytes().any(|b| b.is_ascii_lowercase()),
    }
}

/// `50mg`, `25 units`, `1,000 Tablets`.
fn is_quantity(tokens: &[Token<'_>], at: usize) -> bool {
    let word = tokens[at].text;
    let unit = word.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let is_unit = |text: &str| UNITS.iter().any(|unit| text.eq_ignore_ascii_case(unit));
    if !unit.is_empty() {
        let small = unit.bytes().any(|b| b.is_ascii_lowercase());
        let first = unit.split('/').next().unwrap_or(unit);
        return unit.len() < word.len() && small && is_unit(first);
    }
    let thousands = |at: usize| {
        let comma = tokens
            .get(at + 1)
            .is_some_and(|t| t.kind == Kind::Comma && !t.spaced);
        let digits = tokens.get(at + 2).is_some_and(|t| {
            !t.spaced && t.text.len() == 3 && t.text.bytes().all(|b| b.is_ascii_digit())
        });
        comma && digits
    };
    let mut behind = at + 1;
    while word.len() <= 3 && behind < at + 7 && thousands(behind - 1) {
        behind += 2;
    }
    word.len() <= 6
        && tokens.get(behind).is_some_and(|t| {
            t.kind == Kind::Word && is_unit(t.text) && labels::label_at(tokens, behind).is_none()
        })
}

/// `20th`, `3rd`.
fn is_ordinal(word: &str) -> bool {
    let ending = word.trim_start_matches(|c: char| c.is_ascii_digit());
    ending.len() < word.len() && ["st", "nd", "rd", "th"].contains(&ending)
}
