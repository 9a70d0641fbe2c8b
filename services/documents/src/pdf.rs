//! Pictures on sheets of paper as PDF.

use pdf_writer::{Content, Finish, Pdf, Rect, Ref};

use crate::drawing::TYPE_SIZE;
use crate::typeface::{Embedded, Weight, cells};
use crate::{Drawing, Unprintable};

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
///
/// # Errors
/// When the typeface cannot be put into the file.
pub fn sheet(drawings: &[Drawing], paper: Paper) -> Result<Vec<u8>, Unprintable> {
    let (width, height) = paper.size();
    let field = drawings.iter().fold((1.0f64, 1.0f64), |(w, h), d| {
        (w.max(d.width), h.max(d.height))
    });
    let columns = fields(width, field.0);
    let rows = fields(height, field.1);
    let mut next = Ref::new(1);
    let mut plain = Embedded::new(Weight::Plain, next.bump());
    let mut pages: Vec<Content> = Vec::new();
    for page in drawings.chunks(columns * rows) {
        let mut content = Content::new();
        for (at, drawing) in page.iter().enumerate() {
            let left = MARGIN + (at % columns) as f64 * (field.0 + GAP);
            let top = MARGIN + (at / columns) as f64 * (field.1 + GAP);
            draw(&mut content, &mut plain, drawing, (left, height - top));
        }
        pages.push(content);
    }
    if pages.is_empty() {
        pages.push(Content::new());
    }
    document(pages, &plain, next, (width, height))
}

/// How many fields fit, at least one.
fn fields(paper: f64, field: f64) -> usize {
    (((paper - 2.0 * MARGIN + GAP) / (field + GAP)) as usize).max(1)
}

/// Draws one picture whose upper left corner is given from the lower left of the page.
fn draw(content: &mut Content, plain: &mut Embedded, drawing: &Drawing, (left, top): (f64, f64)) {
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
        let at = (points(left + text.x), points(top - text.y));
        let (line, _) = cells(&text.line);
        plain.show(content, points(TYPE_SIZE), at, &line);
    }
}

fn document(
    contents: Vec<Content>,
    plain: &Embedded,
    mut next: Ref,
    (width, height): (f64, f64),
) -> Result<Vec<u8>, Unprintable> {
    let mut pdf = Pdf::new();
    let (catalog, tree) = (next.bump(), next.bump());
    let pages: Vec<_> = contents
        .into_iter()
        .map(|content| (next.bump(), next.bump(), content))
        .collect();
    pdf.catalog(catalog).pages(tree);
    pdf.pages(tree)
        .kids(pages.iter().map(|(page, ..)| *page))
        .count(i32::try_from(pages.len()).unwrap_or(i32::MAX));
    for (id, stream, content) in pages {
        let mut page = pdf.page(id);
        page.parent(tree)
            .media_box(Rect::new(0.0, 0.0, points(width), points(height)))
            .contents(stream);
        page.resources().fonts().pair(plain.name, plain.id);
        page.finish();
        pdf.stream(stream, &content.finish());
    }
    plain.write(&mut pdf, &mut next)?;
    Ok(pdf.finish())
}

fn points(millimetres: f64) -> f32 {
    (millimetres * POINTS) as f32
}
