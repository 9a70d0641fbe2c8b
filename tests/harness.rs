//! What every test starts from: a database cloned from a migrated template, a clock, a port.

pub mod binaries;
pub mod client;
pub mod clock;
pub mod cluster;
pub mod database;
pub mod description;
pub mod instance;
pub mod labels;
pub mod log;
pub mod pdf;
pub mod people;
pub mod record;
pub mod rows;
pub mod service;
pub mod suite;

pub use client::{Client, Reply};
pub use clock::TestClock;
pub use database::Database;
pub use instance::Instance;
pub use service::Service;
pub use suite::Suite;

/// The workspace's root.
pub fn root() -> &'static std::path::Path {
    let tests = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    tests.parent().expect("the tests lie in the workspace")
}
