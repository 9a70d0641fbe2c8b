//! What was read of a notice.

use super::{Expiry, Range};

/// Where in the text something stands, in characters from 0; `to` is behind the last one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// The first character.
    pub at: usize,
    /// Behind the last character.
    pub to: usize,
    /// The cell of a table it stands in.
    pub cell: Option<Cell>,
}

/// A cell of a table; both count from 1, as spreadsheets do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cell {
    /// The row.
    pub row: usize,
    /// The column.
    pub column: usize,
}

/// Something read, and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found<T> {
    /// What was read.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

/// What a range runs over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Of {
    /// Lot numbers.
    Lot,
    /// Serial numbers.
    Serial,
}

/// A text as far as it was understood.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reading {
    /// What it names, in its order: one for each product and each group of lots that share an
    /// expiry.
    pub proposals: Vec<Proposal>,
    /// What was not understood, in its order. It may name more than the proposals do.
    pub unread: Vec<Found<String>>,
}

/// Criteria that a person may confirm: items of the named products that have one of the lots or
/// serials, lie in one of the ranges, or are named by `all`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Proposal {
    /// Lots exactly as printed.
    pub lots: Vec<Found<String>>,
    /// Serials exactly as printed.
    pub serials: Vec<Found<String>>,
    /// Ranges of lots or serials.
    pub ranges: Vec<Found<Range>>,
    /// Identifiers of products: GTINs and UPCs as digits, others as printed.
    pub identifiers: Vec<Found<String>>,
    /// Catalogue, model and part numbers as printed.
    pub catalogue_numbers: Vec<Found<String>>,
    /// The expiry that the text states. Beside lots, serials or ranges it describes them; alone or
    /// beside `all` it is what is named.
    pub expiry: Option<Found<Expiry>>,
    /// The words that name every lot or piece.
    pub all: Option<Span>,
}
