//! Everything on record of a case, and the hash a signature is over.

mod canonical;
mod parts;
mod stated;

pub use stated::{Part, Stated};

use super::list_scans::{self, ScanItem};
use super::{Case, find};
use crate::cylinders::{GasUse, gas_of_case};
use crate::database::StoreError;
use crate::equipment::{self, EquipmentUse, Run};
use crate::mixes::{self, Mix};
use crate::records::{
    CaseCheck, EnergyEntry, Pick, ReconciledLot, checks_of_case, energy_of_case, picks_of_case,
    reconciled,
};
use crate::schema::{cases, ledger_entries};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::cases::Verdict;
use lotwarden_ledger::Hash;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The form of the record that is signed now: everything on the case. Form 1 was the case with its
/// scans; its signatures are checked in that form.
pub(super) const CURRENT: i16 = 2;

/// Everything on record of a case, as it stands.
#[derive(Clone, Debug)]
pub struct Recorded {
    /// The case.
    pub case: Case,
    /// Its scans, in the order they were received.
    pub scans: Vec<ScanItem>,
    /// Its mixes, in the order they were ordered.
    pub mixes: Vec<Mix>,
    /// The gas that flowed.
    pub gas: Vec<GasUse>,
    /// The energy log.
    pub energy: Vec<EnergyEntry>,
    /// The equipment that was set up, stopped and taken back included.
    pub equipment: Vec<EquipmentUse>,
    /// How long equipment ran.
    pub runs: Vec<Run>,
    /// Its checks and counts.
    pub checks: Vec<CaseCheck>,
    /// What was taken out for it, and what came back.
    pub picks: Vec<Pick>,
    /// What became of each lot.
    pub lots: Vec<ReconciledLot>,
    commitments: Vec<Committed>,
}

/// The commitments of one entry to personal values: who the patient is, a weight, unread characters.
#[derive(Clone, Debug, Serialize)]
struct Committed {
    digests: BTreeMap<String, String>,
    position: u64,
}

/// Reads everything on record of a case; none when there is no such case.
pub(crate) async fn of_case(
    connection: &mut AsyncPgConnection,
    id: Uuid,
) -> Result<Option<Recorded>, StoreError> {
    let Some(case) = find(connection, id).await? else {
        return Ok(None);
    };
    let scans = list_scans::all(connection, id).await?;
    let picks = picks_of_case(connection, id).await?;
    Ok(Some(Recorded {
        mixes: mixes::of_case(connection, id).await?,
        gas: gas_of_case(connection, id).await?,
        energy: energy_of_case(connection, id).await?,
        equipment: equipment::of_case(connection, id).await?,
        runs: equipment::runs_of_case(connection, id).await?,
        checks: checks_of_case(connection, id).await?,
        lots: reconciled(connection, id, &picks).await?,
        commitments: commitments(connection, id, &scans).await?,
        case,
        scans,
        picks,
    }))
}

impl Recorded {
    /// The record as canonical JSON (RFC 8785) in the form that is signed now.
    pub(super) fn text(&self) -> Result<String, StoreError> {
        canonical::render(self, CURRENT)
    }

    /// The SHA-256 of the record in the form that is signed now.
    pub(crate) fn current_hash(&self) -> Result<Hash, StoreError> {
        self.hash(CURRENT)
    }

    /// The SHA-256 of the record in one of its forms.
    pub(super) fn hash(&self, form: i16) -> Result<Hash, StoreError> {
        let text = canonical::render(self, form)?;
        Ok(Hash::of(text.as_bytes()))
    }
}

/// What the entries of a case commit to. Values and salts stand elsewhere and can be erased; the
/// digests stay, so that an erasure leaves the record's hash as it was.
async fn commitments(
    connection: &mut AsyncPgConnection,
    case: Uuid,
    scans: &[ScanItem],
) -> Result<Vec<Committed>, StoreError> {
    #[derive(Deserialize)]
    struct Body {
        data: Data,
    }
    #[derive(Deserialize)]
    struct Data {
        commitments: Option<BTreeMap<String, String>>,
    }
    let unread = scans.iter().filter(|scan| scan.verdict == Verdict::Unread);
    let unread: Vec<i64> = unread.map(|scan| scan.position.cast_signed()).collect();
    let facility = cases::table
        .find(case)
        .select(cases::facility_id)
        .single_value();
    let sealed = ledger_entries::table
        .filter(ledger_entries::facility_id.nullable().eq(facility))
        .filter(ledger_entries::position.eq_any(unread));
    let rows: Vec<(i64, Vec<u8>)> = sealed
        .select((ledger_entries::position, ledger_entries::body))
        .load(connection)
        .await?;
    let named: Vec<(i64, Vec<u8>)> = ledger_entries::table
        .filter(ledger_entries::case_id.eq(case))
        .filter(ledger_entries::action.eq_any(["open_case", "order_mix"]))
        .select((ledger_entries::position, ledger_entries::body))
        .load(connection)
        .await?;
    let mut found = Vec::new();
    for (position, body) in rows.into_iter().chain(named) {
        let body: Body = serde_json::from_slice(&body).map_err(|_| StoreError::Unfit)?;
        if let Some(digests) = body.data.commitments {
            let position = position.cast_unsigned();
            found.push(Committed { digests, position });
        }
    }
    found.sort_unstable_by_key(|each| each.position);
    Ok(found)
}
