//! Ranges in words.

use super::block::What;
use super::words::{Sureness, is_code};
use super::{Context, Reader};
use crate::notices::dates::{Expected, date_at};
use crate::notices::labels::{self, Label};
use crate::notices::ranges::{comparable, written_out};
use crate::notices::tokens::Kind;

const LOWER: &[&str] = &[
    "below", "lower", "earlier", "less", "prior", "before", "previous", "older", "under", "until",
];
const HIGHER: &[&str] = &[
    "above",
    "higher",
    "later",
    "greater",
    "up",
    "after",
    "newer",
    "over",
    "beyond",
    "subsequent",
    "onward",
    "onwards",
    "forward",
    "on",
    "since",
];
const STILL: &[&str] = &["present", "current", "now", "today", "date"];

impl Reader<'_> {
    /// `A through B`, `A - B`, `between A and B`.
    pub(super) fn range(&mut self, at: usize) -> Option<usize> {
        let second = self.second(at)?;
        let (from, to) = (self.tokens[at], self.tokens[second]);
        let what = What::Between {
            from: Some(from.text.to_owned()),
            to: Some(written_out(from.text, to.text)),
            printed: None,
        };
        self.push(what, from.at..to.end());
        self.between = false;
        self.mark(at, second + 1);
        Some(second + 1)
    }

    /// `A (exp 1/25) through B`: the range goes on behind a remark.
    pub(super) fn resumed_range(&mut self, at: usize) -> Option<usize> {
        let joint = self.tokens[at];
        let joins = ["through", "thru", "to"].iter().any(|word| joint.is(word));
        let second = self.code_at(at + 1).filter(|_| joins && !self.prose)?;
        let last = self.block().items.last()?.clone();
        let What::Code(from) = last.what else {
            return None;
        };
        let to = self.tokens[second];
        let what = What::Between {
            to: Some(written_out(&from, to.text)),
            from: Some(from),
            printed: None,
        };
        self.push_as(what, last.bytes.start..to.end(), last.lots, last.serials);
        self.mark(at, second + 1);
        Some(second + 1)
    }

    /// `> 1000`, `<= 5000`.
    pub(super) fn compared(&mut self, at: usize) -> Option<usize> {
        let code = self.tokens[at];
        let before = self.tokens.get(at.checked_sub(1)?)?;
        let sign = match before.text {
            "=" => self.tokens.get(at.checked_sub(2)?)?,
            _ => before,
        };
        let text = Some(code.text.to_owned());
        let (from, to) = match sign.text {
            "<" | "≤" => (None, text),
            ">" | "≥" => (text, None),
            _ => return None,
        };
        self.push(
            What::Between {
                from,
                to,
                printed: None,
            },
            sign.at..code.end(),
        );
        self.mark(at, at + 1);
        Some(at + 1)
    }

    /// The code at the other end of a range.
    fn second(&self, at: usize) -> Option<usize> {
        let joint = self.tokens.get(at + 1)?;
        let from = self.tokens[at];
        if from.stop {
            return None;
        }
        if joint.kind == Kind::Dash {
            let second = self.code_at(at + 2)?;
            let chain = self
                .tokens
                .get(second + 1)
                .is_some_and(|t| t.kind == Kind::Dash);
            return (!chain
                && !self.after_dash(at)
                && comparable(from.text, self.tokens[second].text))
            .then_some(second);
        }
        let word = |words: &[&str]| joint.kind == Kind::Word && words.iter().any(|w| joint.is(w));
        let up = joint.is("up") && self.tokens.get(at + 2).is_some_and(|t| t.is("to"));
        let joins =
            word(&["to", "through", "thru", "until"]) || (self.between && word(&["and"])) || up;
        if !joins {
            return None;
        }
        let mut second = at + 2 + usize::from(up);
        if self
            .tokens
            .get(second)
            .is_some_and(|t| STILL.iter().any(|word| t.is(word)))
        {
            return None;
        }
        for skipped in ["and", "including"] {
            second += usize::from(self.tokens.get(second).is_some_and(|t| t.is(skipped)));
        }
        if let Some(label) = labels::label_at(&self.tokens, second) {
            second = label.next;
        }
        second += usize::from(
            self.tokens
                .get(second)
                .is_some_and(|t| t.kind == Kind::Hash),
        );
        self.code_at(second)
    }

    fn code_at(&self, at: usize) -> Option<usize> {
        is_code(&self.tokens, at, Sureness::Announced, false).then_some(at)
    }

    fn after_dash(&self, at: usize) -> bool {
        at > 0 && self.tokens[at - 1].kind == Kind::Dash && self.just_item
    }

    /// `182 and lower`, `1000 or higher`.
    pub(super) fn open_range(&mut self, at: usize) -> Option<usize> {
        let code = self.tokens[at];
        let joint = self.tokens.get(at + 1)?;
        let side = self.tokens.get(at + 2)?;
        let joins = |words: &[&str]| words.iter().any(|word| joint.is(word));
        let is = |words: &[&str]| words.iter().any(|word| side.is(word));
        let or = joins(&["and", "or"]);
        let lower = or && is(LOWER);
        let higher =
            (or && is(HIGHER)) || (joins(&["to", "through", "thru", "until"]) && is(STILL));
        let text = Some(code.text.to_owned());
        let (from, to) = match (lower, higher) {
            (true, _) => (None, text),
            (_, true) => (text, None),
            _ => return None,
        };
        self.push(
            What::Between {
                from,
                to,
                printed: None,
            },
            code.at..side.end(),
        );
        self.mark(at, at + 3);
        Some(at + 3)
    }

    /// `prior to serial number 10500`, `below 5000`, `up to lot 12`.
    pub(super) fn bounded(&mut self, at: usize) -> Option<usize> {
        let side = self.tokens[at];
        let is = |words: &[&str]| words.iter().any(|word| side.is(word));
        let up_to = side.is("up") && self.tokens.get(at + 1).is_some_and(|t| t.is("to"));
        let lower = is(LOWER) || up_to;
        if !lower && (!is(HIGHER) || side.is("on")) {
            return None;
        }
        let mut next = at + 1;
        for skipped in ["to", "than", "and", "including"] {
            next += usize::from(self.tokens.get(next).is_some_and(|t| t.is(skipped)));
        }
        if let Some(found) = labels::label_at(&self.tokens, next)
            && let Label::Items { lots, serials } = found.label
        {
            self.context = Context::Items { lots, serials };
            next = found.next;
        }
        let announced = matches!(self.context, Context::Items { .. });
        let code = self.tokens[self.code_at(next).filter(|_| announced)?];
        if date_at(self.text, code.at, Expected::No, self.today).is_some() {
            return None;
        }
        if is_year(code.text) {
            // A time, not a code: it stays unread.
            self.prose = true;
            self.open_all = false;
            return Some(next + 1);
        }
        let text = Some(code.text.to_owned());
        let (from, to) = if lower { (None, text) } else { (text, None) };
        self.push(
            What::Between {
                from,
                to,
                printed: None,
            },
            side.at..code.end(),
        );
        self.mark(at, next + 1);
        Some(next + 1)
    }
}

fn is_year(code: &str) -> bool {
    code.len() == 4
        && (code.starts_with("19") || code.starts_with("20"))
        && code.bytes().all(|b| b.is_ascii_digit())
}
