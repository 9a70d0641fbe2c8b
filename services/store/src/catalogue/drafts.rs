//! Products while an operation adds and changes them: read in one query, written in a few.

use super::entries::{self, QuantityChange};
use super::{ProductDescription, stored_code};
use crate::database::StoreError;
use crate::recorder::{Failure, Subject, Writing};
use crate::schema::{product_identifiers, products};
use diesel::prelude::*;
use diesel::sql_types::{Array, Bool, Integer, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff_diesel::ToDiesel;
use lotwarden_domain::catalogue::{LabelCarries, NewIdentifier, PackagingLevel};
use lotwarden_domain::label::ProductCode;
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

/// Identifiers in one INSERT at most: eight values each, below PostgreSQL's 65,535 parameters.
const ROWS: usize = 4_000;

/// Products by the codes an operation speaks of.
#[derive(Default)]
pub(super) struct Drafts {
    owners: HashMap<ProductCode, Owned>,
    products: HashMap<Uuid, Draft>,
    /// The products that are new or different, in the order they became so.
    touched: Vec<Uuid>,
}

struct Owned {
    product: Uuid,
    level: PackagingLevel,
    quantity: u32,
}

struct Draft {
    /// As it stood before the operation; none for a new product.
    before: Option<Before>,
    now: ProductDescription,
    catalogued: bool,
    identifiers: Vec<NewIdentifier>,
    /// Another level and quantity of identifiers it had, with the old quantity.
    repackaged: Vec<(NewIdentifier, u32)>,
    touched: bool,
}

struct Before {
    description: ProductDescription,
    catalogued: bool,
    version: i32,
}

/// What putting a description in came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Effect {
    Added,
    Changed,
    Unchanged,
}

/// Whom a description may be put onto.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Onto {
    /// Only a product that nobody has described yet.
    Undescribed,
    /// Whatever product has the identifiers.
    Any,
}

/// An identifier belongs to another product.
#[derive(Debug)]
pub(super) struct Taken(pub(super) ProductCode);

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = Text)]
    agency: String,
    #[diesel(sql_type = Text)]
    code: String,
    #[diesel(sql_type = Text)]
    level: String,
    #[diesel(sql_type = Integer)]
    quantity: i32,
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    maker: String,
    #[diesel(sql_type = Text)]
    model: String,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = Text)]
    use_class: String,
    #[diesel(sql_type = Bool)]
    carries_lot: bool,
    #[diesel(sql_type = Bool)]
    carries_serial: bool,
    #[diesel(sql_type = Bool)]
    carries_expiry: bool,
    #[diesel(sql_type = Bool)]
    catalogued: bool,
    #[diesel(sql_type = Integer)]
    version: i32,
}

impl Drafts {
    /// Reads the products that have any of the codes.
    pub(super) async fn load(
        connection: &mut AsyncPgConnection,
        facility: Uuid,
        codes: BTreeSet<&ProductCode>,
    ) -> Result<Self, StoreError> {
        let agencies: Vec<&str> = codes.iter().map(|code| code.agency).collect();
        let texts: Vec<&str> = codes.iter().map(|code| code.code.as_str()).collect();
        let rows: Vec<Row> = diesel::sql_query(
            "SELECT i.agency, i.code, i.level, i.quantity, p.id, p.name, p.maker, p.model, p.kind, p.use_class,
                    p.carries_lot, p.carries_serial, p.carries_expiry, p.catalogued, p.version
             FROM unnest($2, $3) AS q (agency, code)
             JOIN product_identifiers i ON i.facility_id = $1 AND i.agency = q.agency AND i.code = q.code
             JOIN products p ON p.id = i.product_id",
        )
        .bind::<SqlUuid, _>(facility)
        .bind::<Array<Text>, _>(agencies)
        .bind::<Array<Text>, _>(texts)
        .load(connection)
        .await?;
        let mut drafts = Self::default();
        for row in rows {
            drafts.take(row)?;
        }
        Ok(drafts)
    }

    fn take(&mut self, row: Row) -> Result<(), StoreError> {
        let owned = Owned {
            product: row.id,
            level: row.level.parse().map_err(|_| StoreError::Unfit)?,
            quantity: row.quantity.try_into().map_err(|_| StoreError::Unfit)?,
        };
        self.owners
            .insert(stored_code(&row.agency, row.code)?, owned);
        if self.products.contains_key(&row.id) {
            return Ok(());
        }
        let description = ProductDescription {
            name: row.name,
            maker: row.maker,
            model: row.model,
            kind: row.kind.parse().map_err(|_| StoreError::Unfit)?,
            use_class: row.use_class.parse().map_err(|_| StoreError::Unfit)?,
            carries: LabelCarries {
                lot: row.carries_lot,
                serial: row.carries_serial,
                expiry: row.carries_expiry,
            },
        };
        let draft = Draft {
            now: description.clone(),
            before: Some(Before {
                description,
                catalogued: row.catalogued,
                version: row.version,
            }),
            catalogued: row.catalogued,
            identifiers: Vec::new(),
            repackaged: Vec::new(),
            touched: false,
        };
        self.products.insert(row.id, draft);
        Ok(())
    }

