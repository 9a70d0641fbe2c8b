//! Changing what the catalogue says about a product.

use super::claims::follow_use_class;
use super::list_products::by_id;
use super::{Product, ProductDescription, entries};
use crate::recorder::{Failure, Operation, Refused, Subject, Writing};
use crate::schema::products;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use uuid::Uuid;

/// Describes a product anew; one that a label brought in is in the catalogue from then on.
#[derive(Clone, Debug)]
pub struct ChangeProduct {
    /// The product.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// What it is.
    pub description: ProductDescription,
}

/// Why a product is not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangeProductRefusal {
    /// There is no such product.
    #[error("there is no such product")]
    NoSuchProduct,
    /// It changed since the caller read it.
    #[error("the product changed since it was read")]
    Stale,
    /// The description is what it was.
    #[error("the product is described so already")]
    NothingChanged,
}

impl Operation for ChangeProduct {
    type Permission = act::ChangeProduct;
    type Outcome = Product;
    type Refusal = ChangeProductRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Product, Refused<ChangeProductRefusal>> {
        let old = by_id(writing.connection, self.id)
            .await?
            .ok_or(Refused::Because(ChangeProductRefusal::NoSuchProduct))?;
        if old.version != self.version {
            return Err(Refused::Because(ChangeProductRefusal::Stale));
        }
        let new = &self.description;
        if old.catalogued && old.description == *new {
            return Err(Refused::Because(ChangeProductRefusal::NothingChanged));
        }
        diesel::update(products::table.find(self.id))
            .set((
                products::name.eq(&new.name),
                products::maker.eq(&new.maker),
                products::model.eq(&new.model),
                products::kind.eq(new.kind.as_str()),
                products::use_class.eq(new.use_class.as_str()),
                products::carries_lot.eq(new.carries.lot),
                products::carries_serial.eq(new.carries.serial),
                products::carries_expiry.eq(new.carries.expiry),
                products::catalogued.eq(true),
                products::version.eq(old.version + 1),
            ))
            .execute(writing.connection)
            .await?;
        let reclassed = (self.id, old.description.use_class, new.use_class);
        follow_use_class(writing, [reclassed]).await?;
        let before = (&old.description, old.catalogued);
        let data = entries::changed(before, new, &[], Vec::new());
        writing.append("change_product", Subject::new("product", self.id), &data)?;
        let product = by_id(writing.connection, self.id).await?;
        Ok(product.ok_or(Failure::Unfit)?)
    }
}
