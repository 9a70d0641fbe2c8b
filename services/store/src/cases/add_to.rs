//! The guard of everything that is added to the record of a case beside scans.

use super::change_status::count_change;
use super::standing::is_signed;
use super::{Case, find};
use crate::recorder::{Refused, Writing};
use lotwarden_domain::cases::CaseStatus;
use uuid::Uuid;

/// Why nothing can be added to the record of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotOpen {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
    /// It did not take place.
    #[error("the case did not take place; nothing can be added to its record")]
    NotDone,
    /// Somebody signed it: nothing on it changes from then on.
    #[error("the case is signed; nothing can be added to its record")]
    Signed,
}

/// The case, when its record can still grow; counts the change, so that whoever signs it signs
/// what was read. A completed case takes late records until it is signed.
pub(crate) async fn add_to<R: From<NotOpen>>(
    writing: &mut Writing<'_>,
    case: Uuid,
) -> Result<Case, Refused<R>> {
    let refuse = |reason: NotOpen| Err(Refused::Because(reason.into()));
    let Some(case) = find(writing.connection, case).await? else {
        return refuse(NotOpen::NoSuchCase);
    };
    if case.status == CaseStatus::NotDone {
        return refuse(NotOpen::NotDone);
    }
    if is_signed(writing.connection, case.id).await? {
        return refuse(NotOpen::Signed);
    }
    count_change(writing, case.id).await?;
    Ok(case)
}