    /// The description of the one product that has any of the identifiers.
    pub(super) fn found(&self, identifiers: &[NewIdentifier]) -> Option<&ProductDescription> {
        let owned = identifiers.iter().find_map(|i| self.owners.get(&i.code))?;
        self.products.get(&owned.product).map(|draft| &draft.now)
    }

    /// Puts a description onto the product that has any of the identifiers, or makes a product
    /// with the id `new`.
    pub(super) fn put(
        &mut self,
        new: Uuid,
        description: ProductDescription,
        identifiers: &[NewIdentifier],
        onto: Onto,
    ) -> Result<(Uuid, Effect), Taken> {
        let mut owner = None;
        for identifier in identifiers {
            let Some(owned) = self.owners.get(&identifier.code) else {
                continue;
            };
            let described = self
                .products
                .get(&owned.product)
                .is_some_and(|draft| draft.catalogued);
            let other = owner.is_some_and(|owner| owner != owned.product);
            if other || described && onto == Onto::Undescribed {
                return Err(Taken(identifier.code.clone()));
            }
            owner = Some(owned.product);
        }
        let id = owner.unwrap_or(new);
        let draft = self.products.entry(id).or_insert_with(|| Draft {
            before: None,
            now: description.clone(),
            catalogued: true,
            identifiers: Vec::new(),
            repackaged: Vec::new(),
            touched: false,
        });
        let mut differs = draft.now != description || !draft.catalogued;
        draft.now = description;
        draft.catalogued = true;
        for identifier in identifiers {
            let known = self.owners.get_mut(&identifier.code);
            differs |= draft.identify(id, identifier, known);
            self.owners
                .entry(identifier.code.clone())
                .or_insert_with(|| Owned {
                    product: id,
                    level: identifier.level,
                    quantity: identifier.quantity,
                });
        }
        if (differs || owner.is_none()) && !draft.touched {
            draft.touched = true;
            self.touched.push(id);
        }
        let effect = match (owner, differs) {
            (None, _) => Effect::Added,
            (Some(_), true) => Effect::Changed,
            (Some(_), false) => Effect::Unchanged,
        };
        Ok((id, effect))
    }

    /// Writes what is new or different, and one entry for each product it is.
    pub(super) async fn write(&self, writing: &mut Writing<'_>) -> Result<(), Failure> {
        self.insert_products(writing).await?;
        self.update_products(writing).await?;
        self.insert_identifiers(writing).await?;
        self.update_identifiers(writing).await?;
        for (id, draft) in self.touched() {
            let subject = Subject::new("product", id);
            match &draft.before {
                None => {
                    let data = entries::added(&draft.now, &draft.identifiers);
                    writing.append("add_product", subject, &data)?;
                }
                Some(before) => {
                    let quantities = draft
                        .repackaged
                        .iter()
                        .map(|(new, old)| QuantityChange::new(&new.code, *old, new.quantity))
                        .collect();
                    let old = (&before.description, before.catalogued);
                    let data = entries::changed(old, &draft.now, &draft.identifiers, quantities);
                    writing.append("change_product", subject, &data)?;
                }
            }
        }
        Ok(())
    }

    fn touched(&self) -> impl Iterator<Item = (Uuid, &Draft)> {
        let drafts = self.touched.iter();
        drafts.filter_map(|id| Some((*id, self.products.get(id)?)))
    }

    async fn insert_products(&self, writing: &mut Writing<'_>) -> Result<(), Failure> {
        let rows: Vec<_> = self
            .touched()
            .filter(|(_, draft)| draft.before.is_none())
            .map(|(id, draft)| {
                let now = &draft.now;
                (
                    products::facility_id.eq(writing.facility.id),
                    products::id.eq(id),
                    products::name.eq(&now.name),
                    products::maker.eq(&now.maker),
                    products::model.eq(&now.model),
                    products::kind.eq(now.kind.as_str()),
                    products::use_class.eq(now.use_class.as_str()),
                    products::carries_lot.eq(now.carries.lot),
                    products::carries_serial.eq(now.carries.serial),
                    products::carries_expiry.eq(now.carries.expiry),
                    products::catalogued.eq(true),
                    products::created_at.eq(writing.at.to_diesel()),
                )
            })
            .collect();
        if !rows.is_empty() {
            diesel::insert_into(products::table)
                .values(&rows)
                .execute(writing.connection)
                .await?;
        }
        Ok(())
    }

