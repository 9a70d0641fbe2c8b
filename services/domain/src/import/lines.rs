//! Where a reader stands, and what a file begins with.

use std::cell::Cell;
use std::io::{self, BufRead, Read};
use std::rc::Rc;

/// The first character that is no space, after a byte order mark.
pub(super) fn first_character(first: &[u8]) -> Option<u8> {
    let text = first.strip_prefix(b"\xef\xbb\xbf").unwrap_or(first);
    text.iter().copied().find(|b| !b.is_ascii_whitespace())
}

/// The line a [`Counted`] reader stands on.
#[derive(Clone, Default)]
pub(super) struct Line(Rc<Cell<u64>>);

impl Line {
    /// The line, from 1.
    pub(super) fn number(&self) -> u64 {
        self.0.get() + 1
    }
}

/// A reader that counts the lines it has given away.
pub(super) struct Counted<R> {
    reader: R,
    line: Line,
}

impl<R: BufRead> Counted<R> {
    /// Counts from the reader's first line.
    pub(super) fn new(reader: R) -> (Self, Line) {
        let line = Line::default();
        let counted = Self {
            reader,
            line: line.clone(),
        };
        (counted, line)
    }

    fn count(&self, given: &[u8]) {
        let newlines = given.iter().filter(|b| **b == b'\n').count() as u64;
        self.line.0.set(self.line.0.get() + newlines);
    }
}

impl<R: BufRead> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let given = self.reader.read(into)?;
        self.count(&into[..given]);
        Ok(given)
    }
}

impl<R: BufRead> BufRead for Counted<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        self.reader.fill_buf()
    }

    fn consume(&mut self, amount: usize) {
        if let Ok(buffer) = self.reader.fill_buf() {
            let newlines = buffer[..amount.min(buffer.len())]
                .iter()
                .filter(|b| **b == b'\n')
                .count() as u64;
            self.line.0.set(self.line.0.get() + newlines);
        }
        self.reader.consume(amount);
    }
}
