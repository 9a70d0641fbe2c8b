//! cases
