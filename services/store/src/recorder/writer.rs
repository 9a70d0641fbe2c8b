//! The one writer of a facility's ledger in this process: takes what waits, commits it, answers.

use super::batch;
use super::columns::{Statements, Writes};
use super::job::{End, Failure, Job, Queued, ScanJob};
use super::operations;
use super::scans::{Batch, Judged};
use super::world::{self, World};
use super::{RecordError, Shared, answers};
use crate::database::violates;
use crate::facilities::{self, Facility};
use crate::sealing::Key;
use diesel_async::{AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use jiff_diesel::ToDiesel;
use lotwarden_ledger::Head;
use std::error::Error;
use std::sync::Arc;
use tokio::sync::mpsc;
use uuid::Uuid;

/// Requests in one batch at most.
const BATCH: usize = 256;

pub(crate) struct Writer {
    shared: Arc<Shared>,
    id: Uuid,
    open: Option<Open>,
}

/// A live connection and what is known over it.
struct Open {
    connection: AsyncPgConnection,
    facility: Facility,
    key: Key,
    /// The head and the facts read at it; kept while nobody else moves the head.
    known: Option<(Head, World)>,
}

impl Writer {
    pub(crate) fn new(shared: Arc<Shared>, id: Uuid) -> Self {
        Self {
            shared,
            id,
            open: None,
        }
    }

    /// Works until every sender is gone and the queue is empty.
    pub(crate) async fn run(mut self, mut queue: mpsc::Receiver<Queued>) {
        let mut waiting = Vec::with_capacity(BATCH);
        while queue.recv_many(&mut waiting, BATCH).await > 0 {
            let (mut scans, mut jobs, mut fences) = (Vec::new(), Vec::new(), Vec::new());
            for queued in waiting.drain(..) {
                match queued {
                    Queued::Scan(job) => scans.push(*job),
                    Queued::Operation(job) => jobs.push(job),
                    Queued::Fence(tell) => fences.push(tell),
                }
            }
            while !jobs.is_empty() {
                let rest = jobs.split_off(jobs.len().min(operations::MOST));
                self.operations(std::mem::replace(&mut jobs, rest)).await;
            }
            if !scans.is_empty() {
                self.scans(scans).await;
            }
            for fence in fences {
                let _ = fence.send(());
            }
        }
    }

    async fn open(&mut self) -> Result<&mut Open, Failure> {
        if self.open.is_none() {
            let facility = facilities::show(&self.shared.database, self.id).await?;
            let key = facility.key(&self.shared.master)?;
            let mut connection = self.shared.database.connect(self.id).await?;
            // Every look-up of a batch goes by key; a plan made while a table was small would scan it.
            connection
                .batch_execute("SET enable_seqscan = off; SET enable_hashjoin = off; SET enable_mergejoin = off; SET plan_cache_mode = force_generic_plan")
                .await?;
            self.open = Some(Open {
                connection,
                facility,
                key,
                known: None,
            });
        }
        self.open.as_mut().ok_or(Failure::Unfit)
    }

    /// Ends a failed transaction; a connection that cannot do even that is given up. What was
    /// known is read again in any case. Says whether the connection still stands.
    async fn recover(&mut self) -> bool {
        let Some(open) = &mut self.open else {
            return false;
        };
        open.known = None;
        let stands = open.connection.batch_execute("ROLLBACK").await.is_ok();
        if !stands {
            self.open = None;
        }
        stands
    }

    /// Applies operations together; after a failure each alone, so that one bad request fails
    /// alone. A connection that was lost before the commit is replaced once.
    async fn operations(&mut self, mut jobs: Vec<Box<dyn Job>>) {
        let failure = match self.operations_once(&mut jobs).await {
            Ok(outcomes) => return operations::tell(jobs, outcomes),
            Err(failure) => failure,
        };
        self.recover().await;
        if matches!(failure, Failure::Unsure(_)) {
            return give_up_operations(jobs, &failure);
        }
        tracing::warn!(
            error = &failure as &dyn Error,
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

    /// Records scans together; after a failure in halves, down to the one that fails alone.
    async fn scans(&mut self, jobs: Vec<ScanJob>) {
        let mut stack = vec![(jobs, Attempt::First)];
        while let Some((mut jobs, attempt)) = stack.pop() {
            let failure = match self.scans_once(&jobs, attempt).await {
                Ok(judged) => {
                    tell(jobs, judged);
                    continue;
                }
                Err(failure) => failure,
            };
            self.recover().await;
            if is_replay(&failure) && self.replay(&mut jobs).await.unwrap_or(false) {
                stack.push((jobs, attempt));
            } else if matches!(failure, Failure::HeadMoved) && attempt != Attempt::Locked {
                stack.push((jobs, Attempt::Locked));
            } else if matches!(failure, Failure::Unsure(_)) {
                give_up(jobs, &failure);
            } else if attempt == Attempt::First {
                tracing::warn!(
                    error = &failure as &dyn Error,
                    "a batch of scans is tried again"
                );
                stack.push((jobs, Attempt::Second));
            } else if jobs.len() > 1 {
                let half = jobs.split_off(jobs.len() / 2);
                stack.extend([(half, Attempt::Second), (jobs, Attempt::Second)]);
            } else {
                give_up(jobs, &failure);
            }
        }
    }

    async fn scans_once(
        &mut self,
        jobs: &[ScanJob],
        attempt: Attempt,
    ) -> Result<Vec<Judged>, Failure> {
        let at = self.shared.clock.now();
        self.open().await?;
        let Some(Open {
            connection,
            facility,
            key,
            known,
        }) = &mut self.open
        else {
            return Err(Failure::Unfit);
        };
        let locked = attempt == Attempt::Locked;
        if locked {
            // Others wait from here on, so that a slow process is not overtaken for ever.
            connection.batch_execute("BEGIN").await?;
        }
        // Taken out, so that any failure leaves nothing behind that a lost commit has touched.
        let (mut head, mut world) = match known.take() {
            Some((head, world)) if !world.is_full() && !locked => (head, world),
            _ => (
                batch::head(connection, facility.id, locked).await?,
                World::default(),
            ),
        };
        world::load(connection, facility.id, &mut world, jobs).await?;
        let old_size = head.size;
        let mut writes = Writes::default();
        let mut judge = Batch {
            facility,
            facility_key: key,
            world: &mut world,
            head: &mut head,
            writes: &mut writes,
            at,
        };
        let mut judged = Vec::with_capacity(jobs.len());
        for job in jobs {
            judged.push(judge.scan(job)?);
        }
        if head.size > old_size {
            let statements = writes.statements(old_size, &head, at.to_diesel());
            commit(connection, statements, locked).await?;
        } else if locked {
            connection.batch_execute("ROLLBACK").await?;
        }
        *known = Some((head, world));
        Ok(judged)
    }

    /// Answers the jobs whose keys were answered before and leaves the rest in `jobs`; says whether
    /// that explains the failure.
    async fn replay(&mut self, jobs: &mut Vec<ScanJob>) -> Result<bool, Failure> {
        let all = jobs.len();
        let id = self.id;
        let open = self.open().await?;
        let mut rest = Vec::with_capacity(jobs.len());
        for job in std::mem::take(jobs) {
            match answers::find(&mut open.connection, id, &job.waiting).await {
                Ok(answers::Kept::Nothing) | Err(_) => rest.push(job),
                Ok(answers::Kept::Answer(answer)) => tell_one(job, Ok(answer)),
                Ok(answers::Kept::Reused) => tell_one(job, Err(RecordError::KeyReused)),
            }
        }
        // The same key twice in one batch: the second waits for the first one's kept answer.
        let mut seen = std::collections::HashSet::new();
        let (first, again): (Vec<_>, Vec<_>) = rest.into_iter().partition(|job| {
            let key = job.waiting.request.key.as_ref();
            key.is_none_or(|(key, _)| seen.insert((job.waiting.caller.clone(), key.clone())))
        });
        *jobs = first;
        if !again.is_empty() {
            Box::pin(self.scans(std::mem::take(jobs))).await;
            *jobs = again;
        }
        Ok(jobs.len() < all)
    }
}

/// How often a batch has been tried.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Attempt {
    First,
    /// After a failure.
    Second,
    /// After another process moved the head first: with the head locked.
    Locked,
}

/// Commits a batch; `begun` says that a transaction with the head locked is open.
async fn commit(
    connection: &mut AsyncPgConnection,
    statements: Statements,
    begun: bool,
) -> Result<(), Failure> {
    let Statements { commit, newcomers } = statements;
    if newcomers.is_none() && !begun {
        // A crash before this returns leaves nothing or everything.
        let (moved,): (i64,) = commit
            .get_result(connection)
            .await
            .map_err(unsure_if_lost)?;
        return if moved == 1 {
            Ok(())
        } else {
            Err(Failure::HeadMoved)
        };
    }
    if !begun {
        connection.batch_execute("BEGIN").await?;
    }
    let (moved,): (i64,) = commit.get_result(connection).await?;
    if moved != 1 {
        return Err(Failure::HeadMoved);
    }
    if let Some(newcomers) = newcomers {
        let _: (bool,) = newcomers.get_result(connection).await?;
    }
    connection
        .batch_execute("COMMIT")
        .await
        .map_err(Failure::Unsure)
}

/// An error the server sent means the statement was rolled back; any other may have come after
/// the commit.
fn unsure_if_lost(error: diesel::result::Error) -> Failure {
    match error {
        diesel::result::Error::DatabaseError(kind, _)
            if !matches!(kind, diesel::result::DatabaseErrorKind::ClosedConnection) =>
        {
            Failure::Database(error)
        }
        other => Failure::Unsure(other),
    }
}

fn is_replay(failure: &Failure) -> bool {
    matches!(failure, Failure::Database(error) if violates(error, "answers_pk"))
}

fn tell(jobs: Vec<ScanJob>, judged: Vec<Judged>) {
    for (job, judged) in jobs.into_iter().zip(judged) {
        let told = match judged {
            Judged::Answer(answer) => Ok(answer),
            Judged::Refused(refusal) => Err(RecordError::Refused(refusal)),
        };
        tell_one(job, told);
    }
}

fn tell_one(job: ScanJob, told: Result<super::Answer, RecordError<super::ScanRefusal>>) {
    // The caller may have gone; what was committed stays committed and its key replays it.
    let _ = job.tell.send(told);
}

fn give_up(jobs: Vec<ScanJob>, failure: &Failure) {
    tracing::error!(
        error = failure as &dyn Error,
        scans = jobs.len(),
        "scans were not acknowledged"
    );
    for job in jobs {
        tell_one(job, Err(RecordError::Unavailable));
    }
}

fn give_up_operations(jobs: Vec<Box<dyn Job>>, failure: &Failure) {
    tracing::error!(
        error = failure as &dyn Error,
        "an operation was not acknowledged"
    );
    jobs.into_iter()
        .for_each(|job| job.finish(End::Unavailable));
}
