//! The work that a confirmed notice asks for: tasks, their targets, and the words of what was done.

use crate::import::RecallClass;
use crate::word::words;

words! {
    /// A task of a confirmed notice, in the order they are usually done.
    TaskKind, "task kind" {
        /// Find what is on the shelf, quarantine it, and count it.
        Quarantine = "quarantine",
        /// Decide for each patient who was reached.
        PatientReview = "patient_review",
        /// Tell the patients for whom it was decided.
        Outreach = "outreach",
        /// Send the items back, or destroy them before a witness.
        Disposal = "disposal",
        /// Check that the patients were reached.
        Effectiveness = "effectiveness",
        /// Answer the firm.
        Answer = "answer",
        /// Close the matter with two signatures.
        Closing = "closing",
    }
}

words! {
    /// How far a task is.
    TaskState, "task state" {
        /// To be done.
        Open = "open",
        /// Done.
        Done = "done",
        /// Not needed here, with a reason.
        NotNeeded = "not_needed",
    }
}

words! {
    /// How items left the site for good.
    Disposal, "disposal" {
        /// Sent back.
        SentBack = "sent_back",
        /// Destroyed.
        Destroyed = "destroyed",
    }
}

words! {
    /// What the practitioner decided for a patient.
    ReviewDecision, "review decision" {
        /// The patient is to be told.
        Notify = "notify",
        /// The patient need not be told.
        NotNeeded = "not_needed",
        /// The patient has none of the items.
        NotReached = "not_reached",
    }
}

words! {
    /// How a patient was to be reached.
    OutreachMethod, "outreach method" {
        /// By letter.
        Letter = "letter",
        /// By telephone.
        Telephone = "telephone",
        /// By e-mail.
        Mail = "mail",
        /// At a visit.
        Visit = "visit",
    }
}

words! {
    /// What came of an attempt.
    OutreachResult, "outreach result" {
        /// The patient was told.
        Reached = "reached",
        /// Sent; nothing came back yet.
        Sent = "sent",
        /// Nobody answered.
        NoAnswer = "no_answer",
        /// It came back.
        Undeliverable = "undeliverable",
        /// The patient does not wish to be told.
        Declined = "declined",
    }
}

/// How long a task may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Target {
    /// From the confirmation on.
    Hours(i64),
    /// To the end of that work day after the day of the confirmation.
    WorkDays(u16),
    /// To the end of that day.
    Days(i64),
}

impl TaskKind {
    /// The site's target. No federal clock binds a consignee beyond "immediately" (21 CFR 7.49(d),
    /// wording from memory): these are the house's own targets (trade.md 3.4), and a person changes
    /// a task's due time where a letter says another. A notice without a class counts as class I.
    #[must_use]
    pub fn target(self, class: Option<RecallClass>) -> Target {
        use RecallClass::{One, Three, Two};
        let by_class = |one, two, three| match class {
            None | Some(One) => one,
            Some(Two) => two,
            Some(Three) => three,
        };
        let days = Target::WorkDays;
        match self {
            Self::Quarantine => by_class(Target::Hours(4), days(1), days(3)),
            Self::PatientReview => by_class(days(1), days(3), days(5)),
            Self::Outreach => by_class(days(2), days(5), days(10)),
            Self::Disposal => days(15),
            Self::Effectiveness => days(20),
            Self::Answer => days(5),
            Self::Closing => Target::Days(30),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // trade.md 3.4: stock search and quarantine within 4 hours for class I, 1 and 3 work days for II
    // and III; the answer within 5 work days; closing within 30 days. The house's own targets.
    #[test]
    fn the_graver_the_class_the_sooner_a_task_is_due() {
        let quarantine = |class| TaskKind::Quarantine.target(class);
        assert_eq!(quarantine(Some(RecallClass::One)), Target::Hours(4));
        assert_eq!(quarantine(None), Target::Hours(4));
        assert_eq!(quarantine(Some(RecallClass::Two)), Target::WorkDays(1));
        assert_eq!(quarantine(Some(RecallClass::Three)), Target::WorkDays(3));
        assert_eq!(TaskKind::Answer.target(None), Target::WorkDays(5));
        assert_eq!(TaskKind::Closing.target(None), Target::Days(30));
    }
}
