//! Linking the file of an adverse event.

use super::events::{self, About, Recorded};
use super::{WorkRefusal, show_work};
use crate::recorder::{Operation, Refused, Writing};
use crate::schema::{adverse_events, cases};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Links the file of an adverse event on the case of a patient whom the notice reaches. From then
/// on the answer to the firm cannot say that the site knows of none.
#[derive(Clone, Debug)]
pub struct LinkEvent {
    /// The notice.
    pub notice: Uuid,
    /// The event's file.
    pub event: Uuid,
}

/// A linked event.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Linked {
    /// Its file.
    pub event: Uuid,
}

impl Operation for LinkEvent {
    type Permission = act::LinkEvent;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        let patient: Option<Uuid> = adverse_events::table
            .inner_join(cases::table.on(cases::id.eq(adverse_events::case_id)))
            .filter(adverse_events::id.eq(self.event))
            .select(cases::patient_id)
            .first(writing.connection)
            .await
            .optional()?;
        let patient = patient.ok_or(Refused::Because(WorkRefusal::NoSuchEvent))?;
        let linked = Linked { event: self.event };
        let done = events::all(writing.connection, root).await?;
        for known in events::of_kind::<Linked>(&done, "adverse_event") {
            if known?.1 == linked {
                return Err(Refused::Because(WorkRefusal::LinkedAlready));
            }
        }
        let reached = show_work::check_patient(writing, root, patient).await;
        reached.map_err(|refused| match refused {
            Refused::Because(_) => Refused::Because(WorkRefusal::EventNotReached),
            other => other,
        })?;
        let kinds = ("link_event", "adverse_event");
        Ok(events::record(writing, root, kinds, About::Patient(patient), &linked).await?)
    }
}
