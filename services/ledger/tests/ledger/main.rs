//! Checks of the ledger against values and programs from outside.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod canonical;
mod chain;
mod commitment;
mod entry;
mod hash;
mod merkle;
mod parcel;
mod python;
mod sample;
