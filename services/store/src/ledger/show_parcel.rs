//! Fetching a parcel that was exported.

use super::hash;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{ledger_entries, parcels};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_ledger::Hash;
use serde::Serialize;
use uuid::Uuid;

/// Lets somebody fetch an exported parcel. It may disclose identities, so each fetch is an entry;
/// [`super::write_parcel`] then writes the bytes.
#[derive(Clone, Copy, Debug)]
pub struct ShowParcel {
    /// The position of its export entry.
    pub position: u64,
}

/// A parcel that can be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ParcelShown {
    /// The hash of its export entry.
    pub hash: Hash,
    /// Whether it discloses the values behind the commitments.
    pub with_identity: bool,
}

/// Why a parcel cannot be fetched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ShowParcelRefusal {
    /// Nothing was exported at that position.
    #[error("there is no such parcel")]
    NoSuchParcel,
}

#[derive(Serialize)]
struct Data {
    parcel: u64,
    with_identity: bool,
}

impl Operation for ShowParcel {
    type Permission = act::ShowParcel;
    type Outcome = ParcelShown;
    type Refusal = ShowParcelRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<ParcelShown, Refused<ShowParcelRefusal>> {
        let ledger: Uuid = writing.facility.id;
        let row: Option<(Vec<u8>, bool)> = parcels::table
            .inner_join(
                ledger_entries::table.on(ledger_entries::facility_id
                    .eq(parcels::facility_id)
                    .and(ledger_entries::position.eq(parcels::position))),
            )
            .filter(parcels::facility_id.eq(ledger))
            .filter(
                parcels::position
                    .nullable()
                    .eq(i64::try_from(self.position).ok()),
            )
            .select((ledger_entries::hash, parcels::with_identity))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((bytes, with_identity)) = row else {
            return Err(Refused::Because(ShowParcelRefusal::NoSuchParcel));
        };
        let data = Data {
            parcel: self.position,
            with_identity,
        };
        writing.append("show_parcel", Subject::new("ledger", ledger), &data)?;
        Ok(ParcelShown {
            hash: hash(&bytes)?,
            with_identity,
        })
    }
}
