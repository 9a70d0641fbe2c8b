//! A spreadsheet's workbook (ISO/IEC 29500, XLSX) as the table of cells that it shows.

use super::TableFault;
use super::sheet::{MOST_COLUMNS, MOST_IN_CELL, MOST_ROWS};
use calamine::{DataRef, Reader, Xlsx};
use std::collections::BTreeMap;
use std::io::{self, Cursor, Read};
use zip::ZipArchive;

/// Bytes that a workbook may unpack to.
const MOST_UNPACKED: u64 = 32 * 1024 * 1024;

/// Sheets that a workbook may have.
const MOST_SHEETS: usize = 50;

/// Bytes that its sheets may have together, each counted as the largest part: several sheets may name
/// one part, and each is read.
const MOST_READ: u64 = 8 * MOST_UNPACKED;

/// Why a workbook is not read; sheets, rows and columns count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum WorkbookFault {
    /// It is no workbook.
    #[error("must be a workbook of the form XLSX, without a password")]
    NotAWorkbook,
    /// It unpacks to more than is taken.
    #[error("must not unpack to more than {MOST_UNPACKED} bytes")]
    TooLarge,
    /// It has more sheets than are taken.
    #[error("must have at most {MOST_SHEETS} sheets")]
    TooManySheets,
    /// Reading all its sheets is more work than is done.
    #[error("must have fewer or smaller sheets")]
    TooMuch,
    /// No sheet has cells.
    #[error("must have a sheet with cells")]
    Empty,
    /// Several sheets have cells, hidden ones too; each is a table of its own.
    #[error(
        "must have cells on one sheet alone, and sheets {0} and {1} have some; take them in one by one"
    )]
    SeveralSheets(usize, usize),
    /// Its cells have more characters than are taken.
    #[error("must have at most {0} characters in its cells")]
    TooLong(usize),
    /// A row is more than is taken.
    #[error("{0}")]
    Table(#[from] TableFault),
}

/// Whether bytes begin as a workbook does (APPNOTE.TXT of ZIP, 4.3.7).
#[must_use]
pub fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

/// Gives the cells of the one sheet that has any as a table with tabs, each in its row and column,
/// at most so many characters.
///
/// A date is written as ISO 8601 has it; one on the first of a month as the month, because that is
/// what a cell holds that shows a month alone. A whole number of 16 digits or more was rounded by the
/// spreadsheet (IEEE 754) and is written as one.
///
/// # Errors
/// [`WorkbookFault`]; nothing of it is read then.
pub fn workbook_text(bytes: &[u8], most: usize) -> Result<String, WorkbookFault> {
    let largest = unpack(bytes)?;
    let not_one = |_| WorkbookFault::NotAWorkbook;
    let mut workbook = Xlsx::new(Cursor::new(bytes)).map_err(not_one)?;
    let names = workbook.sheet_names();
    if names.len() > MOST_SHEETS {
        return Err(WorkbookFault::TooManySheets);
    }
    if largest.saturating_mul(names.len() as u64) > MOST_READ {
        return Err(WorkbookFault::TooMuch);
    }
    let mut found: Option<(usize, Cells)> = None;
    for (number, name) in (1..).zip(&names) {
        let Ok(mut cells) = workbook.worksheet_cells_reader(name) else {
            // A chart has no cells.
            continue;
        };
        let mut sheet = Cells::default();
        while let Some(cell) = cells.next_cell().map_err(not_one)? {
            sheet.put(cell.get_position(), shown(cell.get_value()), most)?;
        }
        match found {
            _ if sheet.shown.is_empty() => {}
            Some((first, _)) => return Err(WorkbookFault::SeveralSheets(first, number)),
            None => found = Some((number, sheet)),
        }
    }
    let text = found.map(|(_, sheet)| sheet.text());
    let text = text.ok_or(WorkbookFault::Empty)?;
    match text.chars().count() > most {
        true => Err(WorkbookFault::TooLong(most)),
        false => Ok(text),
    }
}

