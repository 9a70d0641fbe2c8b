//! Scans whose batch failed: answered from what was kept, or tried again, in halves in the end.

use super::commit::commit;
use super::prepared::{Judge, Prepared};
use super::{Open, Writer};
use crate::database::violates;
use crate::recorder::answers::{self, FLUSH};
use crate::recorder::batch;
use crate::recorder::job::{BoxedScan, Failure};
use crate::recorder::scan::ScanRefusal;
use crate::recorder::world::World;
use crate::recorder::{Answer, RecordError};
use diesel_async::SimpleAsyncConnection;
use lotwarden_domain::Causes;

/// How often a batch has been tried.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Attempt {
    First,
    /// After a failure.
    Second,
    /// After another process moved the head first: with the head locked.
    Locked,
}

type Stack = Vec<(Vec<BoxedScan>, Attempt)>;

impl Writer {
    /// Records scans whose first attempt failed.
    pub(super) async fn again(&mut self, jobs: Vec<BoxedScan>, failure: Failure) {
        let mut stack = Stack::new();
        self.after_failure(jobs, Attempt::First, &failure, &mut stack)
            .await;
        self.work_off(stack).await;
    }

    /// Records scans by themselves, without others behind them.
    pub(super) async fn scans(&mut self, jobs: Vec<BoxedScan>) {
        if !jobs.is_empty() {
            self.work_off(vec![(jobs, Attempt::First)]).await;
        }
    }

    async fn work_off(&mut self, mut stack: Stack) {
        while let Some((jobs, attempt)) = stack.pop() {
            match self.scans_once(jobs, attempt).await {
                Ok(prepared) => self.teller.tell(prepared.told()),
                Err((jobs, failure)) => {
                    self.recover().await;
                    self.after_failure(jobs, attempt, &failure, &mut stack)
                        .await;
                }
            }
        }
    }

    /// Decides what becomes of jobs that failed together.
    async fn after_failure(
        &mut self,
        mut jobs: Vec<BoxedScan>,
        attempt: Attempt,
        failure: &Failure,
        stack: &mut Stack,
    ) {
        if is_replay(failure) && self.replay(&mut jobs, stack).await.unwrap_or(false) {
            stack.push((jobs, attempt));
        } else if matches!(failure, Failure::HeadMoved) && attempt != Attempt::Locked {
            stack.push((jobs, Attempt::Locked));
        } else if failure.is_final() {
            give_up(jobs, failure);
        } else if attempt == Attempt::First {
            tracing::warn!(
                error = %Causes(failure),
                "a batch of scans is tried again"
            );
            stack.push((jobs, Attempt::Second));
        } else if jobs.len() > 1 {
            let half = jobs.split_off(jobs.len() / 2);
            stack.extend([(half, Attempt::Second), (jobs, Attempt::Second)]);
        } else {
            give_up(jobs, failure);
        }
    }

    async fn scans_once(
        &mut self,
        jobs: Vec<BoxedScan>,
        attempt: Attempt,
    ) -> Result<Prepared, (Vec<BoxedScan>, Failure)> {
        let at = self.shared.clock.now();
        let id = self.id;
        if let Err(failure) = self.open().await {
            return Err((jobs, failure));
        }
        let Some(open) = &mut self.open else {
            return Err((jobs, Failure::Unfit));
        };
        let Open {
            connection,
            facility,
            key,
            known,
            ..
        } = open;
        let locked = attempt == Attempt::Locked;
        let begun = async {
            if locked {
                // Others wait from here on, so that a slow process is not overtaken for ever.
                connection.batch_execute("BEGIN").await?;
            }
            Ok(batch::head(connection, id, locked).await?)
        };
        let mut head = match begun.await {
            Ok(head) => head,
            Err(failure) => return Err((jobs, failure)),
        };
        let mut world = World::default();
        let mut prepared = Prepared::after(&head, at);
        let mut judge = Judge {
            connection: &mut *connection,
            facility,
            key,
            head: &mut head,
            world: &mut world,
        };
        let done = match prepared.extend(&mut judge, jobs).await {
            Ok(()) => match prepared.statements(&head) {
                Some(statements) => commit(connection, statements, locked).await,
                None if locked => connection
                    .batch_execute("ROLLBACK")
                    .await
                    .map_err(Failure::from),
                None => Ok(()),
            },
            Err(failure) => Err(failure),
        };
        if let Err(failure) = done {
            return Err((prepared.jobs, failure));
        }
        *known = Some((head, world));
        Ok(prepared)
    }

    /// Answers the jobs whose keys were answered before and leaves the rest in `jobs`; says whether
    /// that explains the failure. The same key twice in one batch: the second waits on the stack
    /// for the first one's kept answer.
    async fn replay(
        &mut self,
        jobs: &mut Vec<BoxedScan>,
        stack: &mut Stack,
    ) -> Result<bool, Failure> {
        let id = self.id;
        let all = jobs.len();
        let open = self.open().await?;
        let mut seen = std::collections::HashSet::new();
        let (mut rest, mut twice) = (Vec::with_capacity(all), Vec::new());
        let mut kept = Told::new();
        for job in std::mem::take(jobs) {
            match answers::find(&mut open.connection, id, &job.waiting).await {
                Ok(answers::Kept::Answer(answer)) => kept.push((job, Ok(answer))),
                Ok(answers::Kept::Reused) => kept.push((job, Err(RecordError::KeyReused))),
                Ok(answers::Kept::Nothing) | Err(_) => {
                    let key = job.waiting.request.key.as_ref();
                    let key = key.map(|(key, _)| (job.waiting.caller.clone(), key.clone()));
                    let first = key.is_none_or(|key| seen.insert(key));
                    if first {
                        rest.push(job)
                    } else {
                        twice.push(job)
                    }
                }
            }
        }
        if !kept.is_empty() {
            // The commit that a kept answer speaks of may still wait for a standby.
            match open.connection.batch_execute(FLUSH).await {
                Ok(()) => self.teller.tell(kept),
                Err(error) => give_up(
                    kept.into_iter().map(|(job, _)| job).collect(),
                    &Failure::Unsure(error),
                ),
            }
        }
        *jobs = rest;
        let explained = jobs.len() < all;
        if !twice.is_empty() {
            // Below the rest on the stack, so worked off after it.
            stack.push((twice, Attempt::First));
        }
        Ok(explained)
    }
}

fn is_replay(failure: &Failure) -> bool {
    matches!(failure, Failure::Database(error) if violates(error, "answers_pk"))
}

/// Jobs with what their callers are to be told.
pub(super) type Told = Vec<(BoxedScan, Result<Answer, RecordError<ScanRefusal>>)>;

/// Tells the callers.
pub(super) fn tell(told: Told) {
    for (job, told) in told {
        // The caller may have gone; what was committed stays committed and its key replays it.
        let _ = job.tell.send(told);
    }
}

fn give_up(jobs: Vec<BoxedScan>, failure: &Failure) {
    tracing::error!(
        error = %Causes(failure),
        scans = jobs.len(),
        "scans were not acknowledged"
    );
    let told = |job| (job, Err(RecordError::Unavailable));
    tell(jobs.into_iter().map(told).collect());
}
