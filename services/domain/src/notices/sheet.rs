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

/// Rows and columns of a table, and characters of a cell, at most; the last is what a spreadsheet's
/// own cell holds.
pub(super) const MOST_ROWS: usize = 10_000;
pub(super) const MOST_COLUMNS: usize = 200;
pub(super) const MOST_IN_CELL: usize = 32_767;

/// Codes of products that one row may name: each row below without a code of its own names them too.
const MOST_PRODUCTS: usize = 50;

/// Why a table is not read; rows and columns count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TableFault {
    /// More rows than are taken.
    #[error("row {row}: a table has at most {MOST_ROWS} rows; take it in as several notices")]
    TooManyRows {
        /// The first row beyond.
        row: usize,
    },
    /// More cells than are taken.
    #[error("row {row}: a row has at most {MOST_COLUMNS} cells")]
    TooManyColumns {
        /// The row.
        row: usize,
    },
    /// A longer cell than is taken.
    #[error("row {row}, column {column}: a cell has at most {MOST_IN_CELL} characters")]
    CellTooLong {
        /// The row.
        row: usize,
        /// The column.
        column: usize,
    },
    /// More codes of products than are taken.
    #[error("row {row}: a row names at most {MOST_PRODUCTS} products; write one in each row")]
    TooManyProducts {
        /// The row.
        row: usize,
    },
}

/// Reads a text as a table, if one of its first lines names columns and rows follow it.
///
/// A row names items of the products in its own cells or, where these are empty, of the row above:
/// spreadsheets leave cells empty below one that counts for several rows. Rows of the same products
/// and expiry are one proposal. A column that is not known, and a cell that says nothing known, are
/// unread.
///
/// # Errors
/// It is a table, and larger than is taken.
pub(super) fn read(text: &str, today: Date) -> Result<Option<Reading>, TableFault> {
    let Some((rows, heading)) = table(text) else {
        return Ok(None);
    };
    let columns = columns(&rows[heading]);
    for row in &rows {
        row.check()?;
    }
    let mut sheet = Sheet::default();
    for row in &rows[..heading] {
        sheet.unread(row.cells.iter().filter(|cell| !cell.value.is_empty()));
    }
    let names = rows[heading].cells.iter().zip(&columns);
    sheet.unread(names.filter_map(|(cell, column)| (*column == Column::Unknown).then_some(cell)));
    for row in &rows[heading + 1..] {
        sheet.take(row, &columns, today)?;
    }
    Ok(Some(sheet.reading))
}

/// The rows of a table, and which of them names the columns.
fn table(text: &str) -> Option<(Vec<Row>, usize)> {
    let rows = rows(text, delimiter(text)?)?;
    let mut first = rows.iter().take(ABOVE);
    let heading = first.position(names_columns)?;
    let width = rows[heading].cells.len();
    let below = rows.get(heading + 1).map(|row| row.cells.len());
    (below == Some(width)).then_some((rows, heading))
}

impl Row {
    fn check(&self) -> Result<(), TableFault> {
        let row = self.number;
        if row > MOST_ROWS {
            return Err(TableFault::TooManyRows { row });
        }
        if self.cells.len() > MOST_COLUMNS {
            return Err(TableFault::TooManyColumns { row });
        }
        let long = |cell: &cells::Content| cell.value.chars().count() > MOST_IN_CELL;
        match self.cells.iter().position(long) {
            Some(at) => Err(TableFault::CellTooLong {
                row,
                column: at + 1,
            }),
            None => Ok(()),
        }
    }
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

    fn take(&mut self, row: &Row, columns: &[Column], today: Date) -> Result<(), TableFault> {
        let mut own = row::read(row, columns, today);
        if own.identifiers.len() + own.catalogue_numbers.len() > MOST_PRODUCTS {
            return Err(TableFault::TooManyProducts { row: row.number });
        }
        self.reading.unread.append(&mut own.unread);
        if !(own.identifiers.is_empty() && own.catalogue_numbers.is_empty()) {
            self.identifiers = own.identifiers;
            self.catalogue_numbers = own.catalogue_numbers;
        } else if own.proposal == Proposal::default() {
            return Ok(());
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
        Ok(())
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
