//! Files that commands take in: their characters, and how far the reading is.

mod progress;
mod source;

pub use progress::Progress;
pub use source::Source;
