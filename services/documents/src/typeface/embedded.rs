//! One weight of the typeface in a PDF: only the glyphs that the document shows (ISO 32000-1, 9.7).

use super::{COLUMN, Cell, Weight};
use crate::Unprintable;
use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str};
use std::collections::BTreeMap;
use std::io::Write;
use subsetter::{GlyphRemapper, subset};
use ttf_parser::GlyphId;
use unicode_normalization::char::is_combining_mark;

/// Glyphs are named by their number in the file, the characters by none but their own.
const IDENTITY: SystemInfo<'static> = SystemInfo {
    registry: Str(b"Adobe"),
    ordering: Str(b"Identity"),
    supplement: 0,
};

/// A weight with the glyphs that a document shows of it.
pub(crate) struct Embedded {
    weight: Weight,
    /// What the page's resources call it.
    pub(crate) name: Name<'static>,
    /// The font itself, among the objects of the file.
    pub(crate) id: Ref,
    glyphs: GlyphRemapper,
    characters: BTreeMap<u16, char>,
}

impl Embedded {
    pub(crate) fn new(weight: Weight, id: Ref) -> Self {
        let name = match weight {
            Weight::Plain => Name(b"F"),
            Weight::Bold => Name(b"B"),
        };
        Self {
            weight,
            name,
            id,
            glyphs: GlyphRemapper::new(),
            characters: BTreeMap::new(),
        }
    }

    /// Shows a line whose lower left corner is given.
    pub(crate) fn show(
        &mut self,
        content: &mut Content,
        size: f32,
        (x, y): (f32, f32),
        cells: &[Cell],
    ) {
        content.begin_text();
        content.set_font(self.name, size);
        content.next_line(x, y);
        let mut line = Vec::with_capacity(2 * cells.len());
        for cell in cells {
            line.extend(self.glyph(cell.base));
            for mark in &cell.marks {
                content.show(Str(&line));
                line.clear();
                self.put(content, size, cell.base, *mark);
            }
        }
        content.show(Str(&line));
        content.end_text();
    }

    /// Puts a mark on the character that was shown last, and goes on behind that character.
    fn put(&mut self, content: &mut Content, size: f32, base: char, mark: char) {
        let glyphs = self.weight.glyph(base).zip(self.weight.glyph(mark));
        let shift = glyphs.map(|(base, mark)| self.weight.shift(base, mark));
        let (right, up) = shift.unwrap_or_default();
        let back = f32::from(COLUMN) - f32::from(right);
        let mark = self.glyph(mark);
        content.set_rise(f32::from(up) * size / 1000.0);
        content
            .show_positioned()
            .items()
            .adjust(back)
            .show(Str(&mark))
            .adjust(-back);
        content.set_rise(0.0);
    }

    /// The number of a character's glyph in the file; the document shows it from now on.
    fn glyph(&mut self, character: char) -> [u8; 2] {
        let GlyphId(own) = self.weight.glyph(character).unwrap_or_default();
        let number = self.glyphs.remap(own);
        self.characters.insert(number, character);
        number.to_be_bytes()
    }

    /// Writes the font and its glyphs; `next` is the next free object.
    ///
    /// # Errors
    /// When the typeface cannot be cut down.
    pub(crate) fn write(&self, pdf: &mut Pdf, next: &mut Ref) -> Result<(), Unprintable> {
        let face = self.weight.face().ok_or(Unprintable::Typeface)?;
        let glyphs = subset(self.weight.bytes(), 0, &self.glyphs);
        let glyphs = glyphs.map_err(|_| Unprintable::Typeface)?;
        let name = self.tagged_name();
        let name = Name(name.as_bytes());
        let [cid, descriptor, unicode, file] = [next.bump(), next.bump(), next.bump(), next.bump()];
        pdf.type0_font(self.id)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(unicode);
        let mut font = pdf.cid_font(cid);
        font.subtype(CidFontType::Type2)
            .base_font(name)
            .system_info(IDENTITY)
            .font_descriptor(descriptor)
            .default_width(f32::from(COLUMN))
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = font.widths();
        let marks = self.characters.iter();
        for (number, _) in marks.filter(|(_, character)| is_combining_mark(**character)) {
            widths.consecutive(*number, [0.0]);
        }
        widths.finish();
        font.finish();
        let bounds = face.global_bounding_box();
        let bar = face.glyph_index('|');
        let bar = bar.and_then(|bar| face.glyph_bounding_box(bar));
        let stem = bar.map_or(0, |bar| bar.x_max - bar.x_min);
        pdf.font_descriptor(descriptor)
            .name(name)
            .flags(FontFlags::FIXED_PITCH | FontFlags::SYMBOLIC)
            .bbox(Rect::new(
                f32::from(bounds.x_min),
                f32::from(bounds.y_min),
                f32::from(bounds.x_max),
                f32::from(bounds.y_max),
            ))
            .italic_angle(0.0)
            .ascent(f32::from(face.ascender()))
            .descent(f32::from(face.descender()))
            .cap_height(f32::from(face.capital_height().unwrap_or_default()))
            .stem_v(f32::from(stem))
            .font_file2(file);
        let mut texts = UnicodeCmap::new(Name(b"Adobe-Identity-UCS"), IDENTITY);
        for (number, character) in &self.characters {
            texts.pair(*number, *character);
        }
        pdf.cmap(unicode, &packed(&texts.finish())?)
            .filter(Filter::FlateDecode);
        pdf.stream(file, &packed(&glyphs)?)
            .filter(Filter::FlateDecode)
            .pair(
                Name(b"Length1"),
                i32::try_from(glyphs.len()).unwrap_or(i32::MAX),
            );
        Ok(())
    }

    /// The name of the font with a tag for the glyphs it has (ISO 32000-1, 9.6.4): the same for the
    /// same glyphs.
    fn tagged_name(&self) -> String {
        let mut sum = flate2::Crc::new();
        for glyph in self.glyphs.remapped_gids() {
            sum.update(&glyph.to_be_bytes());
        }
        let mut rest = sum.sum();
        let tag = std::iter::repeat_with(|| {
            let letter = char::from(b'A' + (rest % 26) as u8);
            rest /= 26;
            letter
        });
        let tag: String = tag.take(6).collect();
        let name = match self.weight {
            Weight::Plain => "NotoSansMono-Regular",
            Weight::Bold => "NotoSansMono-Bold",
        };
        format!("{tag}+{name}")
    }
}

fn packed(bytes: &[u8]) -> Result<Vec<u8>, Unprintable> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    let whole = encoder.write_all(bytes).and_then(|()| encoder.finish());
    whole.map_err(|_| Unprintable::Typeface)
}
