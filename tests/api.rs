//! The routes, capability by capability.

mod access;
mod bodies;
mod cases;
mod catalogue;
mod cylinders;
mod elsewhere;
mod holds;
mod keys;
mod labels_out;
mod ledger;
mod lists;
mod policy;
mod problems;
mod race;
mod scans;
mod sessions;
mod stock;
mod where_used;
