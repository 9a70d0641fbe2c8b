//! What waits for a writer.

use super::scan::{NewScan, ScanOutcome, ScanRefusal};
use super::writing::Writing;
use super::{Answer, Receipt, RecordError, Rendered, Request};
use futures_util::FutureExt;
use futures_util::future::BoxFuture;
use lotwarden_domain::access::{Actor, Permission};
use lotwarden_ledger::{AppendFault, ProfileFault};
use sha2::{Digest, Sha256};
use std::future::Future;
use tokio::sync::oneshot;
use uuid::Uuid;

/// One change of state: data that can be applied, more than once if a commit is lost to another
/// process.
pub trait Operation: Send + Sync + 'static {
    /// What the caller must be granted.
    type Permission: Permission;
    /// What came of it, for the answer.
    type Outcome: Send + Sync + 'static;
    /// Why the operation itself can say no.
    type Refusal: std::error::Error + Send + 'static;

    /// Makes the change and appends at least one entry.
    fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> impl Future<Output = Result<Self::Outcome, Refused<Self::Refusal>>> + Send;
}

/// Why applying an operation ended.
#[derive(Debug)]
pub enum Refused<R> {
    /// The operation's own reason; the caller is told.
    Because(R),
    /// Anything else; the caller is told that nothing was recorded, and the cause is logged.
    Failed(Failure),
}

/// What keeps a commit from being made.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The database.
    #[error("the database failed")]
    Database(#[from] diesel::result::Error),
    /// The database could not be reached.
    #[error("the store failed")]
    Store(#[from] crate::database::StoreError),
    /// An entry's data is outside the ledger's profile.
    #[error("an entry cannot be written in canonical form")]
    Profile(#[from] ProfileFault),
    /// An entry could not follow the head.
    #[error("an entry cannot be appended")]
    Append(#[from] AppendFault),
    /// Sealing.
    #[error("sealing failed")]
    Seal(#[from] crate::sealing::SealError),
    /// A stored row does not fit.
    #[error("a stored row does not fit this version of the service")]
    Unfit,
    /// Another process moved the head first.
    #[error("another process moved the ledger's head first")]
    HeadMoved,
    /// An operation's commit did not come back; whether it stands is not known, so it is not
    /// acknowledged and not repeated. The caller's key finds out.
    #[error("a commit did not come back")]
    Unsure(#[source] diesel::result::Error),
}

impl Failure {
    /// Whether trying again at once is wrong or useless: the commit may stand, or there is no
    /// database to try on. The caller's key settles it later.
    pub(crate) fn is_final(&self) -> bool {
        use crate::database::StoreError::{Exhausted, Unreachable};
        matches!(
            self,
            Self::Unsure(_) | Self::Store(Unreachable(_) | Exhausted)
        )
    }
}

impl<R, E: Into<Failure>> From<E> for Refused<R> {
    fn from(error: E) -> Self {
        Self::Failed(error.into())
    }
}

/// What every waiting request carries.
pub(crate) struct Waiting {
    pub(crate) actor: Actor,
    pub(crate) caller: String,
    pub(crate) request: Request,
}

impl Waiting {
    pub(crate) fn new(actor: Actor, request: Request) -> Self {
        let caller = actor.to_string();
        Self {
            actor,
            caller,
            request,
        }
    }

    /// What the request's answer is kept under, the first 128 bits of SHA-256 over facility, caller
    /// and key, with the fingerprint of what it was sent with; none without a key.
    pub(crate) fn kept_under(&self, facility: Uuid) -> Option<(Uuid, &[u8; 32])> {
        let (key, fingerprint) = self.request.key.as_ref()?;
        let digest = Sha256::new()
            .chain_update(facility)
            .chain_update(&self.caller)
            .chain_update([0])
            .chain_update(key)
            .finalize();
        let (request, _) = digest.split_first_chunk()?;
        Some((Uuid::from_bytes(*request), fingerprint))
    }
}

pub(crate) enum Queued {
    Scan(BoxedScan),
    Operation(Box<dyn Job>),
    /// Answered when everything queued before it is.
    Fence(oneshot::Sender<()>),
}

pub(crate) type RenderScan = Box<dyn Fn(&ScanOutcome, Receipt) -> Rendered + Send + Sync>;

/// A scan that waits; boxed, because it is handed on from the queue to its batch.
pub(crate) type BoxedScan = Box<ScanJob>;

pub(crate) struct ScanJob {
    pub(crate) waiting: Waiting,
    pub(crate) scan: NewScan,
    pub(crate) render: RenderScan,
    pub(crate) tell: oneshot::Sender<Result<Answer, RecordError<ScanRefusal>>>,
}

/// An operation whose types are known to its caller only.
pub(crate) trait Job: Send {
    fn waiting(&self) -> &Waiting;
    /// Applies and renders; `None` when the operation refused, which it keeps to tell.
    fn apply<'a>(
        &'a mut self,
        writing: &'a mut Writing<'_>,
    ) -> BoxFuture<'a, Result<Option<Rendered>, Failure>>;
    /// Tells the caller; a refusal kept by [`Self::apply`] goes before `end`.
    fn finish(self: Box<Self>, end: End);
}

/// How a job ended.
pub(crate) enum End {
    Answer(Answer),
    KeyReused,
    Unavailable,
    /// The operation refused and says why itself.
    Refused,
}

pub(crate) struct OperationJob<O: Operation, F> {
    waiting: Waiting,
    operation: O,
    render: F,
    refusal: Option<O::Refusal>,
    tell: oneshot::Sender<Result<Answer, RecordError<O::Refusal>>>,
}

impl<O: Operation, F> OperationJob<O, F> {
    pub(crate) fn new(
        waiting: Waiting,
        operation: O,
        render: F,
        tell: oneshot::Sender<Result<Answer, RecordError<O::Refusal>>>,
    ) -> Self {
        Self {
            waiting,
            operation,
            render,
            refusal: None,
            tell,
        }
    }
}

impl<O, F> Job for OperationJob<O, F>
where
    O: Operation,
    F: Fn(&O::Outcome, Receipt) -> Rendered + Send,
{
    fn waiting(&self) -> &Waiting {
        &self.waiting
    }

    fn apply<'a>(
        &'a mut self,
        writing: &'a mut Writing<'_>,
    ) -> BoxFuture<'a, Result<Option<Rendered>, Failure>> {
        let Self {
            operation,
            render,
            refusal,
            ..
        } = self;
        let operation: &O = operation;
        async move {
            *refusal = None;
            match operation.apply(writing).await {
                Ok(outcome) => {
                    let receipt = writing.last_receipt().ok_or(Failure::Unfit)?;
                    Ok(Some(render(&outcome, receipt)))
                }
                Err(Refused::Because(reason)) => {
                    *refusal = Some(reason);
                    Ok(None)
                }
                Err(Refused::Failed(failure)) => Err(failure),
            }
        }
        .boxed()
    }

    fn finish(self: Box<Self>, end: End) {
        let told = match (end, self.refusal) {
            (End::Refused, Some(reason)) => Err(RecordError::Refused(reason)),
            (End::Answer(answer), _) => Ok(answer),
            (End::KeyReused, _) => Err(RecordError::KeyReused),
            (End::Unavailable | End::Refused, _) => Err(RecordError::Unavailable),
        };
        // The caller may have gone; what was committed stays committed and its key replays it.
        let _ = self.tell.send(told);
    }
}

/// The station's id as the ledger writes it.
pub(crate) fn station_text(station: Option<Uuid>) -> Option<String> {
    station.map(|id| id.to_string())
}
