//! Where the lines of a document go: pages, and the structure that readers without sight use.

use super::Column;
use crate::typeface::{Cell, cells};
use pdf_writer::types::StructRole;

/// Characters of a line, and lines of a page with its footer (9-point type, 12-point leading).
pub(super) const WIDTH: usize = 96;
const LINES: usize = 57;

/// The width of the names beside values, and the space between columns.
const NAMES: usize = 26;
const GAP: usize = 1;

/// A piece of a line.
pub(super) struct Run {
    /// Characters from the left edge.
    pub(super) left: usize,
    /// Lines from the top.
    pub(super) line: usize,
    pub(super) bold: bool,
    pub(super) text: Vec<Cell>,
    pub(super) element: usize,
}

/// A structure element; its kids are elements or the pieces that name it.
pub(super) struct Element {
    pub(super) role: StructRole,
    pub(super) parent: usize,
}

/// A document, laid out.
pub(super) struct Layout {
    pub(super) pages: Vec<Vec<Run>>,
    /// The first is the document itself.
    pub(super) elements: Vec<Element>,
    line: usize,
    body: usize,
    lacks: bool,
}

impl Layout {
    pub(super) fn new(title: &str, footer: usize) -> Self {
        let mut layout = Self {
            pages: vec![Vec::new()],
            elements: vec![Element {
                role: StructRole::Document,
                parent: 0,
            }],
            line: 0,
            body: LINES.saturating_sub(footer + 2),
            lacks: false,
        };
        layout.paragraph(StructRole::H1, &title.to_uppercase(), true);
        layout
    }

    /// Whether a character was met that the typeface does not have.
    pub(super) fn lacks(&self) -> bool {
        self.lacks
    }

    pub(super) fn heading(&mut self, text: &str) {
        // A heading stays with what follows it.
        self.line += 1;
        self.room(4);
        self.paragraph(StructRole::H2, text, true);
    }

    pub(super) fn text(&mut self, text: &str) {
        self.paragraph(StructRole::P, text, false);
    }

    fn paragraph(&mut self, role: StructRole, text: &str, bold: bool) {
        let element = self.element(role, 0);
        for line in self.wrapped(text, WIDTH) {
            self.room(1);
            self.put(0, bold, line, element);
            self.line += 1;
        }
        self.line += usize::from(role == StructRole::H1);
    }

    pub(super) fn facts(&mut self, facts: &[(String, String)]) {
        let table = self.element(StructRole::Table, 0);
        let widths = [NAMES, WIDTH - NAMES - GAP];
        for (name, value) in facts {
            let cells = [name, value].map(String::as_str);
            self.row(table, &widths, &cells, |at| at == 0, true);
        }
    }

    pub(super) fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let table = self.element(StructRole::Table, 0);
        let widths = widths(columns);
        let headings: Vec<&str> = columns.iter().map(|column| column.heading).collect();
        // The head of a table stays with its first row.
        self.room(3);
        self.row(table, &widths, &headings, |_| true, true);
        for row in rows {
            let cells: Vec<&str> = row.iter().map(String::as_str).collect();
            let lines = self.height(&widths, &cells);
            if self.line + lines > self.body && lines < self.body {
                self.page();
                // Said again for the eye alone: the structure has one table with one head.
                self.row(table, &widths, &headings, |_| true, false);
            }
            self.row(table, &widths, &cells, |_| false, true);
        }
    }

    fn height(&mut self, widths: &[usize], cells: &[&str]) -> usize {
        let pairs = widths.iter().zip(cells);
        let lines = pairs.map(|(width, cell)| self.wrapped(cell, *width).len());
        lines.max().unwrap_or(1)
    }

    /// Puts cells side by side; `head` says which of them are heads.
    fn row(
        &mut self,
        table: usize,
        widths: &[usize],
        cells: &[&str],
        head: impl Fn(usize) -> bool,
        in_structure: bool,
    ) {
        let lines = self.height(widths, cells);
        if lines < self.body {
            self.room(lines);
        }
        let row = if in_structure {
            self.element(StructRole::TR, table)
        } else {
            ARTIFACT
        };
        let wrapped = widths.iter().zip(cells);
        let mut wrapped: Vec<_> = wrapped
            .map(|(width, cell)| self.wrapped(cell, *width).into_iter())
            .collect();
        let heads = |at: usize| match head(at) {
            true => StructRole::TH,
            false => StructRole::TD,
        };
        let elements: Vec<usize> = (0..cells.len())
            .map(|at| match in_structure {
                true => self.element(heads(at), row),
                false => ARTIFACT,
            })
            .collect();
        for _ in 0..lines {
            self.room(1);
            let mut left = 0;
            for (at, (cell, width)) in wrapped.iter_mut().zip(widths).enumerate() {
                if let (Some(line), Some(element)) = (cell.next(), elements.get(at)) {
                    self.put(left, head(at), line, *element);
                }
                left += width + GAP;
            }
            self.line += 1;
        }
    }

    fn element(&mut self, role: StructRole, parent: usize) -> usize {
        self.elements.push(Element { role, parent });
        self.elements.len() - 1
    }

    /// Goes to the next page when fewer lines are left.
    fn room(&mut self, lines: usize) {
        if self.line + lines > self.body {
            self.page();
        }
    }

    fn page(&mut self) {
        self.pages.push(Vec::new());
        self.line = 0;
    }

    fn put(&mut self, left: usize, bold: bool, text: Vec<Cell>, element: usize) {
        let line = self.line;
        if let Some(page) = self.pages.last_mut() {
            page.push(Run {
                left,
                line,
                bold,
                text,
                element,
            });
        }
    }

    /// The text in lines of at most so many columns, broken at spaces where there are some.
    fn wrapped(&mut self, text: &str, width: usize) -> Vec<Vec<Cell>> {
        let mut lines = Vec::new();
        for paragraph in text.split('\n') {
            let (columns, lacks) = cells(paragraph);
            self.lacks |= lacks;
            let mut rest = columns.as_slice();
            while rest.len() > width {
                let window = rest.get(..=width).unwrap_or(rest);
                let space = window.iter().rposition(Cell::is_space);
                let at = space.filter(|at| *at > 0).unwrap_or(width);
                let (line, after) = rest.split_at(at);
                lines.push(line.to_vec());
                rest = match after.split_first() {
                    Some((first, after)) if first.is_space() => after,
                    _ => after,
                };
            }
            lines.push(rest.to_vec());
        }
        lines
    }
}

/// The element of what is shown for the eye alone.
pub(super) const ARTIFACT: usize = usize::MAX;

/// The width of each column by its share, in characters.
fn widths(columns: &[Column]) -> Vec<usize> {
    let shares: usize = columns.iter().map(|column| column.share).sum();
    let free = WIDTH.saturating_sub(GAP * columns.len().saturating_sub(1));
    let width = |column: &Column| (free * column.share / shares.max(1)).max(1);
    columns.iter().map(width).collect()
}
