//! Gas cylinders: fills, gauge readings, gas on cases.

mod add_cylinder;
mod list_cylinders;
mod record_gas_use;
mod record_gauge;
mod show_cylinder_label;

use crate::cases::Finding;
use crate::http::Exact;
use jiff::civil::Date;
use lotwarden_domain::computations::CAUTION;
use lotwarden_domain::gas::{Band, CylinderState, Gas, filling_limit_psi};
use lotwarden_domain::rules::{self, cylinder_findings};
use lotwarden_store::cylinders as store;
use lotwarden_store::moment::instant_text;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add_cylinder::add_cylinder)
        .service(list_cylinders::list_cylinders)
        .service(list_cylinders::show_cylinder)
        .service(show_cylinder_label::show_cylinder_label)
        .service(record_gauge::record_gauge)
        .service(record_gas_use::record_gas_use);
}

/// One fill of a gas cylinder as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct Cylinder {
    /// The fill.
    id: Uuid,
    /// The product.
    product_id: Uuid,
    /// Its name.
    #[schema(example = "Helium, compressed, E size")]
    product_name: String,
    /// The fill lot.
    lot_id: Uuid,
    /// Its number, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<String>,
    /// The outdate: the last usable day.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    expires_on: Option<Date>,
    /// The container, when its label has a serial.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// The container's serial.
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<String>,
    /// `helium` or `other`.
    #[schema(value_type = String, example = "helium")]
    gas: Gas,
    /// The gas as a person read it from the label.
    #[serde(skip_serializing_if = "Option::is_none")]
    name_read_back: Option<String>,
    /// Whether that name is the product's.
    label_read_back: bool,
    /// The day of the fill.
    #[schema(value_type = String, format = Date)]
    filled_on: Date,
    /// The stamped or labelled water volume.
    water_volume_litre: Exact,
    /// The stamped service pressure.
    service_psi: Exact,
    /// The pressure it may be filled to at 70 degrees Fahrenheit (49 CFR 173.302a(b)).
    filling_limit_psi: Exact,
    /// A plus after the test date.
    plus: bool,
    /// The first day of the stamped month.
    #[schema(value_type = String, format = Date)]
    retest_month: Date,
    /// A star after the test date.
    star: bool,
    /// The last day of the retest mark (49 CFR 180.209).
    #[schema(value_type = String, format = Date)]
    retest_due_on: Date,
    /// The gauge's accuracy as a percentage of its full scale.
    gauge_accuracy_percent: Exact,
    /// The gauge's full scale.
    gauge_full_scale_psi: Exact,
    /// The gauge pressure at which the site takes it out of use.
    reserve_psi: Exact,
    /// What the site expects a case to use.
    #[serde(skip_serializing_if = "Option::is_none")]
    expected_litre: Option<Exact>,
    /// `full`, `in_use` or `empty`; none before the first gauge reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "in_use")]
    state: Option<CylinderState>,
    /// When gas of this fill flowed first.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    opened_at: Option<String>,
    /// The newest gauge reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    reading: Option<GaugeReading>,
    /// What is left above the reserve; none where it cannot be computed.
    #[serde(skip_serializing_if = "Option::is_none")]
    left: Option<Left>,
    /// Litres by flow and time in all.
    used_litre: Exact,
    /// Litres by flow and time on each case, oldest first.
    by_case: Vec<GasOnCase>,
    /// What there is to look at.
    #[schema(value_type = Vec<Finding>)]
    findings: Vec<rules::Finding>,
    /// What these numbers are for.
    #[schema(value_type = String)]
    caution: &'static str,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

