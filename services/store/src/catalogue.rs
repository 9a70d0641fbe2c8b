//! Products and the identifiers that labels name them by.

mod add_identifier;
mod add_product;
mod change_product;
mod claims;
mod drafts;
pub(crate) mod entries;
mod import_products;
mod list_products;
mod on_record;

pub use add_identifier::{AddIdentifier, AddIdentifierRefusal};
pub use add_product::{AddProduct, AddProductRefusal};
pub use change_product::{ChangeProduct, ChangeProductRefusal};
pub use import_products::{ImportOutcome, ImportProducts, ImportProductsRefusal, MOST_RECORDS};
pub(crate) use list_products::by_ids as products_by_id;
pub use list_products::{ProductFilter, known_form, list, product_by_code, show};
pub use on_record::{OnRecord, on_record};

use crate::StoreError;
use crate::schema::products;
use diesel::prelude::*;
use lotwarden_codes::Agency;
use lotwarden_domain::catalogue::{LabelCarries, NewIdentifier, ProductKind, UseClass};
use lotwarden_domain::label::ProductCode;
use uuid::Uuid;

/// A product as it stands.
#[derive(Clone, Debug)]
pub struct Product {
    /// The product.
    pub id: Uuid,
    /// What it is.
    pub description: ProductDescription,
    /// False for a product met first by a scan or receipt and not yet described.
    pub catalogued: bool,
    /// Counts the changes; the entity tag.
    pub version: i32,
    /// Every identifier a label may name it by, in the order of agency and code.
    pub identifiers: Vec<NewIdentifier>,
}

/// What a person or a catalogue says about a product.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProductDescription {
    /// The name: 1 to 500 characters.
    pub name: String,
    /// Who makes it: at most 200 characters.
    pub maker: String,
    /// The maker's model or version: at most 200 characters.
    pub model: String,
    /// What it is, coarsely.
    pub kind: ProductKind,
    /// How often a piece may be used.
    pub use_class: UseClass,
    /// What its label has to carry.
    pub carries: LabelCarries,
}

#[derive(Clone, Queryable, Selectable)]
#[diesel(table_name = products)]
struct ProductRow {
    id: Uuid,
    name: String,
    maker: String,
    model: String,
    kind: String,
    use_class: String,
    carries_lot: bool,
    carries_serial: bool,
    carries_expiry: bool,
    catalogued: bool,
    version: i32,
}

impl ProductRow {
    fn with(self, identifiers: Vec<NewIdentifier>) -> Result<Product, StoreError> {
        let description = ProductDescription {
            name: self.name,
            maker: self.maker,
            model: self.model,
            kind: self.kind.parse().map_err(|_| StoreError::Unfit)?,
            use_class: self.use_class.parse().map_err(|_| StoreError::Unfit)?,
            carries: LabelCarries {
                lot: self.carries_lot,
                serial: self.carries_serial,
                expiry: self.carries_expiry,
            },
        };
        Ok(Product {
            id: self.id,
            description,
            catalogued: self.catalogued,
            version: self.version,
            identifiers,
        })
    }
}

/// A code as its row has it.
pub(crate) fn stored_code(agency: &str, code: String) -> Result<ProductCode, StoreError> {
    let agency: Agency = agency.parse().map_err(|_| StoreError::Unfit)?;
    let agency = agency.as_str();
    Ok(ProductCode { agency, code })
}