/// Unpacks everything once and keeps nothing, so that no part is read whole that is too large; gives
/// the bytes of the largest part.
fn unpack(bytes: &[u8]) -> Result<u64, WorkbookFault> {
    let not_one = |_| WorkbookFault::NotAWorkbook;
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(not_one)?;
    let (mut left, mut largest) = (MOST_UNPACKED, 0);
    for at in 0..archive.len() {
        let part = archive.by_index(at).map_err(not_one)?;
        let unpacked = io::copy(&mut part.take(left + 1), &mut io::sink());
        let unpacked = unpacked.map_err(|_| WorkbookFault::NotAWorkbook)?;
        left = left.checked_sub(unpacked).ok_or(WorkbookFault::TooLarge)?;
        largest = largest.max(unpacked);
    }
    Ok(largest)
}

/// The cells of a sheet by row and column, from 0.
#[derive(Default)]
struct Cells {
    shown: BTreeMap<(usize, usize), String>,
    characters: usize,
}

impl Cells {
    fn put(
        &mut self,
        (row, column): (u32, u32),
        text: String,
        most: usize,
    ) -> Result<(), WorkbookFault> {
        if text.is_empty() {
            return Ok(());
        }
        let (row, column) = (row as usize, column as usize);
        let characters = text.chars().count();
        self.characters += characters;
        let (row_shown, column_shown) = (row + 1, column + 1);
        if row >= MOST_ROWS {
            return Err(TableFault::TooManyRows { row: row_shown }.into());
        }
        if column >= MOST_COLUMNS {
            return Err(TableFault::TooManyColumns { row: row_shown }.into());
        }
        if characters > MOST_IN_CELL {
            let (row, column) = (row_shown, column_shown);
            return Err(TableFault::CellTooLong { row, column }.into());
        }
        if self.characters > most {
            return Err(WorkbookFault::TooLong(most));
        }
        self.shown.insert((row, column), text);
        Ok(())
    }

    /// Rows as lines, as wide as the widest, with tabs between the cells.
    fn text(&self) -> String {
        let last = self.shown.keys().map(|(row, _)| *row).max();
        let width = self.shown.keys().map(|(_, column)| *column).max();
        let mut text = String::new();
        for row in 0..=last.unwrap_or_default() {
            let mut cells = self.shown.range((row, 0)..(row + 1, 0)).peekable();
            // An empty row counts and has no cells.
            if cells.peek().is_some() {
                for column in 0..=width.unwrap_or_default() {
                    if column > 0 {
                        text.push('\t');
                    }
                    if let Some((_, cell)) = cells.next_if(|((_, at), _)| *at == column) {
                        text.push_str(&quoted(cell));
                    }
                }
            }
            text.push('\n');
        }
        text
    }
}

/// A cell as RFC 4180 writes it between tabs.
fn quoted(cell: &str) -> String {
    if cell.contains(['\t', '\n', '"']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

/// What a cell holds, as a person reads it.
fn shown(value: &DataRef<'_>) -> String {
    let text = match value {
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => written(*number),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            text.clone()
        }
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(truth) => truth.to_string(),
        DataRef::DateTime(date) if date.is_datetime() => {
            let (year, month, day, ..) = date.to_ymd_hms_milli();
            match day {
                1 => format!("{year:04}-{month:02}"),
                _ => format!("{year:04}-{month:02}-{day:02}"),
            }
        }
        DataRef::DateTime(duration) => written(duration.as_f64()),
        DataRef::Error(error) => error.to_string(),
        DataRef::Empty => String::new(),
    };
    let plain = |letter: char| match letter {
        '\r' => None,
        '\n' | '\t' | '\u{1d}' => Some(letter),
        control if control.is_control() => Some(' '),
        other => Some(other),
    };
    text.trim().chars().filter_map(plain).collect()
}

fn written(number: f64) -> String {
    match number.fract() == 0.0 {
        true if number.abs() >= 1e15 => format!("{number:.5E}"),
        true => format!("{number:.0}"),
        false => number.to_string(),
    }
}

#[cfg(test)]
mod tests;
