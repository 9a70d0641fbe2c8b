//! The site's settings and end points of energy.

use crate::database::{Reading, StoreError};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{energy_limits, equipment};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::energy::{EnergyLimit, EnergyValue};
use lotwarden_domain::equipment::ThermometerType;
use rust_decimal::Decimal;
use serde::Serialize;
use std::collections::HashMap;
use uuid::Uuid;

/// Writes down a setting or an end point of the site; it counts for what is recorded from now on.
#[derive(Clone, Debug)]
pub struct AddEnergyLimit {
    /// What lies within it; one bound at least, in order.
    pub limit: EnergyLimit,
    /// Where the site has it from: 3 to 200 characters.
    pub source: String,
}

/// A setting or an end point of the site.
#[derive(Clone, Debug)]
pub struct SiteEnergyLimit {
    /// The limit.
    pub id: Uuid,
    /// What lies within it.
    pub limit: EnergyLimit,
    /// Where the site has it from.
    pub source: String,
    /// Since when it counts.
    pub since: Timestamp,
    /// When it ended, and why.
    pub ended: Option<(Timestamp, String)>,
}

impl SiteEnergyLimit {
    /// Whether it counts for what was recorded at an instant.
    #[must_use]
    pub fn counts_at(&self, at: Timestamp) -> bool {
        let ended = self.ended.as_ref().is_some_and(|(ended, _)| *ended <= at);
        self.since <= at && !ended
    }
}

#[derive(Serialize)]
struct Added<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    least: Option<Decimal>,
    #[serde(skip_serializing_if = "Option::is_none")]
    most: Option<Decimal>,
    source: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    thermometer_type: Option<ThermometerType>,
    value: EnergyValue,
    #[serde(skip_serializing_if = "Option::is_none")]
    zone: Option<&'a str>,
}

impl Operation for AddEnergyLimit {
    type Permission = act::AddEnergyLimit;
    type Outcome = SiteEnergyLimit;
    type Refusal = std::convert::Infallible;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<SiteEnergyLimit, Refused<std::convert::Infallible>> {
        let limit = &self.limit;
        let id = writing.new_id();
        diesel::insert_into(energy_limits::table)
            .values((
                energy_limits::facility_id.eq(writing.facility.id),
                energy_limits::id.eq(id),
                energy_limits::value.eq(limit.value.as_str()),
                energy_limits::zone.eq(&limit.zone),
                energy_limits::thermometer_type
                    .eq(limit.thermometer_type.map(|kind| kind.as_str())),
                energy_limits::least.eq(limit.least),
                energy_limits::most.eq(limit.most),
                energy_limits::source.eq(&self.source),
                energy_limits::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let data = Added {
            least: limit.least,
            most: limit.most,
            source: &self.source,
            thermometer_type: limit.thermometer_type,
            value: limit.value,
            zone: limit.zone.as_deref(),
        };
        writing.append("add_energy_limit", Subject::new("energy_limit", id), &data)?;
        Ok(SiteEnergyLimit {
            id,
            limit: limit.clone(),
            source: self.source.clone(),
            since: writing.at,
            ended: None,
        })
    }
}

/// Ends a setting or an end point: it no longer counts for what is recorded from now on.
#[derive(Clone, Debug)]
pub struct EndEnergyLimit {
    /// The limit.
    pub id: Uuid,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why a limit is not ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum EndEnergyLimitRefusal {
    /// There is no such limit.
    #[error("there is no such limit")]
    NoSuchLimit,
    /// It ended before.
    #[error("the limit ended before")]
    Ended,
}

#[derive(Serialize)]
struct Ended<'a> {
    reason: &'a str,
}

impl Operation for EndEnergyLimit {
    type Permission = act::EndEnergyLimit;
    type Outcome = SiteEnergyLimit;
    type Refusal = EndEnergyLimitRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<SiteEnergyLimit, Refused<EndEnergyLimitRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let known = all(writing.connection).await?;
        let Some(mut limit) = known.into_iter().find(|limit| limit.id == self.id) else {
            return refuse(EndEnergyLimitRefusal::NoSuchLimit);
        };
        if limit.ended.is_some() {
            return refuse(EndEnergyLimitRefusal::Ended);
        }
        diesel::update(energy_limits::table.find(self.id))
            .set((
                energy_limits::ended_at.eq(writing.at.to_diesel()),
                energy_limits::end_reason.eq(&self.reason),
            ))
            .execute(writing.connection)
            .await?;
        let data = Ended {
            reason: &self.reason,
        };
        writing.append(
            "end_energy_limit",
            Subject::new("energy_limit", self.id),
            &data,
        )?;
        limit.ended = Some((writing.at, self.reason.clone()));
        Ok(limit)
    }
}

/// Lists the site's settings and end points of energy, oldest first, ended ones too.
///
/// # Errors
/// [`StoreError`].
pub async fn list_energy_limits(reading: &mut Reading) -> Result<Vec<SiteEnergyLimit>, StoreError> {
    all(reading.connection()).await
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = energy_limits)]
struct Row {
    id: Uuid,
    value: String,
    zone: Option<String>,
    thermometer_type: Option<String>,
    least: Option<Decimal>,
    most: Option<Decimal>,
    source: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    created_at: Timestamp,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    ended_at: jiff_diesel::NullableTimestamp,
    end_reason: Option<String>,
}

pub(super) async fn all(
    connection: &mut AsyncPgConnection,
) -> Result<Vec<SiteEnergyLimit>, StoreError> {
    let rows: Vec<Row> = energy_limits::table
        .order(energy_limits::id)
        .select(Row::as_select())
        .load(connection)
        .await?;
    let limit = |row: Row| {
        Ok(SiteEnergyLimit {
            id: row.id,
            limit: EnergyLimit {
                value: row.value.parse().map_err(|_| StoreError::Unfit)?,
                zone: row.zone,
                thermometer_type: thermometer(row.thermometer_type)?,
                least: row.least,
                most: row.most,
            },
            source: row.source,
            since: row.created_at,
            ended: row.ended_at.to_jiff().zip(row.end_reason),
        })
    };
    rows.into_iter().map(limit).collect()
}

/// The types of thermometers.
pub(super) async fn thermometer_types(
    connection: &mut AsyncPgConnection,
    instruments: Vec<Uuid>,
) -> Result<HashMap<Uuid, ThermometerType>, StoreError> {
    let rows: Vec<(Uuid, Option<String>)> = equipment::table
        .filter(equipment::id.eq_any(instruments))
        .select((equipment::id, equipment::thermometer_type))
        .load(connection)
        .await?;
    let mut types = HashMap::new();
    for (id, text) in rows {
        types.extend(thermometer(text)?.map(|kind| (id, kind)));
    }
    Ok(types)
}

fn thermometer(text: Option<String>) -> Result<Option<ThermometerType>, StoreError> {
    let parsed = text.map(|text| text.parse()).transpose();
    parsed.map_err(|_| StoreError::Unfit)
}
