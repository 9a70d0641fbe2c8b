//! The site's settings and end points of energy, and whether an entry of the log lies within them.
//!
//! They are the site's own, each with its source: the service compares and never advises.

use crate::equipment::ThermometerType;
use crate::word::words;
use rust_decimal::Decimal;

words! {
    /// What of an entry a limit is about.
    EnergyValue, "value of the energy log" {
        /// The power setting, in percent.
        PowerPercent = "power_percent",
        /// The set gas flow, in litres a minute.
        LitrePerMinute = "litre_per_minute",
        /// Passes.
        Passes = "passes",
        /// Seconds in which energy flowed.
        ActiveSeconds = "active_seconds",
        /// The highest skin temperature, in degrees Celsius.
        MaxSkinCelsius = "max_skin_celsius",
    }
}

/// What a limit looks at, for whatever part of the body and instrument.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EnergyLimit {
    /// The value.
    pub value: EnergyValue,
    /// The zone; none for all of them.
    pub zone: Option<String>,
    /// The type of thermometer: types differ by degrees on the same skin (Key, J Drugs Dermatol
    /// 2014;13:185). None for all of them.
    pub thermometer_type: Option<ThermometerType>,
    /// The least that lies within.
    pub least: Option<Decimal>,
    /// The most that lies within.
    pub most: Option<Decimal>,
}

/// The values of an entry that limits look at.
#[derive(Clone, Debug)]
pub struct EnergyValues<'a> {
    /// The zone.
    pub zone: &'a str,
    /// The type of the thermometer that measured the skin.
    pub thermometer_type: Option<ThermometerType>,
    /// The power setting, in percent.
    pub power_percent: Decimal,
    /// The set gas flow, in litres a minute.
    pub litre_per_minute: Option<Decimal>,
    /// Passes.
    pub passes: i32,
    /// Seconds in which energy flowed.
    pub active_seconds: Decimal,
    /// The highest skin temperature, in degrees Celsius.
    pub max_skin_celsius: Option<Decimal>,
}

impl EnergyValues<'_> {
    fn of(&self, value: EnergyValue) -> Option<Decimal> {
        match value {
            EnergyValue::PowerPercent => Some(self.power_percent),
            EnergyValue::LitrePerMinute => self.litre_per_minute,
            EnergyValue::Passes => Some(self.passes.into()),
            EnergyValue::ActiveSeconds => Some(self.active_seconds),
            EnergyValue::MaxSkinCelsius => self.max_skin_celsius,
        }
    }
}

impl EnergyLimit {
    /// Whether this limit is about an entry: its zone, its thermometer, and a value on record.
    #[must_use]
    pub fn concerns(&self, values: &EnergyValues<'_>) -> bool {
        let same = |zone: &String| zone.to_lowercase() == values.zone.to_lowercase();
        let measured_so = |kind| values.thermometer_type == Some(kind);
        self.zone.as_ref().is_none_or(same)
            && self.thermometer_type.is_none_or(measured_so)
            && values.of(self.value).is_some()
    }

    /// Whether an entry lies outside this limit. A value that is not on record lies nowhere.
    #[must_use]
    pub fn is_left_by(&self, values: &EnergyValues<'_>) -> bool {
        let outside = |value| {
            let low = self.least.is_some_and(|least| value < least);
            let high = self.most.is_some_and(|most| value > most);
            low || high
        };
        self.concerns(values) && values.of(self.value).is_some_and(outside)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A skin end point of 38 to 40 C as clinics quote it, and two readings of one skin that differ
    /// by 5.38 C by their instruments (Key, J Drugs Dermatol 2014;13:185; shared/trade.md, 9).
    #[test]
    fn an_end_point_is_that_of_its_type_of_thermometer() {
        let end_point = EnergyLimit {
            value: EnergyValue::MaxSkinCelsius,
            zone: Some("Calf, left".to_owned()),
            thermometer_type: Some(ThermometerType::InfraredCamera),
            least: Some(Decimal::from(38)),
            most: Some(Decimal::from(40)),
        };
        let by = |thermometer_type, hundredths| EnergyValues {
            zone: "calf, LEFT",
            thermometer_type,
            power_percent: Decimal::from(70),
            litre_per_minute: None,
            passes: 6,
            active_seconds: Decimal::from(240),
            max_skin_celsius: Some(Decimal::new(hundredths, 2)),
        };
        let camera = Some(ThermometerType::InfraredCamera);
        for (celsius, outside) in [(3799, true), (3800, false), (4000, false), (4001, true)] {
            assert_eq!(end_point.is_left_by(&by(camera, celsius)), outside);
            assert!(end_point.concerns(&by(camera, celsius)));
        }
        let spot = Some(ThermometerType::InfraredSpot);
        assert!(!end_point.is_left_by(&by(spot, 3900 - 538)));
        let unmeasured = EnergyValues {
            max_skin_celsius: None,
            ..by(camera, 0)
        };
        assert!(!end_point.is_left_by(&unmeasured));
        assert!(!end_point.concerns(&unmeasured));
        let elsewhere = EnergyValues {
            zone: "Calf, right",
            ..by(camera, 4500)
        };
        assert!(!end_point.is_left_by(&elsewhere));
        assert!(!end_point.concerns(&elsewhere));
    }
}
