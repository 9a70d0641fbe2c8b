//! A text as rows of cells (RFC 4180, with any delimiter).

use super::{Cell, Span};

/// A cell without the white space around it and without its quotes.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Content {
    pub(super) value: String,
    pub(super) span: Span,
}

/// A row that is not empty.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Row {
    /// Its number, from 1; empty rows count.
    pub(super) number: usize,
    pub(super) cells: Vec<Content>,
}

/// The rows; nothing when a quote is never closed.
pub(super) fn rows(text: &str, delimiter: char) -> Option<Vec<Row>> {
    let mut rows = Vec::new();
    let mut cells = Vec::new();
    let mut cell = Open::at(0);
    let mut row = 1;
    let mut letters = text.chars().enumerate().peekable();
    while let Some((at, letter)) = letters.next() {
        let doubled = letter == '"' && letters.peek().is_some_and(|(_, next)| *next == '"');
        match letter {
            '"' if cell.quoted && doubled => {
                cell.value.push('"');
                letters.next();
            }
            '"' if cell.quoted => cell.quoted = false,
            '"' if cell.value.trim().is_empty() => cell = Open::quoted(at),
            _ if cell.quoted => cell.value.push(letter),
            '\r' if letters.peek().is_none_or(|(_, next)| *next == '\n') => {}
            '\n' => {
                cells.push(cell.close(at, row, cells.len() + 1));
                end(&mut rows, row, &mut cells);
                cell = Open::at(at + 1);
                row += 1;
            }
            _ if letter == delimiter => {
                cells.push(cell.close(at, row, cells.len() + 1));
                cell = Open::at(at + 1);
            }
            // A spreadsheet's mark at the beginning of a file is no character of its first cell.
            '\u{feff}' if at == 0 => cell = Open::at(1),
            _ => cell.value.push(letter),
        }
    }
    if cell.quoted {
        return None;
    }
    cells.push(cell.close(text.chars().count(), row, cells.len() + 1));
    end(&mut rows, row, &mut cells);
    Some(rows)
}

fn end(rows: &mut Vec<Row>, number: usize, cells: &mut Vec<Content>) {
    let cells = std::mem::take(cells);
    if cells.iter().any(|cell| !cell.value.is_empty()) {
        rows.push(Row { number, cells });
    }
}

/// A cell that is being read.
struct Open {
    at: usize,
    value: String,
    quoted: bool,
    in_quotes: bool,
}

impl Open {
    fn at(at: usize) -> Self {
        Self {
            at,
            value: String::new(),
            quoted: false,
            in_quotes: false,
        }
    }

    fn quoted(at: usize) -> Self {
        Self {
            quoted: true,
            in_quotes: true,
            ..Self::at(at)
        }
    }

    fn close(&self, end: usize, row: usize, column: usize) -> Content {
        let cell = Cell { row, column };
        let before = self.value.chars().take_while(|c| c.is_whitespace()).count();
        let value = self.value.trim().to_owned();
        // Inside quotes a doubled one shifts what is behind it: then the whole cell is the place.
        let span = if self.in_quotes {
            Span::of_cell(self.at, end, cell)
        } else {
            let at = self.at + before;
            Span::of_cell(at, at + value.chars().count(), cell)
        };
        Content { value, span }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(text: &str) -> Vec<Vec<String>> {
        let rows = rows(text, ',').expect("rows");
        let of_row = |row: Row| row.cells.into_iter().map(|cell| cell.value).collect();
        rows.into_iter().map(of_row).collect()
    }

    // RFC 4180, 2: the rules 1 to 7 (from memory).
    #[test]
    fn quotes_keep_delimiters_line_ends_and_doubled_quotes() {
        let text = "aaa,\"b,b\r\nb\",\"c\"\"c\"\r\nzzz,,yyy\r\n";
        assert_eq!(
            values(text),
            [["aaa", "b,b\r\nb", "c\"c"], ["zzz", "", "yyy"]]
        );
        assert_eq!(rows("a,\"b", ','), None);
    }

    #[test]
    fn a_cell_knows_its_row_column_and_characters() {
        let rows = rows("x, yé ,z\n\n1,2,3", ',').expect("rows");
        let span = rows[0].cells[1].span;
        assert_eq!((span.at, span.to), (3, 5));
        let below = rows[1].cells[2].span;
        assert_eq!(below.cell, Some(Cell { row: 3, column: 3 }));
        assert_eq!((below.at, below.to), (14, 15));
    }
}
