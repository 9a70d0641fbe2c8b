//! Exporting a parcel: what it carries beside the entries, bound to the ledger by an entry.

mod attachments;

pub(super) use attachments::Attached;

use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::parcels;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_ledger::Hash;
use lotwarden_ledger::parcel::EXPORT_ACTION;
use serde::Serialize;
use std::convert::Infallible;
use uuid::Uuid;

/// Closes the ledger so far with an entry that binds every case, signature and person as of now.
/// The parcel itself is written afterwards, from its position, as often as wanted.
#[derive(Clone, Debug)]
pub struct ExportParcel {
    /// Whether the parcel discloses the values behind the commitments.
    pub with_identity: bool,
    /// Why: 3 to 500 characters, never a patient's identity.
    pub reason: String,
}

/// What the export bound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Exported {
    /// The SHA-256 over the sections that the entry binds.
    pub attachments: Hash,
    /// How many cases.
    pub cases: u64,
    /// How many signatures.
    pub signatures: u64,
    /// How many people.
    pub people: u64,
    /// The number of entries, the export's own included.
    pub entries: u64,
}

/// The data of the entry: the members that a parcel's verification asks for, and why.
#[derive(Serialize)]
struct Data<'a> {
    attachments: Hash,
    cases: u64,
    facility: &'a str,
    people: u64,
    reason: &'a str,
    signatures: u64,
    with_identity: bool,
}

impl Operation for ExportParcel {
    type Permission = act::ExportParcel;
    type Outcome = Exported;
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Exported, Refused<Infallible>> {
        let attached = Attached::collect(writing.connection, writing.facility.id).await?;
        let bound = attached.attachments()?.export_data(&writing.facility.name);
        let data = Data {
            attachments: bound.attachments,
            cases: bound.cases,
            facility: &writing.facility.name,
            people: bound.people,
            reason: &self.reason,
            signatures: bound.signatures,
            with_identity: self.with_identity,
        };
        let ledger: Uuid = writing.facility.id;
        let receipt = writing.append(EXPORT_ACTION, Subject::new("ledger", ledger), &data)?;
        diesel::insert_into(parcels::table)
            .values((
                parcels::facility_id.eq(ledger),
                parcels::position.eq(receipt.position.cast_signed()),
                parcels::attachments.eq(attached.to_bytes()?),
                parcels::with_identity.eq(self.with_identity),
            ))
            .execute(writing.connection)
            .await?;
        Ok(Exported {
            attachments: bound.attachments,
            cases: bound.cases,
            signatures: bound.signatures,
            people: bound.people,
            entries: receipt.position + 1,
        })
    }
}
