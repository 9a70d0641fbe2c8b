//! Answering the firm.

use super::events::{self, About, Recorded};
use super::show_work::{self, Work};
use super::{LotIdentity, WorkRefusal};
use crate::moment::instant_text;
use crate::recorder::{Operation, Refused, Writing};
use crate::schema::notices;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::ReviewDecision;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Puts the answer to the firm on record, as it is sent: numbers by lot, and no patient's identity.
/// "None on hand" is an answer too.
#[derive(Clone, Debug)]
pub struct AnswerNotice {
    /// The notice.
    pub notice: Uuid,
    /// Whether the site knows of an adverse event; it does when one is linked to the notice.
    pub adverse_events: bool,
    /// Whom the firm may ask.
    pub contact: Contact,
    /// How it is sent: 1 to 100 characters.
    pub sent_by: String,
}

/// Whom the firm may ask.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Contact {
    /// The name.
    pub name: String,
    /// The telephone number.
    pub phone: String,
    /// The title.
    pub title: String,
}

/// The answer to a firm: the fields of the response forms in FDA's Regulatory Procedures Manual,
/// chapter 7 (from memory).
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct FirmAnswer {
    /// Whether the site knows of an adverse event.
    pub adverse_events: bool,
    /// Whom the firm may ask.
    pub contact: Contact,
    /// The site.
    pub facility: String,
    /// The firm.
    pub firm: String,
    /// By lot.
    pub lots: Vec<LotAnswer>,
    /// Nothing of it is at the site.
    pub none_on_hand: bool,
    /// Nothing of it ever was at the site.
    pub none_received: bool,
    /// Patients whom the practitioner decided to tell.
    pub patients_to_tell: usize,
    /// Those of them who were told.
    pub patients_told: usize,
    /// The day the notice came.
    pub received_on: String,
    /// The firm's reference.
    pub reference: String,
    /// How it is sent.
    pub sent_by: String,
    /// Whether every lot was counted.
    pub stock_checked: bool,
    /// When the newest count was made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock_checked_at: Option<String>,
}

/// What the firm is told of a lot, in units of use.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct LotAnswer {
    /// Destroyed.
    pub destroyed: u64,
    /// The number; none for the items whose lot was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// On the shelf; none before a count.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on_hand: Option<u64>,
    /// In quarantine; none before a count.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub quarantined: Option<u64>,
    /// Received.
    pub received: u64,
    /// Sent back.
    pub returned: u64,
    /// Tracking numbers and ways of destruction.
    pub tracking: Vec<String>,
    /// Received less accounted for; none before a count.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unaccounted: Option<i64>,
    /// Used.
    pub used: u64,
    /// Wasted.
    pub wasted: u64,
}

impl LotAnswer {
    fn of(lot: &LotIdentity) -> Self {
        let counted = |count: u64| lot.counted.then_some(count);
        Self {
            destroyed: lot.counts.destroyed,
            lot: lot.number.clone(),
            on_hand: counted(lot.counts.on_hand),
            quarantined: counted(lot.counts.quarantined),
            received: lot.received,
            returned: lot.counts.returned,
            tracking: lot.tracking.clone(),
            unaccounted: lot.unaccounted(),
            used: lot.counts.used,
            wasted: lot.counts.wasted,
        }
    }
}

impl Operation for AnswerNotice {
    type Permission = act::AnswerNotice;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        let facility = writing.facility.id;
        let work = show_work::of(writing.connection, facility, root).await?;
        let (firm, reference, received_on): (String, String, jiff_diesel::Date) = notices::table
            .find(root)
            .select((notices::firm, notices::reference, notices::received_on))
            .first(writing.connection)
            .await?;
        let answer = FirmAnswer {
            facility: writing.facility.name.clone(),
            firm,
            reference,
            received_on: received_on.to_jiff().to_string(),
            ..self.of(&work)
        };
        let kinds = ("answer_notice", "answer");
        Ok(events::record(writing, root, kinds, About::Notice, &answer).await?)
    }
}

impl AnswerNotice {
    fn of(&self, work: &Work) -> FirmAnswer {
        let told = work
            .patients
            .iter()
            .filter(|patient| patient.decision == Some(ReviewDecision::Notify));
        let mut counts = work.events.iter().filter(|event| event.kind == "count");
        let there = |lot: &LotIdentity| {
            // Before a count the stock record is all there is to go by.
            let counted = lot.counts.on_hand + lot.counts.quarantined;
            if lot.counted {
                counted > 0
            } else {
                lot.on_record > 0
            }
        };
        let linked = work
            .events
            .iter()
            .any(|event| event.kind == "adverse_event");
        FirmAnswer {
            adverse_events: self.adverse_events || linked,
            contact: self.contact.clone(),
            facility: String::new(),
            firm: String::new(),
            lots: work.lots.iter().map(LotAnswer::of).collect(),
            none_on_hand: !work.lots.iter().any(there),
            none_received: work.lots.iter().all(|lot| lot.received == 0),
            patients_to_tell: told.clone().count(),
            patients_told: told.filter(|patient| patient.told).count(),
            received_on: String::new(),
            reference: String::new(),
            sent_by: self.sent_by.clone(),
            stock_checked: work.lots.iter().all(|lot| lot.counted),
            stock_checked_at: counts.next_back().map(|event| instant_text(event.at)),
        }
    }
}
