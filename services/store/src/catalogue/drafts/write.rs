//! Writing what is new or different of products, and the entries of it.

use super::{Draft, Drafts};
use crate::catalogue::ProductDescription;
use crate::catalogue::claims::follow_use_class;
use crate::catalogue::entries::{self, QuantityChange};
use crate::recorder::{Failure, Subject, Writing};
use crate::schema::{product_identifiers, products};
use diesel::ExpressionMethods;
use diesel::sql_types::{Array, Bool, Integer, Text, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::catalogue::NewIdentifier;
use uuid::Uuid;

/// Identifiers in one INSERT at most: eight values each, below PostgreSQL's 65,535 parameters.
const ROWS: usize = 4_000;

impl Drafts {
    /// Writes what is new or different, and one entry for each product it is.
    pub(in crate::catalogue) async fn write(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<(), Failure> {
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

    /// The products that are new or different in the end: one described twice by an operation may
    /// be what it was.
    fn touched(&self) -> impl Iterator<Item = (Uuid, &Draft)> {
        let drafts = self.touched.iter();
        let drafts = drafts.filter_map(|id| Some((*id, self.products.get(id)?)));
        drafts.filter(|(_, draft)| draft.differs())
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
        let reclassed = self.touched().filter_map(|(id, draft)| {
            let old = draft.before.as_ref()?.description.use_class;
            Some((id, old, draft.now.use_class))
        });
        follow_use_class(writing, reclassed).await
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

/// Writes identifiers of products.
pub(in crate::catalogue) async fn insert_identifiers(
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
