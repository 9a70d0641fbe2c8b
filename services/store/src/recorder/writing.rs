//! What an operation writes with: the open transaction, and the entries that will be committed
//! with it.

use super::Receipt;
use super::batch::NewEntry;
use super::job::{Failure, station_text};
use crate::facilities::Facility;
use crate::moment;
use crate::schema::disclosures;
use crate::sealing::{DISCLOSURE, Key, random_bytes};
use diesel::ExpressionMethods;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_domain::access::Actor;
use lotwarden_ledger::{Disclosure, Event, Head};
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// An open transaction of one facility, at one instant, for one actor.
pub struct Writing<'a> {
    pub(crate) connection: &'a mut AsyncPgConnection,
    pub(crate) facility: &'a Facility,
    pub(crate) actor: &'a Actor,
    pub(crate) station: Option<Uuid>,
    pub(crate) at: Timestamp,
    pub(crate) head: &'a mut Head,
    pub(crate) entries: &'a mut Vec<NewEntry>,
    pub(crate) receipt: Option<Receipt>,
}

/// What an entry is about.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Subject {
    kind: &'static str,
    id: Uuid,
    case: Option<Uuid>,
}

impl Subject {
    /// A subject that stands by itself.
    pub(crate) const fn new(kind: &'static str, id: Uuid) -> Self {
        Self {
            kind,
            id,
            case: None,
        }
    }

    /// A subject that belongs to a case.
    pub(crate) const fn of_case(kind: &'static str, id: Uuid, case: Uuid) -> Self {
        Self {
            kind,
            id,
            case: Some(case),
        }
    }
}

impl Writing<'_> {
    /// A new identifier for the instant of the write.
    pub(crate) fn new_id(&self) -> Uuid {
        moment::new_id(self.at)
    }

    /// Appends the entry of what was done; it is committed with the rows or not at all.
    pub(crate) fn append(
        &mut self,
        action: &'static str,
        subject: Subject,
        data: &impl Serialize,
    ) -> Result<Receipt, Failure> {
        let actor = self.actor.to_string();
        let text = format!("{}:{}", subject.kind, subject.id);
        let event = Event::new(
            action,
            actor.clone(),
            station_text(self.station),
            text.clone(),
            data,
        )?;
        let entry = self.head.append(&event, self.at)?;
        let receipt = Receipt {
            position: entry.position,
            hash: entry.hash,
        };
        self.entries.push(NewEntry {
            entry,
            action,
            actor,
            subject: text,
            case: subject.case,
        });
        self.receipt = Some(receipt);
        Ok(receipt)
    }

    /// The receipt of the operation's last entry.
    pub(crate) fn last_receipt(&self) -> Option<Receipt> {
        self.receipt
    }

    /// Keeps the salts and values behind an entry's commitments, sealed under the patient's key.
    pub(crate) async fn disclose(
        &mut self,
        patient: (Uuid, &Key),
        receipt: Receipt,
        commitments: &Commitments,
    ) -> Result<(), Failure> {
        for disclosure in &commitments.disclosures {
            let sealed = patient
                .1
                .seal(DISCLOSURE, disclosure.encoded().as_bytes())?;
            diesel::insert_into(disclosures::table)
                .values((
                    disclosures::facility_id.eq(self.facility.id),
                    disclosures::position.eq(receipt.position.cast_signed()),
                    disclosures::name.eq(&disclosure.name),
                    disclosures::patient_id.eq(patient.0),
                    disclosures::sealed.eq(sealed),
                ))
                .execute(self.connection)
                .await?;
        }
        Ok(())
    }
}

/// Personal values as an entry may carry them: salted commitments by name.
#[derive(Debug, Default)]
pub(crate) struct Commitments {
    pub(crate) disclosures: Vec<Disclosure>,
}

impl Commitments {
    /// Commits to a value with a fresh 128-bit salt.
    pub(crate) fn commit(&mut self, name: &str, value: &str) {
        self.disclosures
            .push(Disclosure::new(name, value, random_bytes()));
    }

    /// The digests by name, as the entry's `commitments`.
    pub(crate) fn digests(&self) -> BTreeMap<&str, String> {
        self.disclosures
            .iter()
            .map(|d| (d.name.as_str(), d.digest()))
            .collect()
    }
}
