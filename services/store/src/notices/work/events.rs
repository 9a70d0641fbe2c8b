//! What was done for a notice, as events that are never edited. What each says stands in its ledger
//! entry too, so that the members are in the order of its canonical form.

use super::super::list_matches::in_force;
use super::WorkRefusal;
use crate::database::StoreError;
use crate::recorder::{Commitments, Failure, Receipt, Refused, Subject, Writing};
use crate::schema::{notice_events, notices};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::notices::{
    Disposal, NoticeState, OutreachMethod, OutreachResult, ReviewDecision,
};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// What a person counted of a lot.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Count {
    /// Found and left where it was.
    pub left_in_place: u32,
    /// Put in quarantine.
    pub quarantined: u32,
}

/// What left the site for good.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Disposed {
    /// How.
    pub how: Disposal,
    /// The place it left.
    pub location: Uuid,
    /// Units of use.
    pub quantity: u32,
    /// The tracking number, or how it was destroyed.
    pub tracking: String,
    /// Who saw it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub witness: Option<Uuid>,
}

/// Why the identity of a lot does not close, under signature.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Explanation {
    /// The signer's printed name.
    pub name: String,
    /// Who signed.
    pub person: Uuid,
    /// Why.
    pub reason: String,
    /// Received less accounted for, as it was explained.
    pub unaccounted: i64,
}

/// What the practitioner decided for a patient.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Review {
    /// The decision.
    pub decision: ReviewDecision,
    /// Why.
    pub reason: String,
}

/// An attempt to tell a patient.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Outreach {
    /// How.
    pub method: OutreachMethod,
    /// What came of it.
    pub result: OutreachResult,
}

/// Patients drawn for an effectiveness check.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Sample {
    /// The level, A to E.
    pub level: String,
    /// Those drawn, in the order of the draw.
    pub patients: Vec<Uuid>,
    /// How many were to be told.
    pub population: usize,
    /// What the draw hangs on, so that anybody can repeat it.
    pub seed: String,
}

/// What the check of a patient found.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Check {
    /// The patient was told and understood.
    pub effective: bool,
}

/// A signature under the closing of a notice.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Signature {
    /// What signing means.
    pub meaning: String,
    /// The signer's printed name.
    pub name: String,
    /// Who signed.
    pub person: Uuid,
    /// The SHA-256 of the record that was signed.
    pub record_hash: String,
}

/// An event as it stands on record.
#[derive(Clone, Debug)]
pub struct NoticeEvent {
    /// The event.
    pub id: Uuid,
    /// What it is: `count`, `disposal`, ...
    pub kind: String,
    /// The lot.
    pub lot: Option<Uuid>,
    /// The patient, by id.
    pub patient: Option<Uuid>,
    /// What was recorded.
    pub body: serde_json::Value,
    /// Who, as the ledger writes it.
    pub actor: String,
    /// When.
    pub at: Timestamp,
}

/// An event that was just recorded.
#[derive(Clone, Debug)]
pub struct Recorded {
    /// The first notice of the matter.
    pub notice: Uuid,
    /// The event.
    pub event: NoticeEvent,
}

/// What an event is about.
#[derive(Clone, Copy, Debug)]
pub(super) enum About {
    Lot(Uuid),
    Patient(Uuid),
    Notice,
}

#[derive(Serialize)]
struct Data<'a, T: Serialize> {
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    commitments: &'a BTreeMap<&'a str, String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    patient: Option<Uuid>,
    said: &'a T,
}

/// Records an event with its ledger entry.
pub(super) async fn record(
    writing: &mut Writing<'_>,
    notice: Uuid,
    kinds: (&'static str, &'static str),
    about: About,
    said: &impl Serialize,
) -> Result<Recorded, Failure> {
    commit(
        writing,
        notice,
        kinds,
        about,
        (said, &Commitments::default()),
    )
    .await
}

