//! Closing a notice with two signatures.

use super::super::{Notice, NoticeRow, told};
use super::WorkRefusal;
use super::events::{self, About, Signature};
use super::show_work::{self, Work};
use super::signer::signer;
use crate::recorder::{Failure, Operation, Refused, Writing};
use crate::schema::{notice_tasks, notices};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::{NoticeState, TaskKind, TaskState};
use lotwarden_domain::outbox::OutboxEvent;
use lotwarden_ledger::Hash;
use serde::Serialize;
use uuid::Uuid;

/// Signs the record of a notice as it stands; the second person's signature under the same record
/// closes it. The caller proved the signer's secret again just before (21 CFR 11.200).
#[derive(Clone, Debug)]
pub struct CloseNotice {
    /// The notice.
    pub notice: Uuid,
    /// The version the signer read.
    pub version: i32,
    /// What signing means: 1 to 200 characters.
    pub meaning: String,
}

/// What came of a signature.
#[derive(Clone, Debug)]
pub struct Closed {
    /// The notice; still open after the first signature.
    pub notice: Notice,
    /// The signature.
    pub signature: Signature,
    /// Signatures under this record.
    pub signatures: usize,
}

/// The record that is signed.
#[derive(Serialize)]
struct Record<'a> {
    events: Vec<Event<'a>>,
    lots: Vec<Lot>,
    notice: Uuid,
    patients: usize,
}

#[derive(Serialize)]
struct Event<'a> {
    actor: &'a str,
    id: Uuid,
    kind: &'a str,
}

#[derive(Serialize)]
struct Lot {
    lot: Uuid,
    received: u64,
    unaccounted: Option<i64>,
}

impl Operation for CloseNotice {
    type Permission = act::CloseNotice;
    type Outcome = Closed;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Closed, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        let version: i32 = notices::table
            .find(root)
            .select(notices::version)
            .first(writing.connection)
            .await?;
        if version != self.version {
            return Err(Refused::Because(WorkRefusal::Stale));
        }
        let (person, name) = signer(writing).await?;
        let facility = writing.facility.id;
        let work = show_work::of(writing.connection, facility, root).await?;
        ready(&work).map_err(Refused::Because)?;
        let record_hash = hash(&work)?.to_string();
        let before = work.signatures.iter();
        let before: Vec<_> = before
            .filter(|one| one.record_hash == record_hash)
            .collect();
        if before.iter().any(|one| one.person == person) {
            return Err(Refused::Because(WorkRefusal::SecondPerson));
        }
        let signatures = before.len() + 1;
        let signature = Signature {
            meaning: self.meaning.clone(),
            name,
            person,
            record_hash,
        };
        let kinds = ("close_notice", "signature");
        events::record(writing, root, kinds, About::Notice, &signature).await?;
        if signatures > 1 {
            close(writing, root, version).await?;
        }
        let row: NoticeRow = notices::table
            .find(root)
            .select(NoticeRow::as_select())
            .first(writing.connection)
            .await?;
        let notice = Notice::try_from(row)?;
        if notice.state == NoticeState::Closed {
            told::of(writing, OutboxEvent::NoticeClosed, &notice).await?;
        }
        Ok(Closed {
            notice,
            signature,
            signatures,
        })
    }
}

/// Nothing but the closing is left to do.
fn ready(work: &Work) -> Result<(), WorkRefusal> {
    let open = work
        .tasks
        .iter()
        .filter(|task| task.state == TaskState::Open);
    if open.into_iter().any(|task| task.kind != TaskKind::Closing) {
        return Err(WorkRefusal::TasksOpen);
    }
    if work
        .patients
        .iter()
        .any(|patient| patient.decision.is_none())
    {
        return Err(WorkRefusal::NotReviewed);
    }
    if work.lots.iter().all(super::LotIdentity::settled) {
        Ok(())
    } else {
        Err(WorkRefusal::NotReconciled)
    }
}

/// The digest of everything that was done; signatures are left out of what they sign.
fn hash(work: &Work) -> Result<Hash, Failure> {
    let done = work.events.iter().filter(|event| event.kind != "signature");
    let record = Record {
        events: done
            .map(|event| Event {
                actor: &event.actor,
                id: event.id,
                kind: &event.kind,
            })
            .collect(),
        lots: work
            .lots
            .iter()
            .map(|lot| Lot {
                lot: lot.lot,
                received: lot.received,
                unaccounted: lot.unaccounted(),
            })
            .collect(),
        notice: work.notice,
        patients: work.patients.len(),
    };
    let bytes = serde_json::to_vec(&record).map_err(|_| Failure::Unfit)?;
    Ok(Hash::of(&bytes))
}

async fn close(writing: &mut Writing<'_>, root: Uuid, version: i32) -> Result<(), Failure> {
    diesel::update(notices::table.find(root))
        .set((
            notices::state.eq(NoticeState::Closed.as_str()),
            notices::version.eq(version + 1),
        ))
        .execute(writing.connection)
        .await?;
    let closing = notice_tasks::table
        .filter(notice_tasks::notice_id.eq(root))
        .filter(notice_tasks::kind.eq(TaskKind::Closing.as_str()));
    diesel::update(closing)
        .set((
            notice_tasks::state.eq(TaskState::Done.as_str()),
            notice_tasks::ended_by.eq(writing.actor.to_string()),
            notice_tasks::ended_at.eq(writing.at.to_diesel()),
            notice_tasks::version.eq(notice_tasks::version + 1),
        ))
        .execute(writing.connection)
        .await?;
    Ok(())
}
