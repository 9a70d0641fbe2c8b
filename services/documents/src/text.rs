//! Plain text on sheets of paper as PDF.

use crate::drawing::LEADING;
use crate::pdf::{Paper, sheet};
use crate::typeface::{Cell, cells, columns};
use crate::{Drawing, Unprintable};

/// Characters of a line, and lines of a page, that fit either paper.
const LINE: usize = 125;
const PAGE: usize = 84;

/// Lines of text in a typeface of fixed width, on as many pages as it takes. A line that is too
/// long goes on in the next one. `lacks` ends the text when the typeface lacks a character of it.
///
/// # Errors
/// When the typeface cannot be put into the file.
pub fn text(lines: &[String], paper: Paper, lacks: &str) -> Result<Vec<u8>, Unprintable> {
    sheet(&pages(lines, &[lacks.to_owned()]), paper)
}

/// Characters of a letter's line.
const LETTER_LINE: usize = 90;

/// A letter on as many pages as it takes; a line that is too long is broken between words. `lacks`
/// ends the letter when the typeface lacks a character of it.
///
/// # Errors
/// When the typeface cannot be put into the file.
pub fn letter(text: &str, paper: Paper, lacks: &str) -> Result<Vec<u8>, Unprintable> {
    let lines: Vec<String> = text.lines().flat_map(wrapped).collect();
    sheet(&pages(&lines, &wrapped(lacks)), paper)
}

fn wrapped(line: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut length = 0;
    for word in line.split_inclusive(' ') {
        if length > 0 && length + columns(word.trim_end()) > LETTER_LINE {
            lines.push(String::new());
            length = 0;
        }
        length += columns(word);
        if let Some(last) = lines.last_mut() {
            last.push_str(word);
        }
    }
    lines
}

fn pages(lines: &[String], lacks: &[String]) -> Vec<Drawing> {
    let mut broken: Vec<String> = Vec::new();
    let mut lacking = false;
    for line in lines {
        let (cells, some) = cells(line);
        lacking |= some;
        if cells.is_empty() {
            broken.push(String::new());
        }
        let pieces = cells.chunks(LINE);
        broken.extend(pieces.map(|piece| piece.iter().map(Cell::to_string).collect()));
    }
    if lacking {
        broken.push(String::new());
        broken.extend_from_slice(lacks);
    }
    broken.chunks(PAGE).map(page).collect()
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

    fn lines(count: usize) -> Vec<String> {
        (0..count).map(|at| format!("Line {at}")).collect()
    }

    /// What stands on the pages, one text a line; the last of a page is as wide as a full one.
    fn texts(lines: &[&str], lacks: &[&str]) -> Vec<String> {
        let own = |lines: &[&str]| lines.iter().map(|line| (*line).to_owned()).collect();
        let (lines, lacks): (Vec<String>, Vec<String>) = (own(lines), own(lacks));
        let pages = pages(&lines, &lacks);
        let texts = pages.iter().flat_map(|page| &page.texts);
        let texts = texts.filter(|text| *text.line != *" ".repeat(LINE));
        texts.map(|text| text.line.clone()).collect()
    }

    #[test]
    fn a_text_takes_as_many_pages_as_its_lines_need() {
        assert_eq!(pages(&lines(PAGE), &[]).len(), 1);
        assert_eq!(pages(&lines(PAGE + 1), &[]).len(), 2);
        for paper in [Paper::A4, Paper::Letter] {
            for count in [1, PAGE, PAGE + 1] {
                let bytes = text(&lines(count), paper, "").unwrap();
                assert!(bytes.starts_with(b"%PDF-"));
                let page = b"/Type /Page\n";
                let found = bytes.windows(page.len()).filter(|part| part == page);
                assert_eq!(found.count(), count.div_ceil(PAGE));
            }
        }
    }

    #[test]
    fn a_letter_is_broken_between_words_and_keeps_its_empty_lines() {
        let word = "\u{17c}".repeat(50);
        assert_eq!(
            wrapped(&format!("{word} {word} y")),
            [format!("{word} "), format!("{word} y")]
        );
        assert_eq!(wrapped(""), [""]);
        assert!(letter("Guten Tag\n\nä", Paper::A4, "").is_ok());
    }

    #[test]
    fn a_line_that_is_too_long_goes_on_in_the_next_one_with_the_marks_of_its_characters() {
        // An E with a dot below and an acute, as Yoruba writes it, has no character of its own.
        let line = "\u{1eb8}\u{301}".repeat(LINE + 1);
        let first = "\u{1eb8}\u{301}".repeat(LINE);
        assert_eq!(texts(&[&line], &[]), [&first, "\u{1eb8}\u{301}"]);
    }

    #[test]
    fn a_text_says_when_the_typeface_lacks_a_character_of_it() {
        assert_eq!(texts(&["Łąka"], &["Es fehlt etwas."]), ["Łąka"]);
        let said = texts(&["漢 Łąka"], &["Es fehlt etwas."]);
        assert_eq!(said, ["[?] Łąka", "", "Es fehlt etwas."]);
    }
}
