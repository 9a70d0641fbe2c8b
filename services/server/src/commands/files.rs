//! Files that commands take in: their characters, and how far the reading is.

mod batches;
mod progress;
mod source;

pub use batches::{Batch, in_batches};
pub use progress::Progress;
pub use source::Source;
