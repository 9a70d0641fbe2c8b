//! Pictures as SVG.

use std::fmt::Write;

use crate::Drawing;
use crate::drawing::TYPE_SIZE;

/// The picture as an SVG 1.1 document whose units are millimetres, on white.
pub fn svg(drawing: &Drawing) -> String {
    let Drawing { width, height, .. } = drawing;
    // Writing into a String cannot fail.
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.3}mm\" height=\"{height:.3}mm\" \
         viewBox=\"0 0 {width:.3} {height:.3}\"><rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\
         <path shape-rendering=\"crispEdges\" d=\""
    );
    for bar in &drawing.bars {
        let _ = write!(
            text,
            "M{:.3} {:.3}h{:.3}v{:.3}h-{:.3}z",
            bar.x, bar.y, bar.width, bar.height, bar.width
        );
    }
    let _ = write!(
        text,
        "\"/><g font-family=\"monospace\" font-size=\"{TYPE_SIZE:.3}\">"
    );
    for line in &drawing.texts {
        let _ = write!(
            text,
            "<text x=\"{:.3}\" y=\"{:.3}\" xml:space=\"preserve\">{}</text>",
            line.x,
            line.y,
            escaped(&line.line)
        );
    }
    text.push_str("</g></svg>\n");
    text
}

/// Text without the characters that XML gives a meaning or forbids.
fn escaped(line: &str) -> String {
    let mut text = String::with_capacity(line.len());
    for c in line.chars() {
        match c {
            '&' => text.push_str("&amp;"),
            '<' => text.push_str("&lt;"),
            '>' => text.push_str("&gt;"),
            c if c.is_control() => text.push(' '),
            c => text.push(c),
        }
    }
    text
}
