//! Giving a product a further identifier.

use super::drafts::insert_identifiers;
use super::list_products::by_id;
use super::{Product, entries};
use crate::database::violates;
use crate::recorder::{Failure, Operation, Refused, Subject, Writing};
use crate::schema::products;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::NewIdentifier;
use uuid::Uuid;

/// Gives a product a further identifier, in every form a scan of it can come as.
#[derive(Clone, Debug)]
pub struct AddIdentifier {
    /// The product.
    pub product: Uuid,
    /// The forms of one code, as [`NewIdentifier::read`] gives them.
    pub identifiers: Vec<NewIdentifier>,
}

/// Why a product is not given an identifier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddIdentifierRefusal {
    /// There is no such product.
    #[error("there is no such product")]
    NoSuchProduct,
    /// The identifier names a product already, this or another one (21 CFR 830.40).
    #[error("the identifier names a product already")]
    IdentifierTaken,
}

impl Operation for AddIdentifier {
    type Permission = act::AddIdentifier;
    type Outcome = Product;
    type Refusal = AddIdentifierRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Product, Refused<AddIdentifierRefusal>> {
        let raised = diesel::update(products::table.find(self.product))
            .set(products::version.eq(products::version + 1))
            .execute(writing.connection)
            .await?;
        if raised == 0 {
            return Err(Refused::Because(AddIdentifierRefusal::NoSuchProduct));
        }
        let rows: Vec<_> = self
            .identifiers
            .iter()
            .map(|identifier| (self.product, identifier))
            .collect();
        match insert_identifiers(writing, &rows).await {
            Err(Failure::Database(error)) if violates(&error, "product_identifiers_pk") => {
                return Err(Refused::Because(AddIdentifierRefusal::IdentifierTaken));
            }
            other => other?,
        }
        let data = entries::identified(&self.identifiers);
        writing.append(
            "add_identifier",
            Subject::new("product", self.product),
            &data,
        )?;
        let product = by_id(writing.connection, self.product).await?;
        Ok(product.ok_or(Failure::Unfit)?)
    }
}
