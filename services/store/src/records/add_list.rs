//! Preference lists: what a setup needs.

use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{people, preference_lists, products};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_domain::equipment::EquipmentKind;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// A product that a setup needs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ListItem {
    /// Products that may stand in for it.
    pub alternatives: Vec<Uuid>,
    /// To have available and not open.
    pub hold: u32,
    /// To open.
    pub open: u32,
    /// The product.
    pub product: Uuid,
}

/// So many of any product of a kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ListKind {
    /// To have available and not open.
    pub hold: u32,
    /// The kind.
    pub kind: ProductKind,
    /// To open.
    pub open: u32,
}

/// A preference list.
#[derive(Clone, Debug)]
pub struct PreferenceList {
    /// The list.
    pub id: Uuid,
    /// The procedure.
    pub procedure: String,
    /// The practitioner; none for everybody's.
    pub practitioner: Option<Uuid>,
    /// What is needed.
    pub items: Vec<ListItem>,
    /// What is needed of any product of a kind.
    pub kinds: Vec<ListKind>,
    /// What equipment is needed.
    pub equipment: Vec<EquipmentKind>,
    /// The names of the products that its items name.
    pub names: BTreeMap<Uuid, String>,
}

impl PreferenceList {
    fn products(&self) -> impl Iterator<Item = Uuid> + '_ {
        self.items.iter().flat_map(ListItem::products)
    }
}

impl ListItem {
    /// The product and what may stand in for it.
    pub fn products(&self) -> impl Iterator<Item = Uuid> + '_ {
        std::iter::once(self.product).chain(self.alternatives.iter().copied())
    }
}

/// Adds a preference list; the newest of a procedure counts. The entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct AddList {
    /// What equipment is needed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub equipment: Vec<EquipmentKind>,
    /// What is needed.
    pub items: Vec<ListItem>,
    /// What is needed of any product of a kind.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub kinds: Vec<ListKind>,
    /// The practitioner; none for everybody's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub practitioner: Option<Uuid>,
    /// The procedure: 1 to 200 characters.
    pub procedure: String,
}

/// Why a list is not added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddListRefusal {
    /// There is no such person.
    #[error("there is no such person")]
    NoSuchPerson,
    /// There is no such product.
    #[error("there is no such product")]
    NoSuchProduct {
        /// The item.
        item: usize,
    },
}

