//! Products and the identifiers that labels name them by.

mod add_identifier;
mod add_product;
mod change_product;
mod identifier;
mod list_products;

pub(crate) use identifier::forms;

use identifier::ProductIdentifier;
use lotwarden_domain::catalogue::{LabelCarries, ProductKind, UseClass};
use lotwarden_store::catalogue as store;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add_product::add_product)
        .service(list_products::list_products)
        .service(list_products::show_product)
        .service(change_product::change_product)
        .service(add_identifier::add_identifier);
}

/// A product as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProductShown {
    /// The product.
    id: Uuid,
    /// Its name.
    #[schema(example = "Inline smoke filter, 22 mm")]
    name: String,
    /// Who makes it.
    #[schema(example = "Kestrel Surgical")]
    maker: String,
    /// The maker's model or version.
    #[schema(example = "ISF-22")]
    model: String,
    /// What it is, coarsely.
    #[schema(value_type = String, example = "filter")]
    kind: ProductKind,
    /// How often a piece may be used.
    #[schema(value_type = String, example = "single_use")]
    use_class: UseClass,
    /// What its label has to carry.
    carries: Carries,
    /// False for a product met first by a scan or receipt and not yet described.
    #[schema(example = true)]
    catalogued: bool,
    /// Every identifier a label may name it by.
    identifiers: Vec<ProductIdentifier>,
    /// What a person should look at.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(example = json!(["The check digit of gs1:00841518100003 does not fit; it is kept as printed."]))]
    warnings: Vec<String>,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

/// What a label has to carry (21 CFR 801.40(b)).
#[derive(Clone, Copy, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Carries {
    /// A lot or batch number.
    #[serde(default)]
    #[schema(example = true)]
    lot: bool,
    /// A serial number.
    #[serde(default)]
    #[schema(example = false)]
    serial: bool,
    /// An expiry date.
    #[serde(default)]
    #[schema(example = true)]
    expiry: bool,
}

impl From<Carries> for LabelCarries {
    fn from(carries: Carries) -> Self {
        Self {
            lot: carries.lot,
            serial: carries.serial,
            expiry: carries.expiry,
        }
    }
}

impl From<&store::Product> for ProductShown {
    fn from(product: &store::Product) -> Self {
        let store::ProductDescription {
            name,
            maker,
            model,
            kind,
            use_class,
            carries,
        } = &product.description;
        let wrong = product.identifiers.iter().filter(|i| !i.check_digit_right);
        Self {
            id: product.id,
            name: name.clone(),
            maker: maker.clone(),
            model: model.clone(),
            kind: *kind,
            use_class: *use_class,
            carries: Carries {
                lot: carries.lot,
                serial: carries.serial,
                expiry: carries.expiry,
            },
            catalogued: product.catalogued,
            identifiers: product.identifiers.iter().map(Into::into).collect(),
            warnings: wrong
                .map(|identifier| {
                    let code = &identifier.code;
                    format!("The check digit of {code} does not fit; it is kept as printed.")
                })
                .collect(),
            version: product.version,
        }
    }
}
