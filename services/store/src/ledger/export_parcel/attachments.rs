//! The cases, signatures and people of a parcel, without patient identity.

use crate::cases::CaseRow;
use crate::database::StoreError;
use crate::ledger::hash;
use crate::moment::instant_text;
use crate::schema::{cases, ledger_entries, people, signatures};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel::sql_types::Text;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_ledger::canonical;
use lotwarden_ledger::parcel::{Attachments, SignatureLine};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use uuid::Uuid;

/// The lines of a parcel's sections; kept as one canonical JSON object.
#[derive(Debug, Serialize, Deserialize)]
pub(in crate::ledger) struct Attached {
    cases: Vec<Box<RawValue>>,
    people: Vec<Box<RawValue>>,
    signatures: Vec<SignatureLine>,
}

#[derive(Serialize)]
struct CaseLine<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    ended_at: Option<String>,
    id: Uuid,
    location: Uuid,
    opened_at: String,
    patient: Uuid,
    practitioner: Uuid,
    procedure: &'a str,
    scheduled_for: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    started_at: Option<String>,
    status: &'a str,
    version: i32,
}

#[derive(Serialize)]
struct PersonLine<'a> {
    id: Uuid,
    login: &'a str,
    name: &'a str,
    roles: &'a [String],
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = signatures)]
struct SignatureRow {
    id: Uuid,
    case_id: Uuid,
    person_id: Uuid,
    name: String,
    meaning: String,
    record_hash: Vec<u8>,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    signed_at: Timestamp,
    position: i64,
}

impl Attached {
    /// Reads the cases and signatures of a facility, and the people who acted or are named by them.
    pub(super) async fn collect(
        connection: &mut AsyncPgConnection,
        facility: Uuid,
    ) -> Result<Self, StoreError> {
        Ok(Self {
            cases: case_lines(connection).await?,
            people: person_lines(connection, facility).await?,
            signatures: signature_lines(connection).await?,
        })
    }

    /// The sections as a parcel carries them.
    pub(in crate::ledger) fn attachments(&self) -> Result<Attachments, StoreError> {
        let sections = Attachments::new(&self.cases, self.signatures.iter().cloned(), &self.people);
        sections.map_err(|_| StoreError::Unfit)
    }

    /// The bytes that are kept.
    pub(super) fn to_bytes(&self) -> Result<Vec<u8>, StoreError> {
        let text = canonical::to_string(self).map_err(|_| StoreError::Unfit)?;
        Ok(text.into_bytes())
    }

    /// Reads the bytes that were kept.
    pub(in crate::ledger) fn read(bytes: &[u8]) -> Result<Self, StoreError> {
        serde_json::from_slice(bytes).map_err(|_| StoreError::Unfit)
    }
}

fn line(line: &impl Serialize) -> Result<Box<RawValue>, StoreError> {
    serde_json::value::to_raw_value(line).map_err(|_| StoreError::Unfit)
}

async fn case_lines(connection: &mut AsyncPgConnection) -> Result<Vec<Box<RawValue>>, StoreError> {
    let rows: Vec<CaseRow> = cases::table
        .order(cases::id)
        .select(CaseRow::as_select())
        .load(connection)
        .await?;
    let case_line = |row: &CaseRow| {
        line(&CaseLine {
            ended_at: row.ended_at.to_jiff().map(instant_text),
            id: row.id,
            location: row.location_id,
            opened_at: instant_text(row.created_at),
            patient: row.patient_id,
            practitioner: row.practitioner_id,
            procedure: &row.procedure_name,
            scheduled_for: instant_text(row.scheduled_for),
            started_at: row.started_at.to_jiff().map(instant_text),
            status: &row.status,
            version: row.version,
        })
    };
    rows.iter().map(case_line).collect()
}

async fn signature_lines(
    connection: &mut AsyncPgConnection,
) -> Result<Vec<SignatureLine>, StoreError> {
    let rows: Vec<SignatureRow> = signatures::table
        .order(signatures::id)
        .select(SignatureRow::as_select())
        .load(connection)
        .await?;
    let signature_line = |row: SignatureRow| {
        Ok(SignatureLine {
            case: row.case_id.to_string(),
            id: row.id.to_string(),
            meaning: row.meaning,
            name: row.name,
            person: row.person_id.to_string(),
            position: row.position.cast_unsigned(),
            record_hash: hash(&row.record_hash)?,
            signed_at: row.signed_at,
        })
    };
    rows.into_iter().map(signature_line).collect()
}

async fn person_lines(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
) -> Result<Vec<Box<RawValue>>, StoreError> {
    let actor = "person:"
        .into_sql::<Text>()
        .concat(diesel::dsl::sql::<Text>("people.id::text"));
    let acted = ledger_entries::table
        .filter(ledger_entries::facility_id.eq(facility))
        .filter(ledger_entries::actor.eq(actor));
    let on_case = cases::table.filter(cases::practitioner_id.eq(people::id));
    let rows: Vec<(Uuid, String, String, Vec<String>)> = people::table
        .filter(exists(acted).or(exists(on_case)))
        .order(people::id)
        .select((people::id, people::login, people::name, people::roles))
        .load(connection)
        .await?;
    let person_line = |(id, login, name, roles): &(Uuid, String, String, Vec<String>)| {
        line(&PersonLine {
            id: *id,
            login,
            name,
            roles,
        })
    };
    rows.iter().map(person_line).collect()
}
