//! Places.

use crate::database::{Reading, StoreError, violates};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::locations;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::LocationKind;
use serde::Serialize;
use uuid::Uuid;

/// A place where stock is kept or used.
#[derive(Clone, Debug)]
pub struct Location {
    /// The place.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: LocationKind,
}

/// Adds a place.
#[derive(Clone, Debug)]
pub struct AddLocation {
    /// Its name: 1 to 100 characters.
    pub name: String,
    /// What it is.
    pub kind: LocationKind,
}

/// Why a place is not added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddLocationRefusal {
    /// There is one of this name.
    #[error("there is a place of this name already")]
    NameTaken,
}

#[derive(Serialize)]
struct Data<'a> {
    kind: LocationKind,
    name: &'a str,
}

impl Operation for AddLocation {
    type Permission = act::AddLocation;
    type Outcome = Location;
    type Refusal = AddLocationRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Location, Refused<AddLocationRefusal>> {
        let id = writing.new_id();
        diesel::insert_into(locations::table)
            .values((
                locations::facility_id.eq(writing.facility.id),
                locations::id.eq(id),
                locations::name.eq(&self.name),
                locations::kind.eq(self.kind.as_str()),
                locations::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "locations_name_once") {
                true => Refused::Because(AddLocationRefusal::NameTaken),
                false => error.into(),
            })?;
        let data = Data {
            kind: self.kind,
            name: &self.name,
        };
        writing.append("add_location", Subject::new("location", id), &data)?;
        Ok(Location {
            id,
            name: self.name.clone(),
            kind: self.kind,
        })
    }
}

/// Lists places in the order they were added.
///
/// # Errors
/// [`StoreError`].
pub async fn list_locations(
    reading: &mut Reading,
    after: After,
) -> Result<Page<Location>, StoreError> {
    let rows: Vec<(Uuid, String, String)> = locations::table
        .filter(locations::id.gt(after.start()))
        .order(locations::id)
        .limit(after.fetch())
        .select((locations::id, locations::name, locations::kind))
        .load(reading.connection())
        .await?;
    let items = rows.into_iter().map(|(id, name, kind)| {
        let kind = kind.parse().map_err(|_| StoreError::Unfit)?;
        Ok(Location { id, name, kind })
    });
    let items = items.collect::<Result<_, StoreError>>()?;
    Ok(Page::of(items, after, |place| place.id))
}

/// Shows a place.
///
/// # Errors
/// [`StoreError`].
pub async fn show_location(
    reading: &mut Reading,
    id: Uuid,
) -> Result<Option<Location>, StoreError> {
    let row: Option<(String, String)> = locations::table
        .filter(locations::id.eq(id))
        .select((locations::name, locations::kind))
        .first(reading.connection())
        .await
        .optional()?;
    let place = row.map(|(name, kind)| {
        let kind = kind.parse().map_err(|_| StoreError::Unfit)?;
        Ok(Location { id, name, kind })
    });
    place.transpose()
}
