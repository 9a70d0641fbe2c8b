//! Answering whom a mix, a fill of gas or a sterilizer load reached, with the patients' identity.

use super::show_where_used::WhereUsed;
use super::through::{self, Through};
use super::uses_of::by_scans;
use crate::cases::patients_by_id;
use crate::database::StoreError;
use crate::loads::reached;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cylinders, loads, mix_ingredients, mixes, uses};
use crate::sealing::Key;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// What is asked about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Container {
    /// A mix: its case, by its ingredients.
    Mix(Uuid),
    /// A fill of gas: the cases its cylinder was on.
    Cylinder(Uuid),
    /// A sterilizer load: the cases its pieces were on before they were processed again.
    Load(Uuid),
}

/// Answers whom a mix, a fill or a load reached; each answer is a ledger entry, complete up to it.
#[derive(Clone, Debug)]
pub struct ShowReach {
    /// The facility's key.
    pub facility_key: Key,
    /// What is asked about.
    pub container: Container,
}

/// Why nothing is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ShowReachRefusal {
    /// There is no such mix, cylinder or load.
    #[error("there is no such mix, cylinder or load")]
    NoSuchContainer,
}

#[derive(Serialize)]
struct Data {
    case_count: usize,
    cases: BTreeSet<Uuid>,
    with_identity: bool,
}

impl Operation for ShowReach {
    type Permission = act::ShowWhereUsed;
    type Outcome = WhereUsed;
    type Refusal = ShowReachRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<WhereUsed, Refused<ShowReachRefusal>> {
        let (subject, known) = match self.container {
            Container::Mix(id) => (Subject::new("mix", id), self.mix(writing, id).await?),
            Container::Cylinder(id) => (
                Subject::new("cylinder", id),
                self.cylinder(writing, id).await?,
            ),
            Container::Load(id) => (Subject::new("load", id), self.load(writing, id).await?),
        };
        let known = known.ok_or(Refused::Because(ShowReachRefusal::NoSuchContainer))?;
        let uses = by_scans(writing.connection, &known.uses, &known.cases).await?;
        let ids = uses.items.iter().map(|item| item.patient).collect();
        let patients = patients_by_id(writing.connection, &self.facility_key, ids).await?;
        let cases: BTreeSet<Uuid> = uses.items.iter().map(|item| item.case).collect();
        let data = Data {
            case_count: cases.len(),
            cases,
            with_identity: true,
        };
        writing.append("show_where_used", subject, &data)?;
        Ok(WhereUsed {
            uses,
            patients,
            on_hand: Vec::new(),
            receipts: Vec::new(),
            stopped: Vec::new(),
            through: known.through,
        })
    }
}

/// What a container is known by: its uses as lot and scan, further cases, and what it is made of.
#[derive(Default)]
struct Known {
    uses: Vec<(Uuid, Uuid)>,
    cases: Vec<Uuid>,
    through: Through,
}

impl ShowReach {
    async fn mix(&self, writing: &mut Writing<'_>, id: Uuid) -> Result<Option<Known>, StoreError> {
        let name: Option<(String, Uuid)> = mixes::table
            .find(id)
            .select((mixes::name, mixes::case_id))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((name, case)) = name else {
            return Ok(None);
        };
        let uses: Vec<(Uuid, Uuid)> = mix_ingredients::table
            .filter(mix_ingredients::mix_id.eq(id))
            .order(mix_ingredients::line)
            .select((mix_ingredients::lot_id, mix_ingredients::scan_id))
            .load(writing.connection)
            .await?;
        let mixes = uses.iter().map(|(lot, _)| through::MixThrough {
            id,
            name: name.clone(),
            case,
            lot: *lot,
        });
        let through = Through {
            mixes: mixes.collect(),
            ..Through::default()
        };
        Ok(Some(Known {
            uses,
            cases: Vec::new(),
            through,
        }))
    }

    async fn cylinder(
        &self,
        writing: &mut Writing<'_>,
        id: Uuid,
    ) -> Result<Option<Known>, StoreError> {
        let fill: Option<(Uuid, Option<Uuid>)> = cylinders::table
            .find(id)
            .select((cylinders::lot_id, cylinders::unit_id))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((lot, unit)) = fill else {
            return Ok(None);
        };
        let uses: Vec<(Uuid, Uuid)> = uses::table
            .filter(uses::lot_id.eq(lot))
            .filter(uses::unit_id.is_not_distinct_from(unit))
            .select((uses::lot_id, uses::scan_id))
            .load(writing.connection)
            .await?;
        let fill = through::CylinderThrough { id, lot, unit };
        let through = Through {
            cylinders: vec![fill],
            ..Through::default()
        };
        Ok(Some(Known {
            uses,
            cases: Vec::new(),
            through,
        }))
    }

    async fn load(&self, writing: &mut Writing<'_>, id: Uuid) -> Result<Option<Known>, StoreError> {
        let known: Option<Uuid> = loads::table
            .find(id)
            .select(loads::id)
            .first(writing.connection)
            .await
            .optional()?;
        if known.is_none() {
            return Ok(None);
        }
        let reached = reached(writing.connection, &[id]).await?;
        let scans: BTreeMap<Uuid, Uuid> = reached
            .iter()
            .filter_map(|reached| Some((reached.scan?, reached.case)))
            .collect();
        let uses = uses::table
            .filter(uses::scan_id.eq_any(scans.keys()))
            .filter(uses::unit_id.eq_any(reached.iter().map(|reached| reached.unit)))
            .select((uses::lot_id, uses::scan_id))
            .load(writing.connection)
            .await?;
        let unscanned = reached.iter().filter(|reached| reached.scan.is_none());
        Ok(Some(Known {
            uses,
            cases: unscanned.map(|reached| reached.case).collect(),
            through: through::of_load(writing.connection, id).await?,
        }))
    }
}
