//! The routes, capability by capability.

mod access;
mod bodies;
mod holds;
mod keys;
mod lists;
mod policy;
mod problems;
mod sessions;
