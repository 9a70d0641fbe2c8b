//! A strength as a label prints it, as an amount per millilitre.

use rust_decimal::Decimal;

/// How much of a substance a millilitre holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Strength {
    /// Milligrams a millilitre.
    MilligramPerMillilitre(Decimal),
    /// Milliequivalents a millilitre.
    MilliequivalentPerMillilitre(Decimal),
}

/// Why a printed strength is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StrengthError {
    /// Not two numbers with a colon.
    #[error("not a ratio: write it as printed, such as 1:1000 or 1:100,000")]
    NotARatio,
    /// The second number is not larger than the first, or the first is zero.
    #[error("not a strength: the second number of a ratio is the larger one, such as 1:1000")]
    NotDilute,
}

impl Strength {
    /// A percentage of weight in volume: 1 % is 10 mg/mL.
    #[must_use]
    pub fn from_percent(percent: Decimal) -> Self {
        Self::MilligramPerMillilitre(percent * Decimal::TEN)
    }

    /// A ratio of grams to millilitres as printed: 1:1,000 is 1 mg/mL.
    ///
    /// # Errors
    /// [`StrengthError`] for a text that is no ratio.
    pub fn from_ratio(text: &str) -> Result<Self, StrengthError> {
        let (grams, millilitres) = text.split_once(':').ok_or(StrengthError::NotARatio)?;
        let number = |part: &str| whole(part).ok_or(StrengthError::NotARatio);
        let (grams, millilitres) = (number(grams)?, number(millilitres)?);
        if grams.is_zero() || millilitres <= grams {
            return Err(StrengthError::NotDilute);
        }
        Ok(Self::MilligramPerMillilitre(
            grams * Decimal::ONE_THOUSAND / millilitres,
        ))
    }
}

/// A whole number of at most twelve digits, with commas or spaces between thousands.
fn whole(text: &str) -> Option<Decimal> {
    let digits: String = text
        .trim()
        .chars()
        .filter(|c| !matches!(c, ',' | ' '))
        .collect();
    let plain =
        (1..=12).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| digits.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn milligrams(value: i64, scale: u32) -> Strength {
        Strength::MilligramPerMillilitre(Decimal::new(value, scale))
    }

    // Drug label table of strengths: 1 % = 10 mg/mL, 1:1,000 = 1 mg/mL, 1:100,000 = 10 ug/mL,
    // 1:200,000 = 5 ug/mL.
    #[test]
    fn printed_strengths_are_amounts_a_millilitre() {
        assert_eq!(Strength::from_percent(Decimal::ONE), milligrams(10, 0));
        for (text, expected) in [
            ("1:1000", milligrams(1, 0)),
            ("1:1,000", milligrams(1, 0)),
            ("1:100,000", milligrams(1, 2)),
            ("1 : 200 000", milligrams(5, 3)),
            ("1:1,000,000", milligrams(1, 3)),
        ] {
            assert_eq!(Strength::from_ratio(text), Ok(expected), "{text}");
        }
    }

    // 8.4 % sodium bicarbonate over its molar mass of 84.007 g/mol is 0.99992 mEq/mL: arithmetic.
    #[test]
    fn bicarbonate_of_8_4_percent_holds_about_one_milliequivalent_a_millilitre() {
        let Strength::MilligramPerMillilitre(milligrams) =
            Strength::from_percent(Decimal::new(84, 1))
        else {
            panic!("a percentage is a weight");
        };
        let milliequivalents = milligrams / Decimal::new(84_007, 3);
        assert_eq!(milliequivalents.round_dp(5), Decimal::new(99_992, 5));
    }

    #[test]
    fn what_is_no_ratio_is_refused() {
        for text in [
            "", "1000", "1:", ":1000", "1:-5", "1:1e3", "a:b", "1:1000:2",
        ] {
            assert_eq!(
                Strength::from_ratio(text),
                Err(StrengthError::NotARatio),
                "{text}"
            );
        }
        for text in ["0:1000", "1:1", "1000:1"] {
            assert_eq!(
                Strength::from_ratio(text),
                Err(StrengthError::NotDilute),
                "{text}"
            );
        }
    }
}
