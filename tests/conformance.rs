//! The schema, the ledger and the description against what they promise.

mod rights;
mod schema;
