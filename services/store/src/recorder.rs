//! The one door for writes.
//!
//! Every change of state is an [`Operation`] or a scan. One writer per facility takes whatever
//! waits, applies it, appends the ledger entries it caused, and commits all of it together; only
//! then does it answer, with the position and hash of the entry. If the ledger cannot be written,
//! nothing is (NIST SP 800-53, AU-5).
//!
//! A commit succeeds only from the head it was prepared at. So facts read at that head are
//! exact without any lock, the writer may keep them for as long as nobody else moves the head, and
//! a second service process that lost the race writes nothing, reloads and tries again.

mod answers;
pub(crate) mod batch;
mod columns;
mod job;
mod operations;
mod scan;
mod scans;
pub(crate) mod statement;
mod world;
mod writer;
mod writing;

pub use job::{Failure, Operation, Refused};
pub use scan::{NewScan, ScanOutcome, ScanRefusal, UsePlaced};
pub use writing::Writing;
pub(crate) use writing::{Commitments, Subject};

use crate::database::{Database, StoreError};
use crate::facilities::{self, Facility};
use crate::sealing::Key;
use job::{Queued, ScanJob, Waiting};
use lotwarden_domain::Clock;
use lotwarden_domain::access::{Grant, act};
use lotwarden_ledger::Hash;
use std::collections::HashMap;
use std::sync::{Arc, PoisonError};
use tokio::runtime::Runtime;
use tokio::sync::{Mutex, mpsc, oneshot};
use uuid::Uuid;

/// Waiting requests beyond this are turned away: a writer that is so far behind is not catching up.
const QUEUE: usize = 4_096;

/// Where an entry stands in the ledger: the proof that the service answered it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Receipt {
    /// The entry's position, from 0.
    pub position: u64,
    /// The entry's hash.
    pub hash: Hash,
}

/// How a request asks to be recorded.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The caller's idempotency key and the SHA-256 of what it was sent with.
    pub key: Option<(String, [u8; 32])>,
    /// The station the request came from.
    pub station: Option<Uuid>,
}

/// A rendered answer, kept with its request's key in the commit it speaks of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rendered {
    /// The HTTP status.
    pub status: u16,
    /// The body's bytes.
    pub body: Vec<u8>,
    /// The entity tag, without quotes.
    pub etag: Option<String>,
}

/// What the caller gets once the commit is durable.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The answer.
    pub rendered: Rendered,
    /// Whether it is the kept answer to an earlier request with the same key.
    pub replayed: bool,
}

/// Why nothing was recorded.
#[derive(Debug, thiserror::Error)]
pub enum RecordError<R: std::error::Error> {
    /// The operation's own reason.
    #[error("refused")]
    Refused(#[source] R),
    /// The key was used before for another request.
    #[error("the idempotency key was used before for another request")]
    KeyReused,
    /// Too many requests wait already; nothing of this one was kept.
    #[error("too many requests wait for the ledger")]
    Busy,
    /// The ledger cannot be written now; nothing of this request was kept.
    #[error("the ledger cannot be written")]
    Unavailable,
}

/// The recorder of every facility this process serves.
pub struct Recorder {
    shared: Arc<Shared>,
    runtime: Option<Runtime>,
    writers: Mutex<HashMap<Uuid, mpsc::Sender<Queued>>>,
}

pub(crate) struct Shared {
    pub(crate) database: Database,
    pub(crate) master: Key,
    pub(crate) clock: Arc<dyn Clock>,
}

impl std::fmt::Debug for Recorder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Recorder").finish_non_exhaustive()
    }
}

