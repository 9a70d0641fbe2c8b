//! Decimals as texts, so that none is rounded on its way.

use rust_decimal::Decimal;
use serde::de::{Deserialize, Deserializer, Error};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// The digits a number may have before and after its point.
const WHOLE: usize = 9;
const PLACES: usize = 6;

/// A decimal as a JSON text such as `"12.5"`: digits, at most nine before the point and six after
/// it, and a minus where the field takes one. No exponent and no JSON number, which many programs
/// round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Exact(pub Decimal);

impl From<Decimal> for Exact {
    fn from(value: Decimal) -> Self {
        Self(value)
    }
}

impl Serialize for Exact {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

impl<'de> Deserialize<'de> for Exact {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = <Cow<'de, str>>::deserialize(deserializer)?;
        let said = "a decimal as a text, such as \"12.5\", with at most 9 digits before the point \
                    and 6 after it";
        read(&text).map(Self).ok_or_else(|| {
            let value = serde::de::Unexpected::Other("text");
            D::Error::invalid_value(value, &said)
        })
    }
}

fn read(text: &str) -> Option<Decimal> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, places) = match digits.split_once('.') {
        Some((whole, places)) => (whole, Some(places)),
        None => (digits, None),
    };
    let plain = |part: &str, most: usize| {
        (1..=most).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit())
    };
    let fits = plain(whole, WHOLE) && places.is_none_or(|places| plain(places, PLACES));
    fits.then(|| text.parse().ok()).flatten()
}

impl PartialSchema for Exact {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .description(Some("A decimal as a text."))
            .pattern(Some(r"^-?[0-9]{1,9}(\.[0-9]{1,6})?$"))
            .examples(["12.5"])
            .into()
    }
}

impl ToSchema for Exact {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_is_a_text_of_plain_digits() {
        let json = |text: &str| serde_json::from_str::<Exact>(text).ok();
        let value = |text: &str| text.parse().map(Exact).ok();
        assert_eq!(json("\"12.50\""), value("12.50"));
        assert_eq!(json("\"-20\""), value("-20"));
        for wrong in [
            "12.5",
            "\"\"",
            "\"1e3\"",
            "\".5\"",
            "\"5.\"",
            "\"1,5\"",
            "\"1.0000000\"",
            "\"1234567890\"",
            "\" 1\"",
            "\"+1\"",
            "null",
        ] {
            assert_eq!(json(wrong), None, "{wrong}");
        }
        let back = serde_json::to_string(&Exact(Decimal::new(1250, 2))).ok();
        assert_eq!(back.as_deref(), Some("\"12.50\""));
    }
}
