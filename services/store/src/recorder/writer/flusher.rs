//! Makes committed scans durable, and only then tells their callers.
//!
//! The writer commits without waiting for the disk (`synchronous_commit = off`), so that the next
//! batch is written meanwhile. One transaction of the flusher's own that does wait makes everything
//! before it in the write-ahead log durable, here and on a synchronous standby.

use super::retries::{Told, give_up_told, tell};
use crate::database::Database;
use crate::recorder::job::Failure;
use diesel_async::{AsyncPgConnection, SimpleAsyncConnection};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use tokio::sync::{mpsc, oneshot};
use uuid::Uuid;

/// Batches that wait for the disk at most, before the writer waits too.
const WAITING: usize = 256;

/// A transaction that writes a mark to the log; its commit returns when the log is on disk up to it.
pub(crate) const FLUSH: &str = "SELECT pg_logical_emit_message(true, '', '')";

enum Committed {
    Scans(Told),
    Fence(oneshot::Sender<()>),
}

/// The writer's end.
pub(super) struct Flusher {
    sender: mpsc::Sender<Committed>,
    scans: Arc<AtomicUsize>,
}

impl Flusher {
    /// Starts the flusher of a facility's writer; it ends with this end.
    pub(super) fn start(database: Database, facility: Uuid) -> Self {
        let (sender, receiver) = mpsc::channel(WAITING);
        let scans = Arc::new(AtomicUsize::new(0));
        tokio::spawn(flush(database, facility, receiver, Arc::clone(&scans)));
        Self { sender, scans }
    }

    /// Committed scans whose callers are not told yet.
    pub(super) fn scans(&self) -> usize {
        self.scans.load(Ordering::Relaxed)
    }

    /// Tells the callers once what was committed so far is durable.
    pub(super) async fn tell(&self, told: Told) {
        if !told.is_empty() {
            self.scans.fetch_add(told.len(), Ordering::Relaxed);
            let _ = self.sender.send(Committed::Scans(told)).await;
        }
    }

    /// Answers the fence after everything before it.
    pub(super) async fn fence(&self, fence: oneshot::Sender<()>) {
        let _ = self.sender.send(Committed::Fence(fence)).await;
    }
}

async fn flush(
    database: Database,
    facility: Uuid,
    mut receiver: mpsc::Receiver<Committed>,
    scans: Arc<AtomicUsize>,
) {
    let mut connection = None;
    let mut waiting = Vec::new();
    while receiver.recv_many(&mut waiting, WAITING).await > 0 {
        let mut told = Told::new();
        let mut fences = Vec::new();
        for committed in waiting.drain(..) {
            match committed {
                Committed::Scans(more) => told.extend(more),
                Committed::Fence(fence) => fences.push(fence),
            }
        }
        if !told.is_empty() {
            let durable = once(&database, facility, &mut connection).await;
            scans.fetch_sub(told.len(), Ordering::Relaxed);
            match durable {
                Ok(()) => tell(told),
                Err(failure) => {
                    connection = None;
                    give_up_told(told, &failure);
                }
            }
        }
        for fence in fences {
            let _ = fence.send(());
        }
    }
}

async fn once(
    database: &Database,
    facility: Uuid,
    connection: &mut Option<AsyncPgConnection>,
) -> Result<(), Failure> {
    let open = match connection {
        Some(open) => open,
        None => connection.insert(database.connect(facility).await?),
    };
    open.batch_execute(FLUSH).await.map_err(Failure::Unsure)
}
