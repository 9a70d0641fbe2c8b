//! Scans as they come: while one batch commits, the next is read and judged on top of it, and sent
//! after it on the same connection before its answer is there, so that PostgreSQL waits for the disk
//! alone.
//!
//! A statement carries the head's hash that the one before it leads to, so it writes nothing unless
//! that one did. A batch takes half of what is under way, so that the callers of one half are told
//! and come again while the other half commits; one that would only queue behind another waits
//! until it has its half, because each commit costs a flush.

use super::commit::commit;
use super::prepared::{Judge, Prepared};
use super::teller::Teller;
use super::{BATCH, DEPTH, Open, Taken, Writer};
use crate::recorder::batch;
use crate::recorder::job::{BoxedScan, Failure, Queued};
use crate::recorder::world::World;
use futures_util::StreamExt;
use futures_util::stream::FuturesOrdered;
use std::collections::VecDeque;
use std::pin::pin;
use tokio::sync::mpsc;

type Jobs = Vec<BoxedScan>;

/// Jobs whose batch failed, with the reason, or that were judged on top of it and not sent.
type Failed = Vec<(Jobs, Option<Failure>)>;

/// Has the callers of a batch that came back told, or keeps it with its failure.
fn returned(
    batch: Option<Prepared>,
    committed: Result<(), Failure>,
    teller: &Teller,
    failed: &mut Failed,
) {
    match (batch, committed) {
        (Some(batch), Ok(())) => teller.tell(batch.told()),
        (Some(batch), Err(failure)) => failed.push((batch.jobs, Some(failure))),
        (None, _) => {}
    }
}

impl Writer {
    /// Records the scans taken, and those that come meanwhile, until none waits or something else
    /// was taken.
    pub(super) async fn pipeline(&mut self, taken: &mut Taken, queue: &mut mpsc::Receiver<Queued>) {
        let failed = self.commits(taken, queue).await;
        if failed.is_empty() {
            return;
        }
        self.recover().await;
        for (jobs, failure) in failed {
            match failure {
                Some(failure) => self.again(jobs, failure).await,
                None => self.scans(jobs).await,
            }
        }
    }

    /// Commits batch after batch, until a failure or until none waits.
    async fn commits(&mut self, taken: &mut Taken, queue: &mut mpsc::Receiver<Queued>) -> Failed {
        let clock = std::sync::Arc::clone(&self.shared.clock);
        let id = self.id;
        let unopened = self.open().await.err();
        let open = match (unopened, &mut self.open) {
            (None, Some(open)) => open,
            (failure, _) => return vec![(std::mem::take(&mut taken.scans), failure)],
        };
        let teller = &self.teller;
        let Open {
            connection,
            reader,
            facility,
            key,
            known,
        } = open;
        let connection = &*connection;
        // Taken out, so that any failure leaves nothing behind that a lost commit has touched.
        let (mut head, mut world) = match known.take() {
            Some(known) => known,
            None => match batch::head(reader, id, false).await {
                Ok(head) => (head, World::default()),
                Err(error) => return vec![(std::mem::take(&mut taken.scans), Some(error.into()))],
            },
        };
        let mut failed = Failed::new();
        let mut next = Prepared::after(&head, clock.now());
        let mut trouble = None;
        // Batches sent and not back yet, and their commits.
        let mut sent = VecDeque::new();
        let mut commits = FuturesOrdered::new();
        // A transaction of several statements has the connection to itself.
        let mut alone = false;
        // Facts are dropped only when nothing is under way: a batch not committed yet is in no row
        // that could be read again.
        let mut full = false;
        loop {
            if !taken.scans.is_empty() {
                let scans = std::mem::take(&mut taken.scans);
                if next.jobs.is_empty() {
                    // The batch before it may have been under way for long.
                    next = Prepared::after(&head, clock.now());
                }
                let mut judge = Judge {
                    connection: reader,
                    facility,
                    key,
                    head: &mut head,
                    world: &mut world,
                };
                let mut judging = pin!(next.extend(&mut judge, scans));
                trouble = loop {
                    tokio::select! {
                        biased;
                        // What comes back meanwhile is told meanwhile.
                        Some(committed) = commits.next() => {
                            alone = false;
                            returned(sent.pop_front(), committed, teller, &mut failed);
                        }
                        judged = &mut judging => break judged.err(),
                    }
                };
            }
            let sound = trouble.is_none() && failed.is_empty();
            let committing: usize = sent.iter().map(|batch: &Prepared| batch.jobs.len()).sum();
            let under_way = committing + next.jobs.len() + teller.scans() + queue.len();
            let most = (under_way / 2).clamp(1, BATCH);
            let behind = sent.len() < DEPTH && next.jobs.len() >= most && !next.has_newcomers();
            if sound && !next.jobs.is_empty() && (sent.is_empty() || behind && !alone) {
                alone = next.has_newcomers();
                let statements = next.statements(&head);
                commits.push_back(async move {
                    match statements {
                        Some(statements) => commit(connection, statements, false).await,
                        None => Ok(()),
                    }
                });
                full = world.is_full();
                let following = Prepared::after(&head, clock.now());
                sent.push_back(std::mem::replace(&mut next, following));
            }
            if sent.is_empty() {
                break;
            }
            let room = most.saturating_sub(next.jobs.len());
            let more = sound && !full && !taken.others() && room > 0;
            tokio::select! {
                biased;
                Some(committed) = commits.next() => {
                    alone = false;
                    returned(sent.pop_front(), committed, teller, &mut failed);
                }
                true = taken.take(queue, room), if more => {}
            }
        }
        if !next.jobs.is_empty() {
            failed.push((next.jobs, trouble));
        }
        if failed.is_empty() && !full {
            *known = Some((head, world));
        }
        failed
    }
}
