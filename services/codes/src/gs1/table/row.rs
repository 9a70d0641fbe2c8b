//! How a row of the table is written.

use crate::gs1::lint::Check;

/// The characters a part may hold (GS1 General Specifications 7.11).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Set {
    /// Digits.
    Digits,
    /// The 82 characters of most text.
    Set82,
    /// The 39 characters of component and part identifiers.
    Set39,
    /// Base64 for file names, with its padding.
    Base64,
}

/// One part of a value: its characters, length and content checks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Part {
    pub(crate) set: Set,
    pub(crate) min: u8,
    pub(crate) max: u8,
    pub(crate) optional: bool,
    pub(crate) checks: &'static [Check],
}

/// An application identifier, or a run of them that differ in the last digit only.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ai {
    pub(crate) first: &'static str,
    pub(crate) last: &'static str,
    pub(crate) parts: &'static [Part],
    /// Whether its length is predefined, so that no separator follows.
    pub(crate) fixed: bool,
    /// Whether it may stand in the query of a Digital Link.
    pub(crate) attribute: bool,
    /// Alternatives of elements of which one must be complete on the item.
    pub(crate) needs: &'static [&'static [&'static str]],
    /// Elements that must not stand on the same item; `n` is any digit.
    pub(crate) excludes: &'static [&'static str],
    /// For a primary key of a Digital Link: the alternatives of qualifiers in order.
    pub(crate) key: Option<&'static [&'static [&'static str]]>,
}

pub(super) const fn ai(code: &'static str, parts: &'static [Part]) -> Ai {
    range(code, code, parts)
}

pub(super) const fn range(first: &'static str, last: &'static str, parts: &'static [Part]) -> Ai {
    Ai {
        first,
        last,
        parts,
        fixed: false,
        attribute: false,
        needs: &[],
        excludes: &[],
        key: None,
    }
}

/// A measure: six digits, the identifier's last digit places the decimal point.
pub(super) const fn measure(
    first: &'static str,
    last: &'static str,
    needs: &'static [&'static [&'static str]],
    excludes: &'static [&'static str],
) -> Ai {
    const SIX_DIGITS: &[Part] = &[n(6)];
    range(first, last, SIX_DIGITS)
        .fixed()
        .attribute()
        .needs(needs)
        .excludes(excludes)
}

impl Ai {
    pub(super) const fn fixed(mut self) -> Self {
        self.fixed = true;
        self
    }

    pub(super) const fn attribute(mut self) -> Self {
        self.attribute = true;
        self
    }

    pub(super) const fn needs(mut self, alternatives: &'static [&'static [&'static str]]) -> Self {
        self.needs = alternatives;
        self
    }

    pub(super) const fn excludes(mut self, patterns: &'static [&'static str]) -> Self {
        self.excludes = patterns;
        self
    }

    pub(super) const fn key(mut self, qualifiers: &'static [&'static [&'static str]]) -> Self {
        self.key = Some(qualifiers);
        self
    }

    /// The length of a value whose length is predefined.
    pub(crate) const fn width(&self) -> usize {
        let mut width = 0;
        let mut i = 0;
        while i < self.parts.len() {
            width += self.parts[i].max as usize;
            i += 1;
        }
        width
    }
}

impl Part {
    const fn new(set: Set, min: u8, max: u8) -> Self {
        Self {
            set,
            min,
            max,
            optional: false,
            checks: &[],
        }
    }

    pub(super) const fn is(mut self, checks: &'static [Check]) -> Self {
        self.checks = checks;
        self
    }

    pub(super) const fn optional(mut self) -> Self {
        self.optional = true;
        self
    }
}

pub(super) const fn n(length: u8) -> Part {
    Part::new(Set::Digits, length, length)
}

pub(super) const fn x(length: u8) -> Part {
    Part::new(Set::Set82, length, length)
}

pub(super) const fn n_to(longest: u8) -> Part {
    Part::new(Set::Digits, 1, longest)
}

pub(super) const fn x_to(longest: u8) -> Part {
    Part::new(Set::Set82, 1, longest)
}

pub(super) const fn y_to(longest: u8) -> Part {
    Part::new(Set::Set39, 1, longest)
}

pub(super) const fn z_to(longest: u8) -> Part {
    Part::new(Set::Base64, 1, longest)
}

/// No qualifiers.
pub(super) const NONE: &[&[&str]] = &[];
pub(super) const ITEM_OR_CONTENT: &[&[&str]] = &[&["01"], &["02"]];
pub(super) const UNIT: &[&[&str]] = &[&["00"]];
pub(super) const UNIT_OR_ITEM: &[&[&str]] = &[&["00"], &["01"]];
pub(super) const ITEM: &[&[&str]] = &[&["01"]];
pub(super) const ITEM_OR_ASSET: &[&[&str]] = &[&["01"], &["8004"]];
pub(super) const ANY_ITEM: &[&[&str]] = &[&["01"], &["02"], &["03"], &["8006"], &["8026"]];
pub(super) const ITEM_CONTENT_OR_MADE: &[&[&str]] = &[&["01"], &["02"], &["03"]];
pub(super) const PERSON: &[&[&str]] = &[&["8017"], &["8018"]];
pub(super) const RECIPIENT: &[&[&str]] = &[&["8018"]];
pub(super) const SERIAL_ITEM: &[&[&str]] = &[&["01"], &["03"], &["8006"]];
pub(super) const PAYMENT: &[&[&str]] = &[&["8020"]];
pub(super) const MEASURED: &[&[&str]] = &[&["30"], &["31nn"], &["32nn"], &["35nn"], &["36nn"]];
pub(super) const PHONE: &[&[&str]] = &[&["01", "21", "8040"]];
pub(super) const COUPON: &[&[&str]] = &[&["255"]];
pub(super) const ITEM_OR_PIECE: &[&[&str]] = &[&["01"], &["02"], &["8006"], &["8026"]];
