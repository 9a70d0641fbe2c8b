//! Taking in a notice.

use super::{Notice, NoticeRow, proposals, told};
use crate::recorder::{Failure, Operation, Refused, Subject, Writing};
use crate::schema::notices;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::import::{NoticeStatus, RecallClass};
use lotwarden_domain::notices::NoticeSource;
use lotwarden_domain::outbox::OutboxEvent;
use lotwarden_ledger::Hash;
use serde::Serialize;
use uuid::Uuid;

/// A notice as it arrived.
#[derive(Clone, Debug)]
pub struct NewNotice {
    /// Who recalls: 1 to 500 characters.
    pub firm: String,
    /// The firm's or the authority's reference number: 1 to 100 characters.
    pub reference: String,
    /// How grave it is, when it says so.
    pub class: Option<RecallClass>,
    /// How it came.
    pub source: NoticeSource,
    /// How far the firm is, when it says so.
    pub status: Option<NoticeStatus>,
    /// The day it came; none means today.
    pub received_on: Option<Date>,
    /// The product in the notice's words: at most 20,000 characters.
    pub product: String,
    /// Why it was sent: at most 20,000 characters.
    pub reason: String,
    /// What names the items, in every line as received: at most [`super::MOST_TEXT`] characters.
    pub text: String,
    /// Codes of products that came beside the text, as written.
    pub also_named: Vec<String>,
}

/// Takes in a notice; it stops nothing before a person has confirmed what it names.
#[derive(Clone, Debug)]
pub struct AddNotice {
    /// What arrived.
    pub notice: NewNotice,
    /// The earlier notice of the same matter, for an update, expansion or change of class.
    pub follows: Option<Uuid>,
}

/// Why a notice is not taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddNoticeRefusal {
    /// A notice of the firm with this reference is on record.
    #[error(
        "notice {id} has this firm and reference; if this is an update, take it in as one of that notice (follows_id)"
    )]
    Known {
        /// That notice.
        id: Uuid,
    },
    /// The very same notice is on record.
    #[error("the same notice is on record as {id}")]
    Same {
        /// That notice.
        id: Uuid,
    },
    /// There is no such earlier notice.
    #[error("there is no such earlier notice")]
    NoSuchNotice,
}

#[derive(Serialize)]
struct Data<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    class: Option<RecallClass>,
    digest: Hash,
    firm: &'a str,
    received_on: String,
    reference: &'a str,
    revision: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    root: Option<Uuid>,
    source: NoticeSource,
    #[serde(skip_serializing_if = "Option::is_none")]
    status: Option<NoticeStatus>,
}

/// What of a notice makes it the same one.
#[derive(Serialize)]
struct Content<'a> {
    also_named: &'a [String],
    class: Option<RecallClass>,
    product: &'a str,
    reason: &'a str,
    status: Option<NoticeStatus>,
    text: &'a str,
}

impl NewNotice {
    /// SHA-256 over what arrived, whoever sent it and whenever.
    pub(super) fn digest(&self) -> Result<Hash, Failure> {
        let content = Content {
            also_named: &self.also_named,
            class: self.class,
            product: &self.product,
            reason: &self.reason,
            status: self.status,
            text: &self.text,
        };
        let bytes = serde_json::to_vec(&content).map_err(|_| Failure::Unfit)?;
        Ok(Hash::of(&bytes))
    }
}

/// Letters and digits in lower case: how firms and references are compared.
pub(super) fn key(text: &str) -> String {
    let plain = text.chars().filter(|c| c.is_alphanumeric());
    let key: String = plain.flat_map(char::to_lowercase).collect();
    // A text of signs alone is its own key.
    if key.is_empty() { text.to_owned() } else { key }
}

