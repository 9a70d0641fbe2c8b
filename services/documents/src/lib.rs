//! Documents the service hands out: labels as GS1 symbols with their human-readable text,
//! and the test page of a scanning station. No I/O.

mod code128;
mod drawing;
mod label;
mod matrix;
mod pdf;
mod png;
mod station;
mod svg;
mod text;

pub use drawing::Drawing;
pub use label::{Label, Symbol, Unprintable, code_128_symbol};
pub use pdf::{Paper, sheet};
pub use png::png;
pub use station::{station_symbols, station_test_page};
pub use svg::svg;
pub use text::{letter, text};
