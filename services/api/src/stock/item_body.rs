//! Items as requests and answers at a shelf write them.

use super::day;
use crate::http::body::Fields;
use crate::problem::{ApiError, FieldError};
use lotwarden_domain::label::{Circumstances, Label, place};
use lotwarden_store::stock as store;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// An item: `text` as its label was scanned, or `lot_id`, with `unit_id` for one piece of the lot.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ItemBody {
    /// The characters as the scanner sent them; `^` or U+001D stands for FNC1.
    #[schema(
        example = "]d2010952012345678817271231101A2B3C",
        min_length = 1,
        max_length = 4096
    )]
    text: Option<String>,
    /// The lot.
    lot_id: Option<Uuid>,
    /// The serialised piece of the lot.
    unit_id: Option<Uuid>,
}

impl ItemBody {
    pub(super) fn check(&self, at: &str, errors: &mut Fields) {
        let one = self.text.is_some() != self.lot_id.is_some();
        errors.require(one, at, "must have either text or lot_id");
        let piece = self.unit_id.is_none() || self.lot_id.is_some();
        errors.require(piece, &format!("{at}/unit_id"), "goes with lot_id");
        scanned(&self.text, &format!("{at}/text"), errors);
    }

    /// The item as the store takes it.
    ///
    /// # Errors
    /// 400 naming the field: the characters are no label.
    pub(super) fn read(
        self,
        at: &str,
        circumstances: &Circumstances,
    ) -> Result<store::NamedItem, ApiError> {
        if let Some(lot) = self.lot_id {
            let unit = self.unit_id;
            return Ok(store::NamedItem::Lot { lot, unit });
        }
        let text = self.text.unwrap_or_default();
        let label = Label::read(&text, circumstances.clone()).map_err(|unread| {
            ApiError::fields(vec![FieldError::new(format!("{at}/text"), unread.message)])
        })?;
        Ok(store::NamedItem::Label(label))
    }
}

/// A scanned text has a length that a label can have.
pub(super) fn scanned(text: &Option<String>, pointer: &str, errors: &mut Fields) {
    if let Some(text) = text {
        let fits = (1..=4096).contains(&text.chars().count()) && !text.contains('\0');
        let detail = "must be 1 to 4096 characters without U+0000";
        errors.require(fits, pointer, detail);
    }
}

/// The place that is named by its id, or by its own label as scanned.
///
/// # Errors
/// 400 naming the field: the characters are no place's label.
pub(super) fn place_named(
    id: Option<Uuid>,
    text: Option<&str>,
    pointer: &str,
    circumstances: &Circumstances,
) -> Result<Uuid, ApiError> {
    let named = id.or_else(|| place::read(text?, circumstances.clone()));
    named.ok_or_else(|| {
        let detail = "must be the label of a place";
        ApiError::fields(vec![FieldError::new(pointer, detail)])
    })
}

/// A lot, or one piece of it.
#[derive(Debug, Serialize, ToSchema)]
pub struct ItemAtPlace {
    /// The product.
    product_id: Uuid,
    /// Its name.
    #[schema(example = "Inline smoke filter, 22 mm")]
    product_name: String,
    /// The lot.
    lot_id: Uuid,
    /// Its number, exactly as printed; none when it was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "L2611A")]
    lot: Option<String>,
    /// The last usable day on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    expires_on: Option<String>,
    /// The serialised piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// Its serial, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "SN-000417")]
    serial: Option<String>,
}

impl From<&store::ItemOnRecord> for ItemAtPlace {
    fn from(item: &store::ItemOnRecord) -> Self {
        Self {
            product_id: item.product,
            product_name: item.product_name.clone(),
            lot_id: item.lot,
            lot: item.lot_number.clone(),
            expires_on: day(item.expires_on),
            unit_id: item.unit,
            serial: item.serial.clone(),
        }
    }
}
