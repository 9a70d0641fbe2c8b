//! What a site settled for its recall desk: how long each task may take, and its letters.

use super::letter::{Language, Template, TemplateFault};
use super::{Target, TaskKind};
use crate::import::RecallClass;
use crate::outbox::{MailAddress, NotAMailAddress};
use crate::word::words;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

words! {
    /// What a target counts.
    TargetUnit, "unit of a target" {
        /// Days, to the end of the last one.
        Days = "days",
        /// Hours from the confirmation on.
        Hours = "hours",
        /// Work days after the day of the confirmation, to the end of the last one.
        WorkDays = "work_days",
    }
}

/// How long a task of a notice of a class may take; members in the order of the ledger's form.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TaskTarget {
    /// How many.
    pub after: u16,
    /// The class of the notice.
    pub class: RecallClass,
    /// The task.
    pub kind: TaskKind,
    /// Of what.
    pub unit: TargetUnit,
}

/// A site's settings of its recall desk; members in the order of the ledger's form.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NoticePolicy {
    /// The text of a letter to a patient in each language.
    pub letters: BTreeMap<Language, String>,
    /// Whom the outbox's mail comes from; without it there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mail_from: Option<String>,
    /// The site's own addresses that are told of notices and tasks by mail.
    #[serde(default)]
    pub mail_to: Vec<String>,
    /// Hours before a task is due at which somebody is reminded.
    pub remind_hours: u16,
    /// A target for each task and class.
    pub targets: Vec<TaskTarget>,
}

/// What is wrong with settings.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PolicyFault {
    /// A letter's text.
    #[error(transparent)]
    Letter(#[from] TemplateFault),
    /// A mail address.
    #[error(transparent)]
    Mail(#[from] NotAMailAddress),
    /// Too many mail addresses, or none that the mail comes from.
    #[error("must be at most {MOST_MAILS} addresses, and mail_from named beside them")]
    Mails,
    /// Reminding at no time, or more than a month before.
    #[error("must be 1 to 720")]
    RemindHours,
    /// A task and class without a target, or with two.
    #[error("must have one target for each task and class; {kind} of class {class} has {count}")]
    Targets {
        /// The task.
        kind: TaskKind,
        /// The class.
        class: RecallClass,
        /// How many there are.
        count: usize,
    },
    /// A target of no time, or of more than a year.
    #[error("must be 1 to 365 days or work days, or 1 to 8760 hours")]
    OutOfRange {
        /// Its place in the list, from 0.
        at: usize,
    },
}

/// Mail addresses at most.
const MOST_MAILS: usize = 20;
const CLASSES: [RecallClass; 3] = [RecallClass::One, RecallClass::Two, RecallClass::Three];

impl Default for NoticePolicy {
    /// The house's own targets (trade.md 3.4) and a letter that says what 21 CFR 7.49(c) asks of a
    /// notice, for the practitioner to change.
    fn default() -> Self {
        let kinds = TaskKind::ALL.iter();
        let targets = kinds.flat_map(|kind| {
            CLASSES.map(|class| {
                let (after, unit) = match kind.target(Some(class)) {
                    Target::Hours(hours) => (hours, TargetUnit::Hours),
                    Target::WorkDays(days) => (i64::from(days), TargetUnit::WorkDays),
                    Target::Days(days) => (days, TargetUnit::Days),
                };
                TaskTarget {
                    after: u16::try_from(after).unwrap_or(u16::MAX),
                    class,
                    kind: *kind,
                    unit,
                }
            })
        });
        let languages = Language::ALL.iter();
        Self {
            letters: languages
                .map(|language| (*language, language.letter().to_owned()))
                .collect(),
            mail_from: None,
            mail_to: Vec::new(),
            // Common practice, no source: a day before.
            remind_hours: 24,
            targets: targets.collect(),
        }
    }
}

impl NoticePolicy {
    /// Checks it as a whole.
    ///
    /// # Errors
    /// Every fault, each with the member it is in as a JSON pointer.
    pub fn check(&self) -> Result<(), Vec<(String, PolicyFault)>> {
        let mut faults = Vec::new();
        for (language, text) in &self.letters {
            if let Err(fault) = Template::read(text) {
                faults.push((format!("/letters/{language}"), fault.into()));
            }
        }
        let mails = self.mail_to.iter().enumerate();
        let to = mails.map(|(at, mail)| (format!("/mail_to/{at}"), mail));
        let from = self
            .mail_from
            .iter()
            .map(|mail| ("/mail_from".to_owned(), mail));
        for (at, mail) in to.chain(from) {
            if let Err(fault) = MailAddress::read(mail) {
                faults.push((at, fault.into()));
            }
        }
        if self.mail_to.len() > MOST_MAILS || !self.mail_to.is_empty() && self.mail_from.is_none() {
            faults.push(("/mail_to".to_owned(), PolicyFault::Mails));
        }
        if !(1..=720).contains(&self.remind_hours) {
            faults.push(("/remind_hours".to_owned(), PolicyFault::RemindHours));
        }
        for (at, target) in self.targets.iter().enumerate() {
            let most = match target.unit {
                TargetUnit::Hours => 8_760,
                TargetUnit::Days | TargetUnit::WorkDays => 365,
            };
            if !(1..=most).contains(&target.after) {
                faults.push((
                    format!("/targets/{at}/after"),
                    PolicyFault::OutOfRange { at },
                ));
            }
        }
        for kind in TaskKind::ALL.iter().copied() {
            for class in CLASSES {
                let same = |one: &&TaskTarget| (one.kind, one.class) == (kind, class);
                let count = self.targets.iter().filter(same).count();
                if count != 1 {
                    let fault = PolicyFault::Targets { kind, class, count };
                    faults.push(("/targets".to_owned(), fault));
                }
            }
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(faults)
        }
    }

    /// How long a task may take. A notice without a class counts as class I.
    #[must_use]
    pub fn target(&self, kind: TaskKind, class: Option<RecallClass>) -> Target {
        let class = class.unwrap_or(RecallClass::One);
        let mut targets = self.targets.iter();
        let found = targets.find(|one| (one.kind, one.class) == (kind, class));
        match found {
            None => kind.target(Some(class)),
            Some(target) => match target.unit {
                TargetUnit::Hours => Target::Hours(target.after.into()),
                TargetUnit::WorkDays => Target::WorkDays(target.after),
                TargetUnit::Days => Target::Days(target.after.into()),
            },
        }
    }

    /// The letter in a language; the service's own where the site has none.
    #[must_use]
    pub fn letter(&self, language: Language) -> &str {
        let own = self.letters.get(&language);
        own.map_or_else(|| language.letter(), String::as_str)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_settings_that_nobody_changed_are_the_houses_own_and_hold_together() {
        let policy = NoticePolicy::default();
        assert_eq!(policy.check(), Ok(()));
        for kind in TaskKind::ALL.iter().copied() {
            for class in [None, Some(RecallClass::Two), Some(RecallClass::Three)] {
                assert_eq!(policy.target(kind, class), kind.target(class));
            }
        }
    }

    #[test]
    fn every_fault_is_named_by_its_member() {
        let mut policy = NoticePolicy::default();
        policy
            .letters
            .insert(Language::English, "Dear {nobody}".to_owned());
        policy.targets[0].after = 0;
        policy.targets.pop();
        let faults = policy.check().expect_err("faults");
        let at: Vec<&str> = faults.iter().map(|(at, _)| at.as_str()).collect();
        assert_eq!(at, ["/letters/en", "/targets/0/after", "/targets"]);
    }
}
