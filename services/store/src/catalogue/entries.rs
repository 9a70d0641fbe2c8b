//! What the ledger keeps of products.

use super::ProductDescription;
use lotwarden_domain::catalogue::{NewIdentifier, PackagingLevel, ProductKind, UseClass};
use lotwarden_domain::label::ProductCode;
use serde::Serialize;

/// The entry of a product that is new and described.
#[derive(Serialize)]
pub(super) struct Added<'a> {
    carries_expiry: bool,
    carries_lot: bool,
    carries_serial: bool,
    catalogued: bool,
    identifiers: Vec<String>,
    kind: ProductKind,
    maker: &'a str,
    model: &'a str,
    name: &'a str,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    packages: Vec<Package>,
    use_class: UseClass,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    wrong_check_digits: Vec<String>,
}

/// The entry of a product met first by a label.
#[derive(Serialize)]
pub(crate) struct Met<'a> {
    pub(crate) catalogued: bool,
    pub(crate) identifiers: [String; 1],
    pub(crate) name: &'a str,
}

/// An identifier of a package, with the units of use in it.
#[derive(Serialize)]
pub(super) struct Package {
    identifier: String,
    quantity: u32,
}

/// An old and a new value.
#[derive(Serialize)]
pub(super) struct Change<T> {
    new: T,
    old: T,
}

/// The entry of a product that changed; what did not change is left out.
#[derive(Serialize)]
pub(super) struct Changed<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    carries_expiry: Option<Change<bool>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    carries_lot: Option<Change<bool>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    carries_serial: Option<Change<bool>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    catalogued: Option<Change<bool>>,
    /// Identifiers it did not have.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    identifiers: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    kind: Option<Change<ProductKind>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    maker: Option<Change<&'a str>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    model: Option<Change<&'a str>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<Change<&'a str>>,
    /// The packages among the new identifiers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    packages: Vec<Package>,
    /// Units of use in packages whose identifiers it had.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    quantities: Vec<QuantityChange>,
    #[serde(skip_serializing_if = "Option::is_none")]
    use_class: Option<Change<UseClass>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    wrong_check_digits: Vec<String>,
}

/// Another number of units in a package.
#[derive(Serialize)]
pub(super) struct QuantityChange {
    identifier: String,
    new: u32,
    old: u32,
}

impl QuantityChange {
    pub(super) fn new(code: &ProductCode, old: u32, new: u32) -> Self {
        let identifier = code.to_string();
        Self {
            identifier,
            new,
            old,
        }
    }
}

/// The entry of a product that is new and described.
pub(super) fn added<'a>(new: &'a ProductDescription, identifiers: &[NewIdentifier]) -> Added<'a> {
    Added {
        carries_expiry: new.carries.expiry,
        carries_lot: new.carries.lot,
        carries_serial: new.carries.serial,
        catalogued: true,
        identifiers: texts(identifiers),
        kind: new.kind,
        maker: &new.maker,
        model: &new.model,
        name: &new.name,
        packages: packages(identifiers),
        use_class: new.use_class,
        wrong_check_digits: wrong_check_digits(identifiers),
    }
}

/// The entry of a product that changed.
pub(super) fn changed<'a>(
    (old, was_catalogued): (&'a ProductDescription, bool),
    new: &'a ProductDescription,
    identifiers: &[NewIdentifier],
    quantities: Vec<QuantityChange>,
) -> Changed<'a> {
    Changed {
        carries_expiry: differs(old.carries.expiry, new.carries.expiry),
        carries_lot: differs(old.carries.lot, new.carries.lot),
        carries_serial: differs(old.carries.serial, new.carries.serial),
        catalogued: differs(was_catalogued, true),
        identifiers: texts(identifiers),
        kind: differs(old.kind, new.kind),
        maker: differs(&old.maker, &new.maker),
        model: differs(&old.model, &new.model),
        name: differs(&old.name, &new.name),
        packages: packages(identifiers),
        quantities,
        use_class: differs(old.use_class, new.use_class),
        wrong_check_digits: wrong_check_digits(identifiers),
    }
}

fn differs<T: PartialEq>(old: T, new: T) -> Option<Change<T>> {
    (old != new).then_some(Change { new, old })
}

fn texts(identifiers: &[NewIdentifier]) -> Vec<String> {
    identifiers.iter().map(|i| i.code.to_string()).collect()
}

fn packages(identifiers: &[NewIdentifier]) -> Vec<Package> {
    let packages = identifiers
        .iter()
        .filter(|identifier| identifier.level == PackagingLevel::Package);
    packages
        .map(|package| Package {
            identifier: package.code.to_string(),
            quantity: package.quantity,
        })
        .collect()
}

fn wrong_check_digits(identifiers: &[NewIdentifier]) -> Vec<String> {
    let wrong = identifiers.iter().filter(|i| !i.check_digit_right);
    wrong.map(|i| i.code.to_string()).collect()
}

/// The entry of further identifiers.
#[derive(Serialize)]
pub(super) struct Identified {
    identifiers: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    packages: Vec<Package>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    wrong_check_digits: Vec<String>,
}

/// The entry of further identifiers.
pub(super) fn identified(identifiers: &[NewIdentifier]) -> Identified {
    Identified {
        identifiers: texts(identifiers),
        packages: packages(identifiers),
        wrong_check_digits: wrong_check_digits(identifiers),
    }
}
