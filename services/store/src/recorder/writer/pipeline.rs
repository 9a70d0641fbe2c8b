//! Scans as they come: while one batch commits, the next is read and judged on top of it.
//!
//! The second batch's statement carries the ledger size that the first one leads to, so it writes
//! nothing unless the first one did. A batch takes half of what is under way, so that the callers of
//! one half are told and come again while the other half commits.

use super::commit::commit;
use super::prepared::{Judge, Prepared};
use super::{BATCH, Open, SMALL, Taken, Writer};
use crate::recorder::batch;
use crate::recorder::job::{Failure, Queued};
use crate::recorder::world::World;
use tokio::sync::mpsc;

impl Writer {
    /// Records the scans taken, and those that come meanwhile, until none waits or something else
    /// was taken.
    pub(super) async fn pipeline(&mut self, taken: &mut Taken, queue: &mut mpsc::Receiver<Queued>) {
        if let Err((current, next, failure)) = self.commits(taken, queue).await {
            self.recover().await;
            self.again(current, failure).await;
            self.scans(next).await;
        }
    }

    /// Commits batch after batch; on a failure gives back the jobs of the batch that failed and
    /// those judged on top of it.
    async fn commits(
        &mut self,
        taken: &mut Taken,
        queue: &mut mpsc::Receiver<Queued>,
    ) -> Result<(), (Jobs, Jobs, Failure)> {
        let clock = std::sync::Arc::clone(&self.shared.clock);
        let id = self.id;
        if let Err(failure) = self.open().await {
            return Err((std::mem::take(&mut taken.scans), Vec::new(), failure));
        }
        let Some(open) = &mut self.open else {
            return Ok(());
        };
        let flusher = &self.flusher;
        let Open {
            connection,
            reader,
            facility,
            key,
            known,
        } = open;
        // Taken out, so that any failure leaves nothing behind that a lost commit has touched.
        let (mut head, mut world) = match known.take() {
            Some(known) => known,
            None => match batch::head(reader, id, false).await {
                Ok(head) => (head, World::default()),
                Err(error) => {
                    let scans = std::mem::take(&mut taken.scans);
                    return Err((scans, Vec::new(), error.into()));
                }
            },
        };
        let mut current = Prepared::after(&head, clock.now());
        {
            let scans = std::mem::take(&mut taken.scans);
            let mut judge = Judge {
                connection: reader,
                facility,
                key,
                head: &mut head,
                world: &mut world,
            };
            if let Err(failure) = current.extend(&mut judge, scans).await {
                return Err((current.jobs, Vec::new(), failure));
            }
        }
        while !current.jobs.is_empty() {
            let statements = current.statements(&head);
            let committing = async {
                match statements {
                    Some(statements) => commit(connection, statements, false).await,
                    None => Ok(()),
                }
            };
            tokio::pin!(committing);
            if world.is_full() {
                world = World::default();
            }
            let mut next = Prepared::after(&head, clock.now());
            let mut trouble = None;
            let committed = loop {
                let under_way =
                    current.jobs.len() + next.jobs.len() + flusher.scans() + queue.len();
                let room = (under_way / 2)
                    .clamp(SMALL, BATCH)
                    .saturating_sub(next.jobs.len());
                let more = !taken.others() && trouble.is_none() && room > 0;
                tokio::select! {
                    biased;
                    committed = &mut committing => break committed,
                    true = taken.take(queue, room), if more => {
                        let scans = std::mem::take(&mut taken.scans);
                        let mut judge = Judge {
                            connection: reader, facility, key, head: &mut head, world: &mut world,
                        };
                        trouble = next.extend(&mut judge, scans).await.err();
                    }
                }
            };
            if let Err(failure) = committed {
                return Err((current.jobs, next.jobs, failure));
            }
            flusher.tell(current.told()).await;
            if let Some(failure) = trouble {
                return Err((next.jobs, Vec::new(), failure));
            }
            current = next;
        }
        *known = Some((head, world));
        Ok(())
    }
}

type Jobs = Vec<crate::recorder::job::ScanJob>;
