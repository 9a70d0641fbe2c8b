//! The routes, capability by capability.

mod access;
mod bodies;
mod cases;
mod catalogue;
mod cylinders;
mod elsewhere;
mod genealogy;
mod holds;
mod keys;
mod labels_out;
mod ledger;
mod lists;
mod loads;
mod mixes;
mod notices;
mod pages;
mod policy;
mod problems;
mod race;
mod records;
mod scans;
mod sessions;
mod stations;
mod stock;
mod where_used;
