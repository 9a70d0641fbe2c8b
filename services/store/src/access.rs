//! access
