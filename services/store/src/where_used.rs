//! Where an item was used: the cases, patients and places that a product, lot or piece reached.
//!
//! An item is `affected` when its record names what was asked for. It `cannot_exclude` being one
//! when its record does not say: the lot or serial was not recorded, or label and record of a
//! piece differ. Leaving those out would understate a recall.

mod elsewhere;
mod question;
mod show_reach;
mod show_where_used;
mod through;
mod uses_of;

pub use elsewhere::{OnHand, ReceiptLine, Stopped};
pub use question::NotAnIdentifier;
pub use show_reach::{Container, ShowReach, ShowReachRefusal};
pub(crate) use show_where_used::listed;
pub use show_where_used::{ShowWhereUsed, WhereUsed};
pub(crate) use through::of_case;
pub use through::{CylinderThrough, LoadThrough, MixThrough, Through};
pub(crate) use uses_of::find_uses;
pub use uses_of::{ItemUsed, LotFound, ProductFound, UnitFound, UsesFound, uses_of};

use lotwarden_domain::label::ProductCode;

/// What is asked for: a product, one of its lots, or one of its pieces.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// Any identifier of the product in its normal form; several when a code can be read in more
    /// than one way, the likeliest first.
    pub codes: Vec<ProductCode>,
    /// The lot, exactly as printed.
    pub lot: Option<String>,
    /// The serial, exactly as printed.
    pub serial: Option<String>,
}

/// How an item relates to the question.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Class {
    /// Its record names what was asked for.
    Affected,
    /// Its record does not say, so it can be one.
    CannotExclude,
}

impl Class {
    /// The written form.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Affected => "affected",
            Self::CannotExclude => "cannot_exclude",
        }
    }
}