impl Operation for AddNotice {
    type Permission = act::AddNotice;
    type Outcome = Notice;
    type Refusal = AddNoticeRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Notice, Refused<AddNoticeRefusal>> {
        let new = &self.notice;
        let digest = new.digest()?;
        let (firm_key, reference_key) = (key(&new.firm), key(&new.reference));
        let known: Vec<(Uuid, Uuid, Vec<u8>)> = notices::table
            .filter(notices::facility_id.eq(writing.facility.id))
            .filter(notices::firm_key.eq(&firm_key))
            .filter(notices::reference_key.eq(&reference_key))
            .order(notices::id)
            .select((notices::id, notices::root_id, notices::digest))
            .load(writing.connection)
            .await?;
        let same = known
            .iter()
            .find(|(_, _, known)| known == digest.as_bytes());
        if let Some((id, ..)) = same {
            return Err(Refused::Because(AddNoticeRefusal::Same { id: *id }));
        }
        let root = self.root(writing).await?;
        let other = known.iter().find(|(_, known, _)| Some(*known) != root);
        if let Some((id, ..)) = other {
            return Err(Refused::Because(AddNoticeRefusal::Known { id: *id }));
        }
        let id = writing.new_id();
        let revision = match root {
            None => 1,
            Some(root) => {
                let last: Option<i32> = notices::table
                    .filter(notices::root_id.eq(root))
                    .select(diesel::dsl::max(notices::revision))
                    .get_result(writing.connection)
                    .await?;
                last.unwrap_or_default() + 1
            }
        };
        let day = new.received_on;
        let received_on = day.unwrap_or_else(|| writing.facility.day(writing.at));
        let row: NoticeRow = diesel::insert_into(notices::table)
            .values((
                notices::facility_id.eq(writing.facility.id),
                notices::id.eq(id),
                notices::root_id.eq(root.unwrap_or(id)),
                notices::revision.eq(revision),
                (notices::firm.eq(&new.firm), notices::firm_key.eq(firm_key)),
                notices::reference.eq(&new.reference),
                notices::reference_key.eq(reference_key),
                notices::class.eq(new.class.map(RecallClass::as_str)),
                notices::source.eq(new.source.as_str()),
                notices::status.eq(new.status.map(NoticeStatus::as_str)),
                notices::received_on.eq(received_on.to_diesel()),
                (
                    notices::product.eq(&new.product),
                    notices::reason.eq(&new.reason),
                ),
                (
                    notices::text.eq(&new.text),
                    notices::also_named.eq(&new.also_named),
                ),
                notices::digest.eq(digest.as_bytes().to_vec()),
                notices::added_by.eq(writing.actor.to_string()),
                notices::added_at.eq(writing.at.to_diesel()),
                notices::state.eq("unconfirmed"),
            ))
            .returning(NoticeRow::as_select())
            .get_result(writing.connection)
            .await?;
        proposals::add(writing, &[(id, proposals::codes(new, received_on))]).await?;
        let data = Data {
            class: new.class,
            digest,
            firm: &new.firm,
            received_on: received_on.to_string(),
            reference: &new.reference,
            revision,
            root,
            source: new.source,
            status: new.status,
        };
        writing.append("add_notice", Subject::new("notice", id), &data)?;
        let notice = Notice::try_from(row)?;
        told::of(writing, OutboxEvent::NoticeAdded, &notice).await?;
        Ok(notice)
    }
}

impl AddNotice {
    /// The first notice of the matter, for an update.
    async fn root(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Option<Uuid>, Refused<AddNoticeRefusal>> {
        let Some(follows) = self.follows else {
            return Ok(None);
        };
        let root: Option<Uuid> = notices::table
            .find(follows)
            .select(notices::root_id)
            .first(writing.connection)
            .await
            .optional()?;
        match root {
            Some(root) => Ok(Some(root)),
            None => Err(Refused::Because(AddNoticeRefusal::NoSuchNotice)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn firms_and_references_are_compared_by_letters_and_digits() {
        assert_eq!(key("Acme Example, Inc."), key("ACME EXAMPLE INC"));
        assert_eq!(key("Z-0053-2020"), "z00532020");
        assert_eq!(key("---"), "---");
    }
}
