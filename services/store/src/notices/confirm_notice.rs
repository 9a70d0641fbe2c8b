//! Confirming what a notice names.

use super::criteria::{self, NewCriterion};
use super::matching::{self, Asked, MatchCounts};
use super::{Notice, NoticeRow, holding, told, work};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{notices, products};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::NoticeState;
use lotwarden_domain::outbox::OutboxEvent;
use lotwarden_ledger::Hash;
use serde::Serialize;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Puts on record what a notice names, finds everything it hits, and holds what is on the shelf,
/// all in one commit. From then on every receipt and scan meets it.
///
/// The criteria of an update come beside those of the first notice; they never take any back.
#[derive(Clone, Debug)]
pub struct ConfirmNotice {
    /// The notice or update.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// What it names; at least one criterion.
    pub criteria: Vec<NewCriterion>,
    /// Part of the text stays unread and nobody has settled what it names: then no item of the
    /// named products is left out.
    pub open: bool,
}

/// A notice as it was confirmed.
#[derive(Clone, Debug)]
pub struct Confirmed {
    /// The notice.
    pub notice: Notice,
    /// What the whole matter hits now.
    pub counts: MatchCounts,
    /// Holds that were placed now.
    pub held: usize,
}

/// Why a notice is not confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ConfirmNoticeRefusal {
    /// There is no such notice.
    #[error("there is no such notice")]
    NoSuchNotice,
    /// It changed since the caller read it.
    #[error("the notice changed since it was read")]
    Stale,
    /// It is confirmed already, or withdrawn.
    #[error("only an unconfirmed notice is confirmed; what else it names comes as an update")]
    NotUnconfirmed,
    /// The first notice of the matter is not confirmed, or withdrawn.
    #[error("the first notice of this matter is not in force; confirm that one first")]
    RootNotInForce,
    /// A criterion names a product that is not there; criteria count from 0.
    #[error("there is no such product")]
    NoSuchProduct {
        /// The criterion.
        criterion: usize,
    },
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
    criteria_count: usize,
    criteria_digest: Hash,
    held: usize,
    lots: usize,
    on_hand: i64,
    open: bool,
    possible: usize,
    root: Uuid,
    tasks: usize,
}

impl Operation for ConfirmNotice {
    type Permission = act::ConfirmNotice;
    type Outcome = Confirmed;
    type Refusal = ConfirmNoticeRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Confirmed, Refused<ConfirmNoticeRefusal>> {
        let root = self.root(writing).await?;
        self.check_products(writing).await?;
        let (place, open) = ((root, self.id), self.open);
        let digest = criteria::add(writing, place, &self.criteria, open).await?;
        let row: NoticeRow = diesel::update(notices::table.find(self.id))
            .set((
                notices::state.eq(NoticeState::Open.as_str()),
                notices::confirmed_by.eq(writing.actor.to_string()),
                notices::confirmed_at.eq(writing.at.to_diesel()),
                notices::version.eq(self.version + 1),
            ))
            .returning(NoticeRow::as_select())
            .get_result(writing.connection)
            .await?;
        if root != self.id {
            // What comes later reopens a matter that was closed (21 CFR 7.49(d)).
            diesel::update(notices::table.find(root))
                .filter(notices::state.eq(NoticeState::Closed.as_str()))
                .set((
                    notices::state.eq(NoticeState::Open.as_str()),
                    notices::version.eq(notices::version + 1),
                ))
                .execute(writing.connection)
                .await?;
        }
        let class = Notice::try_from(row.clone())?.class;
        let tasks = if root == self.id {
            work::open_all(writing, root, class).await?
        } else {
            work::open_again(writing, root, class).await?
        };
        let facility = writing.facility.id;
        let (matches, _) =
            matching::find(writing.connection, facility, root, Asked::Counts).await?;
        let held = holding::hold_stock(writing, root, &matches.on_hand).await?;
        let counts = matches.counts();
        let cases = matches.cases();
        let (listed, case_digest) = crate::where_used::listed(&cases);
        let data = Data {
            affected: counts.affected,
            cannot_exclude: counts.cannot_exclude,
            case_count: cases.len(),
            case_digest,
            cases: listed,
            criteria_count: self.criteria.len(),
            criteria_digest: digest,
            held,
            lots: matches.lots.len(),
            on_hand: counts.on_hand,
            open: self.open,
            possible: counts.possible,
            root,
            tasks,
        };
        writing.append("confirm_notice", Subject::new("notice", self.id), &data)?;
        let notice = Notice::try_from(row)?;
        told::of(writing, OutboxEvent::NoticeConfirmed, &notice).await?;
        Ok(Confirmed {
            notice,
            counts,
            held,
        })
    }
}

impl ConfirmNotice {
    /// The first notice of the matter, which must be in force unless it is this one.
    async fn root(&self, writing: &mut Writing<'_>) -> Result<Uuid, Refused<ConfirmNoticeRefusal>> {
        type Row = (Uuid, i32, String);
        let row: Option<Row> = notices::table
            .find(self.id)
            .select((notices::root_id, notices::version, notices::state))
            .first(writing.connection)
            .await
            .optional()?;
        let (root, version, state) =
            row.ok_or(Refused::Because(ConfirmNoticeRefusal::NoSuchNotice))?;
        if state != NoticeState::Unconfirmed.as_str() {
            return Err(Refused::Because(ConfirmNoticeRefusal::NotUnconfirmed));
        }
        if version != self.version {
            return Err(Refused::Because(ConfirmNoticeRefusal::Stale));
        }
        if root != self.id {
            let state: String = notices::table
                .find(root)
                .select(notices::state)
                .first(writing.connection)
                .await?;
            let in_force = [NoticeState::Open, NoticeState::Closed].map(NoticeState::as_str);
            if !in_force.contains(&state.as_str()) {
                return Err(Refused::Because(ConfirmNoticeRefusal::RootNotInForce));
            }
        }
        Ok(root)
    }

    async fn check_products(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<(), Refused<ConfirmNoticeRefusal>> {
        let all = self.criteria.iter().map(|one| &one.criterion.product_ids);
        let ids: BTreeSet<Uuid> = all.flatten().copied().collect();
        let known: Vec<Uuid> = products::table
            .filter(products::id.eq_any(ids))
            .select(products::id)
            .load(writing.connection)
            .await?;
        for (criterion, one) in self.criteria.iter().enumerate() {
            let ids = &one.criterion.product_ids;
            if ids.iter().any(|id| !known.contains(id)) {
                let refusal = ConfirmNoticeRefusal::NoSuchProduct { criterion };
                return Err(Refused::Because(refusal));
            }
        }
        Ok(())
    }
}
