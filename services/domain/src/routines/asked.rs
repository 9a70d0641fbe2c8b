//! The values that a check asks for.

use crate::word::words;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

words! {
    /// What a value is.
    AskedKind, "kind of value" {
        /// A number, with limits where it has some.
        Number = "number",
        /// Yes or no; no is out of limits.
        YesNo = "yes_no",
        /// A text, such as the number of a seal.
        Text = "text",
    }
}

impl AskedKind {
    /// What a value has to be, in words.
    #[must_use]
    pub const fn expected(self) -> &'static str {
        match self {
            Self::Number => "a decimal number",
            Self::YesNo => "yes or no",
            Self::Text => "a text",
        }
    }
}

/// A value that a check asks for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Asked {
    /// The highest number that is in limits.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub high: Option<Decimal>,
    /// What it is.
    pub kind: AskedKind,
    /// The lowest number that is in limits.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub low: Option<Decimal>,
    /// Its name: 1 to 100 characters.
    pub name: String,
    /// The unit of a number.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub unit: Option<String>,
}

/// A text is no value of the kind that is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("must be {}", .0.expected())]
pub struct NotOfItsKind(pub AskedKind);

impl Asked {
    /// Whether a value is in its limits, both included.
    ///
    /// # Errors
    /// [`NotOfItsKind`].
    pub fn in_limits(&self, value: &str) -> Result<bool, NotOfItsKind> {
        let wrong = NotOfItsKind(self.kind);
        match (self.kind, value) {
            (AskedKind::Number, _) => {
                let number: Decimal = value.parse().map_err(|_| wrong)?;
                let low = self.low.is_none_or(|low| low <= number);
                Ok(low && self.high.is_none_or(|high| number <= high))
            }
            (AskedKind::YesNo, "yes") => Ok(true),
            (AskedKind::YesNo, "no") => Ok(false),
            (AskedKind::YesNo, _) => Err(wrong),
            (AskedKind::Text, _) => Ok(true),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // USP <659>, from memory: a refrigerator holds 2 to 8 degrees Celsius.
    #[test]
    fn limits_belong_to_the_range() {
        let fridge = Asked {
            high: Some(Decimal::from(8)),
            kind: AskedKind::Number,
            low: Some(Decimal::from(2)),
            name: "Temperature".to_owned(),
            unit: Some("C".to_owned()),
        };
        for (value, within) in [("2", true), ("8.0", true), ("8.1", false), ("1.9", false)] {
            assert_eq!(fridge.in_limits(value), Ok(within), "{value}");
        }
        let wrong = Err(NotOfItsKind(AskedKind::Number));
        assert_eq!(fridge.in_limits("cold"), wrong);
        let seal = Asked {
            kind: AskedKind::YesNo,
            high: None,
            low: None,
            ..fridge
        };
        assert_eq!(seal.in_limits("yes"), Ok(true));
        assert_eq!(seal.in_limits("no"), Ok(false));
        assert!(seal.in_limits("maybe").is_err());
    }
}
