//! Plain text on sheets of paper as PDF.

use crate::Drawing;
use crate::drawing::LEADING;
use crate::pdf::{Paper, sheet};

/// Characters of a line, and lines of a page, that fit either paper.
const LINE: usize = 125;
const PAGE: usize = 84;

/// Lines of text in a typeface of fixed width, on as many pages as it takes. A line that is too
/// long goes on in the next one.
#[must_use]
pub fn text(lines: &[String], paper: Paper) -> Vec<u8> {
    let mut broken: Vec<String> = Vec::new();
    for line in lines {
        let letters: Vec<char> = line.chars().collect();
        if letters.is_empty() {
            broken.push(String::new());
        }
        broken.extend(letters.chunks(LINE).map(|piece| piece.iter().collect()));
    }
    let pages: Vec<Drawing> = broken.chunks(PAGE).map(page).collect();
    sheet(&pages, paper)
}

/// Characters of a letter's line.
const LETTER_LINE: usize = 90;

/// A letter on as many pages as it takes; a line that is too long is broken between words.
#[must_use]
pub fn letter(text: &str, paper: Paper) -> Vec<u8> {
    let lines: Vec<String> = text.lines().flat_map(wrapped).collect();
    self::text(&lines, paper)
}

fn wrapped(line: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut length = 0;
    for word in line.split_inclusive(' ') {
        let letters = word.chars().count();
        if length > 0 && length + word.trim_end().chars().count() > LETTER_LINE {
            lines.push(String::new());
            length = 0;
        }
        length += letters;
        if let Some(last) = lines.last_mut() {
            last.push_str(word);
        }
    }
    lines
}

/// One page; every page is as large as a full one, so that none shares a sheet with another.
fn page(lines: &[String]) -> Drawing {
    let mut drawing = Drawing::default();
    for (at, line) in lines.iter().enumerate() {
        drawing.write(0.0, (at + 1) as f64 * LEADING, line);
    }
    drawing.write(0.0, PAGE as f64 * LEADING, &" ".repeat(LINE));
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pages(count: usize, paper: Paper) -> usize {
        let lines: Vec<String> = (0..count).map(|at| format!("Line {at}")).collect();
        let bytes = text(&lines, paper);
        assert!(bytes.starts_with(b"%PDF-"));
        let page = b"/Type /Page\n";
        bytes
            .windows(page.len())
            .filter(|part| part == page)
            .count()
    }

    #[test]
    fn a_text_takes_as_many_pages_as_its_lines_need() {
        for paper in [Paper::A4, Paper::Letter] {
            assert_eq!(pages(1, paper), 1);
            assert_eq!(pages(PAGE, paper), 1);
            assert_eq!(pages(PAGE + 1, paper), 2);
        }
    }

    #[test]
    fn a_letter_is_broken_between_words_and_keeps_its_empty_lines() {
        let word = "x".repeat(50);
        assert_eq!(
            wrapped(&format!("{word} {word} y")),
            [format!("{word} "), format!("{word} y")]
        );
        assert_eq!(wrapped(""), [""]);
        assert!(letter("Guten Tag\n\nä", Paper::A4).starts_with(b"%PDF-"));
    }

    #[test]
    fn a_line_that_is_too_long_goes_on_in_the_next_one() {
        let bytes = text(&["x".repeat(LINE + 1)], Paper::A4);
        let shown = |line: String| {
            let line = format!("({line})");
            bytes
                .windows(line.len())
                .any(|part| part == line.as_bytes())
        };
        assert!(shown("x".repeat(LINE)) && shown("x".to_owned()));
    }
}
