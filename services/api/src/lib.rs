//! The REST service: routes, access, problems and pages.
//!
//! Every handler takes [`access::Allowed`] first, so that 401 and 403 come before any 400, and every
//! change goes through the recorder.

pub mod access;
pub mod app;
pub mod http;
pub mod openapi;
pub mod outbox;
pub mod problem;
pub mod routes;
pub mod where_used;

mod cases;
mod catalogue;
mod cylinders;
mod documents;
mod equipment;
mod holds;
mod ledger;
mod loads;
mod mixes;
mod notices;
mod pages;
mod picking;
mod readings;
mod records;
mod routines;
mod service;
mod stock;
mod vials;

pub use app::App;
pub use service::serve;
