//! Showing a case: its counts, its signatures, and whether it is as it was signed.

use super::amendments::{self, Amendment};
use super::record::{self, Recorded};
use super::{Case, ScanItem};
use crate::database::{Reading, StoreError};
use crate::schema::{cases, signatures};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_domain::cases::{Disposition, Verdict};
use lotwarden_ledger::Hash;
use std::collections::BTreeMap;
use uuid::Uuid;

/// A case with what is on it, in numbers.
#[derive(Clone, Debug)]
pub struct CaseShown {
    /// The case.
    pub case: Case,
    /// What is on it.
    pub counts: CaseCounts,
    /// The SHA-256 of its record as it stands.
    pub record_hash: Hash,
    /// Its signatures, oldest first.
    pub signatures: Vec<Signature>,
    /// Its amendments, oldest first.
    pub amendments: Vec<Amendment>,
}

/// How many scans and items a case has; struck scans count as struck only.
#[derive(Clone, Debug, Default)]
pub struct CaseCounts {
    /// Scans by verdict.
    pub scans: BTreeMap<Verdict, u64>,
    /// Items by what became of them.
    pub items: BTreeMap<Disposition, u64>,
    /// Scans taken back.
    pub struck: u64,
}

/// A signature on a case.
#[derive(Clone, Debug)]
pub struct Signature {
    /// The signature.
    pub id: Uuid,
    /// The signer.
    pub person: Uuid,
    /// The signer's printed name.
    pub name: String,
    /// What signing meant.
    pub meaning: String,
    /// The SHA-256 of the record as it was signed.
    pub record_hash: Hash,
    /// The form of the record whose hash it is: 1 is the case with its scans, 2 everything.
    pub record_version: i16,
    /// When.
    pub signed_at: Timestamp,
    /// The position of its ledger entry.
    pub position: u64,
    /// Whether the record still has the hash that was signed.
    pub unchanged: bool,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = signatures)]
struct SignatureRow {
    id: Uuid,
    person_id: Uuid,
    name: String,
    meaning: String,
    record_hash: Vec<u8>,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    signed_at: Timestamp,
    position: i64,
    record_version: i16,
}

/// Shows one case; none when there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<CaseShown>, StoreError> {
    let mut snapshot = reading.snapshot();
    snapshot
        .run(async |connection: &mut AsyncPgConnection| {
            let Some(recorded) = record::of_case(connection, id).await? else {
                return Ok(None);
            };
            let signatures = signatures_of(connection, &recorded).await?;
            Ok(Some(CaseShown {
                counts: CaseCounts::of(&recorded.scans),
                record_hash: recorded.current_hash()?,
                case: recorded.case,
                signatures,
                amendments: amendments::of_case(connection, id).await?,
            }))
        })
        .await
}

/// Whether there is such a case.
///
/// # Errors
/// [`StoreError`].
pub async fn exists(reading: &mut Reading, id: Uuid) -> Result<bool, StoreError> {
    let found = diesel::select(diesel::dsl::exists(cases::table.find(id)));
    Ok(found.get_result(reading.connection()).await?)
}

pub(crate) async fn signatures_of(
    connection: &mut AsyncPgConnection,
    recorded: &Recorded,
) -> Result<Vec<Signature>, StoreError> {
    let rows: Vec<SignatureRow> = signatures::table
        .filter(signatures::case_id.eq(recorded.case.id))
        .order(signatures::id)
        .select(SignatureRow::as_select())
        .load(connection)
        .await?;
    let signature = |row: SignatureRow| {
        let record_hash = Hash::from_slice(&row.record_hash).ok_or(StoreError::Unfit)?;
        Ok(Signature {
            id: row.id,
            person: row.person_id,
            name: row.name,
            meaning: row.meaning,
            record_hash,
            signed_at: row.signed_at,
            record_version: row.record_version,
            position: row.position.cast_unsigned(),
            unchanged: record_hash == recorded.hash(row.record_version)?,
        })
    };
    rows.into_iter().map(signature).collect()
}

impl CaseCounts {
    fn of(scans: &[ScanItem]) -> Self {
        let mut counts = Self::default();
        for scan in scans {
            if scan.strike.is_some() {
                counts.struck += 1;
                continue;
            }
            *counts.scans.entry(scan.verdict).or_default() += 1;
            if let Some(piece) = &scan.on_case {
                *counts.items.entry(piece.disposition).or_default() += 1;
            }
        }
        counts
    }
}
