//! Labels, paragraphs and punctuation.

use super::block::Block;
use super::{Context, Layout, Reader};
use crate::notices::labels::{self, Label, Labelled};
use crate::notices::tokens::{Kind, Token};

/// What `all` may be said of, besides lots and serials.
const THINGS: &[&str] = &[
    "unit",
    "units",
    "device",
    "devices",
    "product",
    "products",
    "kit",
    "kits",
    "number",
    "numbers",
    "with",
    "within",
    "expiry",
    "pumps",
    "systems",
    "items",
    "vials",
    "bottles",
    "syringes",
    "implants",
    "catheters",
    "instruments",
];

impl Reader<'_> {
    pub(super) fn label(&mut self, at: usize, found: &Labelled) -> usize {
        if found.label != Label::Other {
            self.mark(at, found.next);
        }
        self.prose = false;
        match found.label {
            Label::Expiry => {
                let context = self.context;
                if let Some(next) = self.labelled_expiry(found.next) {
                    return next;
                }
                // A heading: `Lot numbers and exp dates`.
                self.dates_expected = true;
                self.context = context;
                self.just_item = false;
                return found.next;
            }
            Label::Other => {
                let items = matches!(self.context, Context::Items { .. });
                if items {
                    self.resume = Some(self.context);
                }
                self.context = Context::Other;
                self.just_item = false;
                self.open_all = false;
                return found.next;
            }
            Label::Items { lots, serials } => {
                self.begin_items();
                self.dates_expected &= self.empty;
                self.context = Context::Items { lots, serials };
            }
            Label::Catalogue => {
                self.begin_product();
                self.context = Context::Catalogue;
            }
            Label::Identifier(scheme) => {
                self.begin_product();
                self.context = Context::Identifier(scheme);
            }
        }
        self.resume = None;
        self.several = found.several;
        self.beginnings = false;
        self.between = false;
        self.just_item = false;
        self.empty = true;
        found.next
    }

    fn begin_items(&mut self) {
        let layout = *self.layout.get_or_insert(Layout::ItemsFirst);
        let block = self.block();
        if layout == Layout::ItemsFirst && block.names_items() && block.names_product() {
            self.begin_block(Block::default());
        }
    }

    pub(super) fn begin_product(&mut self) {
        let layout = *self.layout.get_or_insert(Layout::ProductFirst);
        if layout == Layout::ProductFirst && self.block().names_items() {
            self.begin_block(Block::default());
        }
    }

    fn begin_block(&mut self, block: Block) {
        self.blocks.push(block);
        self.open_all = false;
    }

    /// `a)`, `(b)`, `2)`: what follows belongs to another product of the list.
    pub(super) fn paragraph(&mut self, at: usize) -> Option<usize> {
        let opened = self.tokens[at].kind == Kind::Open;
        let word = at + usize::from(opened);
        let token = self.tokens.get(word).filter(|t| t.kind == Kind::Word)?;
        let close = self
            .tokens
            .get(word + 1)
            .filter(|t| t.kind == Kind::Close && !t.spaced)?;
        let letter = token.text.len() == 1 && token.text.bytes().all(|b| b.is_ascii_alphabetic());
        let number = token.text.len() <= 2 && token.text.bytes().all(|b| b.is_ascii_digit());
        let start = at == 0 || {
            let before = self.tokens[at - 1];
            let parts = matches!(
                before.kind,
                Kind::Semicolon | Kind::Newline | Kind::Colon | Kind::Comma
            );
            parts || before.stop || (self.tokens[at].spaced && (letter || !opened))
        };
        if self.depth > 0 || !start || !(letter || number) || close.text == "]" {
            return None;
        }
        self.mark(at, word + 2);
        self.prose = false;
        self.just_item = false;
        if let Some(context) = self.resume.take() {
            self.context = context;
        }
        if self.block().names_items() {
            let next = self.header.as_ref().map(Block::product).unwrap_or_default();
            self.begin_block(next);
        } else {
            let header = self.block().product();
            self.header = Some(header);
        }
        Some(word + 2)
    }

    /// `except lot 5`: what follows is not what the notice is about.
    pub(super) fn exception(&mut self, at: usize) -> Option<usize> {
        let token = self.tokens[at];
        let is = |at: usize, words: &[&str]| {
            let token = self.tokens.get(at).filter(|t| t.kind == Kind::Word);
            token.is_some_and(|t| words.iter().any(|word| t.is(word)))
        };
        let excepted = is(
            at,
            &[
                "except",
                "excepting",
                "excluding",
                "excludes",
                "exclude",
                "unaffected",
                "besides",
            ],
        ) || (token.is("not")
            && is(
                at + 1,
                &["affected", "included", "including", "subject", "recalled"],
            ))
            || (token.is("other") && is(at + 1, &["than"]));
        if !excepted {
            return None;
        }
        self.open_all = false;
        self.just_item = false;
        let rest = &self.tokens[at..];
        let ends = |t: &Token<'_>| t.stop || matches!(t.kind, Kind::Semicolon | Kind::Newline);
        let length = rest.iter().position(ends).map_or(rest.len(), |end| end + 1);
        Some(at + length)
    }

    /// `All lots`, `every unit`, `Lot numbers: all`.
    pub(super) fn all(&mut self, at: usize) -> Option<usize> {
        let token = self.tokens[at];
        if token.kind != Kind::Word || !(token.is("all") || token.is("every")) {
            return None;
        }
        let mut next = at + 1;
        let mut things = false;
        while let Some(word) = self
            .tokens
            .get(next)
            .filter(|t| t.kind == Kind::Word && next < at + 4)
        {
            if let Some(found) = labels::label_at(&self.tokens, next) {
                things |= !matches!(found.label, Label::Other);
                break;
            }
            if THINGS.iter().any(|thing| word.is(thing)) {
                things = true;
                next += 1;
                break;
            }
            let adjective = [
                "affected",
                "recalled",
                "distributed",
                "the",
                "other",
                "of",
                "remaining",
                "subsequent",
                "later",
                "future",
                "unexpired",
            ];
            if !adjective.iter().any(|a| word.is(a)) {
                break;
            }
            next += 1;
        }
        let behind_label =
            matches!(self.context, Context::Items { .. }) && self.empty && !self.prose;
        if !things && !behind_label && at + 1 < self.tokens.len() {
            return None;
        }
        let end = if things { next } else { at + 1 };
        let bytes = token.at..self.tokens[end.max(at + 1) - 1].end();
        if self.layout == Some(Layout::ItemsFirst) || self.block().all.is_some() {
            self.begin_items();
        }
        self.block().all = Some(bytes);
        self.open_all = true;
        self.mark(at, end);
        Some(end)
    }

    pub(super) fn punctuation(&mut self, at: usize) {
        match self.tokens[at].kind {
            Kind::Semicolon | Kind::Newline => {
                self.prose = false;
                self.open_all = false;
                self.resume_items();
            }
            Kind::Comma => self.prose &= !self.just_item,
            Kind::Colon if self.empty => self.resume_items(),
            Kind::Open => {
                self.depth += 1;
                self.outside = (self.context, self.prose);
            }
            Kind::Close => {
                self.depth = self.depth.saturating_sub(1);
                self.close();
            }
            _ => {}
        }
    }

    /// Goes on with the list that a remark in brackets stood in, unless the bracket held no value:
    /// `Catalog (REF) 123`.
    fn close(&mut self) {
        self.resume_items();
        let (context, prose) = self.outside;
        self.prose = prose;
        if !self.empty && !matches!(context, Context::Implied | Context::Other) {
            self.context = context;
        }
    }

    fn resume_items(&mut self) {
        if self.context == Context::Other
            && let Some(context) = self.resume.take()
        {
            self.context = context;
        }
    }
}
