//! The routes, capability by capability.

mod access;
mod bodies;
mod cases;
mod catalogue;
mod elsewhere;
mod emergency;
mod held;
mod holds;
mod injection;
mod keys;
mod labels_out;
mod ledger;
mod lists;
mod notices;
mod pages;
mod pairing;
mod policy;
mod problems;
mod race;
mod scans;
mod sessions;
mod stations;
mod stock;
mod where_used;
