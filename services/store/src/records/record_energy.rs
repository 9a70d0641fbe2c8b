//! The energy log of a case, by zone.

use super::energy_limits::{self, SiteEnergyLimit, thermometer_types};
use crate::cases::{self, NotOpen, add_to};
use crate::cylinders::gas_of_case;
use crate::database::{Reading, StoreError};
use crate::equipment;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{energy_log, scans, uses};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::energy::EnergyValues;
use lotwarden_domain::equipment::EquipmentKind;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// Energy in one zone; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct NewEnergy {
    /// Seconds in which energy flowed.
    pub active_seconds: Decimal,
    /// How far the instrument was from the skin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_cm: Option<Decimal>,
    /// The emissivity the instrument was set to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub emissivity: Option<Decimal>,
    /// The generator, which is on the case; none on records from before the register.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub generator: Option<Uuid>,
    /// The scan that put the handpiece on the case.
    pub handpiece: Uuid,
    /// The thermometer that measured the skin, which is on the case.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instrument: Option<Uuid>,
    /// The set gas flow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub litre_per_minute: Option<Decimal>,
    /// The highest skin temperature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_skin_celsius: Option<Decimal>,
    /// Notes, never a patient's identity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Passes.
    pub passes: i32,
    /// The power setting.
    pub power_percent: Decimal,
    /// The zone, by the site's own list.
    pub zone: String,
}

/// Records energy in one zone of a case.
#[derive(Clone, Debug)]
pub struct RecordEnergy {
    /// The case.
    pub case: Uuid,
    /// What was done.
    pub new: NewEnergy,
}

/// Energy on record.
#[derive(Clone, Debug)]
pub struct EnergyEntry {
    /// The entry.
    pub id: Uuid,
    /// What was done.
    pub new: NewEnergy,
    /// The generator as its record read then.
    pub generator: String,
    /// The instrument as its record read then.
    pub instrument: Option<String>,
    /// Who recorded it, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// A setting or an end point of the site that was about an entry and counted when it was recorded.
#[derive(Clone, Debug)]
pub struct CountedLimit {
    /// The limit.
    pub limit: SiteEnergyLimit,
    /// Whether the entry lies outside of it.
    pub is_left: bool,
}

/// The energy log of a case with its sums.
#[derive(Clone, Debug)]
pub struct EnergyLog {
    /// The entries, oldest first, each with the site's settings and end points that counted for it.
    pub entries: Vec<(EnergyEntry, Vec<CountedLimit>)>,
    /// Seconds in which energy flowed.
    pub active_seconds: Decimal,
    /// Passes.
    pub passes: i64,
    /// Litres of gas by flow and time.
    pub gas_litre: Decimal,
}

/// Why energy is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordEnergyRefusal {
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// The scan put nothing on the case that stands.
    #[error("no item of this scan is on the case; scan the handpiece there first")]
    NotOnCase,
    /// The generator is not on the case.
    #[error("no generator of this id is on the case; set it up there first")]
    NoGenerator,
    /// The instrument is not on the case.
    #[error("no thermometer of this id is on the case; set it up there first")]
    NoInstrument,
}