/// What a gauge showed.
#[derive(Debug, Serialize, ToSchema)]
pub struct GaugeReading {
    /// Pounds per square inch.
    gauge_psi: Exact,
    /// The temperature of the cylinder.
    celsius: Exact,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

/// Litres above the reserve at one atmosphere and 21.1 degrees Celsius, with the band that the
/// gauge's accuracy gives, less what flowed since the reading.
#[derive(Debug, Serialize, ToSchema)]
pub struct Left {
    /// At the reading itself.
    litre: Exact,
    /// Where the gauge shows too much by its whole accuracy.
    litre_low: Exact,
    /// Where it shows too little by its whole accuracy.
    litre_high: Exact,
    /// Litres that flowed since the reading.
    used_since_litre: Exact,
    /// Minutes at the flow named with the reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    minutes: Option<Minutes>,
}

/// Minutes at a flow.
#[derive(Debug, Serialize, ToSchema)]
pub struct Minutes {
    /// The flow.
    litre_per_minute: Exact,
    /// At the reading itself.
    minutes: Exact,
    /// Of the least that can be left.
    minutes_low: Exact,
    /// Of the most that can be left.
    minutes_high: Exact,
}

/// Gas by flow and time on one case.
#[derive(Debug, Serialize, ToSchema)]
pub struct GasOnCase {
    /// The case.
    case_id: Uuid,
    /// Litres.
    litre: Exact,
}

impl Cylinder {
    /// The cylinder in the words of the API, looked at on a day.
    fn of(cylinder: &store::Cylinder, today: Date) -> Self {
        let new = &cylinder.new;
        let service = new.service_psi.to_f64().unwrap_or_default();
        let by_case = cylinder.by_case.iter();
        Self {
            id: cylinder.id,
            product_id: cylinder.product,
            product_name: cylinder.product_name.clone(),
            lot_id: new.lot,
            lot: cylinder.lot_number.clone(),
            expires_on: cylinder.expires_on,
            unit_id: new.unit,
            serial: cylinder.serial.clone(),
            gas: new.gas,
            name_read_back: new.name_read_back.clone(),
            label_read_back: cylinder.label_read_back(),
            filled_on: new.filled_on,
            water_volume_litre: new.water_volume_litre.into(),
            service_psi: new.service_psi.into(),
            filling_limit_psi: tenths(filling_limit_psi(service, new.plus)),
            plus: new.plus,
            retest_month: new.retest_month,
            star: new.star,
            retest_due_on: cylinder.retest().due_on(),
            gauge_accuracy_percent: new.gauge_accuracy_percent.into(),
            gauge_full_scale_psi: new.gauge_full_scale_psi.into(),
            reserve_psi: new.reserve_psi.into(),
            expected_litre: new.expected_litre.map(Exact),
            state: cylinder.state(),
            opened_at: cylinder.opened_at.map(instant_text),
            reading: cylinder.reading.map(|reading| GaugeReading {
                gauge_psi: reading.gauge_psi.into(),
                celsius: reading.celsius.into(),
                at: instant_text(reading.at),
            }),
            left: cylinder.left().map(|left| Left::of(cylinder, left)),
            used_litre: cylinder.used_litre.into(),
            by_case: by_case
                .map(|(case, litre)| GasOnCase {
                    case_id: *case,
                    litre: (*litre).into(),
                })
                .collect(),
            findings: cylinder_findings(&cylinder.facts(today)),
            caution: CAUTION,
            version: cylinder.version,
        }
    }
}

impl Left {
    fn of(cylinder: &store::Cylinder, left: Band) -> Self {
        let flow = cylinder
            .reading
            .and_then(|reading| reading.litre_per_minute);
        let minutes = flow.and_then(|flow| {
            let at = left.at(flow.to_f64()?);
            Some(Minutes {
                litre_per_minute: flow.into(),
                minutes: tenths(at.value),
                minutes_low: tenths(at.low),
                minutes_high: tenths(at.high),
            })
        });
        Self {
            litre: tenths(left.value),
            litre_low: tenths(left.low),
            litre_high: tenths(left.high),
            used_since_litre: cylinder.used_since_litre.into(),
            minutes,
        }
    }
}

/// A computed number with one place after the point; the gauge gives no more.
fn tenths(value: f64) -> Exact {
    Exact(Decimal::try_from(value).unwrap_or_default().round_dp(1))
}
