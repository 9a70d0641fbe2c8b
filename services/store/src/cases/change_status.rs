//! What starting, completing and giving up a case have in common.

use super::{Case, find};
use crate::database::StoreError;
use crate::recorder::{Refused, Subject, Writing};
use crate::schema::cases;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::cases::CaseStatus;
use serde::Serialize;
use uuid::Uuid;

/// Why a case does not change its state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangeStatusRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
    /// It changed since the caller read it.
    #[error("the case changed since it was read")]
    Stale,
    /// The step is not in the permitted order (21 CFR 11.10(f)).
    #[error("a case that is {from} cannot become {to}")]
    OutOfOrder {
        /// The state it is in.
        from: CaseStatus,
        /// The state that was asked for.
        to: CaseStatus,
    },
}

#[derive(Serialize)]
struct Data<'a> {
    new_status: CaseStatus,
    old_status: CaseStatus,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<&'a str>,
    version: i32,
}

/// A step of one case.
pub(super) struct Step<'a> {
    pub(super) action: &'static str,
    pub(super) case: Uuid,
    pub(super) version: i32,
    pub(super) to: CaseStatus,
    pub(super) reason: Option<&'a str>,
}

/// Takes the step and appends its entry.
pub(super) async fn take(
    step: Step<'_>,
    writing: &mut Writing<'_>,
) -> Result<Case, Refused<ChangeStatusRefusal>> {
    let refuse = |refusal| Err(Refused::Because(refusal));
    let Some(mut case) = find(writing.connection, step.case).await? else {
        return refuse(ChangeStatusRefusal::NoSuchCase);
    };
    if case.version != step.version {
        return refuse(ChangeStatusRefusal::Stale);
    }
    let (from, to) = (case.status, step.to);
    if !from.may_become(to) {
        return refuse(ChangeStatusRefusal::OutOfOrder { from, to });
    }
    case.status = to;
    case.version += 1;
    match to {
        CaseStatus::InProgress => case.started_at = Some(writing.at),
        CaseStatus::Completed | CaseStatus::NotDone => case.ended_at = Some(writing.at),
        CaseStatus::Preparation => {}
    }
    diesel::update(cases::table.find(case.id))
        .set((
            cases::status.eq(to.as_str()),
            cases::started_at.eq(case.started_at.map(ToDiesel::to_diesel)),
            cases::ended_at.eq(case.ended_at.map(ToDiesel::to_diesel)),
            cases::version.eq(case.version),
        ))
        .execute(writing.connection)
        .await?;
    let data = Data {
        new_status: to,
        old_status: from,
        reason: step.reason,
        version: case.version,
    };
    let subject = Subject::of_case("case", case.id, case.id);
    writing.append(step.action, subject, &data)?;
    Ok(case)
}

/// Counts a change of what is on a case, so that whoever signs it signs what was read.
pub(super) async fn count_change(writing: &mut Writing<'_>, case: Uuid) -> Result<(), StoreError> {
    diesel::update(cases::table.find(case))
        .set(cases::version.eq(cases::version + 1))
        .execute(writing.connection)
        .await?;
    Ok(())
}
