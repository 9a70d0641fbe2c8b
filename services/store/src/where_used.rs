//! where
