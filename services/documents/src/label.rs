//! One label: a GS1 symbol, what is in it in words, and a heading.

use lotwarden_codes::{Context, Unread, Unwritable, bracketed, element_string, read};

use crate::drawing::{Drawing, LEADING};
use crate::{code128, matrix};

/// The width of a DataMatrix module in millimetres (GS1 General Specifications 5.12.3 allow
/// 0.254 to 0.990 for regulated healthcare items; from memory).
const MATRIX_MODULE: f64 = 0.5;

/// The width of a GS1-128 module and the height of its bars in millimetres (0.250 to 0.495,
/// at least 12.7; GS1 General Specifications 5.12.3, from memory).
const LINEAR_MODULE: f64 = 1.0 / 3.0;
const LINEAR_HEIGHT: f64 = 13.0;

/// The most characters in a GS1-128 symbol (GS1 General Specifications 5.4).
const LONGEST_LINEAR: usize = 48;

/// The carrier of a label.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symbol {
    /// GS1 DataMatrix.
    Gs1DataMatrix,
    /// GS1-128.
    Gs1Code128,
}

/// A label of GS1 elements: of a mix, a cylinder, a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The heading; not in the symbol.
    pub title: String,
    /// Application identifier and value, in the order they are encoded and printed.
    pub elements: Vec<(String, String)>,
}

/// Why a label, or a document, cannot be printed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unprintable {
    /// The text cannot be read as a label.
    #[error("position {at}: {message}", at = .0.at, message = .0.message)]
    Unread(Unread),
    /// An element would not be read back.
    #[error(transparent)]
    Element(#[from] Unwritable),
    /// The text names no element to put into a symbol.
    #[error("the text holds no GS1 elements; write them as (01)09520123456788(10)ABC")]
    NoElements,
    /// The data do not fit into the symbol.
    #[error("the data do not fit into the symbol; leave elements out or use GS1 DataMatrix")]
    TooLong,
    /// The typeface cannot be put into the file.
    #[error("the typeface cannot be put into the file")]
    Typeface,
}

impl Label {
    /// The label of a text such as `(01)09520123456788(10)ABC`.
    ///
    /// # Errors
    /// When the text cannot be read, or breaks the rules for elements on one item.
    pub fn of_text(title: &str, text: &str, context: &Context) -> Result<Self, Unprintable> {
        let reading = read(text, context).map_err(Unprintable::Unread)?;
        let elements: Vec<_> = reading
            .elements
            .iter()
            .map(|(ai, value)| (ai.to_owned(), value.to_owned()))
            .collect();
        if elements.is_empty() {
            return Err(Unprintable::NoElements);
        }
        element_string(pairs(&elements))?;
        Ok(Self {
            title: title.to_owned(),
            elements,
        })
    }

    /// The label's picture. The human-readable text has one element a line, identifiers in
    /// brackets that are not encoded (GS1 General Specifications 4.14): beside a
    /// DataMatrix, below a GS1-128.
    ///
    /// # Errors
    /// When an element would not be read back or the data do not fit.
    pub fn draw(&self, symbol: Symbol) -> Result<Drawing, Unprintable> {
        let data = element_string(pairs(&self.elements))?;
        let lines = self
            .elements
            .iter()
            .map(|(ai, value)| bracketed([(ai.as_str(), value.as_str())], false))
            .collect::<Result<Vec<_>, _>>()?;
        let (mut drawing, at) = match symbol {
            Symbol::Gs1DataMatrix => beside(&data)?,
            Symbol::Gs1Code128 => below(&data)?,
        };
        let mut y = at.1;
        for line in [self.title.as_str()]
            .into_iter()
            .filter(|t| !t.is_empty())
            .chain(lines.iter().map(String::as_str))
        {
            drawing.write(at.0, y, line);
            y += LEADING;
        }
        drawing.width += 2.0;
        drawing.height += 1.0;
        Ok(drawing)
    }
}

/// A DataMatrix with two modules of quiet zone (one is required), and where text begins.
fn beside(data: &str) -> Result<(Drawing, (f64, f64)), Unprintable> {
    let rows = matrix::gs1_matrix(data).ok_or(Unprintable::TooLong)?;
    let quiet = 2.0 * MATRIX_MODULE;
    let mut drawing = Drawing::default();
    drawing.modules((quiet, quiet), (MATRIX_MODULE, MATRIX_MODULE), &rows);
    drawing.width += quiet;
    drawing.height += quiet;
    let text = (drawing.width + 1.0, quiet + LEADING);
    Ok((drawing, text))
}

/// A GS1-128 with ten modules of quiet zone on both sides, and where text begins.
fn below(data: &str) -> Result<(Drawing, (f64, f64)), Unprintable> {
    if data.len() > LONGEST_LINEAR {
        return Err(Unprintable::TooLong);
    }
    let row = code128::code_128(data, true).ok_or(Unprintable::TooLong)?;
    Ok(linear(row))
}

/// A linear symbol with its quiet zones, and where the text below begins.
/// A Code 128 symbol of printable ASCII that is no GS1 or HIBC label, with its text below it.
///
/// Nothing when a character is not printable ASCII.
#[must_use]
pub fn code_128_symbol(data: &str) -> Option<Drawing> {
    let (mut drawing, (x, y)) = linear(code128::code_128(data, false)?);
    drawing.write(x, y, data);
    Some(drawing)
}

pub(crate) fn linear(row: Vec<bool>) -> (Drawing, (f64, f64)) {
    let quiet = 10.0 * LINEAR_MODULE;
    let mut drawing = Drawing::default();
    drawing.modules((quiet, 1.0), (LINEAR_MODULE, LINEAR_HEIGHT), &[row]);
    drawing.width += quiet;
    let text = (quiet, drawing.height + LEADING);
    (drawing, text)
}

fn pairs(elements: &[(String, String)]) -> impl Iterator<Item = (&str, &str)> {
    elements
        .iter()
        .map(|(ai, value)| (ai.as_str(), value.as_str()))
}
