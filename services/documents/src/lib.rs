//! Documents the service hands out: labels as GS1 symbols with their human-readable text, the test
//! page of a scanning station, and reports with pages and tables. No I/O.

mod code128;
mod drawing;
mod label;
mod matrix;
mod pdf;
mod png;
mod report;
mod station;
mod svg;
mod text;
mod typeface;

pub use drawing::Drawing;
pub use label::{Label, Symbol, Unprintable, code_128_symbol};
pub use pdf::{Paper, sheet};
pub use png::png;
pub use report::{Column, Report};
pub use station::{station_symbols, station_test_page};
pub use svg::svg;
pub use text::{letter, text};
pub use typeface::LACKS;
