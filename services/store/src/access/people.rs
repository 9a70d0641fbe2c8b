//! Reading people.

use crate::database::{Database, Reading, StoreError};
use crate::lists::{After, Page};
use crate::recorder::Writing;
use crate::schema::{logins, people};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, Role};
use uuid::Uuid;

/// A named account.
#[derive(Clone, Debug)]
pub struct Person {
    /// The person.
    pub id: Uuid,
    /// The name signed in with.
    pub login: String,
    /// The printed name.
    pub name: String,
    /// What the person is here for.
    pub roles: Vec<Role>,
    /// When the account ends.
    pub ends_at: Option<Timestamp>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = people)]
pub(crate) struct PersonRow {
    id: Uuid,
    login: String,
    name: String,
    roles: Vec<String>,
    ends_at: jiff_diesel::NullableTimestamp,
    version: i32,
}

impl TryFrom<PersonRow> for Person {
    type Error = StoreError;

    fn try_from(row: PersonRow) -> Result<Self, StoreError> {
        let roles = row
            .roles
            .iter()
            .map(|role| role.parse())
            .collect::<Result<_, _>>();
        Ok(Self {
            id: row.id,
            login: row.login,
            name: row.name,
            roles: roles.map_err(|_| StoreError::Unfit)?,
            ends_at: row.ends_at.to_jiff(),
            version: row.version,
        })
    }
}

/// Whether an id is a person of the site whose account has not ended.
pub(crate) async fn is_here(writing: &mut Writing<'_>, person: Uuid) -> Result<bool, StoreError> {
    let ends_at = people::ends_at;
    let person = people::table
        .find(person)
        .filter(ends_at.is_null().or(ends_at.gt(writing.at.to_diesel())));
    let here = diesel::select(exists(person));
    Ok(here.get_result(writing.connection).await?)
}

/// Whether an id is a person of the site whose account has not ended, and not the one who writes.
pub(crate) async fn is_another(
    writing: &mut Writing<'_>,
    person: Uuid,
) -> Result<bool, StoreError> {
    Ok(*writing.actor != Actor::Person(person) && is_here(writing, person).await?)
}

/// Lists people in the order they were added.
///
/// # Errors
/// [`StoreError`].
pub async fn list(reading: &mut Reading, after: After) -> Result<Page<Person>, StoreError> {
    let query = people::table
        .filter(people::id.gt(after.start()))
        .order(people::id)
        .limit(after.fetch())
        .into_boxed();
    page(reading, after, query).await
}

/// Lists the practitioners whose accounts have not ended.
///
/// # Errors
/// [`StoreError`].
pub async fn practitioners(
    reading: &mut Reading,
    after: After,
    now: Timestamp,
) -> Result<Page<Person>, StoreError> {
    let query = current(after, now);
    let query = query.filter(people::roles.contains(vec![Role::Practitioner.as_str()]));
    page(reading, after, query).await
}

/// Lists who can witness what one person destroys: everybody else whose account has not ended.
///
/// # Errors
/// [`StoreError`].
pub async fn witnesses(
    reading: &mut Reading,
    after: After,
    now: Timestamp,
    person: Uuid,
) -> Result<Page<Person>, StoreError> {
    let query = current(after, now).filter(people::id.ne(person));
    page(reading, after, query).await
}

type People = people::BoxedQuery<'static, diesel::pg::Pg>;

/// A page of the people whose accounts have not ended.
fn current(after: After, now: Timestamp) -> People {
    people::table
        .filter(people::id.gt(after.start()))
        .filter(
            people::ends_at
                .is_null()
                .or(people::ends_at.gt(now.to_diesel())),
        )
        .order(people::id)
        .limit(after.fetch())
        .into_boxed()
}

async fn page(
    reading: &mut Reading,
    after: After,
    query: People,
) -> Result<Page<Person>, StoreError> {
    let rows: Vec<PersonRow> = query
        .select(PersonRow::as_select())
        .load(reading.connection())
        .await?;
    let items = rows
        .into_iter()
        .map(Person::try_from)
        .collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |person| person.id))
}

/// Shows one person; none when there is no such person.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<Person>, StoreError> {
    let row: Option<PersonRow> = people::table
        .find(id)
        .select(PersonRow::as_select())
        .first(reading.connection())
        .await
        .optional()?;
    row.map(Person::try_from).transpose()
}

/// What a sign-in is checked against.
#[derive(Clone)]
pub struct Credentials {
    /// The facility of the account.
    pub facility: Uuid,
    /// The account.
    pub person: Person,
    /// argon2id in PHC form.
    pub password_hash: String,
}

impl std::fmt::Debug for Credentials {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Credentials")
            .field("person", &self.person.id)
            .finish_non_exhaustive()
    }
}

/// Finds the account of a login, in whichever facility it is.
///
/// # Errors
/// [`StoreError`].
pub async fn credentials(
    database: &Database,
    login: &str,
) -> Result<Option<Credentials>, StoreError> {
    let mut outside = database.outside().await?;
    let found: Option<(Uuid, Uuid)> = logins::table
        .find(login)
        .select((logins::facility_id, logins::person_id))
        .first(outside.connection())
        .await
        .optional()?;
    drop(outside);
    let Some((facility, person)) = found else {
        return Ok(None);
    };
    let mut reading = database.reading(facility).await?;
    let (row, password_hash): (PersonRow, String) = people::table
        .find(person)
        .select((PersonRow::as_select(), people::password_hash))
        .first(reading.connection())
        .await?;
    Ok(Some(Credentials {
        facility,
        person: row.try_into()?,
        password_hash,
    }))
}
