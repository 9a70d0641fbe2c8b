//! What a mix holds, and what a volume of it holds.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::concentration::Strength;

/// A volume with the strengths of the substances in it; a diluent has none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ingredient {
    /// Millilitres.
    pub volume_ml: Decimal,
    /// Substances by name.
    pub substances: Vec<(String, Strength)>,
}

/// An amount of one substance; a part is none where no strength was given in that unit.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Amount {
    /// Milligrams.
    pub mg: Option<Decimal>,
    /// Milliequivalents.
    pub meq: Option<Decimal>,
}

/// A mix: its whole volume and the amounts in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mixture {
    /// Millilitres of all ingredients together, diluents included.
    pub volume_ml: Decimal,
    /// What is in it, by substance.
    pub amounts: BTreeMap<String, Amount>,
}

impl Amount {
    /// Both together.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        let sum = |a: Option<Decimal>, b: Option<Decimal>| match (a, b) {
            (Some(a), Some(b)) => Some(a + b),
            (a, b) => a.or(b),
        };
        Self {
            mg: sum(self.mg, other.mg),
            meq: sum(self.meq, other.meq),
        }
    }

    /// This amount times a volume over a whole volume.
    fn share(self, volume: Decimal, whole: Decimal) -> Self {
        let share = |amount: Option<Decimal>| amount.map(|amount| amount * volume / whole);
        Self {
            mg: share(self.mg),
            meq: share(self.meq),
        }
    }
}

/// The amounts in some volumes, by substance: `mg = mL x mg/mL`.
#[must_use]
pub fn amounts_of(ingredients: &[Ingredient]) -> BTreeMap<String, Amount> {
    let mut amounts = BTreeMap::<String, Amount>::new();
    for ingredient in ingredients {
        for (substance, strength) in &ingredient.substances {
            let amount = match strength {
                Strength::MilligramPerMillilitre(mg) => Amount {
                    mg: Some(ingredient.volume_ml * mg),
                    meq: None,
                },
                Strength::MilliequivalentPerMillilitre(meq) => Amount {
                    mg: None,
                    meq: Some(ingredient.volume_ml * meq),
                },
            };
            let sum = amounts.entry(substance.clone()).or_default();
            *sum = sum.plus(amount);
        }
    }
    amounts
}

impl Mixture {
    /// The mix of some ingredients; none where there is no volume at all.
    #[must_use]
    pub fn of(ingredients: &[Ingredient]) -> Option<Self> {
        let volume_ml: Decimal = ingredients.iter().map(|each| each.volume_ml).sum();
        (volume_ml > Decimal::ZERO).then(|| Self {
            volume_ml,
            amounts: amounts_of(ingredients),
        })
    }

    /// The amounts in a volume of the mix, in millilitres.
    ///
    /// Concentrations are over the whole volume: over a nominal litre an amount would be
    /// overstated by as much as the additives add.
    #[must_use]
    pub fn amounts_in(&self, volume_ml: Decimal) -> BTreeMap<String, Amount> {
        self.amounts
            .iter()
            .map(|(substance, amount)| (substance.clone(), amount.share(volume_ml, self.volume_ml)))
            .collect()
    }

