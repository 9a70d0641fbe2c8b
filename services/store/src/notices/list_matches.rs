//! Answering what a notice hits, with the patients' identity.

use super::matching::{self, Asked, Matches, ReceiptMatched, StoppedMatched};
use crate::cases::{Patient, patients_by_id};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::notices;
use crate::sealing::Key;
use crate::where_used::Through;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::NoticeState;
use lotwarden_ledger::Hash;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Answers what a notice hits; each answer is a ledger entry, and complete up to it.
#[derive(Clone, Debug)]
pub struct ListMatches {
    /// The notice; of an update, the whole matter is answered.
    pub notice: Uuid,
    /// The facility's key, to open the identities.
    pub facility_key: Key,
}

/// What a notice hits.
#[derive(Clone, Debug)]
pub struct MatchList {
    /// The first notice of the matter.
    pub root: Uuid,
    /// The matches.
    pub matches: Matches,
    /// The patients of the cases by id.
    pub patients: BTreeMap<Uuid, Patient>,
    /// The receipts that brought the items in.
    pub receipts: Vec<ReceiptMatched>,
    /// Scans of them that were stopped.
    pub stopped: Vec<StoppedMatched>,
    /// The mixes, fills of gas and loads between the lots and the cases.
    pub through: Through,
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ListMatchesRefusal {
    /// There is no such notice.
    #[error("there is no such notice")]
    NoSuchNotice,
    /// Nobody has confirmed what it names, or it is withdrawn.
    #[error("the notice is not in force, so nothing is matched against it")]
    NotInForce,
}

#[derive(Serialize)]
struct Data<'a> {
    affected: usize,
    cannot_exclude: usize,
    case_count: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    case_digest: Option<Hash>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cases: Option<&'a [Uuid]>,
    on_hand: i64,
    possible: usize,
    stopped: usize,
    struck: u64,
}

impl Operation for ListMatches {
    type Permission = act::ListMatches;
    type Outcome = MatchList;
    type Refusal = ListMatchesRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<MatchList, Refused<ListMatchesRefusal>> {
        let root = in_force(writing, self.notice).await?;
        let root = root.map_err(Refused::Because)?;
        let facility = writing.facility.id;
        let (mut matches, scope) =
            matching::find(writing.connection, facility, root, Asked::All).await?;
        let through = matching::through(writing.connection, &mut matches).await?;
        let (receipts, stopped) = matching::history(writing.connection, &scope).await?;
        let ids: BTreeSet<Uuid> = matches.items.iter().map(|item| item.patient).collect();
        let patients = patients_by_id(writing.connection, &self.facility_key, ids).await?;
        let counts = matches.counts();
        let cases = matches.cases();
        let (listed, case_digest) = crate::where_used::listed(&cases);
        let data = Data {
            affected: counts.affected,
            cannot_exclude: counts.cannot_exclude,
            case_count: cases.len(),
            case_digest,
            cases: listed,
            on_hand: counts.on_hand,
            possible: counts.possible,
            stopped: stopped.len(),
            struck: matches.struck,
        };
        writing.append("list_matches", Subject::new("notice", root), &data)?;
        Ok(MatchList {
            root,
            matches,
            patients,
            receipts,
            stopped,
            through,
        })
    }
}

/// The first notice of a matter that is in force.
pub(super) async fn in_force(
    writing: &mut Writing<'_>,
    notice: Uuid,
) -> Result<Result<Uuid, ListMatchesRefusal>, crate::recorder::Failure> {
    let (asked, root) = diesel::alias!(notices as asked, notices as root);
    let row: Option<(Uuid, String)> = asked
        .inner_join(root.on(root.field(notices::id).eq(asked.field(notices::root_id))))
        .filter(asked.field(notices::id).eq(notice))
        .select((root.field(notices::id), root.field(notices::state)))
        .first(writing.connection)
        .await
        .optional()?;
    let in_force = [NoticeState::Open, NoticeState::Closed].map(NoticeState::as_str);
    Ok(match row {
        None => Err(ListMatchesRefusal::NoSuchNotice),
        Some((_, state)) if !in_force.contains(&state.as_str()) => {
            Err(ListMatchesRefusal::NotInForce)
        }
        Some((root, _)) => Ok(root),
    })
}
