//! What requests and answers have in common: keys, entity tags, lists, limits.

pub mod answer;
pub mod body;
pub mod defaults;
pub mod etag;
pub mod exact;
pub mod keyed;
pub mod lists;
pub mod middleware;
pub mod step;

pub use answer::{Recorded, reply};
pub use body::Checked;
pub use etag::{IfMatch, IfSeen, tagged};
pub use exact::Exact;
pub use keyed::Keyed;
pub use lists::{List, Paging};
pub use step::Step;
