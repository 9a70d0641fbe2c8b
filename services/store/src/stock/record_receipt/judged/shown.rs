//! The receipt as it is shown.

use super::super::ReceiptLine;
use super::Judged;
use crate::database::StoreError;
use crate::stock::{ReceivedLine, StockReceipt};
use uuid::Uuid;

impl Judged<'_> {
    /// The receipt as it is shown.
    pub(in crate::stock::record_receipt) fn outcome(
        &self,
        id: Uuid,
        actor: String,
        lines: &[ReceiptLine],
    ) -> Result<StockReceipt, StoreError> {
        let lines = lines.iter().zip(&self.lines).enumerate();
        let lines = lines.map(|(at, (line, judged))| {
            let product = self.known.products.get(&judged.product);
            let lot = self.known.lots.get(&judged.lot).ok_or(StoreError::Unfit)?;
            let count = |number: u32| i32::try_from(number).map_err(|_| StoreError::Unfit);
            Ok(ReceivedLine {
                line: i32::try_from(at + 1).map_err(|_| StoreError::Unfit)?,
                text: line.text.clone(),
                product: judged.product,
                product_name: product.ok_or(StoreError::Unfit)?.name.clone(),
                lot: judged.lot,
                lot_number: lot.number.clone(),
                expires_on: lot.expires_on,
                unit: judged.unit,
                serial: judged.unit.and_then(|_| line.label.serial.clone()),
                location: line.location,
                packages: count(line.packages)?,
                quantity: count(judged.quantity)?,
                findings: serde_json::to_value(&judged.findings).map_err(|_| StoreError::Unfit)?,
            })
        });
        Ok(StockReceipt {
            id,
            actor,
            received_at: self.at,
            lines: lines.collect::<Result<_, StoreError>>()?,
        })
    }
}
