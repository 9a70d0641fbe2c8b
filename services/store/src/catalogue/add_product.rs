//! Adding a product.

use super::drafts::{Drafts, Onto};
use super::list_products::by_id;
use super::{Product, ProductDescription};
use crate::recorder::{Failure, Operation, Refused, Writing};
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::NewIdentifier;
use lotwarden_domain::label::ProductCode;

/// Adds a product with its identifiers.
///
/// When one of them belongs to a product that a label brought in before anybody described it, that
/// product is described instead, so that its earlier receipts and uses stay with it.
#[derive(Clone, Debug)]
pub struct AddProduct {
    /// What it is.
    pub description: ProductDescription,
    /// Its identifiers, each code once; at least one.
    pub identifiers: Vec<NewIdentifier>,
}

/// Why a product is not added.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AddProductRefusal {
    /// The identifier names another product already (21 CFR 830.40).
    #[error("the identifier {0} names another product already")]
    IdentifierTaken(ProductCode),
}

impl Operation for AddProduct {
    type Permission = act::AddProduct;
    type Outcome = Product;
    type Refusal = AddProductRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Product, Refused<AddProductRefusal>> {
        let codes = self.identifiers.iter().map(|i| &i.code).collect();
        let mut drafts = Drafts::load(writing.connection, writing.facility.id, codes).await?;
        let (id, _) = drafts
            .put(
                writing.new_id(),
                self.description.clone(),
                &self.identifiers,
                Onto::Undescribed,
            )
            .map_err(|taken| Refused::Because(AddProductRefusal::IdentifierTaken(taken.0)))?;
        drafts.write(writing).await?;
        let product = by_id(writing.connection, id).await?;
        Ok(product.ok_or(Failure::Unfit)?)
    }
}
