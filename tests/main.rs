//! Tests of the whole service: one binary, each test with a database, a clock and a port of its own.

mod api;
mod conformance;
mod faults;
mod harness;
