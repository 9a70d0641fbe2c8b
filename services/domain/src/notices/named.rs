//! What a person confirmed that a notice names.

use super::{Of, Proposal, Range};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// The items of a product that a notice names: lots, serials and ranges as printed, days of expiry,
/// or all of them.
///
/// As JSON it has its members in the order of the ledger's canonical form, and a missing member is
/// an empty one.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Named {
    /// Every lot and piece of the product.
    pub all: bool,
    /// The first day of expiry that is named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expires_from: Option<Date>,
    /// The last day of expiry that is named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expires_to: Option<Date>,
    /// Lots exactly as printed.
    pub lots: Vec<String>,
    /// Ranges of lots or serials.
    pub ranges: Vec<Range>,
    /// Serials exactly as printed.
    pub serials: Vec<String>,
}

impl From<&Proposal> for Named {
    fn from(proposal: &Proposal) -> Self {
        let texts = |found: &[super::Found<String>]| {
            let values = found.iter().map(|found| found.value.clone());
            values.collect()
        };
        let expiry = proposal.expiry.as_ref().map(|found| &found.value);
        Self {
            all: proposal.all.is_some(),
            expires_from: expiry.and_then(|expiry| expiry.from),
            expires_to: expiry.and_then(|expiry| expiry.to),
            lots: texts(&proposal.lots),
            ranges: proposal.ranges.iter().map(|r| r.value.clone()).collect(),
            serials: texts(&proposal.serials),
        }
    }
}

/// A range as people and programs write it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenRange {
    of: Of,
    #[serde(default)]
    from: Option<String>,
    #[serde(default)]
    to: Option<String>,
    #[serde(default)]
    begins_with: Option<String>,
}

impl<'de> Deserialize<'de> for Range {
    /// Reads what the service writes.
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let written = WrittenRange::deserialize(deserializer)?;
        let of = written.of;
        match (written.from, written.to, written.begins_with) {
            (None, None, Some(start)) => Ok(Self::BeginsWith { of, start }),
            (None, None, None) | (Some(_), _, Some(_)) | (_, Some(_), Some(_)) => {
                let rule = "a range has from, to or both, or begins_with alone";
                Err(serde::de::Error::custom(rule))
            }
            (from, to, None) => Ok(Self::between(of, from, to)),
        }
    }
}
