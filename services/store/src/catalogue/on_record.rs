//! What the record has of the item that a label names.

use super::product_by_code;
use crate::database::{Reading, StoreError};
use crate::schema::{lots, units};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::label::Label;
use uuid::Uuid;

/// An item as the record has it.
#[derive(Clone, Debug)]
pub struct OnRecord {
    /// The product, by id and name.
    pub product: (Uuid, String),
    /// The lot: the label's, or the one on record for the serial.
    pub lot: Option<Uuid>,
    /// The serialised piece.
    pub unit: Option<Uuid>,
}

/// Finds the item that a label names; none when the catalogue has none of its codes.
///
/// # Errors
/// [`StoreError`].
pub async fn on_record(
    reading: &mut Reading,
    label: &Label,
) -> Result<Option<OnRecord>, StoreError> {
    for code in label.codes() {
        let Some(product) = product_by_code(reading, code).await? else {
            continue;
        };
        let connection = reading.connection();
        let unit: Option<(Uuid, Uuid)> = match &label.serial {
            None => None,
            Some(serial) => units::table
                .filter(units::product_id.eq(product.id))
                .filter(units::serial.eq(serial))
                .select((units::id, units::lot_id))
                .first(connection)
                .await
                .optional()?,
        };
        let lot = match (&label.lot, unit) {
            (Some(number), _) => lots::table
                .filter(lots::product_id.eq(product.id))
                .filter(lots::number.eq(number))
                .select(lots::id)
                .first(connection)
                .await
                .optional()?,
            (None, unit) => unit.map(|(_, lot)| lot),
        };
        return Ok(Some(OnRecord {
            product: (product.id, product.description.name),
            lot,
            unit: unit.map(|(unit, _)| unit),
        }));
    }
    Ok(None)
}
