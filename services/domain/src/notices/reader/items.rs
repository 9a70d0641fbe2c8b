//! Lots and serials.

use super::block::{Item, What};
use super::words::{Sureness, is_code, says_none};
use super::{Bytes, Context, Mark, Reader};
use crate::notices::dates::{Expected, date_at};
use crate::notices::labels;
use crate::notices::ranges::{Hyphened, hyphened, written_out};
use crate::notices::tokens::Kind;

const BEGIN: &[&str] = &[
    "begin",
    "begins",
    "beginning",
    "start",
    "starts",
    "starting",
    "prefix",
    "prefixes",
    "prefixed",
];
/// Words that no spaced code ends with.
const JOINING: &[&str] = &[
    "and", "or", "to", "the", "of", "in", "on", "is", "by", "for", "all", "are", "has",
];
/// The longest number that capital letters behind a space still belong to.
const SHORT: usize = 3;

impl Reader<'_> {
    pub(super) fn item_word(&mut self, at: usize) -> usize {
        let token = self.tokens[at];
        let is = |words: &[&str]| words.iter().any(|word| token.is(word));
        if is(&["followed"]) && !self.block().items.is_empty() {
            return self.continued(at);
        }
        if says_none(&token) && self.empty {
            self.mark(at, at + 1);
            return at + 1;
        }
        if is(BEGIN) {
            self.beginnings = true;
            self.prose = false;
            self.mark(at, at + 1);
            return at + 1;
        }
        let unusual = self
            .bounded(at)
            .or_else(|| self.resumed_range(at))
            .or_else(|| self.letter(at));
        if let Some(next) = unusual {
            return next;
        }
        if labels::is_neutral(&token) {
            self.between |= token.is("between");
            self.marks[at] = Mark::Neutral;
            return at + 1;
        }
        if let Some(next) = self
            .day_code(at)
            .or_else(|| self.spaced_code(at))
            .or_else(|| self.unlabelled_date(at))
        {
            return next;
        }
        if self.is_item(at) {
            return self.item(at);
        }
        self.prose = true;
        self.just_item = false;
        self.open_all &= !token.stop;
        at + 1
    }

    fn sureness(&self) -> Sureness {
        match (self.context, self.prose) {
            (Context::Implied, _) => Sureness::Unannounced,
            (_, true) => Sureness::AfterWords,
            _ => Sureness::Announced,
        }
    }

    fn is_item(&self, at: usize) -> bool {
        let implied = self.context == Context::Implied;
        if implied && self.prose {
            return false;
        }
        let token = self.tokens[at];
        // `A123 (24)`: a count.
        let count = self.depth > 0 && self.just_item && token.text.len() <= 4;
        if count && token.text.bytes().all(|b| b.is_ascii_digit()) {
            return false;
        }
        let letters = self.has_lower_case && !self.prose && !implied;
        is_code(&self.tokens, at, self.sureness(), letters)
    }

    /// `Lots A, B and C`: one capital letter in a list.
    fn letter(&mut self, at: usize) -> Option<usize> {
        let token = self.tokens[at];
        let announced =
            matches!(self.context, Context::Items { .. }) && !self.prose && self.has_lower_case;
        let capital = token.text.len() == 1 && token.text.bytes().all(|b| b.is_ascii_uppercase());
        let ends = self.tokens.get(at + 1).is_none_or(|next| {
            let list = matches!(
                next.kind,
                Kind::Comma | Kind::Semicolon | Kind::Newline | Kind::Close
            );
            list || next.is("and") || next.is("or") || next.text == "&"
        });
        if !announced || !capital || !(ends || token.stop) {
            return None;
        }
        self.push(What::Code(token.text.to_owned()), token.at..token.end());
        self.mark(at, at + 1);
        Some(at + 1)
    }

    /// `7 JAN 24` where a lot is announced and no date: the day is the code.
    fn day_code(&mut self, at: usize) -> Option<usize> {
        let announced = matches!(self.context, Context::Items { .. }) && !self.prose;
        if !announced || self.dates_expected || self.just_item {
            return None;
        }
        let start = self.tokens[at].at;
        let (_, end) = date_at(self.text, start, Expected::Yes, self.today)?;
        let code = &self.text[start..end];
        if !code.bytes().any(|b| b.is_ascii_uppercase()) || !code.contains(' ') {
            return None;
        }
        let length = self.tokens[at..]
            .iter()
            .take(8)
            .take_while(|t| t.at < end)
            .count();
        self.push(What::Code(code.to_owned()), start..end);
        self.mark(at, at + length);
        Some(at + length)
    }

    /// `2015/08 BH`, `130 EF`: a number and capital letters are one code.
    fn spaced_code(&mut self, at: usize) -> Option<usize> {
        let (number, letters) = (self.tokens[at], self.tokens.get(at + 1)?);
        let announced = matches!(self.context, Context::Items { .. }) && !self.prose;
        let fits = announced
            && number.text.bytes().all(|b| b.is_ascii_digit() || b == b'/')
            && (number.text.len() <= SHORT || number.text.contains('/'))
            && !number.stop
            && letters.kind == Kind::Word
            && letters.spaced
            && (1..=3).contains(&letters.text.len())
            && letters.text.bytes().all(|b| b.is_ascii_uppercase())
            && !JOINING.iter().any(|word| letters.is(word))
            && labels::label_at(&self.tokens, at + 1).is_none()
            && is_code(&self.tokens, at, Sureness::Announced, false)
            && !self.dates_expected;
        let bytes = number.at..letters.end();
        let code = self.text.get(bytes.clone()).filter(|_| fits)?.to_owned();
        self.push(What::Code(code), bytes);
        self.mark(at, at + 2);
        Some(at + 2)
    }

    /// A date without a label of its own, right behind a lot or announced by the heading.
    fn unlabelled_date(&mut self, at: usize) -> Option<usize> {
        let heading = self.dates_expected && matches!(self.context, Context::Items { .. });
        if !heading && (self.prose || !self.just_item) {
            return None;
        }
        let start = self.tokens[at].at;
        let expected = if heading { Expected::Yes } else { Expected::No };
        let (_, end) = date_at(self.text, start, expected, self.today)?;
        // A number without separators is a lot's as well as a date's.
        if self.text[start..end].bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        self.expiries(at, expected)
    }

    fn item(&mut self, at: usize) -> usize {
        let token = self.tokens[at];
        if self.beginnings {
            self.push(
                What::Beginning(token.text.to_owned()),
                token.at..token.end(),
            );
            self.mark(at, at + 1);
            return at + 1;
        }
        let range = self
            .range(at)
            .or_else(|| self.open_range(at))
            .or_else(|| self.compared(at));
        if let Some(next) = range.or_else(|| self.variants(at)) {
            return next;
        }
        let code = token.text;
        let bytes = token.at..token.end();
        let (range, also_code) = match hyphened(code, self.several) {
            Hyphened::Code => (None, true),
            Hyphened::Range(from, to) => (Some((from, to)), false),
            Hyphened::Either(from, to) => (Some((from, to)), true),
        };
        if also_code {
            self.push(What::Code(code.to_owned()), bytes.clone());
        }
        if let Some((from, to)) = range {
            let what = What::Between {
                from: Some(from.to_owned()),
                to: Some(written_out(from, to)),
                printed: Some(code.to_owned()),
            };
            self.push(what, bytes);
        }
        self.mark(at, at + 1);
        at + 1
    }

    /// `1234567A/B/C`: lots that differ in their last letter.
    fn variants(&mut self, at: usize) -> Option<usize> {
        let token = self.tokens[at];
        let (first, others) = token.text.split_once('/')?;
        let stem = first.strip_suffix(|c: char| c.is_ascii_alphabetic())?;
        let letter = |text: &str| text.len() == 1 && text.bytes().all(|b| b.is_ascii_alphabetic());
        if !stem.ends_with(|c: char| c.is_ascii_digit()) || !others.split('/').all(letter) {
            return None;
        }
        let bytes = token.at..token.end();
        self.push(What::Code(first.to_owned()), bytes.clone());
        for other in others.split('/') {
            self.push(What::Code(format!("{stem}{other}")), bytes.clone());
        }
        self.mark(at, at + 1);
        Some(at + 1)
    }

    /// `may be followed by numbers from 01 to 99`: the lots are beginnings of what labels print.
    fn continued(&mut self, at: usize) -> usize {
        let first = std::mem::replace(&mut self.continued, self.blocks.len().saturating_sub(1));
        for block in self.blocks.iter_mut().skip(first) {
            block.continue_codes();
        }
        let mut next = at;
        while let Some(token) = self.tokens.get(next) {
            let label = labels::label_at(&self.tokens, next).is_some();
            if label || matches!(token.kind, Kind::Semicolon | Kind::Newline) {
                break;
            }
            next += 1;
            if token.stop {
                break;
            }
        }
        self.prose = true;
        self.just_item = false;
        next
    }

    pub(super) fn push(&mut self, what: What, bytes: Bytes) {
        let (lots, serials) = match self.context {
            Context::Items { lots, serials } => (lots, serials),
            _ => (true, false),
        };
        self.push_as(what, bytes, lots, serials);
    }

    pub(super) fn push_as(&mut self, what: What, bytes: Bytes, lots: bool, serials: bool) {
        if self.open_all && !self.prose {
            self.block().all = None;
            self.open_all = false;
        }
        self.block().push(Item {
            what,
            lots,
            serials,
            bytes,
            expiry: None,
            continued: false,
        });
        self.just_item = true;
        self.empty = false;
    }
}
