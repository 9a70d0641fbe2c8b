//! Products: what a label's device identifier or drug code names.

use crate::word::words;

words! {
    /// What a product is, coarsely.
    ProductKind, "product kind" {
        /// A single-use or reusable energy or power handpiece.
        Handpiece = "handpiece",
        /// A cannula.
        Cannula = "cannula",
        /// A needle.
        Needle = "needle",
        /// A gas, by its cylinder.
        Gas = "gas",
        /// A drug.
        Drug = "drug",
        /// A diluent for a mix.
        Diluent = "diluent",
        /// A filter.
        Filter = "filter",
        /// A compression garment.
        Garment = "garment",
        /// A dressing.
        Dressing = "dressing",
        /// A surgical instrument.
        Instrument = "instrument",
        /// A piece of equipment.
        Equipment = "equipment",
        /// Anything else.
        Other = "other",
    }
}

words! {
    /// How often a piece of a product may be used (FD&C 502(u), 502(v)).
    UseClass, "use class" {
        /// One piece, one case.
        SingleUse = "single_use",
        /// Reprocessed by the site between cases.
        Reusable = "reusable",
        /// A single-use device reprocessed by a registered reprocessor.
        ReprocessedSingleUse = "reprocessed_single_use",
    }
}

impl UseClass {
    /// Whether one piece may be on one case only.
    #[must_use]
    pub const fn one_case_only(self) -> bool {
        match self {
            Self::SingleUse | Self::ReprocessedSingleUse => true,
            Self::Reusable => false,
        }
    }
}

/// What a product's label has to carry (21 CFR 801.40(b); the GUDID flags of the same names).
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
pub struct LabelCarries {
    /// A lot or batch number.
    pub lot: bool,
    /// A serial number.
    pub serial: bool,
    /// An expiry date.
    pub expiry: bool,
}
