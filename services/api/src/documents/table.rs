//! Tables for other programs: CSV and XLSX in which no cell can be taken for a formula.

use crate::problem::{ApiError, catalogue};
use rust_xlsxwriter::{Format, Workbook};

/// A table of texts.
pub(super) struct Table {
    pub(super) title: &'static str,
    pub(super) columns: &'static [&'static str],
    pub(super) rows: Vec<Vec<String>>,
}

impl Table {
    /// The table as CSV (RFC 4180). A cell that a spreadsheet would take for a formula begins with
    /// an apostrophe instead.
    pub(super) fn csv(&self) -> Vec<u8> {
        let heads: Vec<String> = self.columns.iter().map(|head| (*head).to_owned()).collect();
        let rows = std::iter::once(&heads).chain(&self.rows);
        let line = |row: &Vec<String>| {
            let cells: Vec<String> = row.iter().map(|cell| quoted(cell)).collect();
            cells.join(",") + "\r\n"
        };
        rows.map(line).collect::<String>().into_bytes()
    }

    /// The table as XLSX (ISO/IEC 29500), every cell a text.
    pub(super) fn xlsx(&self) -> Result<Vec<u8>, ApiError> {
        self.workbook()
            .map_err(|_| ApiError::new(&catalogue::INTERNAL))
    }

    fn workbook(&self) -> Result<Vec<u8>, rust_xlsxwriter::XlsxError> {
        let mut workbook = Workbook::new();
        let sheet = workbook.add_worksheet();
        sheet.set_name(self.title)?;
        sheet.set_freeze_panes(1, 0)?;
        let head = Format::new().set_bold();
        for (at, name) in (0..).zip(self.columns) {
            sheet.write_string_with_format(0, at, *name, &head)?;
        }
        for (at, row) in (1..).zip(&self.rows) {
            for (column, cell) in (0..).zip(row) {
                sheet.write_string(at, column, cell)?;
            }
        }
        sheet.autofit();
        workbook.save_to_buffer()
    }
}

fn quoted(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let guard = if formula { "'" } else { "" };
    format!("\"{guard}{}\"", cell.replace('"', "\"\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    // OWASP, CSV Injection: cells that begin with these characters are taken for formulas.
    #[test]
    fn no_cell_begins_a_formula() {
        for (cell, written) in [
            ("=1+1", "\"'=1+1\""),
            ("+1", "\"'+1\""),
            ("-1", "\"'-1\""),
            ("@SUM(A1)", "\"'@SUM(A1)\""),
            ("\t=1", "\"'\t=1\""),
            ("\r=1", "\"'\r=1\""),
            (
                "He said \"no\", 3\" long",
                "\"He said \"\"no\"\", 3\"\" long\"",
            ),
            ("1-2", "\"1-2\""),
        ] {
            assert_eq!(quoted(cell), written);
        }
    }
}
