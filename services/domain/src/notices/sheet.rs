//! Tables of cells: a spreadsheet saved as text, or copied from one.

mod cells;
mod columns;
mod row;

use super::{Cell, Found, Proposal, Reading, Span};
use cells::{Row, rows};
use columns::{Column, columns};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Lines that may stand above the one with the names of the columns.
const ABOVE: usize = 10;

/// Reads a text as a table, if one of its first lines names columns and rows follow it.
///
/// A row names items of the products in its own cells or, where these are empty, of the row above:
/// spreadsheets leave cells empty below one that counts for several rows. Rows of the same products
/// and expiry are one proposal. A column that is not known, and a cell that says nothing known, are
/// unread.
pub(super) fn read(text: &str, today: Date) -> Option<Reading> {
    let delimiter = delimiter(text)?;
    let rows = rows(text, delimiter)?;
    let mut first = rows.iter().take(ABOVE);
    let heading = first.position(names_columns)?;
    let columns = columns(&rows[heading]);
    rows.get(heading + 1)
        .filter(|row| row.cells.len() == columns.len())?;
    let mut sheet = Sheet::default();
    for row in &rows[..heading] {
        sheet.unread(row.cells.iter().filter(|cell| !cell.value.is_empty()));
    }
    let names = rows[heading].cells.iter().zip(&columns);
    sheet.unread(names.filter_map(|(cell, column)| (*column == Column::Unknown).then_some(cell)));
    for row in &rows[heading + 1..] {
        sheet.take(row, &columns, today);
    }
    Some(sheet.reading)
}

/// What stands between the cells of one of the first lines, if it names columns.
fn delimiter(text: &str) -> Option<char> {
    text.lines().take(ABOVE).find_map(|line| {
        ['\t', ';', ','].into_iter().find(|delimiter| {
            let row = rows(line, *delimiter).and_then(|mut rows| rows.pop());
            row.is_some_and(|row| names_columns(&row))
        })
    })
}

/// Whether a row has at least two names of columns that are known, one of them for items.
fn names_columns(row: &Row) -> bool {
    let columns = columns(row);
    let known = columns.iter().filter(|column| **column != Column::Unknown);
    known.count() > 1 && columns.iter().any(|column| column.names_items())
}

/// What proposals are told apart by: identifiers, catalogue numbers, expiry, and whether it stands
/// beside items; alone it is what is named.
type Key = (Vec<String>, Vec<String>, String, bool);

#[derive(Default)]
struct Sheet {
    reading: Reading,
    known: BTreeMap<Key, usize>,
    /// The products of the row above.
    identifiers: Vec<Found<String>>,
    catalogue_numbers: Vec<Found<String>>,
}

impl Sheet {
    fn unread<'a>(&mut self, cells: impl Iterator<Item = &'a cells::Content>) {
        let pieces = cells.map(|cell| Found {
            value: cell.value.clone(),
            span: cell.span,
        });
        self.reading.unread.extend(pieces);
    }

    fn take(&mut self, row: &Row, columns: &[Column], today: Date) {
        let mut own = row::read(row, columns, today);
        self.reading.unread.append(&mut own.unread);
        if !(own.identifiers.is_empty() && own.catalogue_numbers.is_empty()) {
            self.identifiers = own.identifiers;
            self.catalogue_numbers = own.catalogue_numbers;
        } else if own.proposal == Proposal::default() {
            return;
        }
        let values = |found: &[Found<String>]| found.iter().map(|f| f.value.clone()).collect();
        let expiry = own.proposal.expiry.as_ref().map(|expiry| expiry.value);
        let key = (
            values(&self.identifiers),
            values(&self.catalogue_numbers),
            format!("{expiry:?}"),
            own.proposal.names_items(),
        );
        let proposals = &mut self.reading.proposals;
        match self.known.get(&key) {
            Some(at) => proposals[*at].add(own.proposal),
            None => {
                self.known.insert(key, proposals.len());
                proposals.push(Proposal {
                    identifiers: self.identifiers.clone(),
                    catalogue_numbers: self.catalogue_numbers.clone(),
                    ..own.proposal
                });
            }
        }
    }
}

impl Proposal {
    fn names_items(&self) -> bool {
        let lists = [self.lots.is_empty(), self.serials.is_empty()];
        lists.contains(&false) || !self.ranges.is_empty() || self.all.is_some()
    }

    /// Adds the items of another row of the same products and expiry.
    fn add(&mut self, other: Self) {
        self.lots.extend(other.lots);
        self.serials.extend(other.serials);
        self.ranges.extend(other.ranges);
        self.all = self.all.or(other.all);
    }
}

impl Span {
    /// The same characters as those of a cell.
    const fn of_cell(at: usize, to: usize, cell: Cell) -> Self {
        Self {
            at,
            to,
            cell: Some(cell),
        }
    }
}

#[cfg(test)]
mod tests;
