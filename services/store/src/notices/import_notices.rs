//! Taking in a stretch of an authority's recall records.

mod standing;

use super::add_notice::key;
use super::list_notices::IN_CATALOGUE;
use super::{NewNotice, proposals};
use crate::recorder::{Failure, Operation, Refused, Subject, Writing};
use crate::schema::notices;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::Bool;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::import::{NoticeRecord, NoticeStatus, RecallClass};
use lotwarden_domain::notices::NoticeSource;
use lotwarden_ledger::Hash;
use serde::{Deserialize, Serialize};
use standing::Standing;
use uuid::Uuid;

/// Records that one operation takes in at most, so that other writes wait for it only shortly.
pub const MOST_NOTICES: usize = 250;

/// Takes in a stretch of a file of recall records as unconfirmed notices. A record that is on
/// record as it stands changes nothing; one that says something else is an update under the first.
#[derive(Clone, Debug)]
pub struct ImportNotices {
    /// The records in the order of the file; 1 to [`MOST_NOTICES`].
    pub records: Vec<NoticeRecord>,
    /// SHA-256 of the whole file, in lower-case hexadecimal digits.
    pub file_sha256: String,
}

/// What came of a stretch of a file.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ImportedNotices {
    /// Notices that are new.
    pub added: usize,
    /// Updates of notices that were on record.
    pub updated: usize,
    /// Records that were on record as they stand.
    pub unchanged: usize,
    /// Of those taken in, the ones in which a code of a product of this catalogue was found.
    pub in_catalogue: i64,
}

/// Nothing refuses a stretch as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ImportNoticesRefusal {}

#[derive(Serialize)]
struct Data<'a> {
    added: usize,
    /// SHA-256 over the digest of each notice taken in, in their order.
    digest: Hash,
    file_sha256: &'a str,
    first_line: u64,
    last_line: u64,
    unchanged: usize,
    updated: usize,
}

/// A record that is taken in.
struct New {
    id: Uuid,
    root: Uuid,
    revision: i32,
    notice: NewNotice,
    keys: (String, String),
    digest: Hash,
    terminated_on: Option<jiff::civil::Date>,
}

impl Operation for ImportNotices {
    type Permission = act::AddNotice;
    type Outcome = ImportedNotices;
    type Refusal = ImportNoticesRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<ImportedNotices, Refused<ImportNoticesRefusal>> {
        let mut incoming = Vec::with_capacity(self.records.len());
        for record in &self.records {
            let notice = notice_of(record);
            let keys = (key(&notice.firm), key(&notice.reference));
            let digest = notice.digest()?;
            incoming.push((record, notice, keys, digest));
        }
        let keys = incoming.iter().map(|(_, _, keys, _)| keys);
        let mut standing = Standing::load(writing.connection, writing.facility.id, keys).await?;
        let mut outcome = ImportedNotices::default();
        let mut news = Vec::new();
        for (record, notice, keys, digest) in incoming {
            let id = writing.new_id();
            let Some((root, revision)) = standing.place(&keys, digest, id) else {
                outcome.unchanged += 1;
                continue;
            };
            match revision {
                1 => outcome.added += 1,
                _ => outcome.updated += 1,
            }
            news.push(New {
                id,
                root,
                revision,
                notice,
                keys,
                digest,
                terminated_on: record.terminated_on,
            });
        }
        insert(writing, &news).await?;
        outcome.in_catalogue = notices::table
            .filter(notices::id.eq_any(news.iter().map(|new| new.id)))
            .filter(sql::<Bool>(IN_CATALOGUE))
            .count()
            .get_result(writing.connection)
            .await?;
        let digests: Vec<u8> = news.iter().flat_map(|new| *new.digest.as_bytes()).collect();
        let data = Data {
            added: outcome.added,
            digest: Hash::of(&digests),
            file_sha256: &self.file_sha256,
            first_line: self
                .records
                .as_slice()
                .first()
                .map_or(0, |record| record.line),
            last_line: self
                .records
                .as_slice()
                .last()
                .map_or(0, |record| record.line),
            unchanged: outcome.unchanged,
            updated: outcome.updated,
        };
        let subject = Subject::new("import", writing.new_id());
        writing.append("import_notices", subject, &data)?;
        Ok(outcome)
    }
}

async fn insert(writing: &mut Writing<'_>, news: &[New]) -> Result<(), Failure> {
    if news.is_empty() {
        return Ok(());
    }
    let today = writing.facility.day(writing.at);
    let rows: Vec<_> = news
        .iter()
        .map(|new| {
            let notice = &new.notice;
            (
                notices::facility_id.eq(writing.facility.id),
                (notices::id.eq(new.id), notices::root_id.eq(new.root)),
                notices::revision.eq(new.revision),
                (
                    notices::firm.eq(&notice.firm),
                    notices::firm_key.eq(&new.keys.0),
                ),
                notices::reference.eq(&notice.reference),
                notices::reference_key.eq(&new.keys.1),
                notices::class.eq(notice.class.map(RecallClass::as_str)),
                notices::source.eq(notice.source.as_str()),
                notices::status.eq(notice.status.map(NoticeStatus::as_str)),
                notices::received_on.eq(today.to_diesel()),
                (
                    notices::product.eq(&notice.product),
                    notices::reason.eq(&notice.reason),
                ),
                (
                    notices::text.eq(&notice.text),
                    notices::also_named.eq(&notice.also_named),
                ),
                notices::digest.eq(new.digest.as_bytes().to_vec()),
                notices::added_by.eq(writing.actor.to_string()),
                notices::added_at.eq(writing.at.to_diesel()),
                notices::state.eq("unconfirmed"),
                notices::terminated_on.eq(crate::moment::date(new.terminated_on)),
            )
        })
        .collect();
    diesel::insert_into(notices::table)
        .values(&rows)
        .execute(writing.connection)
        .await?;
    let found = news
        .iter()
        .map(|new| (new.id, proposals::codes(&new.notice, today)));
    proposals::add(writing, &found.collect::<Vec<_>>()).await
}

/// A record as a notice. Records of before 2012 have no number in openFDA: the recall and a digest
/// of what they say stand for it, so that the same record is recognised.
fn notice_of(record: &NoticeRecord) -> NewNotice {
    let reference = record.recall_number.clone().unwrap_or_else(|| {
        let recall = record.event_id.as_deref().unwrap_or("without number");
        let said = Hash::of(format!("{}\n{}", record.product, record.codes).as_bytes());
        let said: String = said.to_string().chars().take(12).collect();
        let recall: String = recall.chars().take(60).collect();
        format!("recall {recall}, record {said}")
    });
    let known = record.identifiers.iter().map(ToString::to_string);
    NewNotice {
        firm: record.firm.clone(),
        reference,
        class: record.class,
        source: NoticeSource::Feed,
        status: record.status,
        received_on: None,
        product: record.product.clone(),
        reason: record.reason.clone(),
        text: record.codes.clone(),
        also_named: known.chain(record.unresolved.iter().cloned()).collect(),
    }
}
