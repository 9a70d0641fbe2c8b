//! Litres and minutes left in a helium cylinder.

use rust_decimal::Decimal;
use serde::Serialize;
use serde_json::Value;

use super::fault::{FaultCode, Faults};
use super::fields::Fields;
use super::parse::number;
use super::{Assumed, CAUTION, Figure};
use crate::gas::{ATMOSPHERE_BAR, Cylinder, Gauge, bar_from_psi};

const FORMULA: &str = "litres = water_volume_litre * (Z0 * T0 / p0) * (p / (Z(p, T) * T) - pr / (Z(pr, T) * T)); \
    p = gauge + p0, pr = reserve + p0 (bar), T = celsius + 273.15; p0 = 1.01325 bar, T0 = 294.25 K, Z0 = 1.000491; \
    Z = 1 + B*p/(R*T) + (C - B^2) * (p/(R*T))^2, R = 83.1446 bar cm3/(mol K), B = 11.8376 - 0.00429 * (T - 300) cm3/mol, C = 106.5 cm6/mol2; \
    litres_low, litres_high at gauge -/+ gauge_accuracy_percent / 100 * gauge_full_scale; minutes = litres / flow_litre_per_minute";

const SOURCE: &str = "Virial equation of state with coefficients fitted to CoolProp 8.0.0 (helium); \
    differs from it by at most 0.02 % at 10 to 40 degrees Celsius and up to 200 bar, by at most 0.3 % elsewhere within the limits taken here; \
    psi: NIST SP 811; standard atmosphere: ISO 2533";

/// The answer.
#[derive(Debug, Serialize)]
pub struct Helium<'a> {
    litres: Figure,
    litres_low: Figure,
    litres_high: Figure,
    minutes: Figure,
    minutes_low: Figure,
    minutes_high: Figure,
    z: Figure,
    gauge_bar: Figure,
    absolute_bar: Figure,
    gauge_uncertainty_bar: Figure,
    /// What a litre is.
    litre_at: &'static str,
    /// Whether temperature and pressure lie where the equation was checked to 0.02 %.
    in_checked_range: bool,
    inputs: &'a Value,
    assumed: Vec<Assumed>,
    formula: &'static str,
    source: &'static str,
    caution: String,
}

struct Input {
    cylinder: Cylinder,
    gauge: Gauge,
    litre_per_minute: f64,
    reserve_given: bool,
}

/// Computes what is left.
pub fn compute(asked: &Value) -> Result<Helium<'_>, Faults> {
    let Input {
        cylinder,
        gauge,
        litre_per_minute,
        reserve_given,
    } = read(asked)?;
    let litres = cylinder.litres(gauge);
    let minutes = litres.at(litre_per_minute);
    let absolute_bar = gauge.reading_bar + ATMOSPHERE_BAR;
    let mut assumed = vec![Assumed {
        field: "atmosphere_bar",
        value: ATMOSPHERE_BAR.into(),
        source: "standard atmosphere, ISO 2533",
    }];
    if !reserve_given {
        assumed.push(Assumed {
            field: "reserve_psi",
            value: 0.0.into(),
            source: "no reserve was given: counted down to a gauge that shows nothing",
        });
    }
    Ok(Helium {
        litres: litres.value.into(),
        litres_low: litres.low.into(),
        litres_high: litres.high.into(),
        minutes: minutes.value.into(),
        minutes_low: minutes.low.into(),
        minutes_high: minutes.high.into(),
        z: cylinder.compressibility(gauge.reading_bar).into(),
        gauge_bar: gauge.reading_bar.into(),
        absolute_bar: absolute_bar.into(),
        gauge_uncertainty_bar: gauge.uncertainty_bar().into(),
        litre_at: "101325 Pa, 21.1 degrees Celsius",
        in_checked_range: (10.0..=40.0).contains(&cylinder.celsius)
            && absolute_bar <= 200.0 + ATMOSPHERE_BAR,
        inputs: asked,
        assumed,
        formula: FORMULA,
        source: SOURCE,
        caution: format!(
            "{CAUTION} The gauge is a cross-check: what a case used comes from flow and time. \
             The water volume is the one stamped on this cylinder; the manufacturer's instructions prevail."
        ),
    })
}

fn read(asked: &Value) -> Result<Input, Faults> {
    let mut fields = Fields::of(asked, "")?;
    let water_volume = fields.needed("water_volume_litre", number("0.05", "150"));
    let reading = pressure(
        &mut fields,
        ["gauge_psi", "gauge_bar"],
        ["0", "4350"],
        ["0", "300"],
        true,
    );
    let celsius = fields.needed("celsius", number("-20", "60"));
    let reserve = pressure(
        &mut fields,
        ["reserve_psi", "reserve_bar"],
        ["0", "4350"],
        ["0", "300"],
        false,
    );
    let flow = fields.needed("flow_litre_per_minute", number("0.01", "100"));
    let accuracy = fields.needed("gauge_accuracy_percent", number("0", "25"));
    let scale_names = ["gauge_full_scale_psi", "gauge_full_scale_bar"];
    let full_scale = pressure(
        &mut fields,
        scale_names,
        ["1", "10000"],
        ["0.1", "690"],
        true,
    );
    if let (Some(reading), Some(full_scale)) = (reading, full_scale)
        // A reading in one unit and a scale in the other may differ in the last digit.
        && reading > full_scale * (1.0 + 1e-9)
    {
        let name = if fields.has("gauge_psi") {
            "gauge_psi"
        } else {
            "gauge_bar"
        };
        fields.fault(
            FaultCode::Conflict,
            name,
            "is more than the gauge's full scale",
        );
    }
    let reserve_given = reserve.is_some();
    let input = || {
        Some(Input {
            cylinder: Cylinder {
                water_volume_litre: double(water_volume?)?,
                celsius: double(celsius?)?,
                reserve_bar: reserve.unwrap_or(0.0),
            },
            gauge: Gauge {
                reading_bar: reading?,
                accuracy_percent: double(accuracy?)?,
                full_scale_bar: full_scale?,
            },
            litre_per_minute: double(flow?)?,
            reserve_given,
        })
    };
    let input = input();
    fields.finish(input)
}

/// A pressure in psi or bar, as bar; limits are in each unit.
fn pressure(
    fields: &mut Fields<'_>,
    [psi_name, bar_name]: [&'static str; 2],
    [least_psi, most_psi]: [&'static str; 2],
    [least_bar, most_bar]: [&'static str; 2],
    needed: bool,
) -> Option<f64> {
    if fields.has(psi_name) && fields.has(bar_name) {
        fields.fault(
            FaultCode::Conflict,
            bar_name,
            format!("give either {psi_name} or {bar_name}, not both"),
        );
    } else if needed && !fields.has(psi_name) && !fields.has(bar_name) {
        fields.fault(
            FaultCode::Missing,
            psi_name,
            format!("is missing; give {psi_name} or {bar_name}; it is never taken as zero"),
        );
    }
    let psi = fields.optional(psi_name, number(least_psi, most_psi));
    let bar = fields.optional(bar_name, number(least_bar, most_bar));
    psi.and_then(double)
        .map(bar_from_psi)
        .or_else(|| bar.and_then(double))
}

fn double(value: Decimal) -> Option<f64> {
    f64::try_from(value).ok()
}
