//! Mixes as their rows say.

use super::{Closed, Dose, Made, Mix, MixIngredient};
use crate::database::StoreError;
use crate::schema::{lots, mix_doses, mix_ingredients, mixes, products};
use crate::step::Names;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_ledger::Hash;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Which mixes are read.
#[derive(Clone, Copy)]
pub(super) enum Asked<'a> {
    /// One.
    One(Uuid),
    /// Those of cases.
    OfCases(&'a [Uuid]),
    /// Those after one, at most so many, of a case if one is named.
    After(Uuid, i64, Option<Uuid>),
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = mixes)]
struct Row {
    id: Uuid,
    case_id: Uuid,
    name: String,
    written_order: String,
    order_hash: Vec<u8>,
    use_within_minutes: i32,
    use_by_source: String,
    ordered_by: Uuid,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    ordered_at: Timestamp,
    made_by: Option<Uuid>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    started_at: jiff_diesel::NullableTimestamp,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    made_at: jiff_diesel::NullableTimestamp,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    use_by: jiff_diesel::NullableTimestamp,
    checked_by: Option<Uuid>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    checked_at: jiff_diesel::NullableTimestamp,
    discarded_ml: Option<Decimal>,
    left_ml: Option<Decimal>,
    explanation: Option<String>,
    closed_by: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    closed_at: jiff_diesel::NullableTimestamp,
    version: i32,
}

/// Reads the mixes of a case in the order they were ordered.
pub(crate) async fn of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<Mix>, StoreError> {
    of_cases(connection, &[case]).await
}

/// Reads the mixes of cases in the order they were ordered.
pub(crate) async fn of_cases(
    connection: &mut AsyncPgConnection,
    cases: &[Uuid],
) -> Result<Vec<Mix>, StoreError> {
    of(connection, Asked::OfCases(cases)).await
}

/// Reads mixes in the order they were ordered.
pub(super) async fn of(
    connection: &mut AsyncPgConnection,
    asked: Asked<'_>,
) -> Result<Vec<Mix>, StoreError> {
    let query = mixes::table
        .order(mixes::id)
        .select(Row::as_select())
        .into_boxed();
    let query = match asked {
        Asked::One(id) => query.filter(mixes::id.eq(id)),
        Asked::OfCases(cases) => query.filter(mixes::case_id.eq_any(cases)),
        Asked::After(id, limit, None) => query.filter(mixes::id.gt(id)).limit(limit),
        Asked::After(id, limit, Some(case)) => query
            .filter(mixes::id.gt(id))
            .filter(mixes::case_id.eq(case))
            .limit(limit),
    };
    let rows: Vec<Row> = query.load(connection).await?;
    let people = rows
        .iter()
        .flat_map(|row| [Some(row.ordered_by), row.made_by, row.checked_by]);
    let names = Names::of(connection, people.flatten().collect()).await?;
    let mut found: Vec<Mix> = rows
        .into_iter()
        .map(|row| row.mix(&names))
        .collect::<Result<_, _>>()?;
    ingredients(connection, &mut found).await?;
    doses(connection, &mut found).await?;
    Ok(found)
}

impl Row {
    fn mix(self, names: &Names) -> Result<Mix, StoreError> {
        let made = self.made_by.zip(self.made_at.to_jiff());
        let times = self.started_at.to_jiff().zip(self.use_by.to_jiff());
        let made = made
            .zip(times)
            .map(|((person, at), (started_at, use_by))| Made {
                step: names.step(person, at),
                started_at,
                use_by,
            });
        let checked = self.checked_by.zip(self.checked_at.to_jiff());
        let closed = self.closed_by.zip(self.closed_at.to_jiff());
        let closed = closed.zip(self.discarded_ml.zip(self.left_ml));
        Ok(Mix {
            id: self.id,
            case: self.case_id,
            name: self.name,
            written_order: self.written_order,
            order_hash: Hash::from_slice(&self.order_hash).ok_or(StoreError::Unfit)?,
            use_within_minutes: self.use_within_minutes,
            use_by_source: self.use_by_source,
            ordered: names.step(self.ordered_by, self.ordered_at),
            made,
            checked: checked.map(|(person, at)| names.step(person, at)),
            closed: closed.map(|((by, at), (discarded_ml, left_ml))| Closed {
                by,
                at,
                discarded_ml,
                left_ml,
                explanation: self.explanation,
            }),
            ingredients: Vec::new(),
            doses: Vec::new(),
            version: self.version,
        })
    }
}

async fn ingredients(
    connection: &mut AsyncPgConnection,
    found: &mut [Mix],
) -> Result<(), StoreError> {
    type Row = (
        (Uuid, Uuid, Option<Uuid>),
        (Uuid, String, String),
        (Uuid, Option<String>),
        Decimal,
        jiff_diesel::NullableDate,
        serde_json::Value,
    );
    let ids: Vec<Uuid> = found.iter().map(|mix| mix.id).collect();
    let rows: Vec<Row> = mix_ingredients::table
        .inner_join(products::table.on(products::id.eq(mix_ingredients::product_id)))
        .inner_join(lots::table.on(lots::id.eq(mix_ingredients::lot_id)))
        .filter(mix_ingredients::mix_id.eq_any(ids))
        .order((mix_ingredients::mix_id, mix_ingredients::line))
        .select((
            (
                mix_ingredients::mix_id,
                mix_ingredients::scan_id,
                mix_ingredients::unit_id,
            ),
            (products::id, products::name, products::kind),
            (lots::id, lots::number),
            mix_ingredients::volume_ml,
            mix_ingredients::last_day,
            mix_ingredients::strengths,
        ))
        .load(connection)
        .await?;
    for ((mix, scan, unit), product, lot, volume_ml, last_day, strengths) in rows {
        let strengths = serde_json::from_value(strengths).map_err(|_| StoreError::Unfit)?;
        if let Some(mix) = found.iter_mut().find(|each| each.id == mix) {
            mix.ingredients.push(MixIngredient {
                scan,
                is_drug: product.2 == ProductKind::Drug.as_str(),
                product: (product.0, product.1),
                lot,
                unit,
                volume_ml,
                last_day: last_day.to_jiff(),
                strengths,
            });
        }
    }
    Ok(())
}

async fn doses(connection: &mut AsyncPgConnection, found: &mut [Mix]) -> Result<(), StoreError> {
    type Row = (
        Uuid,
        Uuid,
        String,
        Decimal,
        String,
        serde_json::Value,
        String,
        jiff_diesel::Timestamp,
    );
    let ids: Vec<Uuid> = found.iter().map(|mix| mix.id).collect();
    let rows: Vec<Row> = mix_doses::table
        .filter(mix_doses::mix_id.eq_any(ids))
        .order(mix_doses::id)
        .select((
            mix_doses::mix_id,
            mix_doses::id,
            mix_doses::zone,
            mix_doses::volume_ml,
            mix_doses::verdict,
            mix_doses::findings,
            mix_doses::actor,
            mix_doses::at,
        ))
        .load(connection)
        .await?;
    for (mix, id, zone, volume_ml, verdict, findings, by, at) in rows {
        if let Some(mix) = found.iter_mut().find(|each| each.id == mix) {
            mix.doses.push(Dose {
                id,
                zone,
                volume_ml,
                given: verdict == "taken",
                findings,
                by,
                at: at.to_jiff(),
            });
        }
    }
    Ok(())
}
