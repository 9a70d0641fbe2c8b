//! Showing a ledger's newest state.

use super::hash;
use crate::database::{Reading, StoreError};
use crate::schema::ledger_heads;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_ledger::Head;

/// Shows the newest state of the facility's ledger.
///
/// # Errors
/// [`StoreError`].
pub async fn show_head(reading: &mut Reading) -> Result<Head, StoreError> {
    let ledger = reading.facility();
    let (size, bytes, at): (i64, Vec<u8>, jiff_diesel::NullableTimestamp) = ledger_heads::table
        .find(ledger)
        .select((ledger_heads::size, ledger_heads::hash, ledger_heads::at))
        .first(reading.connection())
        .await?;
    Ok(Head {
        ledger,
        size: size.cast_unsigned(),
        hash: hash(&bytes)?,
        at: at.to_jiff(),
    })
}
