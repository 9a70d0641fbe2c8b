//! The typeface of documents: Noto Sans Mono and its bold, in which every character is as wide as
//! every other, and a mark takes no width.

mod embedded;

pub(crate) use embedded::Embedded;

use std::fmt;
use std::sync::LazyLock;
use ttf_parser::gpos::PositioningSubtable;
use ttf_parser::{Face, GlyphId};
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The width of a character, as a part of the type size.
pub(crate) const ADVANCE: f32 = 0.6;

/// The same in units of the typeface: thousandths of the type size, as a PDF has them.
const COLUMN: u16 = 600;

/// Ends a document in which a character is missing.
pub const LACKS: &str = "A question mark in a square bracket, [?], stands for a character \
     that the typeface of this document does not have.";

/// A weight of the typeface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    Plain,
    Bold,
}

static PLAIN: LazyLock<Option<Face<'static>>> =
    LazyLock::new(|| Face::parse(Weight::Plain.bytes(), 0).ok());
static BOLD: LazyLock<Option<Face<'static>>> =
    LazyLock::new(|| Face::parse(Weight::Bold.bytes(), 0).ok());

impl Weight {
    const fn bytes(self) -> &'static [u8] {
        match self {
            Self::Plain => include_bytes!("../assets/NotoSansMono-Regular.ttf"),
            Self::Bold => include_bytes!("../assets/NotoSansMono-Bold.ttf"),
        }
    }

    fn face(self) -> Option<&'static Face<'static>> {
        match self {
            Self::Plain => PLAIN.as_ref(),
            Self::Bold => BOLD.as_ref(),
        }
    }

    fn glyph(self, character: char) -> Option<GlyphId> {
        self.face()?.glyph_index(character)
    }

    /// Whether a character is there as a column of its own, or as a mark on one.
    fn has(self, character: char) -> bool {
        let face = self.face();
        let advance = face.and_then(|face| face.glyph_hor_advance(self.glyph(character)?));
        let wanted = if is_combining_mark(character) {
            0
        } else {
            COLUMN
        };
        advance == Some(wanted)
    }

    /// From where a character begins to where the typeface wants a mark on it, in its units: on a
    /// capital higher than on a small letter.
    fn shift(self, base: GlyphId, mark: GlyphId) -> (i16, i16) {
        let lookups = self.face().and_then(|face| face.tables().gpos);
        let lookups = lookups.into_iter().flat_map(|gpos| gpos.lookups);
        let subtables =
            lookups.flat_map(|one| one.subtables.into_iter::<PositioningSubtable<'_>>());
        let on_base = |subtable| {
            let PositioningSubtable::MarkToBase(one) = subtable else {
                return None;
            };
            let (class, own) = one.marks.get(one.mark_coverage.get(mark)?)?;
            let place = one.anchors.get(one.base_coverage.get(base)?, class)?;
            Some((place.x - own.x, place.y - own.y))
        };
        // The typeface draws marks around the point they stand at.
        let middle = (COLUMN.cast_signed() / 2, 0);
        subtables.filter_map(on_base).next().unwrap_or(middle)
    }
}

/// What stands in one column of a line: a character and the marks on it that make no character of
/// their own with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Cell {
    base: char,
    marks: Vec<char>,
}

impl Cell {
    pub(crate) fn is_space(&self) -> bool {
        self.base == ' ' && self.marks.is_empty()
    }
}

impl fmt::Display for Cell {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let marks: String = self.marks.iter().collect();
        write!(out, "{}{marks}", self.base)
    }
}

/// The columns of a line in Normalization Form C, and whether the typeface lacks a character of it,
/// which is `[?]` then. Control characters are spaces.
pub(crate) fn cells(line: &str) -> (Vec<Cell>, bool) {
    let mut cells: Vec<Cell> = Vec::with_capacity(line.len());
    let mut lacks = false;
    let alone = |base| Cell {
        base,
        marks: Vec::new(),
    };
    for character in line.nfc() {
        if character.is_control() {
            cells.push(alone(' '));
        } else if !is_there(character) {
            lacks = true;
            cells.extend("[?]".chars().map(alone));
        } else if is_combining_mark(character) {
            match cells.last_mut() {
                Some(cell) => cell.marks.push(character),
                // A mark that begins a line has nothing to stand on.
                None => cells.push(Cell {
                    base: '\u{a0}',
                    marks: vec![character],
                }),
            }
        } else {
            cells.push(alone(character));
        }
    }
    (cells, lacks)
}

/// How many columns a line takes.
pub(crate) fn columns(line: &str) -> usize {
    cells(line).0.len()
}

/// Whether both weights have a character.
fn is_there(character: char) -> bool {
    Weight::Plain.has(character) && Weight::Bold.has(character)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(line: &str) -> Vec<String> {
        cells(line).0.iter().map(Cell::to_string).collect()
    }

    #[test]
    fn letters_of_latin_greek_and_cyrillic_are_there() {
        // The pangrams are from memory.
        for text in [
            "Pójdźże, kiń tę chmurność w głąb flaszy",
            "Příliš žluťoučký kůň úpěl ďábelské ódy",
            "Árvíztűrő tükörfúrógép",
            "Ξεσκεπάζω την ψυχοφθόρα βδελυγμία",
            "Съешь же ещё этих мягких французских булок, да выпей чаю",
            "Щастям б’єш жук їх глицю в фон й ґедзь пріч",
            "Do bạch kim rất quý nên sẽ dùng để lắp vô xương",
            "ẰẲẴẶẦẨẪẬỀỂỄỆỒỔỖỘỜỞỠỢỪỬỮỰỲỶỸỴ",
            "Größe, Übermaß, Ärzte, œuvre, ŵ, Þór, Ħal, ğış, µ, °, ½, №, €",
        ] {
            assert!(!cells(text).1, "{text}");
        }
    }

    #[test]
    fn a_mark_stands_on_its_character_and_takes_no_column() {
        assert_eq!(shown("Z\u{307}o\u{301}"), ["Ż", "ó"]);
        assert_eq!(shown("E\u{323}\u{301}x"), ["\u{1eb8}\u{301}", "x"]);
        assert_eq!(shown("\u{301}x"), ["\u{a0}\u{301}", "x"]);
        // A mark that the typeface lacks, of Thai.
        assert_eq!(shown("x\u{e48}"), ["x", "[", "?", "]"]);
    }

    #[test]
    fn a_mark_stands_higher_on_a_capital_than_on_a_small_letter() {
        for weight in [Weight::Plain, Weight::Bold] {
            let glyph = |character| weight.glyph(character).unwrap();
            let (_, small) = weight.shift(glyph('e'), glyph('\u{301}'));
            let (_, capital) = weight.shift(glyph('E'), glyph('\u{301}'));
            assert!(capital > small, "{capital} {small}");
        }
    }

    #[test]
    fn what_is_no_column_is_named_and_not_shown() {
        // From right to left, wider than a column, or without a width and no mark.
        for character in [
            'א',
            'ب',
            '漢',
            '\u{1c4}',
            '\u{200b}',
            '\u{202e}',
            '\u{1f600}',
        ] {
            assert_eq!(shown(&character.to_string()), ["[", "?", "]"]);
        }
        assert_eq!(cells("tab\there"), cells("tab here"));
    }
}
