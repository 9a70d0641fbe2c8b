//! The ledger as it is read: head, entries, verification, parcels.

mod disclosure;
mod export_parcel;
mod list_entries;
mod show_head;
mod show_parcel;
mod verify_ledger;
mod write_parcel;

pub use export_parcel::{ExportParcel, Exported};
pub use list_entries::{EntryFilter, EntryPage, LedgerEntry, list_entries};
pub use show_head::show_head;
pub use show_parcel::{ParcelShown, ShowParcel, ShowParcelRefusal};
pub use verify_ledger::{Misfit, Verified, VerifyError, verify_all, verify_tail};
pub use write_parcel::{WriteParcelError, write_parcel};

pub(crate) use disclosure::open_disclosure;

use crate::database::StoreError;
use lotwarden_ledger::Hash;

fn hash(bytes: &[u8]) -> Result<Hash, StoreError> {
    Hash::from_slice(bytes).ok_or(StoreError::Unfit)
}