    async fn update_products(&self, writing: &mut Writing<'_>) -> Result<(), Failure> {
        let changed: Vec<(Uuid, &ProductDescription, i32)> = self
            .touched()
            .filter_map(|(id, draft)| Some((id, &draft.now, draft.before.as_ref()?.version + 1)))
            .collect();
        if changed.is_empty() {
            return Ok(());
        }
        fn column<'a, T>(
            changed: &[(Uuid, &'a ProductDescription, i32)],
            value: impl Fn(&'a ProductDescription) -> T,
        ) -> Vec<T> {
            changed.iter().map(|(_, now, _)| value(now)).collect()
        }
        diesel::sql_query(
            "UPDATE products p SET name = r.name, maker = r.maker, model = r.model, kind = r.kind, use_class = r.use_class,
                carries_lot = r.lot, carries_serial = r.serial, carries_expiry = r.expiry, catalogued = true, version = r.version
             FROM unnest($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
                AS r (id, version, name, maker, model, kind, use_class, lot, serial, expiry)
             WHERE p.id = r.id",
        )
        .bind::<Array<SqlUuid>, _>(changed.iter().map(|(id, ..)| *id).collect::<Vec<_>>())
        .bind::<Array<Integer>, _>(changed.iter().map(|(.., version)| *version).collect::<Vec<_>>())
        .bind::<Array<Text>, _>(column(&changed, |now| now.name.as_str()))
        .bind::<Array<Text>, _>(column(&changed, |now| now.maker.as_str()))
        .bind::<Array<Text>, _>(column(&changed, |now| now.model.as_str()))
        .bind::<Array<Text>, _>(column(&changed, |now| now.kind.as_str()))
        .bind::<Array<Text>, _>(column(&changed, |now| now.use_class.as_str()))
        .bind::<Array<Bool>, _>(column(&changed, |now| now.carries.lot))
        .bind::<Array<Bool>, _>(column(&changed, |now| now.carries.serial))
        .bind::<Array<Bool>, _>(column(&changed, |now| now.carries.expiry))
        .execute(writing.connection)
        .await?;
        Ok(())
    }

    async fn insert_identifiers(&self, writing: &mut Writing<'_>) -> Result<(), Failure> {
        let all = self.touched().flat_map(|(id, draft)| {
            let identifiers = draft.identifiers.iter();
            identifiers.map(move |identifier| (id, identifier))
        });
        insert_identifiers(writing, &all.collect::<Vec<_>>()).await
    }

    async fn update_identifiers(&self, writing: &mut Writing<'_>) -> Result<(), Failure> {
        let all: Vec<&NewIdentifier> = self
            .touched()
            .flat_map(|(_, draft)| draft.repackaged.iter().map(|(new, _)| new))
            .collect();
        if all.is_empty() {
            return Ok(());
        }
        let quantities = all.iter().map(|i| i.quantity.cast_signed());
        diesel::sql_query(
            "UPDATE product_identifiers i SET level = r.level, quantity = r.quantity
             FROM unnest($2, $3, $4, $5) AS r (agency, code, level, quantity)
             WHERE i.facility_id = $1 AND i.agency = r.agency AND i.code = r.code",
        )
        .bind::<SqlUuid, _>(writing.facility.id)
        .bind::<Array<Text>, _>(all.iter().map(|i| i.code.agency).collect::<Vec<_>>())
        .bind::<Array<Text>, _>(all.iter().map(|i| i.code.code.as_str()).collect::<Vec<_>>())
        .bind::<Array<Text>, _>(all.iter().map(|i| i.level.as_str()).collect::<Vec<_>>())
        .bind::<Array<Integer>, _>(quantities.collect::<Vec<_>>())
        .execute(writing.connection)
        .await?;
        Ok(())
    }
}

impl Draft {
    /// Gives the product an identifier, or another packaging to one it has; whether that changes
    /// anything.
    fn identify(&mut self, id: Uuid, new: &NewIdentifier, known: Option<&mut Owned>) -> bool {
        let Some(known) = known.filter(|owned| owned.product == id) else {
            self.identifiers.push(new.clone());
            return true;
        };
        if (known.level, known.quantity) == (new.level, new.quantity) {
            return false;
        }
        let old = std::mem::replace(&mut known.quantity, new.quantity);
        known.level = new.level;
        // One that this operation added itself is not changed but added otherwise.
        if let Some(added) = self.identifiers.iter_mut().find(|i| i.code == new.code) {
            *added = new.clone();
        } else if let Some((again, _)) =
            self.repackaged.iter_mut().find(|(i, _)| i.code == new.code)
        {
            *again = new.clone();
        } else {
            self.repackaged.push((new.clone(), old));
        }
        true
    }
}

/// Writes identifiers of products.
pub(super) async fn insert_identifiers(
    writing: &mut Writing<'_>,
    all: &[(Uuid, &NewIdentifier)],
) -> Result<(), Failure> {
    use product_identifiers as columns;
    for some in all.chunks(ROWS) {
        let rows: Vec<_> = some
            .iter()
            .map(|(product, identifier)| {
                (
                    columns::facility_id.eq(writing.facility.id),
                    columns::agency.eq(identifier.code.agency),
                    columns::code.eq(&identifier.code.code),
                    columns::product_id.eq(product),
                    columns::level.eq(identifier.level.as_str()),
                    columns::quantity.eq(identifier.quantity.cast_signed()),
                    columns::check_digit_right.eq(identifier.check_digit_right),
                )
            })
            .collect();
        diesel::insert_into(columns::table)
            .values(&rows)
            .execute(writing.connection)
            .await?;
    }
    Ok(())
}