impl Operation for AddList {
    type Permission = act::AddList;
    type Outcome = PreferenceList;
    type Refusal = AddListRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<PreferenceList, Refused<AddListRefusal>> {
        if let Some(person) = self.practitioner {
            let known: Option<Uuid> = people::table
                .find(person)
                .select(people::id)
                .first(writing.connection)
                .await
                .optional()?;
            known.ok_or(Refused::Because(AddListRefusal::NoSuchPerson))?;
        }
        let products = self.items.iter().flat_map(ListItem::products).collect();
        let names = names(writing.connection, products).await?;
        let unknown = |item: &ListItem| item.products().any(|id| !names.contains_key(&id));
        if let Some(item) = self.items.iter().position(unknown) {
            return Err(Refused::Because(AddListRefusal::NoSuchProduct { item }));
        }
        let id = writing.new_id();
        let items = serde_json::to_value(&self.items).map_err(|_| StoreError::Unfit)?;
        let kinds = serde_json::to_value(&self.kinds).map_err(|_| StoreError::Unfit)?;
        let equipment = serde_json::to_value(&self.equipment).map_err(|_| StoreError::Unfit)?;
        diesel::insert_into(preference_lists::table)
            .values((
                preference_lists::facility_id.eq(writing.facility.id),
                preference_lists::id.eq(id),
                preference_lists::procedure_name.eq(&self.procedure),
                preference_lists::practitioner_id.eq(self.practitioner),
                preference_lists::items.eq(items),
                preference_lists::kinds.eq(kinds),
                preference_lists::equipment.eq(equipment),
                preference_lists::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        writing.append("add_list", Subject::new("list", id), self)?;
        Ok(PreferenceList {
            id,
            procedure: self.procedure.clone(),
            practitioner: self.practitioner,
            items: self.items.clone(),
            kinds: self.kinds.clone(),
            equipment: self.equipment.clone(),
            names,
        })
    }
}

/// The names of products.
async fn names(
    connection: &mut AsyncPgConnection,
    ids: Vec<Uuid>,
) -> Result<BTreeMap<Uuid, String>, StoreError> {
    let rows: Vec<(Uuid, String)> = products::table
        .filter(products::id.eq_any(ids))
        .select((products::id, products::name))
        .load(connection)
        .await?;
    Ok(rows.into_iter().collect())
}

type Row = (Uuid, String, Option<Uuid>, Value, Value, Value);

const COLUMNS: (
    preference_lists::id,
    preference_lists::procedure_name,
    preference_lists::practitioner_id,
    preference_lists::items,
    preference_lists::kinds,
    preference_lists::equipment,
) = (
    preference_lists::id,
    preference_lists::procedure_name,
    preference_lists::practitioner_id,
    preference_lists::items,
    preference_lists::kinds,
    preference_lists::equipment,
);

impl TryFrom<Row> for PreferenceList {
    type Error = StoreError;

    fn try_from(
        (id, procedure, practitioner, items, kinds, equipment): Row,
    ) -> Result<Self, StoreError> {
        Ok(Self {
            kinds: serde_json::from_value(kinds).map_err(|_| StoreError::Unfit)?,
            equipment: serde_json::from_value(equipment).map_err(|_| StoreError::Unfit)?,
            id,
            procedure,
            practitioner,
            items: serde_json::from_value(items).map_err(|_| StoreError::Unfit)?,
            names: BTreeMap::new(),
        })
    }
}

/// The newest lists of procedures, everybody's and practitioners' own.
pub(crate) struct ListsOf(HashMap<(String, Option<Uuid>), PreferenceList>);

impl ListsOf {
    /// Reads them.
    pub(crate) async fn procedures(
        connection: &mut AsyncPgConnection,
        procedures: &[&str],
    ) -> Result<Self, StoreError> {
        let rows: Vec<Row> = preference_lists::table
            .filter(preference_lists::procedure_name.eq_any(procedures))
            .distinct_on((
                preference_lists::procedure_name,
                preference_lists::practitioner_id,
            ))
            .order((
                preference_lists::procedure_name,
                preference_lists::practitioner_id,
                preference_lists::id.desc(),
            ))
            .select(COLUMNS)
            .load(connection)
            .await?;
        let lists = rows.into_iter().map(|row| {
            let list = PreferenceList::try_from(row)?;
            Ok(((list.procedure.clone(), list.practitioner), list))
        });
        Ok(Self(lists.collect::<Result<_, StoreError>>()?))
    }

    /// The list of a procedure, the practitioner's own before everybody's.
    pub(crate) fn of(&self, procedure: &str, practitioner: Uuid) -> Option<&PreferenceList> {
        let list = |whose| self.0.get(&(procedure.to_owned(), whose));
        list(Some(practitioner)).or_else(|| list(None))
    }
}

/// Lists preference lists in the order they were added.
///
/// # Errors
/// [`StoreError`].
pub async fn list_lists(
    reading: &mut Reading,
    after: After,
) -> Result<Page<PreferenceList>, StoreError> {
    let rows: Vec<Row> = preference_lists::table
        .filter(preference_lists::id.gt(after.start()))
        .order(preference_lists::id)
        .limit(after.fetch())
        .select(COLUMNS)
        .load(reading.connection())
        .await?;
    let mut items: Vec<PreferenceList> = rows
        .into_iter()
        .map(PreferenceList::try_from)
        .collect::<Result<_, _>>()?;
    let all = items.iter().flat_map(PreferenceList::products).collect();
    let all = names(reading.connection(), all).await?;
    for list in &mut items {
        let own = list
            .products()
            .filter_map(|id| Some((id, all.get(&id)?.clone())));
        list.names = own.collect();
    }
    Ok(Page::of(items, after, |list: &PreferenceList| list.id))
}
