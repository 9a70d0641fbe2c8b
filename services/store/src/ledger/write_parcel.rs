//! Writing a parcel's bytes.

mod buffer;

use super::export_parcel::Attached;
use super::{hash, open_disclosure};
use crate::database::{Database, Reading, StoreError};
use crate::facilities::Facility;
use crate::schema::{disclosures, ledger_entries, parcels, patients};
use crate::sealing::{Key, PATIENT_KEY};
use buffer::Buffer;
use diesel::prelude::*;
use diesel_async::{RunQueryDsl, SimpleAsyncConnection};
use lotwarden_ledger::parcel::{DisclosureWriter, Header, ParcelWriter, WriteFault};
use lotwarden_ledger::{Disclosure, Head};
use std::collections::HashMap;
use std::io;
use uuid::Uuid;

/// Rows read at a time: a few megabytes.
const CHUNK: i64 = 5_000;

/// Why a parcel was not written to its end.
#[derive(Debug, thiserror::Error)]
pub enum WriteParcelError {
    /// Nothing was exported at that position.
    #[error("there is no such parcel")]
    NoSuchParcel,
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A line is not as it must be.
    #[error(transparent)]
    Write(#[from] WriteFault),
    /// Whoever takes the bytes does not take more.
    #[error("the parcel cannot be delivered")]
    Undelivered(#[from] io::Error),
}

impl From<diesel::result::Error> for WriteParcelError {
    fn from(error: diesel::result::Error) -> Self {
        Self::Store(error.into())
    }
}

/// Writes the parcel that was exported at a position: the same bytes each time, but for values
/// erased since. `deliver` takes them piece by piece; `progress` is told entries written.
///
/// The facility's key opens the disclosures of a parcel with identity and is not used otherwise.
///
/// # Errors
/// [`WriteParcelError`]; what was delivered before it is not a whole parcel.
pub async fn write_parcel(
    database: &Database,
    facility: &Facility,
    facility_key: &Key,
    position: u64,
    mut deliver: impl AsyncFnMut(Vec<u8>) -> io::Result<()>,
    mut progress: impl FnMut(u64),
) -> Result<(), WriteParcelError> {
    let mut reading = database.reading(facility.id).await?;
    // One snapshot, so that the announced number of disclosures is the number that follows.
    reading
        .connection()
        .batch_execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        .await?;
    let parcel = Parcel {
        facility,
        facility_key,
        position,
    };
    let written = parcel
        .write(&mut reading, &mut deliver, &mut progress)
        .await;
    let ended = reading.connection().batch_execute("COMMIT").await;
    written?;
    Ok(ended?)
}

struct Parcel<'a> {
    facility: &'a Facility,
    facility_key: &'a Key,
    position: u64,
}

impl Parcel<'_> {
    async fn write(
        &self,
        reading: &mut Reading,
        deliver: &mut impl AsyncFnMut(Vec<u8>) -> io::Result<()>,
        progress: &mut impl FnMut(u64),
    ) -> Result<(), WriteParcelError> {
        let (attached, with_identity) = self.exported(reading).await?;
        let header = self.header(reading).await?;
        let buffer = Buffer::default();
        let mut writer = ParcelWriter::new(buffer.clone(), &header)?;
        let mut next = 0;
        while next <= self.position {
            let bodies = self.bodies(reading, next).await?;
            if bodies.is_empty() {
                return Err(StoreError::Unfit.into());
            }
            next += bodies.len() as u64;
            for body in &bodies {
                writer.entry(body)?;
            }
            progress(next);
            deliver(buffer.take()).await?;
        }
        let count = if with_identity {
            self.disclosure_count(reading).await?
        } else {
            0
        };
        let mut writer = writer.attachments(&attached.attachments()?, count)?;
        if count > 0 {
            self.disclosures(reading, &mut writer, &buffer, deliver)
                .await?;
        }
        writer.finish()?;
        Ok(deliver(buffer.take()).await?)
    }

