//! Why a step of the work is not recorded.

use super::super::list_matches::ListMatchesRefusal;

/// Why a step of the work on a notice is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum WorkRefusal {
    /// There is no such notice.
    #[error("there is no such notice")]
    NoSuchNotice,
    /// Nobody has confirmed it, or it is withdrawn.
    #[error("the notice is not in force, so there is no work on it")]
    NotInForce,
    /// It is closed.
    #[error("the notice is closed; an update opens it again")]
    Closed,
    /// It changed since the caller read it.
    #[error("the notice changed since it was read")]
    Stale,
    /// The notice does not hit the lot.
    #[error("the notice hits no such lot")]
    NoSuchLot,
    /// The notice does not reach the patient.
    #[error("the notice reaches no such patient")]
    NoSuchPatient,
    /// The place has less of the lot.
    #[error("the record has less of the lot at this place")]
    NotOnShelf,
    /// Something destroyed needs a witness who is another person.
    #[error("what is destroyed needs a witness, who is another person of this site")]
    NoWitness,
    /// The identity of the lot closes, or cannot be computed without a count.
    #[error("the lot's numbers close, or it was not counted; there is nothing to explain")]
    NothingToExplain,
    /// The practitioner has not decided for every patient.
    #[error("the practitioner has not decided for every patient yet")]
    NotReviewed,
    /// The practitioner did not decide that the patient is told.
    #[error("the practitioner has not decided that this patient is told")]
    NotToBeTold,
    /// The day lies in the future.
    #[error("must not be in the future")]
    InFuture,
    /// There is no such event.
    #[error("there is no such event")]
    NoSuchEvent,
    /// The event's patient is not one whom the notice reaches.
    #[error("the event's patient is not one whom the notice reaches")]
    EventNotReached,
    /// The event is linked.
    #[error("the event is linked to the notice")]
    LinkedAlready,
    /// The patient is not in the sample.
    #[error("the patient was not drawn for the check")]
    NotDrawn,
    /// The level's number of checks lies between two numbers, and the one given does not.
    #[error("level B asks for more than a tenth and fewer than all; give checks between these")]
    WrongCount,
    /// Nobody is signed in who could sign.
    #[error("only a person can sign")]
    NotAPerson,
    /// Tasks are open.
    #[error("tasks besides the closing are open")]
    TasksOpen,
    /// A lot's numbers do not close and nobody explained it.
    #[error("a lot was not counted, or its numbers neither close nor are explained")]
    NotReconciled,
    /// The person signed this state before; closing takes a second one.
    #[error("you have signed this; the second signature is another person's")]
    SecondPerson,
}

impl From<ListMatchesRefusal> for WorkRefusal {
    fn from(refusal: ListMatchesRefusal) -> Self {
        match refusal {
            ListMatchesRefusal::NoSuchNotice => Self::NoSuchNotice,
            ListMatchesRefusal::NotInForce => Self::NotInForce,
        }
    }
}
