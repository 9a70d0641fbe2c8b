//! A cylinder read by its gauge: litres and minutes, each with a band from the gauge's accuracy.

use super::helium::{ATMOSPHERE_BAR, ICE_POINT_KELVIN, compressibility, litres_per_water_litre};

/// One pound per square inch in bar (6,894.757 Pa, NIST SP 811 appendix B.8).
const BAR_PER_PSI: f64 = 0.068_947_572_93;

/// A pressure in pounds per square inch as bar.
#[must_use]
pub fn bar_from_psi(psi: f64) -> f64 {
    psi * BAR_PER_PSI
}

/// A cylinder as it stands, and how it is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cylinder {
    /// Stamped or labelled water volume in litres; never a constant of a cylinder size.
    pub water_volume_litre: f64,
    /// The gas's temperature in degrees Celsius.
    pub celsius: f64,
    /// The gauge pressure in bar at which use ends.
    pub reserve_bar: f64,
}

/// A gauge reading and what the gauge promises.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gauge {
    /// What it shows, in bar above the atmosphere.
    pub reading_bar: f64,
    /// Its accuracy as a percentage of the full scale.
    pub accuracy_percent: f64,
    /// Its full scale in bar.
    pub full_scale_bar: f64,
}

/// A number with the least and the most it can be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// At the reading itself.
    pub value: f64,
    /// Where the gauge shows too much by its whole accuracy.
    pub low: f64,
    /// Where it shows too little by its whole accuracy.
    pub high: f64,
}

impl Band {
    /// The same band less what has flowed since, never below nothing.
    #[must_use]
    pub fn less(self, litres: f64) -> Self {
        Self {
            value: (self.value - litres).max(0.0),
            low: (self.low - litres).max(0.0),
            high: (self.high - litres).max(0.0),
        }
    }

    /// The same band at a rate, such as litres at litres a minute.
    #[must_use]
    pub fn at(self, rate: f64) -> Self {
        Self {
            value: self.value / rate,
            low: self.low / rate,
            high: self.high / rate,
        }
    }
}

impl Gauge {
    /// How far the reading may be off, in bar.
    #[must_use]
    pub fn uncertainty_bar(self) -> f64 {
        self.accuracy_percent / 100.0 * self.full_scale_bar
    }
}

impl Cylinder {
    /// Litres of helium left above the reserve (one atmosphere, 21.1 degrees Celsius).
    #[must_use]
    pub fn litres(self, gauge: Gauge) -> Band {
        let off = gauge.uncertainty_bar();
        let litres = |bar: f64| {
            self.water_volume_litre
                * litres_per_water_litre(bar.max(0.0), self.reserve_bar, self.kelvin())
        };
        Band {
            value: litres(gauge.reading_bar),
            low: litres(gauge.reading_bar - off),
            high: litres(gauge.reading_bar + off),
        }
    }

    /// The compressibility factor of the gas at a gauge pressure in bar.
    #[must_use]
    pub fn compressibility(self, gauge_bar: f64) -> f64 {
        compressibility(gauge_bar + ATMOSPHERE_BAR, self.kelvin())
    }