impl Operation for RecordEnergy {
    type Permission = act::RecordEnergy;
    type Outcome = EnergyEntry;
    type Refusal = RecordEnergyRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<EnergyEntry, Refused<RecordEnergyRefusal>> {
        add_to::<RecordEnergyRefusal>(writing, self.case).await?;
        let new = &self.new;
        let on_case = scans::table
            .inner_join(
                uses::table.on(uses::scan_id
                    .eq(scans::id)
                    .and(uses::lot_id.nullable().eq(scans::lot_id))),
            )
            .filter(scans::case_id.eq(self.case))
            .filter(scans::id.eq(new.handpiece))
            .filter(uses::struck_at.is_null())
            .select(scans::id);
        if !diesel::select(exists(on_case))
            .get_result(writing.connection)
            .await?
        {
            return Err(Refused::Because(RecordEnergyRefusal::NotOnCase));
        }
        let generator = self.named(writing, new.generator, EquipmentKind::Generator);
        let generator = generator
            .await?
            .ok_or(Refused::Because(RecordEnergyRefusal::NoGenerator))?;
        let instrument = self.named(writing, new.instrument, EquipmentKind::Thermometer);
        let instrument = instrument.await?;
        if instrument.is_none() && new.instrument.is_some() {
            return Err(Refused::Because(RecordEnergyRefusal::NoInstrument));
        }
        let entry = EnergyEntry {
            id: writing.new_id(),
            new: new.clone(),
            generator,
            instrument,
            by: writing.actor.to_string(),
            at: writing.at,
        };
        diesel::insert_into(energy_log::table)
            .values((
                energy_log::facility_id.eq(writing.facility.id),
                energy_log::id.eq(entry.id),
                energy_log::case_id.eq(self.case),
                energy_log::zone.eq(&new.zone),
                energy_log::handpiece_scan_id.eq(new.handpiece),
                energy_log::generator.eq(&entry.generator),
                energy_log::generator_id.eq(new.generator),
                energy_log::power_percent.eq(new.power_percent),
                energy_log::litre_per_minute.eq(new.litre_per_minute),
                energy_log::passes.eq(new.passes),
                energy_log::active_seconds.eq(new.active_seconds),
                energy_log::max_skin_celsius.eq(new.max_skin_celsius),
                energy_log::instrument.eq(&entry.instrument),
                energy_log::instrument_id.eq(new.instrument),
                energy_log::emissivity.eq(new.emissivity),
                energy_log::distance_cm.eq(new.distance_cm),
                energy_log::notes.eq(&new.notes),
                energy_log::actor.eq(&entry.by),
                energy_log::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::of_case("energy", entry.id, self.case);
        writing.append("record_energy", subject, new)?;
        Ok(entry)
    }
}

impl RecordEnergy {
    /// How records name equipment of a kind that is on the case.
    async fn named(
        &self,
        writing: &mut Writing<'_>,
        piece: Option<Uuid>,
        kind: EquipmentKind,
    ) -> Result<Option<String>, StoreError> {
        let Some(piece) = piece else {
            return Ok(None);
        };
        let used = equipment::on_case(writing, piece, self.case).await?;
        Ok(used
            .filter(|used| used.kind == kind)
            .map(|used| used.described))
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = energy_log)]
struct Row {
    id: Uuid,
    zone: String,
    handpiece_scan_id: Uuid,
    generator: String,
    power_percent: Decimal,
    litre_per_minute: Option<Decimal>,
    passes: i32,
    active_seconds: Decimal,
    max_skin_celsius: Option<Decimal>,
    instrument: Option<String>,
    generator_id: Option<Uuid>,
    instrument_id: Option<Uuid>,
    emissivity: Option<Decimal>,
    distance_cm: Option<Decimal>,
    notes: Option<String>,
    actor: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    at: Timestamp,
}

/// Shows the energy log of a case; none when there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn show_energy(
    reading: &mut Reading,
    case: Uuid,
) -> Result<Option<EnergyLog>, StoreError> {
    if !cases::exists(reading, case).await? {
        return Ok(None);
    }
    let entries = energy_of_case(reading.connection(), case).await?;
    let gas = gas_of_case(reading.connection(), case).await?;
    let limits = limits_of(reading.connection(), &entries).await?;
    Ok(Some(EnergyLog {
        active_seconds: entries.iter().map(|entry| entry.new.active_seconds).sum(),
        passes: entries
            .iter()
            .map(|entry| i64::from(entry.new.passes))
            .sum(),
        gas_litre: gas.iter().map(|each| each.litre).sum(),
        entries: entries.into_iter().zip(limits).collect(),
    }))
}

/// For each entry the site's settings and end points that counted for it, oldest first.
pub(crate) async fn limits_of(
    connection: &mut AsyncPgConnection,
    entries: &[EnergyEntry],
) -> Result<Vec<Vec<CountedLimit>>, StoreError> {
    let limits = energy_limits::all(connection).await?;
    let instruments = entries.iter().filter_map(|entry| entry.new.instrument);
    let types = thermometer_types(connection, instruments.collect()).await?;
    let counted = |entry: &EnergyEntry| {
        let new = &entry.new;
        let values = EnergyValues {
            zone: &new.zone,
            thermometer_type: new.instrument.and_then(|id| types.get(&id).copied()),
            power_percent: new.power_percent,
            litre_per_minute: new.litre_per_minute,
            passes: new.passes,
            active_seconds: new.active_seconds,
            max_skin_celsius: new.max_skin_celsius,
        };
        let own = limits.iter().filter(|one| one.counts_at(entry.at));
        own.filter(|one| one.limit.concerns(&values))
            .map(|one| CountedLimit {
                limit: one.clone(),
                is_left: one.limit.is_left_by(&values),
            })
            .collect()
    };
    Ok(entries.iter().map(counted).collect())
}

/// The energy log of a case, oldest first.
pub(crate) async fn energy_of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<EnergyEntry>, StoreError> {
    let rows: Vec<Row> = energy_log::table
        .filter(energy_log::case_id.eq(case))
        .order(energy_log::id)
        .select(Row::as_select())
        .load(connection)
        .await?;
    Ok(rows.into_iter().map(EnergyEntry::from).collect())
}

impl From<Row> for EnergyEntry {
    fn from(row: Row) -> Self {
        Self {
            id: row.id,
            new: NewEnergy {
                active_seconds: row.active_seconds,
                distance_cm: row.distance_cm,
                emissivity: row.emissivity,
                generator: row.generator_id,
                handpiece: row.handpiece_scan_id,
                instrument: row.instrument_id,
                litre_per_minute: row.litre_per_minute,
                max_skin_celsius: row.max_skin_celsius,
                notes: row.notes,
                passes: row.passes,
                power_percent: row.power_percent,
                zone: row.zone,
            },
            generator: row.generator,
            instrument: row.instrument,
            by: row.actor,
            at: row.at,
        }
    }
}
