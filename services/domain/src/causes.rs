//! An error with everything that led to it, on one line.

use std::error::Error;
use std::fmt;

/// Prints an error and each of its causes, so that a log in JSON holds them all.
#[derive(Clone, Copy, Debug)]
pub struct Causes<'a>(pub &'a dyn Error);

impl fmt::Display for Causes<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)?;
        let mut next = self.0.source();
        while let Some(cause) = next {
            write!(f, ": {cause}")?;
            next = cause.source();
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Debug, thiserror::Error)]
    #[error("outside")]
    struct Outside(#[source] Inside);

    #[derive(Debug, thiserror::Error)]
    #[error("inside")]
    struct Inside;

    #[test]
    fn every_cause_is_printed_once() {
        assert_eq!(Causes(&Outside(Inside)).to_string(), "outside: inside");
    }
}
