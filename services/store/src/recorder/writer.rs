//! The one writer of a facility's ledger in this process: takes what waits, commits it, answers.

mod commit;
mod pipeline;
mod prepared;
mod retries;
mod teller;

use super::Shared;
use super::job::{BoxedScan, End, Failure, Job, Queued};
use super::operations;
use super::world::World;
use crate::facilities::{self, Facility};
use crate::sealing::Key;
use diesel_async::{AsyncPgConnection, SimpleAsyncConnection};
use lotwarden_domain::Causes;
use lotwarden_ledger::Head;
use std::sync::Arc;
use teller::Teller;
use tokio::sync::{mpsc, oneshot};
use uuid::Uuid;

/// Requests in one batch at most.
const BATCH: usize = 256;
/// Batches sent and not back yet at most.
const DEPTH: usize = 2;

pub(crate) struct Writer {
    shared: Arc<Shared>,
    id: Uuid,
    open: Option<Open>,
    teller: Teller,
}

/// Live connections and what is known over them.
struct Open {
    /// Commits; one statement after the other.
    connection: AsyncPgConnection,
    /// Reads the facts of the next batch while this one commits.
    reader: AsyncPgConnection,
    facility: Facility,
    key: Key,
    /// The head and the facts read at it; kept while nobody else moves the head.
    known: Option<(Head, World)>,
}

/// What was taken from the queue and is not done yet.
#[derive(Default)]
struct Taken {
    scans: Vec<BoxedScan>,
    operations: Vec<Box<dyn Job>>,
    fences: Vec<oneshot::Sender<()>>,
}

impl Taken {
    fn is_empty(&self) -> bool {
        self.scans.is_empty() && !self.others()
    }

    /// Whether anything but scans was taken.
    fn others(&self) -> bool {
        !self.operations.is_empty() || !self.fences.is_empty()
    }

    /// Waits for whatever waits, up to `most`; false when nothing will come any more.
    async fn take(&mut self, queue: &mut mpsc::Receiver<Queued>, most: usize) -> bool {
        let mut waiting = Vec::new();
        let count = queue.recv_many(&mut waiting, most).await;
        for queued in waiting {
            match queued {
                Queued::Scan(job) => self.scans.push(job),
                Queued::Operation(job) => self.operations.push(job),
                Queued::Fence(tell) => self.fences.push(tell),
            }
        }
        count > 0
    }
}

impl Writer {
    /// Prepares a writer; inside the recorder's runtime.
    pub(crate) fn new(shared: Arc<Shared>, id: Uuid) -> Self {
        Self {
            shared,
            id,
            open: None,
            teller: Teller::start(),
        }
    }

    /// Works until every sender is gone and the queue is empty.
    pub(crate) async fn run(mut self, mut queue: mpsc::Receiver<Queued>) {
        let mut taken = Taken::default();
        while !taken.is_empty() || taken.take(&mut queue, BATCH).await {
            let mut jobs = std::mem::take(&mut taken.operations);
            while !jobs.is_empty() {
                let rest = jobs.split_off(jobs.len().min(operations::MOST));
                self.operations(std::mem::replace(&mut jobs, rest)).await;
            }
            let fences = std::mem::take(&mut taken.fences);
            if !taken.scans.is_empty() {
                self.pipeline(&mut taken, &mut queue).await;
            }
            for fence in fences {
                self.teller.fence(fence);
            }
        }
    }

    async fn open(&mut self) -> Result<&mut Open, Failure> {
        if self.open.is_none() {
            let facility = facilities::show(&self.shared.database, self.id).await?;
            let key = facility.key(&self.shared.master)?;
            let mut connection = self.shared.database.connect(self.id).await?;
            let mut reader = self.shared.database.connect(self.id).await?;
            // Plans are made once, some while a table is empty: every look-up goes by its key, in the
            // order written (world/load.rs).
            for one in [&mut connection, &mut reader] {
                one.batch_execute(
                    "SET plan_cache_mode = force_generic_plan; SET enable_seqscan = off",
                )
                .await?;
            }
            // A commit returns when it is durable, whatever the server's own setting.
            connection
                .batch_execute("SET synchronous_commit = on")
                .await?;
            self.open = Some(Open {
                connection,
                reader,
                facility,
                key,
                known: None,
            });
        }
        self.open.as_mut().ok_or(Failure::Unfit)
    }

    /// Ends a failed transaction; connections that cannot do even that are given up. What was
    /// known is read again in any case.
    async fn recover(&mut self) {
        let Some(mut open) = self.open.take() else {
            return;
        };
        open.known = None;
        for one in [&mut open.connection, &mut open.reader] {
            if one.batch_execute("ROLLBACK").await.is_err() {
                return;
            }
        }
        self.open = Some(open);
    }

    /// Applies operations together; after a failure each alone, so that one bad request fails
    /// alone. A connection that was lost before the commit is replaced once.
    async fn operations(&mut self, mut jobs: Vec<Box<dyn Job>>) {
        let failure = match self.operations_once(&mut jobs).await {
            Ok(outcomes) => return operations::tell(jobs, outcomes),
            Err(failure) => failure,
        };
        self.recover().await;
        if failure.is_final() {
            return give_up_operations(jobs, &failure);
        }
        tracing::warn!(
            error = %Causes(&failure),
            "operations are tried again one by one"
        );
        for job in jobs {
            let mut alone = vec![job];
            match self.operations_once(&mut alone).await {
                Ok(outcomes) => operations::tell(alone, outcomes),
                Err(failure) => {
                    self.recover().await;
                    give_up_operations(alone, &failure);
                }
            }
        }
    }

    async fn operations_once(
        &mut self,
        jobs: &mut [Box<dyn Job>],
    ) -> Result<Vec<operations::Outcome>, Failure> {
        let now = self.shared.clock.now();
        let open = self.open().await?;
        // Operations change rows behind the kept facts.
        open.known = None;
        operations::together(&mut open.connection, &open.facility, jobs, now).await
    }
}

fn give_up_operations(jobs: Vec<Box<dyn Job>>, failure: &Failure) {
    tracing::error!(
        error = %Causes(failure),
        "an operation was not acknowledged"
    );
    jobs.into_iter()
        .for_each(|job| job.finish(End::Unavailable));
}