impl Recorder {
    /// Starts a recorder with threads of its own.
    ///
    /// # Errors
    /// When the threads cannot be started.
    pub fn start(database: Database, master: Key, clock: Arc<dyn Clock>) -> std::io::Result<Self> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .thread_name("recorder")
            .enable_all()
            .build()?;
        let shared = Arc::new(Shared {
            database,
            master,
            clock,
        });
        Ok(Self {
            shared,
            runtime: Some(runtime),
            writers: Mutex::default(),
        })
    }

    /// Records an operation: applies it and commits it with its ledger entries, or nothing.
    ///
    /// `render` makes the answer from the outcome and the receipt of the operation's last entry,
    /// before the commit, so that the answer is kept with it.
    ///
    /// # Errors
    /// [`RecordError`]; nothing was recorded then.
    pub async fn record<O: Operation>(
        &self,
        grant: &Grant<O::Permission>,
        request: Request,
        operation: O,
        render: impl Fn(&O::Outcome, Receipt) -> Rendered + Send + Sync + 'static,
    ) -> Result<Answer, RecordError<O::Refusal>> {
        let (tell, told) = oneshot::channel();
        let waiting = Waiting::new(grant.actor().clone(), request);
        let job = job::OperationJob::new(waiting, operation, render, tell);
        self.queue(grant.facility(), Queued::Operation(Box::new(job)))
            .await?;
        told.await.unwrap_or(Err(RecordError::Unavailable))
    }

    /// Records an operation whose answer is never kept, and gives its outcome with the receipt of
    /// its last entry once the commit is durable: what is made of it holds no other write up.
    ///
    /// # Errors
    /// [`RecordError`]; nothing was recorded then.
    pub async fn look<O>(
        &self,
        grant: &Grant<O::Permission>,
        operation: O,
    ) -> Result<(O::Outcome, Receipt), RecordError<O::Refusal>>
    where
        O: Operation,
        O::Outcome: Clone + Sync,
    {
        let seen = Arc::new(std::sync::Mutex::new(None));
        let slot = Arc::clone(&seen);
        // A batch that is tried again renders again; the last one was committed.
        let render = move |outcome: &O::Outcome, receipt| {
            let mut slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
            *slot = Some((outcome.clone(), receipt));
            Rendered {
                status: 200,
                body: Vec::new(),
                etag: None,
            }
        };
        let request = Request::default();
        self.record(grant, request, operation, render).await?;
        let seen = seen.lock().unwrap_or_else(PoisonError::into_inner).take();
        seen.ok_or(RecordError::Unavailable)
    }

    /// Records one scan: the reading, its verdict, and what it put on the case.
    ///
    /// # Errors
    /// [`RecordError`]; nothing was recorded then.
    pub async fn record_scan(
        &self,
        grant: &Grant<act::RecordScan>,
        request: Request,
        scan: NewScan,
        render: impl Fn(&ScanOutcome, Receipt) -> Rendered + Send + Sync + 'static,
    ) -> Result<Answer, RecordError<ScanRefusal>> {
        let (tell, told) = oneshot::channel();
        let waiting = Waiting::new(grant.actor().clone(), request);
        let job = ScanJob {
            waiting,
            scan,
            render: Box::new(render),
            tell,
        };
        self.queue(grant.facility(), Queued::Scan(Box::new(job)))
            .await?;
        told.await.unwrap_or(Err(RecordError::Unavailable))
    }

    /// The facility's settings that a request needs before it is recorded.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::Unfit`] when there is no such facility.
    pub async fn facility(&self, facility: Uuid) -> Result<Facility, StoreError> {
        facilities::show(&self.shared.database, facility).await
    }

    /// The clock every record is stamped with.
    #[must_use]
    pub fn clock(&self) -> &dyn Clock {
        self.shared.clock.as_ref()
    }

    /// The database the recorder writes to.
    #[must_use]
    pub fn database(&self) -> &Database {
        &self.shared.database
    }

    /// The master key.
    #[must_use]
    pub fn master(&self) -> &Key {
        &self.shared.master
    }

    /// Takes no more requests, and returns when every accepted one is answered.
    pub async fn drain(&self) {
        let writers = std::mem::take(&mut *self.writers.lock().await);
        for sender in writers.into_values() {
            let (tell, told) = oneshot::channel();
            let _ = sender.send(Queued::Fence(tell)).await;
            let _ = told.await;
        }
    }

    async fn queue<R: std::error::Error>(
        &self,
        facility: Uuid,
        queued: Queued,
    ) -> Result<(), RecordError<R>> {
        let sender = self
            .writer(facility)
            .await
            .ok_or(RecordError::Unavailable)?;
        sender.try_send(queued).map_err(|refused| match refused {
            mpsc::error::TrySendError::Full(_) => RecordError::Busy,
            mpsc::error::TrySendError::Closed(_) => RecordError::Unavailable,
        })
    }

    async fn writer(&self, facility: Uuid) -> Option<mpsc::Sender<Queued>> {
        let mut writers = self.writers.lock().await;
        if let Some(sender) = writers.get(&facility) {
            return Some(sender.clone());
        }
        let (sender, queue) = mpsc::channel(QUEUE);
        let writer = writer::Writer::new(Arc::clone(&self.shared), facility);
        self.runtime.as_ref()?.spawn(writer.run(queue));
        writers.insert(facility, sender.clone());
        Some(sender)
    }
}

impl Drop for Recorder {
    fn drop(&mut self) {
        if let Some(runtime) = self.runtime.take() {
            runtime.shutdown_background();
        }
    }
}
