//! Pictures as PNG.

use font8x8::{BASIC_FONTS, LATIN_FONTS, UnicodeFonts};

use crate::Drawing;
use crate::drawing::{CHARACTER, Text};

/// Pixels in a millimetre: every module is a whole number of them.
const SCALE: f64 = 12.0;

/// Pixels of one dot of the 8 x 8 typeface.
const DOT: usize = 2;

/// The picture as an 8-bit greyscale PNG of 305 dots to the inch, on white.
///
/// # Errors
/// When the encoder refuses the size.
pub fn png(drawing: &Drawing) -> Result<Vec<u8>, png::EncodingError> {
    let mut canvas = Canvas::new(pixels(drawing.width), pixels(drawing.height));
    for bar in &drawing.bars {
        let (left, top) = (pixels(bar.x), pixels(bar.y));
        let (right, bottom) = (pixels(bar.x + bar.width), pixels(bar.y + bar.height));
        canvas.fill(left, top, right, bottom);
    }
    for text in &drawing.texts {
        canvas.write(text);
    }
    canvas.encode()
}

struct Canvas {
    width: usize,
    height: usize,
    grey: Vec<u8>,
}

impl Canvas {
    fn new(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            grey: vec![255; width * height],
        }
    }

    fn fill(&mut self, left: usize, top: usize, right: usize, bottom: usize) {
        for y in top..bottom.min(self.height) {
            for x in left..right.min(self.width) {
                self.grey[y * self.width + x] = 0;
            }
        }
    }

    fn write(&mut self, text: &Text) {
        let (mut x, top) = (text.x, pixels(text.y).saturating_sub(8 * DOT));
        for c in text.line.chars() {
            let glyph = BASIC_FONTS.get(c).or_else(|| LATIN_FONTS.get(c));
            let rows = glyph.or_else(|| BASIC_FONTS.get('?')).unwrap_or_default();
            for (row, dots) in rows.into_iter().enumerate() {
                for column in (0..8).filter(|column| dots >> column & 1 == 1) {
                    let (left, upper) = (pixels(x) + column * DOT, top + row * DOT);
                    self.fill(left, upper, left + DOT, upper + DOT);
                }
            }
            x += CHARACTER;
        }
    }

    fn encode(&self) -> Result<Vec<u8>, png::EncodingError> {
        let mut bytes = Vec::new();
        let [width, height] =
            [self.width, self.height].map(|n| u32::try_from(n).unwrap_or(u32::MAX));
        let mut encoder = png::Encoder::new(&mut bytes, width, height);
        encoder.set_color(png::ColorType::Grayscale);
        let mut writer = encoder.write_header()?;
        writer.write_image_data(&self.grey)?;
        writer.finish()?;
        Ok(bytes)
    }
}

/// Millimetres as whole pixels.
fn pixels(millimetres: f64) -> usize {
    (millimetres * SCALE).round() as usize
}