    /// The amounts in a litre of the mix: mg/L and mEq/L.
    #[must_use]
    pub fn amounts_per_litre(&self) -> BTreeMap<String, Amount> {
        self.amounts_in(Decimal::ONE_THOUSAND)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn ingredient(volume: &str, substances: &[(&str, Strength)]) -> Ingredient {
        Ingredient {
            volume_ml: volume.parse().unwrap(),
            substances: substances
                .iter()
                .map(|(name, strength)| ((*name).into(), *strength))
                .collect(),
        }
    }

    fn percent(text: &str) -> Strength {
        Strength::from_percent(text.parse().unwrap())
    }

    fn ratio(text: &str) -> Strength {
        Strength::from_ratio(text).unwrap()
    }

    fn bicarbonate() -> Ingredient {
        let strength = Strength::MilliequivalentPerMillilitre(Decimal::ONE);
        ingredient("2.5", &[("sodium bicarbonate", strength)])
    }

    fn four_products() -> Mixture {
        Mixture::of(&[
            ingredient("250", &[]),
            ingredient("25", &[("lidocaine", percent("1"))]),
            ingredient("0.25", &[("epinephrine", ratio("1:1000"))]),
            bicarbonate(),
        ])
        .unwrap()
    }

    fn mg(amounts: &BTreeMap<String, Amount>, substance: &str, places: u32) -> String {
        amounts[substance].mg.unwrap().round_dp(places).to_string()
    }

    // Worked example: mg = mL x % x 10 over the whole volume (arithmetic).
    #[test]
    fn a_mix_of_four_products_is_divided_by_its_whole_volume() {
        let mix = four_products();
        assert_eq!(mix.volume_ml.to_string(), "277.75");
        assert_eq!(mix.amounts["lidocaine"].mg, Some(Decimal::from(250)));
        let litre = mix.amounts_per_litre();
        assert_eq!(mg(&litre, "lidocaine", 2), "900.09");
        assert_eq!(mg(&litre, "epinephrine", 5), "0.90009");
        let meq = litre["sodium bicarbonate"].meq.unwrap();
        assert_eq!(meq.round_dp(4).to_string(), "9.0009");
    }

    // As above, with lidocaine and epinephrine in one product.
    #[test]
    fn a_mix_of_three_products_has_two_substances_of_one_ingredient() {
        let both = [
            ("lidocaine", percent("1")),
            ("epinephrine", ratio("1:100,000")),
        ];
        let mix = Mixture::of(&[
            ingredient("250", &[]),
            ingredient("25", &both),
            bicarbonate(),
        ])
        .unwrap();
        assert_eq!(mix.volume_ml.to_string(), "277.5");
        let litre = mix.amounts_per_litre();
        assert_eq!(mg(&litre, "lidocaine", 2), "900.90");
        assert_eq!(mg(&litre, "epinephrine", 3), "0.901");
        assert_eq!(mix.amounts["epinephrine"].mg, Some(Decimal::new(25, 2)));
    }

    // 180 mL of the four products: 162.016 mg; 60 kg: 2.700 mg/kg; with 50 mg more 212.016 mg,
    // 3.534 mg/kg (arithmetic).
    #[test]
    fn what_was_given_is_its_share_of_the_mix() {
        let given = four_products().amounts_in(Decimal::from(180));
        assert_eq!(mg(&given, "lidocaine", 3), "162.016");
        assert_eq!(mg(&given, "epinephrine", 6), "0.162016");
        let lidocaine = given["lidocaine"].mg.unwrap();
        let kilograms = Decimal::from(60);
        assert_eq!((lidocaine / kilograms).round_dp(5).to_string(), "2.70027");
        let apart = amounts_of(&[ingredient("5", &[("lidocaine", percent("1"))])]);
        let all = lidocaine + apart["lidocaine"].mg.unwrap();
        assert_eq!(all.round_dp(3).to_string(), "212.016");
        assert_eq!((all / kilograms).round_dp(4).to_string(), "3.5336");
    }

    // Klein & Jeske, Anesth Analg 2016;122:1350-9: 1 g in 1,110 mL is 0.9 g/L (0.09 %).
    #[test]
    fn one_gram_in_1110_ml_is_nine_tenths_of_a_gram_a_litre() {
        let mix = Mixture::of(&[
            ingredient("1000", &[]),
            ingredient(
                "100",
                &[
                    ("lidocaine", percent("1")),
                    ("epinephrine", ratio("1:100,000")),
                ],
            ),
            ingredient(
                "10",
                &[(
                    "sodium bicarbonate",
                    Strength::MilliequivalentPerMillilitre(Decimal::ONE),
                )],
            ),
        ])
        .unwrap();
        assert_eq!(mix.volume_ml.to_string(), "1110");
        assert_eq!(mix.amounts["lidocaine"].mg, Some(Decimal::from(1000)));
        assert_eq!(mg(&mix.amounts_per_litre(), "lidocaine", 1), "900.9");
        assert_eq!(mix.amounts["sodium bicarbonate"].meq, Some(Decimal::TEN));
    }

    // "Nominal 1,000 mg/L" against 900.09 mg/L overstates by 11.1 % (arithmetic).
    #[test]
    fn a_nominal_concentration_would_overstate() {
        let actual = four_products().amounts_per_litre()["lidocaine"].mg.unwrap();
        let over = (Decimal::ONE_THOUSAND / actual - Decimal::ONE) * Decimal::ONE_HUNDRED;
        assert_eq!(over.round_dp(1).to_string(), "11.1");
    }

    proptest! {
        // Identity: what was given and what is left hold together what the mix holds.
        #[test]
        fn amounts_given_and_left_make_the_whole(
            diluent in 1..500_000_i64, drug in 1..50_000_i64, tenths in 1..200_i64, part in 0..=1000_i64,
        ) {
            let mix = Mixture::of(&[
                Ingredient { volume_ml: Decimal::new(diluent, 2), substances: vec![] },
                Ingredient {
                    volume_ml: Decimal::new(drug, 2),
                    substances: vec![("a".into(), Strength::from_percent(Decimal::new(tenths, 1)))],
                },
            ]).unwrap();
            prop_assert_eq!(mix.volume_ml, Decimal::new(diluent + drug, 2));
            let given = mix.volume_ml * Decimal::new(part, 3);
            let two = mix.amounts_in(given)["a"].mg.unwrap() + mix.amounts_in(mix.volume_ml - given)["a"].mg.unwrap();
            prop_assert!((two - mix.amounts["a"].mg.unwrap()).abs() < Decimal::new(1, 15));
        }
    }
}
