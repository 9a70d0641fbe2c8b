//! Published values that are shown beside a recorded amount. They are never a verdict.

use rust_decimal::Decimal;

/// Lidocaine's name in the table.
pub const LIDOCAINE: &str = "lidocaine";

/// A published value for one substance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reference {
    /// The substance.
    pub substance: &'static str,
    /// What it is about.
    pub about: &'static str,
    /// Milligrams a kilogram.
    pub mg_per_kg: Decimal,
    /// Milligrams in all, where the source names them.
    pub mg: Option<Decimal>,
    /// Where it is published.
    pub source: &'static str,
}

impl Reference {
    /// The value at a weight in kilograms, in milligrams.
    #[must_use]
    pub fn at(&self, weight_kg: Decimal) -> Decimal {
        self.mg_per_kg * weight_kg
    }
}

const fn whole(number: u32) -> Decimal {
    Decimal::from_parts(number, 0, 0, false, 0)
}

const PUBLISHED: [Reference; 6] = [
    Reference {
        substance: LIDOCAINE,
        about: "product label, without epinephrine",
        mg_per_kg: Decimal::from_parts(45, 0, 0, false, 1),
        mg: Some(whole(300)),
        source: "lidocaine injection label",
    },
    Reference {
        substance: LIDOCAINE,
        about: "product label, with epinephrine",
        mg_per_kg: whole(7),
        mg: Some(whole(500)),
        source: "lidocaine and epinephrine injection label",
    },
    Reference {
        substance: LIDOCAINE,
        about: "tumescent, without liposuction",
        mg_per_kg: whole(28),
        mg: None,
        source: "Klein & Jeske, Anesth Analg 2016;122:1350-9",
    },
    Reference {
        substance: LIDOCAINE,
        about: "tumescent, early estimate",
        mg_per_kg: whole(35),
        mg: None,
        source: "Klein 1990",
    },
    Reference {
        substance: LIDOCAINE,
        about: "tumescent, with liposuction",
        mg_per_kg: whole(45),
        mg: None,
        source: "Klein & Jeske, Anesth Analg 2016;122:1350-9",
    },
    Reference {
        substance: LIDOCAINE,
        about: "tumescent liposuction",
        mg_per_kg: whole(55),
        mg: None,
        source: "dermatologic guidelines of ASDS and AAD",
    },
];

/// The published values of a substance, lowest first; a salt's name after the substance's, such
/// as "lidocaine hydrochloride", and upper and lower case do not matter.
pub fn references_for(substance: &str) -> impl Iterator<Item = &'static Reference> {
    let first = substance.split_whitespace().next().unwrap_or_default();
    PUBLISHED
        .iter()
        .filter(move |each| each.substance.eq_ignore_ascii_case(first))
}

#[cfg(test)]
mod tests {
    use super::*;

    // mg/kg times kg; label: 4.5 mg/kg and 300 mg, 7 mg/kg and 500 mg; Klein & Jeske 2016;
    // Klein 1990; ASDS and AAD.
    #[test]
    fn published_values_are_shown_at_the_patients_weight() {
        for (weight, expected) in [
            (50, ["225", "350", "1400", "1750", "2250", "2750"]),
            (60, ["270", "420", "1680", "2100", "2700", "3300"]),
            (70, ["315", "490", "1960", "2450", "3150", "3850"]),
            (80, ["360", "560", "2240", "2800", "3600", "4400"]),
        ] {
            let values: Vec<_> = references_for("Lidocaine")
                .map(|each| each.at(Decimal::from(weight)).normalize().to_string())
                .collect();
            assert_eq!(values, expected);
        }
    }

    // At 70 and 80 kg the label's milligrams come before its milligrams a kilogram.
    #[test]
    fn the_labels_have_a_value_in_milligrams_too() {
        let whole: Vec<_> = references_for(LIDOCAINE)
            .filter_map(|each| each.mg)
            .collect();
        assert_eq!(whole, [Decimal::from(300), Decimal::from(500)]);
        let plain = references_for(LIDOCAINE).next().unwrap();
        assert!(plain.at(Decimal::from(70)) > plain.mg.unwrap());
        assert_eq!(references_for("epinephrine").count(), 0);
        assert_eq!(references_for("Lidocaine hydrochloride").count(), 6);
    }
}
