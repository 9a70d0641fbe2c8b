//! What the columns of a table hold, by their names (common practice, no source).

use super::cells::Row;
use crate::notices::Of;

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Column {
    Items(Of),
    From(Of),
    To(Of),
    Expiry,
    Identifier,
    Catalogue,
    /// Words and numbers that are no criteria.
    Aside,
    Unknown,
}

impl Column {
    /// Whether its cells tell items of a product apart.
    pub(super) const fn names_items(self) -> bool {
        matches!(self, Self::Items(_) | Self::From(_) | Self::Expiry)
    }
}

/// Names in small letters and digits alone, English and German.
const NAMES: &[(Column, &[&str])] = &[
    (
        Column::Items(Of::Lot),
        &[
            "lot",
            "lots",
            "lotno",
            "lotnos",
            "lotnumber",
            "lotnumbers",
            "lotcode",
            "batch",
            "batchno",
            "batchnumber",
            "batchcode",
            "lotbatch",
            "lotbatchno",
            "lotbatchnumber",
            "batchlot",
            "batchlotnumber",
            "affectedlots",
            "affectedlotnumbers",
            "charge",
            "chargen",
            "chargennr",
            "chargennummer",
            "chargenbezeichnung",
            "los",
            "losnummer",
        ],
    ),
    (
        Column::Items(Of::Serial),
        &[
            "serial",
            "serials",
            "serialno",
            "serialnos",
            "serialnumber",
            "serialnumbers",
            "sn",
            "seriennr",
            "seriennummer",
            "seriennummern",
        ],
    ),
    (
        Column::From(Of::Lot),
        &[
            "lotfrom",
            "fromlot",
            "firstlot",
            "lotstart",
            "chargevon",
            "vonchargennummer",
            "vonlot",
        ],
    ),
    (
        Column::To(Of::Lot),
        &[
            "lotto",
            "tolot",
            "lastlot",
            "lotend",
            "chargebis",
            "bischargennummer",
            "bislot",
        ],
    ),
    (
        Column::From(Of::Serial),
        &[
            "serialfrom",
            "fromserial",
            "firstserial",
            "serialstart",
            "seriennummervon",
        ],
    ),
    (
        Column::To(Of::Serial),
        &[
            "serialto",
            "toserial",
            "lastserial",
            "serialend",
            "seriennummerbis",
        ],
    ),
    (
        Column::Expiry,
        &[
            "exp",
            "expiry",
            "expirydate",
            "expires",
            "expirationdate",
            "expiration",
            "expdate",
            "useby",
            "usebydate",
            "bud",
            "verfall",
            "verfalldatum",
            "verfallsdatum",
            "verwendbarbis",
            "haltbarbis",
            "ablaufdatum",
        ],
    ),
    (
        Column::Identifier,
        &[
            "udi",
            "udidi",
            "di",
            "gtin",
            "gtin14",
            "gtinno",
            "gtinnumber",
            "hibc",
            "hibcc",
            "ndc",
            "ndcnumber",
            "upc",
            "ean",
            "ean13",
            "identifier",
            "deviceidentifier",
            "pzn",
            "ppn",
        ],
    ),
    (
        Column::Catalogue,
        &[
            "ref",
            "refno",
            "catno",
            "catalogno",
            "catalognumber",
            "catalogue",
            "catalog",
            "catalogueno",
            "cataloguenumber",
            "model",
            "modelno",
            "modelnumber",
            "partno",
            "partnumber",
            "part",
            "itemno",
            "itemnumber",
            "item",
            "sku",
            "productno",
            "productnumber",
            "productcode",
            "articleno",
            "articlenumber",
            "artikel",
            "artikelnr",
            "artikelnummer",
            "bestellnummer",
            "bestellnr",
            "katalognummer",
            "modell",
            "teilenummer",
        ],
    ),
    (
        Column::Aside,
        &[
            "description",
            "productdescription",
            "itemdescription",
            "name",
            "productname",
            "product",
            "brand",
            "brandname",
            "quantity",
            "qty",
            "qtyshipped",
            "quantityshipped",
            "unit",
            "uom",
            "beschreibung",
            "bezeichnung",
            "artikelbezeichnung",
            "produkt",
            "produktname",
            "menge",
            "anzahl",
            "einheit",
        ],
    ),
];

/// What each column of a heading holds.
pub(super) fn columns(heading: &Row) -> Vec<Column> {
    let column = |name: &str| {
        let letters = name.chars().filter(|c| c.is_alphanumeric());
        let name: String = letters.flat_map(char::to_lowercase).collect();
        let known = NAMES
            .iter()
            .find(|(_, names)| names.contains(&name.as_str()));
        known.map_or(Column::Unknown, |(column, _)| *column)
    };
    heading
        .cells
        .iter()
        .map(|cell| column(&cell.value))
        .collect()
}
