//! Pictures on sheets of paper as PDF.

use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str};

use crate::Drawing;
use crate::drawing::TYPE_SIZE;
use crate::winansi::winansi;

/// The paper of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216 A4, 210 x 297 mm.
    A4,
    /// ANSI A (US letter), 8.5 x 11 in.
    Letter,
}

impl Paper {
    /// Width and height in millimetres.
    fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// PDF points in a millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// The unprinted edge of the paper, and the space between labels for cutting, in
/// millimetres.
const MARGIN: f64 = 10.0;
const GAP: f64 = 4.0;

/// Every picture in a grid whose fields are as large as the largest picture, row by row, on
/// as many pages as it takes; at least one page, and one picture to a page when it is larger
/// than the paper.
pub fn sheet(drawings: &[Drawing], paper: Paper) -> Vec<u8> {
    let (width, height) = paper.size();
    let field = drawings.iter().fold((1.0f64, 1.0f64), |(w, h), d| {
        (w.max(d.width), h.max(d.height))
    });
    let columns = fields(width, field.0);
    let rows = fields(height, field.1);
    let mut pages: Vec<Content> = Vec::new();
    for page in drawings.chunks(columns * rows) {
        let mut content = Content::new();
        for (at, drawing) in page.iter().enumerate() {
            let left = MARGIN + (at % columns) as f64 * (field.0 + GAP);
            let top = MARGIN + (at / columns) as f64 * (field.1 + GAP);
            draw(&mut content, drawing, (left, height - top));
        }
        pages.push(content);
    }
    if pages.is_empty() {
        pages.push(Content::new());
    }
    document(pages, (width, height))
}

/// How many fields fit, at least one.
fn fields(paper: f64, field: f64) -> usize {
    (((paper - 2.0 * MARGIN + GAP) / (field + GAP)) as usize).max(1)
}

/// Draws one picture whose upper left corner is given from the lower left of the page.
fn draw(content: &mut Content, drawing: &Drawing, (left, top): (f64, f64)) {
    for bar in &drawing.bars {
        let low = top - bar.y - bar.height;
        content.rect(
            points(left + bar.x),
            points(low),
            points(bar.width),
            points(bar.height),
        );
    }
    content.fill_nonzero();
    for text in &drawing.texts {
        content.begin_text();
        content.set_font(Name(b"F"), points(TYPE_SIZE));
        content.next_line(points(left + text.x), points(top - text.y));
        content.show(Str(&latin(&text.line)));
        content.end_text();
    }
}

/// The text in WinAnsiEncoding; what has no place there are question marks.
fn latin(line: &str) -> Vec<u8> {
    line.chars().map(|c| winansi(c).unwrap_or(b'?')).collect()
}

fn document(contents: Vec<Content>, (width, height): (f64, f64)) -> Vec<u8> {
    let mut pdf = Pdf::new();
    let mut last = 0;
    let mut next = || {
        last += 1;
        Ref::new(last)
    };
    let (catalog, tree, font) = (next(), next(), next());
    let pages: Vec<_> = contents
        .into_iter()
        .map(|content| (next(), next(), content))
        .collect();
    pdf.catalog(catalog).pages(tree);
    pdf.pages(tree)
        .kids(pages.iter().map(|(page, ..)| *page))
        .count(i32::try_from(pages.len()).unwrap_or(i32::MAX));
    // One of the fonts that every PDF reader has (PDF 32000-1, 9.6.2.2).
    pdf.type1_font(font)
        .base_font(Name(b"Courier"))
        .encoding_predefined(Name(b"WinAnsiEncoding"));
    for (id, stream, content) in pages {
        let mut page = pdf.page(id);
        page.parent(tree)
            .media_box(Rect::new(0.0, 0.0, points(width), points(height)))
            .contents(stream);
        page.resources().fonts().pair(Name(b"F"), font);
        page.finish();
        pdf.stream(stream, &content.finish());
    }
    pdf.finish()
}

fn points(millimetres: f64) -> f32 {
    (millimetres * POINTS) as f32
}
