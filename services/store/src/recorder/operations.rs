//! Operations that are not hot: a savepoint each inside one transaction, the head locked.

use super::answers::{self, FLUSH, Kept};
use super::batch::{self, NewEntry};
use super::job::{End, Failure, Job};
use super::writing::Writing;
use super::{Answer, Rendered};
use crate::facilities::Facility;
use diesel_async::{AsyncPgConnection, SimpleAsyncConnection};
use jiff::Timestamp;
use lotwarden_ledger::Head;

/// Operations in one transaction at most, below PostgreSQL's cache of 64 subtransactions.
pub(crate) const MOST: usize = 60;

/// What one job came to, to be told after the commit.
pub(crate) enum Outcome {
    Rendered(Rendered),
    Kept(Answer),
    KeyReused,
    Refused,
}

/// Applies the jobs in one transaction; the outcomes are to be told, the commit is durable.
///
/// # Errors
/// [`Failure`]; the transaction is to be rolled back, and nothing was written unless the failure
/// is [`Failure::Unsure`].
pub(crate) async fn together(
    connection: &mut AsyncPgConnection,
    facility: &Facility,
    jobs: &mut [Box<dyn Job>],
    at: Timestamp,
) -> Result<Vec<Outcome>, Failure> {
    connection.batch_execute("BEGIN").await?;
    let mut head = batch::head(connection, facility.id, true).await?;
    let size = head.size;
    let mut entries = Vec::new();
    let mut outcomes = Vec::with_capacity(jobs.len());
    for job in jobs {
        let outcome = one(
            connection,
            facility,
            job.as_mut(),
            at,
            &mut head,
            &mut entries,
        )
        .await?;
        outcomes.push(outcome);
    }
    if entries.is_empty() {
        if outcomes.iter().any(|one| matches!(one, Outcome::Kept(_))) {
            // The commit that a kept answer speaks of may still wait for a standby.
            connection.batch_execute(FLUSH).await?;
        }
        connection.batch_execute("COMMIT").await?;
    } else {
        batch::write_entries(connection, size, &head, entries).await?;
        // A crash before this line leaves nothing; after it, everything: rows, entries, answers.
        connection
            .batch_execute("COMMIT")
            .await
            .map_err(Failure::Unsure)?;
    }
    Ok(outcomes)
}

async fn one(
    connection: &mut AsyncPgConnection,
    facility: &Facility,
    job: &mut dyn Job,
    at: Timestamp,
    head: &mut Head,
    entries: &mut Vec<NewEntry>,
) -> Result<Outcome, Failure> {
    match answers::find(connection, facility.id, job.waiting()).await? {
        Kept::Answer(answer) => return Ok(Outcome::Kept(answer)),
        Kept::Reused => return Ok(Outcome::KeyReused),
        Kept::Nothing => {}
    }
    connection.batch_execute("SAVEPOINT operation").await?;
    let (before, count) = (head.clone(), entries.len());
    let actor = job.waiting().actor.clone();
    let mut writing = Writing {
        connection,
        facility,
        actor: &actor,
        station: job.waiting().request.station,
        at,
        head,
        entries,
        receipt: None,
    };
    let applied = job.apply(&mut writing).await?;
    let Some(rendered) = applied else {
        connection.batch_execute("ROLLBACK TO operation").await?;
        *head = before;
        entries.truncate(count);
        return Ok(Outcome::Refused);
    };
    answers::keep(connection, facility.id, job.waiting(), &rendered, at).await?;
    connection.batch_execute("RELEASE operation").await?;
    Ok(Outcome::Rendered(rendered))
}

/// Tells each job what it came to.
pub(crate) fn tell(jobs: Vec<Box<dyn Job>>, outcomes: Vec<Outcome>) {
    for (job, outcome) in jobs.into_iter().zip(outcomes) {
        job.finish(match outcome {
            Outcome::Rendered(rendered) => End::Answer(Answer {
                rendered,
                replayed: false,
            }),
            Outcome::Kept(answer) => End::Answer(answer),
            Outcome::KeyReused => End::KeyReused,
            Outcome::Refused => End::Refused,
        });
    }
}
