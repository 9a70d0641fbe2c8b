//! A number of an answer.

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Serialize, Serializer};

/// A number rounded to six decimal places, half away from zero, and written as a JSON number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Figure(Decimal);

/// How many places a figure keeps.
const PLACES: u32 = 6;

impl From<Decimal> for Figure {
    fn from(value: Decimal) -> Self {
        let rounded = value.round_dp_with_strategy(PLACES, RoundingStrategy::MidpointAwayFromZero);
        Self(rounded.normalize())
    }
}

impl From<f64> for Figure {
    fn from(value: f64) -> Self {
        Self::from(Decimal::try_from(value).unwrap_or_default())
    }
}

impl Serialize for Figure {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match (self.0.scale(), i64::try_from(self.0)) {
            (0, Ok(whole)) => serializer.serialize_i64(whole),
            // The shortest digits of the nearest double are the decimal's own, up to 15 of them.
            _ => {
                serializer.serialize_f64(f64::try_from(self.0).map_err(serde::ser::Error::custom)?)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_is_a_json_number_of_at_most_six_places() {
        let json = |text: &str| {
            let value: Decimal = text.parse().unwrap();
            serde_json::to_string(&Figure::from(value)).unwrap()
        };
        assert_eq!(json("250.0000"), "250");
        assert_eq!(json("277.75"), "277.75");
        assert_eq!(json("900.0900090009"), "900.090009");
        assert_eq!(json("0.0000005"), "1e-6");
        assert_eq!(json("-1.5"), "-1.5");
        assert_eq!(
            serde_json::to_string(&Figure::from(604.12_f64)).unwrap(),
            "604.12"
        );
    }
}
