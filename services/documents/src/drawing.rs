//! A picture in millimetres that every format renders alike.

use crate::typeface::columns;

/// Dark rectangles and lines of text; the origin is the upper left corner.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// The width in millimetres, quiet zones included.
    pub width: f64,
    /// The height in millimetres, quiet zones included.
    pub height: f64,
    pub(crate) bars: Vec<Bar>,
    pub(crate) texts: Vec<Text>,
}

/// A dark rectangle: left, top, width and height in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bar {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) width: f64,
    pub(crate) height: f64,
}

/// One line of text in a typeface of fixed width; the point is its lower left corner.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Text {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) line: String,
}

/// The width of one character in millimetres.
pub(crate) const CHARACTER: f64 = 1.5;

/// The type size in millimetres; characters of the fixed-width typefaces are 0.6 of it wide.
pub(crate) const TYPE_SIZE: f64 = CHARACTER / 0.6;

/// Free space around text below a symbol, in millimetres.
const MARGIN: f64 = 1.0;

/// From one line of text to the next, in millimetres.
pub(crate) const LEADING: f64 = 3.0;

impl Drawing {
    /// Writes lines below everything drawn so far.
    pub fn add_lines(&mut self, lines: &[String]) {
        for line in lines {
            let y = self.height + LEADING;
            self.write(MARGIN, y, line);
        }
        self.height += MARGIN;
    }

    /// Writes a line and grows the picture to hold it.
    pub(crate) fn write(&mut self, x: f64, y: f64, line: &str) {
        let end = x + columns(line) as f64 * CHARACTER;
        self.width = self.width.max(end);
        self.height = self.height.max(y + LEADING - TYPE_SIZE);
        let line = line.to_owned();
        self.texts.push(Text { x, y, line });
    }

    /// Draws rows of modules, `true` dark, and grows the picture to hold them.
    pub(crate) fn modules(
        &mut self,
        (x, y): (f64, f64),
        (width, height): (f64, f64),
        rows: &[Vec<bool>],
    ) {
        let mut top = y;
        for row in rows {
            let mut left = x;
            for run in row.chunk_by(|a, b| a == b) {
                let length = run.iter().map(|_| width).sum::<f64>();
                if run.first() == Some(&true) {
                    self.bars.push(Bar {
                        x: left,
                        y: top,
                        width: length,
                        height,
                    });
                }
                left += length;
            }
            self.width = self.width.max(left);
            top += height;
        }
        self.height = self.height.max(top);
    }
}
