//! Emergency access to one case, and its review.

use crate::database::{Database, StoreError};
use crate::facilities;
use crate::moment::instant_text;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cases, emergency_accesses};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::{SignedDuration, Timestamp};
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use serde::Serialize;
use uuid::Uuid;

/// Takes access to a case at once, with a reason, for a bounded time (45 CFR 164.312(a)(2)(ii)).
#[derive(Clone, Debug)]
pub struct TakeEmergencyAccess {
    /// The caller.
    pub person: Uuid,
    /// The case.
    pub case: Uuid,
    /// Why: 10 to 500 characters.
    pub reason: String,
    /// For how long: four hours at most.
    pub minutes: u16,
}

/// Access that was just taken.
#[derive(Clone, Copy, Debug)]
pub struct EmergencyAccess {
    /// The access.
    pub id: Uuid,
    /// The case.
    pub case: Uuid,
    /// When it ends by itself.
    pub ends_at: Timestamp,
}

/// Why no access is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TakeEmergencyAccessRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
}

#[derive(Serialize)]
struct TakenData<'a> {
    ends_at: String,
    reason: &'a str,
}

impl Operation for TakeEmergencyAccess {
    type Permission = act::TakeEmergencyAccess;
    type Outcome = EmergencyAccess;
    type Refusal = TakeEmergencyAccessRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<EmergencyAccess, Refused<TakeEmergencyAccessRefusal>> {
        let known: i64 = cases::table
            .find(self.case)
            .count()
            .get_result(writing.connection)
            .await?;
        if known == 0 {
            return Err(Refused::Because(TakeEmergencyAccessRefusal::NoSuchCase));
        }
        let id = writing.new_id();
        let ends_at = writing.at + SignedDuration::from_mins(i64::from(self.minutes));
        diesel::insert_into(emergency_accesses::table)
            .values((
                emergency_accesses::facility_id.eq(writing.facility.id),
                emergency_accesses::id.eq(id),
                emergency_accesses::person_id.eq(self.person),
                emergency_accesses::case_id.eq(self.case),
                emergency_accesses::reason.eq(&self.reason),
                emergency_accesses::taken_at.eq(writing.at.to_diesel()),
                emergency_accesses::ends_at.eq(ends_at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let data = TakenData {
            ends_at: instant_text(ends_at),
            reason: &self.reason,
        };
        let subject = Subject::of_case("emergency_access", id, self.case);
        writing.append("take_emergency_access", subject, &data)?;
        Ok(EmergencyAccess {
            id,
            case: self.case,
            ends_at,
        })
    }
}

/// Emergency access in force: person and case, and when it ends.
pub type InForce = ((Uuid, Uuid), Timestamp);

/// Emergency access in force in a facility, the earlier end first.
///
/// # Errors
/// [`StoreError`].
pub async fn emergencies(
    database: &Database,
    facility: Uuid,
    now: Timestamp,
) -> Result<Vec<InForce>, StoreError> {
    let mut reading = database.reading(facility).await?;
    let rows: Vec<(Uuid, Uuid, jiff_diesel::Timestamp)> = emergency_accesses::table
        .filter(emergency_accesses::ends_at.gt(now.to_diesel()))
        .order(emergency_accesses::ends_at)
        .select((
            emergency_accesses::person_id,
            emergency_accesses::case_id,
            emergency_accesses::ends_at,
        ))
        .load(reading.connection())
        .await?;
    let in_force =
        |(person, case, end): (_, _, jiff_diesel::Timestamp)| ((person, case), end.to_jiff());
    Ok(rows.into_iter().map(in_force).collect())
}

/// Emergency access in force in every facility.
///
/// # Errors
/// [`StoreError`].
pub async fn all_emergencies(
    database: &Database,
    now: Timestamp,
) -> Result<Vec<InForce>, StoreError> {
    let mut taken = Vec::new();
    for facility in facilities::list(database).await? {
        taken.extend(emergencies(database, facility.id, now).await?);
    }
    Ok(taken)
}

/// Puts on record what a review of an emergency access found.
#[derive(Clone, Debug)]
pub struct ReviewEmergencyAccess {
    /// The access.
    pub id: Uuid,
    /// What was found: 3 to 500 characters.
    pub finding: String,
}

/// Why a review is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ReviewEmergencyAccessRefusal {
    /// There is no such access.
    #[error("there is no such emergency access")]
    NoSuchAccess,
    /// It was reviewed before.
    #[error("the emergency access was reviewed before")]
    ReviewedAlready,
    /// The reviewer took it.
    #[error("nobody reviews the own access")]
    Own,
}

#[derive(Serialize)]
struct ReviewData<'a> {
    finding: &'a str,
    person: Uuid,
}

impl Operation for ReviewEmergencyAccess {
    type Permission = act::ReviewEmergencyAccess;
    type Outcome = ();
    type Refusal = ReviewEmergencyAccessRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<(), Refused<ReviewEmergencyAccessRefusal>> {
        let (person, case): (Uuid, Uuid) = emergency_accesses::table
            .find(self.id)
            .select((emergency_accesses::person_id, emergency_accesses::case_id))
            .first(writing.connection)
            .await
            .optional()?
            .ok_or(Refused::Because(ReviewEmergencyAccessRefusal::NoSuchAccess))?;
        if *writing.actor == Actor::Person(person) {
            return Err(Refused::Because(ReviewEmergencyAccessRefusal::Own));
        }
        let open = emergency_accesses::table
            .find(self.id)
            .filter(emergency_accesses::reviewed_at.is_null());
        let reviewed = diesel::update(open)
            .set((
                emergency_accesses::reviewed_by.eq(writing.actor.to_string()),
                emergency_accesses::reviewed_at.eq(writing.at.to_diesel()),
                emergency_accesses::finding.eq(&self.finding),
            ))
            .execute(writing.connection)
            .await?;
        if reviewed == 0 {
            return Err(Refused::Because(
                ReviewEmergencyAccessRefusal::ReviewedAlready,
            ));
        }
        let data = ReviewData {
            finding: &self.finding,
            person,
        };
        let subject = Subject::of_case("emergency_access", self.id, case);
        writing.append("review_emergency_access", subject, &data)?;
        Ok(())
    }
}
