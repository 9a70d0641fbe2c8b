//! PostgreSQL: the schema, the recorder (the one door for writes) and the queries.

pub mod access;
pub mod cases;
pub mod catalogue;
pub mod cylinders;
pub mod database;
pub mod documents;
pub mod equipment;
pub mod facilities;
pub mod holds;
pub mod ledger;
pub mod loads;
pub mod master_key;
pub mod migrations;
pub mod mixes;
pub mod notices;
pub mod outbox;
pub mod picking;
pub mod recorder;
pub mod records;
pub mod routines;
pub mod sealing;
pub mod stock;
pub mod vials;
pub mod where_used;

mod lists;
pub mod moment;
mod schema;
mod step;

pub use database::{Database, Reading, StoreError};
pub use lists::{After, Page};
pub use recorder::{Answer, Receipt, RecordError, Recorder, Refused, Rendered, Request};
pub use step::Step;
