//! Reading catalogue files and recall feeds: characters in, records out.
//!
//! A record that cannot be used is handed on as a [`RecordFault`] that names its line and field,
//! and the next one is read; nothing of it gets through in part.

mod csv_rows;
mod device;
mod enforcement;
mod gudid_json;
mod gudid_xml;
mod json_fields;
mod json_objects;
mod lines;
mod record;

pub use csv_rows::COLUMNS;
pub use enforcement::{NoticeRecord, NoticeStatus, RecallClass, TakeNotice, read_notices};
pub use record::{Problem, ProductRecord, RecordFault};

use crate::label::ProductCode;
use crate::word::words;
use std::collections::HashMap;
use std::io::{self, BufRead};
use std::ops::ControlFlow;

words! {
    /// The form of a catalogue file.
    Format, "catalogue format" {
        /// A table with a header line; [`COLUMNS`] documents it.
        Csv = "csv",
        /// Device records of the FDA's GUDID: JSON objects one a line or in an array, openFDA's
        /// answers, or the published XML.
        Gudid = "gudid",
    }
}

impl Format {
    /// The form that a file's first characters look like.
    #[must_use]
    pub fn of(first: &[u8]) -> Self {
        match lines::first_character(first) {
            Some(b'{' | b'[' | b'<') => Self::Gudid,
            _ => Self::Csv,
        }
    }
}

/// Why reading stopped before the end of the file.
#[derive(Debug, thiserror::Error)]
pub enum FileFault {
    /// The file cannot be read on.
    #[error("the file cannot be read")]
    Io(#[from] io::Error),
    /// The header line of a table lacks a column.
    #[error("the header line has no column {0}")]
    ColumnMissing(&'static str),
    /// The header line of a table has a column that no catalogue has.
    #[error("the header line has the unknown column {0:?}")]
    ColumnUnknown(String),
    /// The file is not in its form from this line on.
    #[error("the file is no whole {form} document: it breaks at line {line}")]
    Broken {
        /// JSON or XML.
        form: &'static str,
        /// The line, from 1.
        line: u64,
    },
}

/// Takes one record after the other; breaks when no more are wanted.
pub type Take<'a> = &'a mut dyn FnMut(Result<ProductRecord, RecordFault>) -> ControlFlow<()>;

/// Reads every record of a catalogue file in its order and hands each to `take`.
///
/// An identifier names one product (21 CFR 830.40), so a record with an identifier of an earlier
/// one is handed on as a fault.
///
/// # Errors
/// [`FileFault`]; the records before it were handed on.
pub fn read(format: Format, mut reader: impl BufRead, take: Take<'_>) -> Result<(), FileFault> {
    let mut lines = HashMap::new();
    let take: Take<'_> = &mut |record| take(record.and_then(|record| once(&mut lines, record)));
    match format {
        Format::Csv => csv_rows::read(reader, take),
        Format::Gudid => match lines::first_character(reader.fill_buf()?) {
            Some(b'<') => gudid_xml::read(reader, take),
            _ => gudid_json::read(reader, take),
        },
    }
}

fn once(
    lines: &mut HashMap<ProductCode, u64>,
    record: ProductRecord,
) -> Result<ProductRecord, RecordFault> {
    let line = record.line;
    for identifier in &record.identifiers {
        if let Some(earlier) = lines.get(&identifier.code) {
            let problem = Problem::Repeated {
                code: identifier.code.to_string(),
                line: *earlier,
            };
            return Err(record::fault(line, "identifiers", problem));
        }
    }
    let codes = record.identifiers.iter().map(|i| i.code.clone());
    lines.extend(codes.map(|code| (code, line)));
    Ok(record)
}

#[cfg(test)]
mod tests;
