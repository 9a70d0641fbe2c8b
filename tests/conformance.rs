//! The schema, the rights, the ledger and its parcels against what they promise.

pub mod chain;

mod homeless;
pub mod parcels;
mod privacy;
mod rewritten;
mod rights;
mod schema;
