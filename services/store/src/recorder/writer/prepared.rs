//! A batch of scans, judged and ready to commit.

use super::super::RecordError;
use super::super::columns::{Statements, Writes};
use super::super::job::{BoxedScan, Failure};
use super::super::scans::{Batch, Judged};
use super::super::world::{self, World};
use super::retries::Told;
use crate::facilities::Facility;
use crate::sealing::Key;
use diesel_async::AsyncPgConnection;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_ledger::{CLOCK_SKEW, Hash, Head};

/// Scans judged one after the other from one head on, with everything they will write.
pub(super) struct Prepared {
    pub(super) jobs: Vec<BoxedScan>,
    judged: Vec<Judged>,
    writes: Writes,
    from: (u64, Hash),
    at: Timestamp,
}

/// What judging needs beside the scans.
pub(super) struct Judge<'a> {
    pub(super) connection: &'a mut AsyncPgConnection,
    pub(super) facility: &'a Facility,
    pub(super) key: &'a Key,
    pub(super) head: &'a mut Head,
    pub(super) world: &'a mut World,
}

impl Prepared {
    /// An empty batch that will follow the head, at one instant.
    pub(super) fn after(head: &Head, at: Timestamp) -> Self {
        Self {
            jobs: Vec::new(),
            judged: Vec::new(),
            writes: Writes::default(),
            from: (head.size, head.hash),
            at: not_before(head, at),
        }
    }

    /// Adds scans: reads what is not known yet, and judges each with the effects of all before it.
    ///
    /// The jobs are in the batch even when this fails, so that they can be tried again.
    pub(super) async fn extend(
        &mut self,
        judge: &mut Judge<'_>,
        jobs: Vec<BoxedScan>,
    ) -> Result<(), Failure> {
        let first = self.jobs.len();
        self.jobs.extend(jobs);
        let jobs = &self.jobs[first..];
        let labels =
            world::read_labels(judge.connection, judge.facility, judge.world, jobs, self.at);
        let labels = labels.await?;
        let id = judge.facility.id;
        world::load(judge.connection, id, judge.world, jobs, &labels).await?;
        let mut batch = Batch {
            facility: judge.facility,
            facility_key: judge.key,
            world: judge.world,
            head: judge.head,
            writes: &mut self.writes,
            at: self.at,
        };
        for (job, label) in jobs.iter().zip(labels) {
            self.judged.push(batch.scan(job, label)?);
        }
        Ok(())
    }

    /// Each job with what its caller is to be told once the batch is durable.
    pub(super) fn told(self) -> Told {
        let told = |judged| match judged {
            Judged::Answer(answer) => Ok(answer),
            Judged::Refused(refusal) => Err(RecordError::Refused(refusal)),
        };
        self.jobs
            .into_iter()
            .zip(self.judged.into_iter().map(told))
            .collect()
    }

    /// Whether it writes rows met first by a scan, which takes a transaction of two statements.
    pub(super) fn has_newcomers(&self) -> bool {
        self.writes.newcomers.any()
    }

    /// The statements that write the batch; none when every scan was refused.
    pub(super) fn statements(&mut self, head: &Head) -> Option<Statements> {
        let writes = std::mem::take(&mut self.writes);
        let (size, hash) = self.from;
        (head.size > size).then(|| writes.statements(hash, head, self.at.to_diesel()))
    }
}

/// The time of a commit: the head's, where another process's clock is a little ahead of this one's.
/// A clock that is further behind stays as it is, and appending refuses it.
fn not_before(head: &Head, now: Timestamp) -> Timestamp {
    match head.at {
        Some(at) if at.duration_since(now) <= CLOCK_SKEW => now.max(at),
        _ => now,
    }
}