    async fn exported(&self, reading: &mut Reading) -> Result<(Attached, bool), WriteParcelError> {
        let position = i64::try_from(self.position).map_err(|_| WriteParcelError::NoSuchParcel)?;
        let row: Option<(Vec<u8>, bool)> = parcels::table
            .find((self.facility.id, position))
            .select((parcels::attachments, parcels::with_identity))
            .first(reading.connection())
            .await
            .optional()?;
        let (bytes, with_identity) = row.ok_or(WriteParcelError::NoSuchParcel)?;
        Ok((Attached::read(&bytes)?, with_identity))
    }

    async fn header(&self, reading: &mut Reading) -> Result<Header, WriteParcelError> {
        let (bytes, at): (Vec<u8>, jiff_diesel::Timestamp) = ledger_entries::table
            .find((self.facility.id, self.position.cast_signed()))
            .select((ledger_entries::hash, ledger_entries::at))
            .first(reading.connection())
            .await?;
        let head = Head {
            ledger: self.facility.id,
            size: self.position + 1,
            hash: hash(&bytes)?,
            at: Some(at.to_jiff()),
        };
        let from = Head::empty(self.facility.id);
        let header = Header::new(self.facility.name.as_str(), &from, &head);
        Ok(header.ok_or(StoreError::Unfit)?)
    }

    async fn bodies(&self, reading: &mut Reading, from: u64) -> Result<Vec<Vec<u8>>, StoreError> {
        let bodies = ledger_entries::table
            .filter(ledger_entries::facility_id.eq(self.facility.id))
            .filter(ledger_entries::position.ge(from.cast_signed()))
            .filter(ledger_entries::position.le(self.position.cast_signed()))
            .order(ledger_entries::position)
            .limit(CHUNK)
            .select(ledger_entries::body)
            .load(reading.connection())
            .await?;
        Ok(bodies)
    }

    async fn disclosure_count(&self, reading: &mut Reading) -> Result<u64, StoreError> {
        let count: i64 = disclosures::table
            .filter(disclosures::facility_id.eq(self.facility.id))
            .filter(disclosures::position.le(self.position.cast_signed()))
            .count()
            .get_result(reading.connection())
            .await?;
        Ok(count.cast_unsigned())
    }

    /// Opens and writes the disclosures; a whole entry's at a time, so that chunks do not split it.
    async fn disclosures(
        &self,
        reading: &mut Reading,
        writer: &mut DisclosureWriter<Buffer>,
        buffer: &Buffer,
        deliver: &mut impl AsyncFnMut(Vec<u8>) -> io::Result<()>,
    ) -> Result<(), WriteParcelError> {
        let mut keys = HashMap::new();
        let mut from = 0;
        while from <= self.position {
            let until = self.position.min(from + CHUNK.cast_unsigned() - 1);
            let rows: Vec<(i64, Uuid, Vec<u8>, Vec<u8>)> = disclosures::table
                .inner_join(patients::table.on(patients::id.eq(disclosures::patient_id)))
                .filter(disclosures::facility_id.eq(self.facility.id))
                .filter(disclosures::position.ge(from.cast_signed()))
                .filter(disclosures::position.le(until.cast_signed()))
                .order((disclosures::position, disclosures::name))
                .select((
                    disclosures::position,
                    disclosures::patient_id,
                    disclosures::sealed,
                    patients::wrapped_key,
                ))
                .load(reading.connection())
                .await?;
            for (position, patient, sealed, wrapped_key) in rows {
                let disclosure = self.open(&mut keys, patient, &wrapped_key, &sealed)?;
                writer.disclosure(position.cast_unsigned(), &disclosure)?;
            }
            deliver(buffer.take()).await?;
            from = until + 1;
        }
        Ok(())
    }

    fn open(
        &self,
        keys: &mut HashMap<Uuid, Key>,
        patient: Uuid,
        wrapped_key: &[u8],
        sealed: &[u8],
    ) -> Result<Disclosure, StoreError> {
        let key = match keys.entry(patient) {
            std::collections::hash_map::Entry::Occupied(known) => known.into_mut(),
            std::collections::hash_map::Entry::Vacant(new) => {
                new.insert(self.facility_key.unwrap(PATIENT_KEY, wrapped_key)?)
            }
        };
        open_disclosure(key, sealed)
    }
}
