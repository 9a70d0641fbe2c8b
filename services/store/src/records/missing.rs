//! What is still missing on a case by its preference list.

use super::add_list::ListsOf;
use crate::database::{Reading, StoreError};
use crate::schema::{cases, lots, products, scans, stock_levels, uses};
use diesel::dsl::{count_star, sum};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::cases::Disposition;
use std::collections::HashMap;
use uuid::Uuid;

/// A case's preference list with what is on the case.
#[derive(Clone, Debug)]
pub struct Missing {
    /// The list; none when the procedure has none.
    pub list: Option<Uuid>,
    /// Its items.
    pub items: Vec<MissingItem>,
}

/// An item of the list with what there is of it, alternatives included.
#[derive(Clone, Debug)]
pub struct MissingItem {
    /// The product, by id and name.
    pub product: (Uuid, String),
    /// To open.
    pub open: i64,
    /// To have available and not open.
    pub hold: i64,
    /// On the case.
    pub on_case: i64,
    /// In stock, whatever its outdate or hold.
    pub in_stock: i64,
}

impl MissingItem {
    /// What is to be opened and not on the case yet.
    #[must_use]
    pub fn missing(&self) -> i64 {
        (self.open - self.on_case).max(0)
    }

    /// What the shelves lack for what is missing and to be held.
    #[must_use]
    pub fn short(&self) -> i64 {
        (self.missing() + self.hold - self.in_stock).max(0)
    }
}

/// Compares a case with the newest list of its procedure, the practitioner's own first; none when
/// there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn show_missing(
    reading: &mut Reading,
    case: Uuid,
) -> Result<Option<Missing>, StoreError> {
    let connection = reading.connection();
    let found: Option<(String, Uuid)> = cases::table
        .find(case)
        .select((cases::procedure_name, cases::practitioner_id))
        .first(connection)
        .await
        .optional()?;
    let Some((procedure, practitioner)) = found else {
        return Ok(None);
    };
    let lists = ListsOf::procedures(connection, &[&procedure]).await?;
    let Some(list) = lists.of(&procedure, practitioner) else {
        return Ok(Some(Missing {
            list: None,
            items: Vec::new(),
        }));
    };
    let named = list.items.iter().flat_map(|item| &item.alternatives);
    let ids: Vec<Uuid> = list
        .items
        .iter()
        .map(|item| item.product)
        .chain(named.copied())
        .collect();
    let names: Vec<(Uuid, String)> = products::table
        .filter(products::id.eq_any(&ids))
        .select((products::id, products::name))
        .load(connection)
        .await?;
    let names: HashMap<Uuid, String> = names.into_iter().collect();
    let on_case = on_cases(connection, &[case]).await?;
    let on_case: HashMap<Uuid, i64> = on_case
        .into_iter()
        .map(|(_, product, count)| (product, count))
        .collect();
    let stock: Vec<(Uuid, Option<i64>)> = stock_levels::table
        .inner_join(lots::table.on(lots::id.eq(stock_levels::lot_id)))
        .filter(lots::product_id.eq_any(&ids))
        .group_by(lots::product_id)
        .select((lots::product_id, sum(stock_levels::quantity)))
        .load(connection)
        .await?;
    let stock: HashMap<Uuid, i64> = stock
        .into_iter()
        .filter_map(|(id, quantity)| Some((id, quantity?)))
        .collect();
    let items = list.items.iter().map(|item| {
        let any = || std::iter::once(&item.product).chain(&item.alternatives);
        MissingItem {
            product: (
                item.product,
                names.get(&item.product).cloned().unwrap_or_default(),
            ),
            open: i64::from(item.open),
            hold: i64::from(item.hold),
            on_case: any().filter_map(|id| on_case.get(id)).sum(),
            in_stock: any().filter_map(|id| stock.get(id)).sum(),
        }
    });
    Ok(Some(Missing {
        list: Some(list.id),
        items: items.collect(),
    }))
}

/// How many of each product are on each of some cases: case, product, number.
pub(crate) async fn on_cases(
    connection: &mut AsyncPgConnection,
    cases: &[Uuid],
) -> Result<Vec<(Uuid, Uuid, i64)>, StoreError> {
    let counts = scans::table
        .inner_join(
            uses::table.on(uses::scan_id
                .eq(scans::id)
                .and(uses::lot_id.nullable().eq(scans::lot_id))),
        )
        .filter(scans::case_id.eq_any(cases))
        .filter(uses::struck_at.is_null())
        .filter(uses::disposition.ne(Disposition::Returned.as_str()))
        .group_by((uses::case_id, uses::product_id))
        .select((uses::case_id, uses::product_id, count_star()))
        .load(connection)
        .await?;
    Ok(counts)
}
