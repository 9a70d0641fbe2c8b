//! What one row of a table names.

use super::Span;
use super::cells::{Content, Row};
use super::columns::Column;
use crate::notices::dates::{self, Expected};
use crate::notices::reader::prose;
use crate::notices::{Expiry, Found, Of, Proposal, Range};
use jiff::civil::Date;

/// Characters of an identifier or catalogue number at most.
const LONGEST: usize = 100;

/// What the cells of a row say.
#[derive(Default)]
pub(super) struct Read {
    pub(super) identifiers: Vec<Found<String>>,
    pub(super) catalogue_numbers: Vec<Found<String>>,
    /// The items, without products.
    pub(super) proposal: Proposal,
    pub(super) unread: Vec<Found<String>>,
}

pub(super) fn read(row: &Row, columns: &[Column], today: Date) -> Read {
    let mut read = Read::default();
    let mut ends: [[Option<&Content>; 2]; 2] = [[None; 2]; 2];
    let of = |of: Of| usize::from(of == Of::Serial);
    for (at, cell) in row.cells.iter().enumerate() {
        if cell.value.is_empty() {
            continue;
        }
        // A cell beyond the columns says nothing known.
        match columns.get(at).copied() {
            None => read.not_understood(cell),
            Some(Column::Aside | Column::Unknown) => {}
            Some(Column::Items(kind)) => read.items(cell, kind, today),
            Some(Column::From(kind)) => ends[of(kind)][0] = Some(cell),
            Some(Column::To(kind)) => ends[of(kind)][1] = Some(cell),
            Some(Column::Expiry) => read.expiry(cell, today),
            Some(Column::Identifier) => read.identifiers(cell),
            Some(Column::Catalogue) => read.numbers(cell),
        }
    }
    for (kind, [from, to]) in [Of::Lot, Of::Serial].into_iter().zip(ends) {
        if let Some(end) = from.or(to) {
            let text = |cell: Option<&Content>| cell.map(|cell| cell.value.clone());
            read.proposal.ranges.push(Found {
                value: Range::between(kind, text(from), text(to)),
                span: end.span,
            });
        }
    }
    read
}

impl Content {
    fn found<T>(&self, value: T) -> Found<T> {
        Found {
            value,
            span: self.span,
        }
    }
}

impl Read {
    fn not_understood(&mut self, cell: &Content) {
        self.unread.push(cell.found(cell.value.clone()));
    }

    /// Lots or serials: one as it stands, or what the reader of texts finds behind their label.
    fn items(&mut self, cell: &Content, kind: Of, today: Date) {
        let plain = cell.value.chars().all(char::is_alphanumeric)
            && cell.value.chars().any(|c| c.is_ascii_digit());
        if plain {
            let list = match kind {
                Of::Lot => &mut self.proposal.lots,
                Of::Serial => &mut self.proposal.serials,
            };
            list.push(cell.found(cell.value.clone()));
            return;
        }
        let label = match kind {
            Of::Lot => "Lots: ",
            Of::Serial => "Serials: ",
        };
        let before = label.chars().count();
        let reading = prose(&format!("{label}{}", cell.value), today);
        let in_cell = |span: Span| Span {
            at: (cell.span.at + span.at.saturating_sub(before)).min(cell.span.to),
            to: (cell.span.at + span.to.saturating_sub(before)).min(cell.span.to),
            cell: cell.span.cell,
        };
        let placed = |found: Found<String>| Found {
            value: found.value,
            span: in_cell(found.span),
        };
        let nothing = reading.proposals.is_empty() && reading.unread.is_empty();
        for one in reading.proposals {
            let items = &mut self.proposal;
            items.lots.extend(one.lots.into_iter().map(placed));
            items.serials.extend(one.serials.into_iter().map(placed));
            items
                .ranges
                .extend(one.ranges.into_iter().map(|range| Found {
                    value: range.value,
                    span: in_cell(range.span),
                }));
            items.all = items.all.or(one.all.map(in_cell));
            self.catalogue_numbers
                .extend(one.catalogue_numbers.into_iter().map(placed));
            self.identifiers
                .extend(one.identifiers.into_iter().map(placed));
        }
        self.unread.extend(reading.unread.into_iter().map(placed));
        if nothing {
            self.not_understood(cell);
        }
    }

    fn expiry(&mut self, cell: &Content, today: Date) {
        let date = dates::date_at(&cell.value, 0, Expected::Yes, today);
        match date.filter(|(_, end)| *end == cell.value.len()) {
            Some((date, _)) => self.proposal.expiry = Some(cell.found(Expiry::on(date))),
            None => self.not_understood(cell),
        }
    }

    /// Codes of products. A number that a spreadsheet rounded (`9.52014E+12`) is none.
    fn identifiers(&mut self, cell: &Content) {
        let rounded = cell.value.contains(['E', 'e'])
            && cell.value.contains(['.', ','])
            && cell.value.parse::<f64>().is_ok();
        let parts = cell.value.split([',', ';', ' ', '\n']);
        for part in parts.map(str::trim).filter(|part| !part.is_empty()) {
            let printed = part.chars().all(|c| c.is_ascii_graphic());
            let code =
                printed && part.len() <= LONGEST && part.contains(|c: char| c.is_ascii_digit());
            if code && !rounded {
                self.identifiers.push(cell.found(part.to_owned()));
            } else {
                self.unread.push(cell.found(part.to_owned()));
            }
        }
    }

    fn numbers(&mut self, cell: &Content) {
        let parts = cell.value.split([',', ';', '\n']);
        for part in parts.map(str::trim).filter(|part| !part.is_empty()) {
            if part.chars().count() <= LONGEST {
                self.catalogue_numbers.push(cell.found(part.to_owned()));
            } else {
                self.unread.push(cell.found(part.to_owned()));
            }
        }
    }
}
