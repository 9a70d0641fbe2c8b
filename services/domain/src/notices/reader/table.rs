//! Tables: a line of labels, then a line for each product and lot.

use super::block::{Block, What};
use super::words::{Sureness, is_code};
use super::{Bytes, Context, Reader};
use crate::notices::dates::Expected;
use crate::notices::labels::{self, Label, Scheme};
use crate::notices::tokens::Kind;
use crate::notices::{Expiry, PrintedDate};

/// What stands in one place of a line.
enum Cell {
    Number(usize),
    Identifier(String, Bytes),
    Item(usize),
    Expiry(PrintedDate, Bytes),
}

impl Reader<'_> {
    /// A heading that names a product's number and a lot or serial, with every line that has
    /// exactly its columns; nothing when no line has.
    pub(super) fn table(&mut self, at: usize) -> Option<usize> {
        let line_begins = at == 0 || self.tokens[at - 1].kind == Kind::Newline;
        if !line_begins {
            return None;
        }
        let (columns, mut next) = self.heading(at)?;
        let (mut cells, mut behind) = self.row(next, &columns)?;
        self.mark(at, next);
        loop {
            self.mark(next, behind);
            self.take_row(cells, &columns);
            next = self.line_behind(behind);
            match self.row(next, &columns) {
                Some(row) => (cells, behind) = row,
                None => {
                    // What follows the table is not known to be of its last product.
                    self.blocks.push(Block::default());
                    return Some(next);
                }
            }
        }
    }

    /// The labels of a line that has nothing else, and the token behind the line.
    fn heading(&self, at: usize) -> Option<(Vec<Label>, usize)> {
        let mut columns = Vec::new();
        let mut next = at;
        loop {
            match self.tokens.get(next)?.kind {
                Kind::Newline => break,
                Kind::Word => {
                    let found =
                        labels::label_at(&self.tokens, next).filter(|f| f.label != Label::Other)?;
                    columns.push(found.label);
                    next = found.next;
                }
                Kind::Comma | Kind::Slash | Kind::Mark | Kind::Semicolon => next += 1,
                _ => return None,
            }
        }
        let count =
            |wanted: fn(&Label) -> bool| columns.iter().filter(|label| wanted(label)).count();
        let items = count(|label| matches!(label, Label::Items { .. }));
        let products = count(|label| matches!(label, Label::Catalogue | Label::Identifier(_)));
        (items == 1 && products >= 1).then_some((columns, next + 1))
    }

    /// The cells of a line, one for each column, and the token behind them.
    fn row(&self, at: usize, columns: &[Label]) -> Option<(Vec<Cell>, usize)> {
        let mut next = at;
        let mut cells = Vec::with_capacity(columns.len());
        for column in columns {
            while matches!(
                self.tokens.get(next)?.kind,
                Kind::Comma | Kind::Slash | Kind::Mark | Kind::Semicolon
            ) {
                next += 1;
            }
            let (cell, behind) = self.cell(next, *column)?;
            cells.push(cell);
            next = behind;
        }
        let ends = self
            .tokens
            .get(next)
            .is_none_or(|token| token.kind == Kind::Newline);
        ends.then_some((cells, next))
    }

    fn cell(&self, at: usize, column: Label) -> Option<(Cell, usize)> {
        let code = || is_code(&self.tokens, at, Sureness::Announced, false).then_some(at);
        match column {
            Label::Catalogue => Some((Cell::Number(code()?), at + 1)),
            Label::Items { .. } => Some((Cell::Item(code()?), at + 1)),
            Label::Identifier(scheme) => {
                let (code, bytes, behind) = match scheme {
                    Scheme::Drug => self.drug_code(at)?,
                    Scheme::Device | Scheme::Article => self.digits(at)?,
                };
                Some((Cell::Identifier(code, bytes), behind))
            }
            Label::Expiry => {
                let (date, bytes, behind) = self.date(at, Expected::Yes)?;
                Some((Cell::Expiry(date, bytes), behind))
            }
            Label::Other => None,
        }
    }

    fn take_row(&mut self, cells: Vec<Cell>, columns: &[Label]) {
        if self.block().names_items() {
            self.blocks.push(Block::default());
        }
        for label in columns {
            if let Label::Items { lots, serials } = *label {
                self.context = Context::Items { lots, serials };
            }
        }
        let mut expiry = None;
        for cell in cells {
            match cell {
                Cell::Number(at) => {
                    let token = self.tokens[at];
                    self.block()
                        .number(token.text.to_owned(), token.at..token.end());
                }
                Cell::Identifier(code, bytes) => self.block().identify(code, bytes),
                Cell::Item(at) => {
                    let token = self.tokens[at];
                    self.push(What::Code(token.text.to_owned()), token.at..token.end());
                }
                Cell::Expiry(date, bytes) => expiry = Some((Expiry::on(date), bytes)),
            }
        }
        if let Some(expiry) = expiry {
            self.give(vec![expiry]);
        }
    }

    /// The first token of the next line that is not empty.
    fn line_behind(&self, at: usize) -> usize {
        let rest = self.tokens.get(at..).unwrap_or_default();
        at + rest
            .iter()
            .take_while(|token| token.kind == Kind::Newline)
            .count()
    }
}
