//! What the demonstration facility uses: invented products of invented makers.
//!
//! GS1 prefix 952 is GS1's own range for examples; A999 is the labeler code of the examples in
//! ANSI/HIBC 2.6. Nothing on sale carries them.

use anyhow::{Context, ensure};
use lotwarden_codes::Agency;
use lotwarden_domain::catalogue::{
    LabelCarries, NewIdentifier, PackagingLevel, ProductKind, UseClass,
};
use lotwarden_store::catalogue::{AddProduct, ProductDescription};

/// One product as its maker labels it.
pub struct DemoProduct {
    /// The name.
    pub name: &'static str,
    maker: &'static str,
    model: &'static str,
    kind: ProductKind,
    carries: LabelCarries,
    /// Who issued its identifiers.
    pub agency: Agency,
    /// The identifier of one unit of use.
    pub unit: &'static str,
    /// The identifier of a box, with the units of use in it.
    pub package: Option<(&'static str, u32)>,
    /// Begins its lot numbers.
    pub lot_prefix: &'static str,
    /// Months from delivery to expiry; none for a product that does not expire.
    pub months: Option<i32>,
    /// The label gives the month of expiry without a day.
    pub month_only: bool,
}

const LOT_EXPIRY: LabelCarries = LabelCarries {
    lot: true,
    serial: false,
    expiry: true,
};
const ALL_THREE: LabelCarries = LabelCarries {
    lot: true,
    serial: true,
    expiry: true,
};
const LOT_ONLY: LabelCarries = LabelCarries {
    lot: true,
    serial: false,
    expiry: false,
};

macro_rules! product {
    ($name:ident: $text:literal by $maker:literal, $model:literal, $kind:ident, $carries:ident,
     $agency:ident $unit:literal, $package:expr, lots $lots:literal, months $months:expr) => {
        #[doc = $text]
        pub static $name: DemoProduct = DemoProduct {
            name: $text,
            maker: $maker,
            model: $model,
            kind: ProductKind::$kind,
            carries: $carries,
            agency: Agency::$agency,
            unit: $unit,
            package: $package,
            lot_prefix: $lots,
            months: $months,
            month_only: false,
        };
    };
}

product!(HANDPIECE: "Cooled vein handpiece, single use" by "Nettlewick Devices (invented)", "NW-7",
    Handpiece, ALL_THREE, Gs1 "09521400010105", None, lots "NH", months Some(24));
product!(CANNULA: "Infiltration cannula 22G x 90 mm" by "Nettlewick Devices (invented)", "IC-2290",
    Cannula, LOT_EXPIRY, Gs1 "09521400010204", Some(("19521400010201", 10)), lots "NC", months Some(36));
product!(CYLINDER: "Carbon dioxide, cooling, non-refillable cylinder" by "Brindlemoor Gases (invented)", "CD-95",
    Gas, ALL_THREE, Gs1 "09521400010402", None, lots "BG", months Some(30));
product!(LIDOCAINE: "Lidocaine 1 %, vial 50 mL" by "Saltwick Remedies (invented)", "L1-50",
    Drug, LOT_EXPIRY, Gs1 "09521400010501", Some(("19521400010508", 10)), lots "SL", months Some(14));
product!(BICARBONATE: "Sodium bicarbonate 8.4 %, vial 10 mL" by "Saltwick Remedies (invented)", "B84-10",
    Drug, LOT_EXPIRY, Gs1 "09521400010600", Some(("19521400010607", 10)), lots "SB", months Some(12));
product!(SALINE: "Sodium chloride 0.9 %, bag 500 mL" by "Saltwick Remedies (invented)", "S9-500",
    Diluent, LOT_EXPIRY, Gs1 "09521400010709", Some(("19521400010706", 20)), lots "SS", months Some(18));
product!(FILTER: "Vapour filter for the evacuator" by "Wexcombe Filtration (invented)", "VF200",
    Filter, LOT_EXPIRY, Hibcc "+A999VF20000/", None, lots "VF", months Some(24));
product!(STOCKING: "Compression stocking, thigh, size M" by "Loomhallow Textiles (invented)", "CS-M",
    Garment, LOT_ONLY, Gs1 "09521400010907", None, lots "LT", months None);
product!(PAD: "Absorbent pad 10 x 20 cm" by "Wexcombe Filtration (invented)", "PD102",
    Dressing, LOT_EXPIRY, Hibcc "+A999PD10200X", Some(("+A999PD10201Y", 25)), lots "PD", months Some(36));

/// Wound closure strip, whose label gives a month without a day.
pub static STRIP: DemoProduct = DemoProduct {
    name: "Wound closure strip 6 mm",
    maker: "Loomhallow Textiles (invented)",
    model: "WS-6",
    kind: ProductKind::Dressing,
    carries: LOT_EXPIRY,
    agency: Agency::Gs1,
    unit: "09521400011102",
    package: Some(("19521400011109", 50)),
    lot_prefix: "WS",
    months: Some(20),
    month_only: true,
};

/// Every product, in the order they are added.
pub static ALL: [&DemoProduct; 10] = [
    &HANDPIECE,
    &CANNULA,
    &CYLINDER,
    &LIDOCAINE,
    &BICARBONATE,
    &SALINE,
    &FILTER,
    &STOCKING,
    &PAD,
    &STRIP,
];

impl DemoProduct {
    /// Whether each piece has a serial.
    pub fn carries_serial(&self) -> bool {
        self.carries.serial
    }

    /// The operation that adds it.
    ///
    /// # Errors
    /// An identifier is none of its agency's, or its check digit does not fit.
    pub fn adding(&self) -> anyhow::Result<AddProduct> {
        let unit = (self.unit, PackagingLevel::Unit, 1);
        let package = self
            .package
            .map(|(code, quantity)| (code, PackagingLevel::Package, quantity));
        let mut identifiers = Vec::new();
        for (code, level, quantity) in [Some(unit), package].into_iter().flatten() {
            let read = NewIdentifier::read(self.agency, code, level, quantity)
                .with_context(|| format!("{code} of {}", self.name))?;
            ensure!(
                read.iter().all(|identifier| identifier.check_digit_right),
                "the check digit of {code} ({}) does not fit",
                self.name
            );
            identifiers.extend(read);
        }
        Ok(AddProduct {
            description: ProductDescription {
                name: self.name.to_owned(),
                maker: self.maker.to_owned(),
                model: self.model.to_owned(),
                kind: self.kind,
                use_class: UseClass::SingleUse,
                carries: self.carries,
            },
            identifiers,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The check digits are computed by lotwarden-codes, which its own tests hold against the
    // worked examples of GS1 and ANSI/HIBC.
    #[test]
    fn every_identifier_is_valid_and_of_an_example_range() {
        for product in ALL {
            let added = product.adding().unwrap();
            for identifier in added.identifiers {
                let code = identifier.code.code;
                let example = code[1..].starts_with("952") || code.starts_with("A999");
                assert!(example, "{code}");
            }
        }
    }
}
