//! Expiries of lots.

use jiff::civil::Date;

use super::{Bytes, Reader};
use crate::notices::dates::{Expected, date_at};
use crate::notices::tokens::Kind;
use crate::notices::{Expiry, PrintedDate};

const EARLIER: &[&str] = &[
    "before", "prior", "earlier", "until", "through", "thru", "by", "older", "sooner",
];
const LATER: &[&str] = &["after", "later", "since", "newer"];
const FILLING: &[&str] = &[
    "of",
    "is",
    "are",
    "on",
    "or",
    "and",
    "the",
    "from",
    "between",
    "ranging",
    "range",
    "to",
    "up",
    "including",
    "than",
    "date",
    "dates",
    "was",
    "in",
    "all",
    "with",
];

/// The most words between `Exp` and its date.
const WORDS: usize = 7;

impl Reader<'_> {
    /// The expiry behind its label, given to the lots it belongs to.
    pub(super) fn labelled_expiry(&mut self, at: usize) -> Option<usize> {
        let mut next = at;
        let (mut earlier, mut later, mut words) = (false, false, 0);
        while let Some(token) = self.tokens.get(next) {
            let is = |words: &[&str]| words.iter().any(|word| token.is(word));
            match token.kind {
                Kind::Colon | Kind::Dash | Kind::Mark | Kind::Open | Kind::Slash => {}
                Kind::Newline if next > at => {}
                Kind::Word if date_at(self.text, token.at, Expected::Yes, self.today).is_some() => {
                    break;
                }
                Kind::Word if words < WORDS && is(EARLIER) => earlier = true,
                Kind::Word if words < WORDS && is(LATER) => later = true,
                Kind::Word if words < WORDS && is(FILLING) => {}
                _ => return None,
            }
            words += 1;
            if words > WORDS {
                return None;
            }
            next += 1;
        }
        if !earlier && !later {
            return self
                .expiries(next, Expected::Yes)
                .inspect(|_| self.mark(at, next));
        }
        let (date, bytes, behind) = self.date(next, Expected::Yes)?;
        self.mark(at, behind);
        self.give(vec![(open(date, earlier), bytes)]);
        Some(behind)
    }

    /// One date, a range of dates, or a list of dates that goes with a list of lots.
    pub(super) fn expiries(&mut self, at: usize, expected: Expected) -> Option<usize> {
        let (first, mut bytes, mut next) = self.date(at, expected)?;
        let mut all = Vec::new();
        if let Some((last, behind, end)) = self.other_end(&bytes, next) {
            bytes.end = end;
            next = behind;
            all.push((Expiry::between(first, last), bytes));
        } else if let Some((earlier, behind)) = self.and_earlier(next) {
            next = behind;
            all.push((open(first, earlier), bytes));
        } else {
            all.push((Expiry::on(first), bytes));
            while let Some((date, bytes, behind)) = self.listed(next) {
                all.push((Expiry::on(date), bytes));
                next = behind;
            }
        }
        self.mark(at, next);
        self.give(all);
        Some(next)
    }

    pub(super) fn date(
        &self,
        at: usize,
        expected: Expected,
    ) -> Option<(PrintedDate, Bytes, usize)> {
        let start = self.tokens.get(at)?.at;
        let (date, end) = date_at(self.text, start, expected, self.today)?;
        let length = self.tokens[at..]
            .iter()
            .take(12)
            .take_while(|t| t.at < end)
            .count();
        Some((date, start..end, at + length))
    }

    /// The later end of a range: the date, the token and the byte behind it.
    fn other_end(&self, first: &Bytes, next: usize) -> Option<(PrintedDate, usize, usize)> {
        let rest = self.text.get(first.end..)?;
        if rest.starts_with('-') && !rest[1..].starts_with(char::is_whitespace) {
            let (date, end) = date_at(self.text, first.end + 1, Expected::Yes, self.today)?;
            let length = self.tokens[next..]
                .iter()
                .take(12)
                .take_while(|t| t.at < end)
                .count();
            return Some((date, next + length, end));
        }
        let joint = self.tokens.get(next)?;
        let between = self.between && joint.is("and");
        let joins = joint.kind == Kind::Dash
            || between
            || ["to", "through", "thru"].iter().any(|w| joint.is(w));
        let (date, bytes, behind) = self.date(next + 1, Expected::Yes).filter(|_| joins)?;
        Some((date, behind, bytes.end))
    }

    /// `or earlier`, `and later`: whether earlier, and the token behind it.
    fn and_earlier(&self, next: usize) -> Option<(bool, usize)> {
        let joint = self.tokens.get(next)?;
        let side = self.tokens.get(next + 1)?;
        let is = |words: &[&str]| words.iter().any(|word| side.is(word));
        let joins = joint.is("or") || joint.is("and");
        match (
            joins && is(EARLIER) && !side.is("through"),
            joins && is(LATER),
        ) {
            (true, _) => Some((true, next + 2)),
            (_, true) => Some((false, next + 2)),
            _ => None,
        }
    }

    /// The next date of a list.
    fn listed(&self, next: usize) -> Option<(PrintedDate, Bytes, usize)> {
        let mut at = next;
        let joint = self.tokens.get(at)?;
        if joint.kind != Kind::Comma && !joint.is("and") && joint.text != "&" {
            return None;
        }
        at += 1;
        at += usize::from(
            joint.kind == Kind::Comma && self.tokens.get(at).is_some_and(|t| t.is("and")),
        );
        let (date, bytes, behind) = self.date(at, Expected::Yes)?;
        let plain = self.text[bytes.clone()].contains('/')
            || date_at(self.text, bytes.start, Expected::No, self.today).is_some();
        plain.then_some((date, bytes, behind))
    }

    /// Gives dates to the lots before them, one to all or each to its own; without lots before
    /// them, to those that follow.
    pub(super) fn give(&mut self, mut dates: Vec<(Expiry, Bytes)>) {
        self.just_item = false;
        self.prose = false;
        let block = self.block();
        if block.leading.is_some() || block.items.is_empty() {
            block.leading = dates.into_iter().reduce(spanning);
            return;
        }
        let undated = block.items.get_mut(block.undated..).unwrap_or_default();
        if dates.len() == undated.len() {
            for (item, date) in undated.iter_mut().zip(dates) {
                item.expiry = Some(date);
            }
            block.undated = block.items.len();
        } else if !undated.is_empty() {
            let date = if dates.len() == 1 {
                dates.pop()
            } else {
                dates.into_iter().reduce(spanning)
            };
            for item in undated {
                item.expiry.clone_from(&date);
            }
            block.undated = block.items.len();
        }
    }
}

/// Up to a date, or from it on; the date itself is included, which can only widen.
fn open(date: PrintedDate, earlier: bool) -> Expiry {
    let day = |wanted: bool, day: Date| wanted.then_some(day);
    Expiry {
        printed: None,
        from: day(!earlier, date.first()),
        to: day(earlier, date.last()),
    }
}

fn spanning(one: (Expiry, Bytes), other: (Expiry, Bytes)) -> (Expiry, Bytes) {
    let open = |a: Option<Date>, b: Option<Date>, pick: fn(Date, Date) -> Date| Some(pick(a?, b?));
    let expiry = Expiry {
        printed: None,
        from: open(one.0.from, other.0.from, Date::min),
        to: open(one.0.to, other.0.to, Date::max),
    };
    (expiry, one.1.start..other.1.end)
}
