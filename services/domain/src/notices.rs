//! What a recall notice names: pasted text in, criteria that a person confirms out.
//!
//! A notice's codes are free text in every shape (the `code_info` of FDA's enforcement records).
//! [`read`] takes out what it understands with the characters each piece came from. The rest stays
//! in sight as unread, and whoever matches must take it as a reason to widen, never to clear.

mod dates;
mod element_strings;
mod json;
mod labels;
mod matching;
mod proposal;
mod ranges;
mod reader;
mod tokens;

pub use dates::{Expiry, PrintedDate};
pub use matching::{Criteria, MatchClass, Recorded};
pub use proposal::{Found, Of, Proposal, Reading, Span};
pub use ranges::Range;
pub use reader::read;

#[cfg(test)]
mod tests;