/// Records an event of which some values stand neither in its row nor in its entry: both have their
/// commitments, and whoever calls this keeps what is behind them ([`Writing::disclose`]).
pub(super) async fn commit(
    writing: &mut Writing<'_>,
    notice: Uuid,
    (action, kind): (&'static str, &'static str),
    about: About,
    (said, commitments): (&impl Serialize, &Commitments),
) -> Result<Recorded, Failure> {
    let (lot, patient) = match about {
        About::Lot(lot) => (Some(lot), None),
        About::Patient(patient) => (None, Some(patient)),
        About::Notice => (None, None),
    };
    let commitments = commitments.digests();
    let data = Data {
        commitments: &commitments,
        lot,
        patient,
        said,
    };
    let receipt: Receipt = writing.append(action, Subject::new("notice", notice), &data)?;
    let mut body = serde_json::to_value(said).map_err(|_| Failure::Unfit)?;
    if !commitments.is_empty() {
        // So that a signature under the matter binds them too.
        body["commitments"] = serde_json::to_value(&commitments).map_err(|_| Failure::Unfit)?;
    }
    let event = NoticeEvent {
        id: writing.new_id(),
        kind: kind.to_owned(),
        lot,
        patient,
        body,
        actor: writing.actor.to_string(),
        at: writing.at,
    };
    diesel::insert_into(notice_events::table)
        .values((
            notice_events::facility_id.eq(writing.facility.id),
            notice_events::id.eq(event.id),
            notice_events::notice_id.eq(notice),
            notice_events::kind.eq(kind),
            notice_events::lot_id.eq(lot),
            notice_events::patient_id.eq(patient),
            notice_events::body.eq(&event.body),
            notice_events::actor.eq(&event.actor),
            notice_events::at.eq(writing.at.to_diesel()),
            notice_events::position.eq(receipt.position.cast_signed()),
        ))
        .execute(writing.connection)
        .await?;
    Ok(Recorded { notice, event })
}

/// Everything that was done for a notice, in its order.
pub(super) async fn all(
    connection: &mut AsyncPgConnection,
    notice: Uuid,
) -> Result<Vec<NoticeEvent>, StoreError> {
    type Row = (
        Uuid,
        String,
        Option<Uuid>,
        Option<Uuid>,
        serde_json::Value,
        String,
        jiff_diesel::Timestamp,
    );
    let rows: Vec<Row> = notice_events::table
        .filter(notice_events::notice_id.eq(notice))
        .order(notice_events::position)
        .select((
            notice_events::id,
            notice_events::kind,
            notice_events::lot_id,
            notice_events::patient_id,
            notice_events::body,
            notice_events::actor,
            notice_events::at,
        ))
        .load(connection)
        .await?;
    let event = |(id, kind, lot, patient, body, actor, at): Row| NoticeEvent {
        id,
        kind,
        lot,
        patient,
        body,
        actor,
        at: at.to_jiff(),
    };
    Ok(rows.into_iter().map(event).collect())
}

/// The events of a kind with what they say.
pub(super) fn of_kind<'a, T: for<'de> Deserialize<'de>>(
    events: &'a [NoticeEvent],
    kind: &'a str,
) -> impl Iterator<Item = Result<(&'a NoticeEvent, T), StoreError>> {
    let found = events.iter().filter(move |event| event.kind == kind);
    found.map(|event| {
        let said = serde_json::from_value(event.body.clone()).map_err(|_| StoreError::Unfit)?;
        Ok((event, said))
    })
}

/// The newest decision for each patient.
pub(super) fn decisions(
    events: &[NoticeEvent],
) -> Result<BTreeMap<Uuid, ReviewDecision>, StoreError> {
    let mut decisions = BTreeMap::new();
    for event in of_kind::<Review>(events, "review") {
        let (event, review) = event?;
        decisions.extend(event.patient.map(|patient| (patient, review.decision)));
    }
    Ok(decisions)
}

/// The first notice of a matter that is in force and not closed.
pub(super) async fn root(
    writing: &mut Writing<'_>,
    notice: Uuid,
) -> Result<Uuid, Refused<WorkRefusal>> {
    let root = in_force(writing, notice).await?;
    let root = root.map_err(|refusal| Refused::Because(refusal.into()))?;
    let state: String = notices::table
        .find(root)
        .select(notices::state)
        .first(writing.connection)
        .await?;
    if state == NoticeState::Closed.as_str() {
        return Err(Refused::Because(WorkRefusal::Closed));
    }
    Ok(root)
}
