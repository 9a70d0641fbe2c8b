//! Helium's virial equation of state, and the litres that a pressure stands for.
//!
//! Coefficients fitted to CoolProp 8.0.0's helium: at 10 to 40 degrees Celsius and up to 200 bar
//! the compressibility differs from it by at most 2.0e-4.

/// The standard atmosphere in bar (101,325 Pa, ISO 2533).
pub const ATMOSPHERE_BAR: f64 = 1.013_25;

/// 0 degrees Celsius in kelvin.
pub const ICE_POINT_KELVIN: f64 = 273.15;

/// The temperature at which litres are quoted: 21.1 degrees Celsius (70 degrees Fahrenheit).
pub const REFERENCE_KELVIN: f64 = 294.25;

/// R in bar cm3/(mol K).
const GAS_CONSTANT: f64 = 83.1446;

/// Helium's compressibility at one atmosphere and 21.1 degrees Celsius (CoolProp 8.0.0).
const REFERENCE_COMPRESSIBILITY: f64 = 1.000_491;

/// The compressibility factor Z at an absolute pressure in bar and a temperature in kelvin.
///
/// `Z = 1 + B p/(RT) + (C - B^2)(p/(RT))^2` with `B = 11.8376 - 0.00429 (T - 300)` cm3/mol and
/// `C = 106.5` cm6/mol2.
#[must_use]
pub fn compressibility(absolute_bar: f64, kelvin: f64) -> f64 {
    let second = 11.8376 - 0.004_29 * (kelvin - 300.0);
    let third = 106.5;
    let ratio = absolute_bar / (GAS_CONSTANT * kelvin);
    1.0 + second * ratio + (third - second * second) * ratio * ratio
}

/// Litres of gas (one atmosphere, 21.1 degrees Celsius) per litre of water volume between a gauge
/// pressure and the gauge pressure at which use ends, both in bar; never below zero.
#[must_use]
pub fn litres_per_water_litre(gauge_bar: f64, end_gauge_bar: f64, kelvin: f64) -> f64 {
    let density = |gauge: f64| {
        let absolute = gauge + ATMOSPHERE_BAR;
        absolute / (compressibility(absolute, kelvin) * kelvin)
    };
    let reference = REFERENCE_COMPRESSIBILITY * REFERENCE_KELVIN / ATMOSPHERE_BAR;
    (reference * (density(gauge_bar) - density(end_gauge_bar))).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CELSIUS: [f64; 8] = [10.0, 15.0, 20.0, 21.1, 25.0, 30.0, 35.0, 40.0];

    // Z at absolute bar: computed with CoolProp 8.0.0 (helium's reference equation of state).
    const COMPRESSIBILITIES: [(f64, [f64; 8]); 6] = [
        (
            5.0,
            [
                1.00253, 1.00248, 1.00243, 1.00242, 1.00239, 1.00234, 1.00230, 1.00226,
            ],
        ),
        (
            20.0,
            [
                1.01009, 1.00990, 1.00971, 1.00967, 1.00953, 1.00936, 1.00919, 1.00903,
            ],
        ),
        (
            50.0,
            [
                1.02514, 1.02466, 1.02420, 1.02410, 1.02375, 1.02332, 1.02290, 1.02250,
            ],
        ),
        (
            100.0,
            [
                1.04998, 1.04903, 1.04811, 1.04792, 1.04723, 1.04637, 1.04554, 1.04474,
            ],
        ),
        (
            150.0,
            [
                1.07454, 1.07313, 1.07176, 1.07147, 1.07045, 1.06917, 1.06793, 1.06674,
            ],
        ),
        (
            200.0,
            [
                1.09885, 1.09698, 1.09517, 1.09478, 1.09342, 1.09173, 1.09010, 1.08851,
            ],
        ),
    ];

    // Litres per litre of water volume down to an empty gauge, at gauge bar: CoolProp 8.0.0.
    const LITRES: [(f64, [f64; 8]); 7] = [
        (
            5.0,
            [5.112, 5.024, 4.939, 4.920, 4.856, 4.776, 4.699, 4.624],
        ),
        (
            10.0,
            [10.199, 10.023, 9.853, 9.817, 9.689, 9.530, 9.377, 9.228],
        ),
        (
            20.0,
            [
                20.297, 19.949, 19.612, 19.540, 19.287, 18.973, 18.668, 18.373,
            ],
        ),
        (
            50.0,
            [
                49.998, 49.154, 48.338, 48.162, 47.549, 46.785, 46.046, 45.329,
            ],
        ),
        (
            100.0,
            [
                97.631, 96.026, 94.472, 94.137, 92.968, 91.511, 90.099, 88.730,
            ],
        ),
        (
            150.0,
            [
                143.102, 140.807, 138.584, 138.104, 136.430, 134.342, 132.317, 130.352,
            ],
        ),
        (
            200.0,
            [
                186.586, 183.664, 180.832, 180.221, 178.087, 175.423, 172.838, 170.329,
            ],
        ),
    ];

    #[test]
    fn compressibility_follows_the_reference_equation_of_state() {
        for (bar, row) in COMPRESSIBILITIES {
            for (celsius, expected) in CELSIUS.into_iter().zip(row) {
                let z = compressibility(bar, celsius + ICE_POINT_KELVIN);
                assert!(
                    (z / expected - 1.0).abs() < 2.1e-4,
                    "{bar} bar, {celsius} C: {z}"
                );
            }
        }
    }

    #[test]
    fn litres_follow_the_reference_equation_of_state() {
        for (bar, row) in LITRES {
            for (celsius, expected) in CELSIUS.into_iter().zip(row) {
                let litres = litres_per_water_litre(bar, 0.0, celsius + ICE_POINT_KELVIN);
                let rounding = 0.0005 / expected;
                assert!(
                    (litres / expected - 1.0).abs() < 2.1e-4 + rounding,
                    "{bar} bar, {celsius} C: {litres}"
                );
            }
        }
    }

    // The pocket rule Z ~ 1 + 4.85e-4 per bar at 21 degrees Celsius (computed with CoolProp 8.0.0).
    #[test]
    fn compressibility_rises_by_about_485_millionths_a_bar() {
        for bar in [50.0, 100.0, 150.0] {
            let pocket = 1.0 + 4.85e-4 * bar;
            assert!((compressibility(bar, REFERENCE_KELVIN) / pocket - 1.0).abs() < 2e-3);
        }
    }

    // An ideal gas overstates by 9.5 % at 200 bar, 21.1 C (computed with CoolProp 8.0.0).
    #[test]
    fn an_ideal_gas_would_overstate_the_contents() {
        assert!((compressibility(200.0, REFERENCE_KELVIN) - 1.095).abs() < 5e-4);
    }

    // Litres quoted at 0 C are 0.9283 of those quoted at 21.1 C (273.15 / 294.25).
    #[test]
    fn the_reference_temperature_matters() {
        assert!((ICE_POINT_KELVIN / REFERENCE_KELVIN - 0.9283).abs() < 5e-5);
    }

    // 604 L of helium weigh about 100 g; molar mass 4.0026 g/mol (IUPAC), R as above.
    #[test]
    fn weighing_a_cylinder_tells_nothing() {
        let moles = ATMOSPHERE_BAR * 604.11 * 1000.0
            / (REFERENCE_COMPRESSIBILITY * GAS_CONSTANT * REFERENCE_KELVIN);
        assert!((moles * 4.0026 - 100.0).abs() < 1.0);
    }
}
