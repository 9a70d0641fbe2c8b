//! Drawing patients for an effectiveness check.

use super::super::matching::{self, Asked};
use super::WorkRefusal;
use super::events::{self, About, Recorded, Sample};
use crate::recorder::{Operation, Refused, Writing};
use lotwarden_domain::access::act;
use lotwarden_domain::effectiveness::{Level, LevelChecks};
use lotwarden_domain::notices::ReviewDecision;
use lotwarden_ledger::Hash;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Draws the patients to check, so that anybody can repeat the draw: those to be told in the order
/// of SHA-256 over the seed, a colon and the patient's id, and the first so many of them.
#[derive(Clone, Debug)]
pub struct CheckEffectiveness {
    /// The notice.
    pub notice: Uuid,
    /// The level (21 CFR 7.42(b)(3), from memory).
    pub level: Level,
    /// How many for level B, which leaves it to the recall's strategy.
    pub checks: Option<u64>,
}

impl Operation for CheckEffectiveness {
    type Permission = act::CheckEffectiveness;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        let all = events::all(writing.connection, root).await?;
        let decisions = events::decisions(&all)?;
        let matches =
            matching::find(writing.connection, writing.facility.id, root, Asked::Counts).await?;
        let reached = matches.0.items.iter().map(|item| item.patient);
        let reached: BTreeSet<Uuid> = reached.collect();
        if reached
            .iter()
            .any(|patient| !decisions.contains_key(patient))
        {
            return Err(Refused::Because(WorkRefusal::NotReviewed));
        }
        let told = decisions.into_iter().filter(|(patient, decision)| {
            *decision == ReviewDecision::Notify && reached.contains(patient)
        });
        let told: Vec<Uuid> = told.map(|(patient, _)| patient).collect();
        let population = told.len();
        let count = match self.level.checks(population as u64) {
            LevelChecks::Exactly(count) => count,
            LevelChecks::Between(least, most) => self
                .checks
                .filter(|checks| (least..=most).contains(checks))
                .ok_or(Refused::Because(WorkRefusal::WrongCount))?,
        };
        // The head's hash is known to everybody afterwards, and to nobody before.
        let seed = writing.head.hash.to_string();
        let sample = Sample {
            level: self.level.to_string(),
            patients: draw(told, &seed, usize::try_from(count).unwrap_or(usize::MAX)),
            population,
            seed,
        };
        let kinds = ("check_effectiveness", "sample");
        Ok(events::record(writing, root, kinds, About::Notice, &sample).await?)
    }
}

/// The first so many patients in the order of their digests.
fn draw(mut patients: Vec<Uuid>, seed: &str, count: usize) -> Vec<Uuid> {
    patients.sort_by_key(|patient| *Hash::of(format!("{seed}:{patient}").as_bytes()).as_bytes());
    patients.truncate(count);
    patients
}

#[cfg(test)]
mod tests {
    use super::*;

    // printf 'b1:00000000-0000-0000-0000-00000000000N' | sha256sum for N of 1 to 4: the digests begin
    // 7dc7, f7d4, 49c7, ebb3.
    #[test]
    fn a_draw_can_be_repeated_by_anybody() {
        let patients: Vec<Uuid> = (1..=4).map(Uuid::from_u128).collect();
        let drawn = draw(patients.clone(), "b1", 3);
        assert_eq!(drawn, [3, 1, 4].map(Uuid::from_u128));
        assert_eq!(draw(patients, "b1", 9).len(), 4);
    }
}