    fn kelvin(self) -> f64 {
        self.celsius + ICE_POINT_KELVIN
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn cylinder(celsius: f64, reserve_psi: f64) -> Cylinder {
        Cylinder {
            water_volume_litre: 4.7,
            celsius,
            reserve_bar: bar_from_psi(reserve_psi),
        }
    }

    fn gauge(psi: f64) -> Gauge {
        Gauge {
            reading_bar: bar_from_psi(psi),
            accuracy_percent: 2.0,
            full_scale_bar: bar_from_psi(3000.0),
        }
    }

    // psig, absolute bar, Z, litres, minutes at 2 L/min: CoolProp 8.0.0, 4.7 L water, 21.1 C.
    #[test]
    fn a_cylinder_of_4_7_litres_holds_what_the_reference_equation_says() {
        for (psi, absolute, z, litres, minutes) in [
            (2015.0, 139.94, 1.06675, 604.11, 302.1),
            (1600.0, 111.33, 1.05328, 485.83, 242.9),
            (1000.0, 69.96, 1.03364, 309.41, 154.7),
            (500.0, 35.49, 1.01713, 157.21, 78.6),
            (200.0, 14.80, 1.00716, 63.51, 31.8),
        ] {
            let cylinder = cylinder(21.1, 0.0);
            let left = cylinder.litres(gauge(psi));
            assert!(
                (bar_from_psi(psi) + ATMOSPHERE_BAR - absolute).abs() < 0.006,
                "{psi}"
            );
            assert!(
                (cylinder.compressibility(bar_from_psi(psi)) - z).abs() < 1e-4,
                "{psi}"
            );
            assert!((left.value / litres - 1.0).abs() < 2e-4, "{psi}: {left:?}");
            assert!(
                (left.at(2.0).value - minutes).abs() < 0.06,
                "{psi}: {left:?}"
            );
        }
    }

    // CoolProp 8.0.0, with 200 psi kept back.
    #[test]
    fn a_reserve_is_not_counted() {
        for (psi, litres) in [(2015.0, 540.60), (1000.0, 245.90), (500.0, 93.71)] {
            let left = cylinder(21.1, 200.0).litres(gauge(psi));
            assert!((left.value / litres - 1.0).abs() < 3e-4, "{psi}: {left:?}");
        }
        assert!(cylinder(21.1, 200.0).litres(gauge(150.0)).value.abs() < f64::EPSILON);
    }

    // The pressures of one filling at four temperatures: CoolProp 8.0.0.
    #[test]
    fn the_same_contents_are_found_at_every_temperature() {
        for (psi, celsius) in [
            (1939.6, 10.0),
            (2015.0, 21.1),
            (2075.4, 30.0),
            (2143.3, 40.0),
        ] {
            let left = cylinder(celsius, 0.0).litres(gauge(psi));
            assert!((left.value / 604.11 - 1.0).abs() < 2e-4, "{psi}: {left:?}");
        }
    }

    // 157.21 L at 500 psi (CoolProp 8.0.0) less 18.0 L, which is 12 minutes at 1.5 L/min.
    #[test]
    fn what_flowed_since_the_reading_is_gone_from_the_whole_band() {
        let left = cylinder(21.1, 0.0).litres(gauge(500.0));
        let now = left.less(18.0);
        assert!((now.value - 139.21).abs() < 0.05, "{now:?}");
        assert!((left.low - now.low - 18.0).abs() < 1e-9);
        assert!(left.less(1000.0).high.abs() < f64::EPSILON);
    }

    // 2 % of a gauge of 3,000 psi are 60 psi = 19.1 L; at 500 psi 138.6 to 175.7 L, 69 to 88 min
    // at 2 L/min (computed with CoolProp 8.0.0).
    #[test]
    fn the_gauge_gives_a_band() {
        let left = cylinder(21.1, 0.0).litres(gauge(500.0));
        assert!((left.low - 138.6).abs() < 0.1, "{left:?}");
        assert!((left.high - 175.7).abs() < 0.1, "{left:?}");
        assert!((left.at(2.0).low - 69.0).abs() < 0.5);
        assert!((left.at(2.0).high - 88.0).abs() < 0.5);
        let sixty = cylinder(21.1, 0.0).litres(gauge(60.0)).value;
        assert!((sixty - 19.1).abs() < 0.1, "{sixty}");
    }

    proptest! {
        // Identity: what is above a reserve and what is below it make the whole.
        #[test]
        fn a_reserve_splits_the_contents(
            psi in 300.0..2800.0_f64, reserve in 0.0..300.0_f64, celsius in 10.0..40.0_f64,
        ) {
            let whole = cylinder(celsius, 0.0).litres(gauge(psi)).value;
            let above = cylinder(celsius, reserve).litres(gauge(psi)).value;
            let below = cylinder(celsius, 0.0).litres(gauge(reserve)).value;
            prop_assert!((whole - above - below).abs() < 1e-9 * whole);
        }

        #[test]
        fn a_band_holds_its_value_and_more_pressure_is_more_gas(
            psi in 0.0..2800.0_f64, more in 1.0..200.0_f64, celsius in 10.0..40.0_f64,
        ) {
            let left = cylinder(celsius, 0.0).litres(gauge(psi));
            prop_assert!(left.low <= left.value && left.value <= left.high);
            prop_assert!(cylinder(celsius, 0.0).litres(gauge(psi + more)).value > left.value);
        }
    }
}
