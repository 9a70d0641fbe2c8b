//! Answering which cases had a piece of equipment, with the patients' identity.

use crate::cases::{Patient, patients_by_id};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cases, equipment, equipment_uses};
use crate::sealing::Key;
use crate::where_used::listed;
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::{CaseStatus, Verdict};
use lotwarden_ledger::Hash;
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Answers which cases had a piece of equipment; each answer is a ledger entry, complete up to it.
/// A calibration that found it out of tolerance asks for those since the one before.
#[derive(Clone, Debug)]
pub struct ShowEquipmentCases {
    /// The facility's key.
    pub facility_key: Key,
    /// The piece.
    pub equipment: Uuid,
    /// The first day; every case without one.
    pub since: Option<Date>,
}

/// The cases that had it.
#[derive(Clone, Debug)]
pub struct EquipmentCases {
    /// The cases, in the order it was set up there.
    pub cases: Vec<CaseWithEquipment>,
    /// Their patients, by id.
    pub patients: BTreeMap<Uuid, Patient>,
}

/// A case with the equipment.
#[derive(Clone, Debug)]
pub struct CaseWithEquipment {
    /// The case.
    pub case: Uuid,
    /// What was done.
    pub procedure: String,
    /// The patient, by id.
    pub patient: Uuid,
    /// The state of the case.
    pub status: CaseStatus,
    /// When it was set up.
    pub at: Timestamp,
}

/// There is no such equipment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("there is no such equipment")]
pub struct NoSuchEquipment;

#[derive(Serialize)]
struct Data<'a> {
    case_count: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    case_digest: Option<Hash>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cases: Option<&'a [Uuid]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    since: Option<Date>,
    with_identity: bool,
}

impl Operation for ShowEquipmentCases {
    type Permission = act::ShowEquipmentCases;
    type Outcome = EquipmentCases;
    type Refusal = NoSuchEquipment;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<EquipmentCases, Refused<NoSuchEquipment>> {
        let known = equipment::table.filter(equipment::id.eq(self.equipment));
        if !diesel::select(exists(known))
            .get_result(writing.connection)
            .await?
        {
            return Err(Refused::Because(NoSuchEquipment));
        }
        type Row = (Uuid, String, Uuid, String, jiff_diesel::Timestamp);
        let rows: Vec<Row> = equipment_uses::table
            .inner_join(cases::table.on(cases::id.eq(equipment_uses::case_id)))
            .filter(equipment_uses::equipment_id.eq(self.equipment))
            .filter(equipment_uses::verdict.ne(Verdict::Stop.as_str()))
            .filter(equipment_uses::struck_at.is_null())
            .order(equipment_uses::id)
            .select((
                cases::id,
                cases::procedure_name,
                cases::patient_id,
                cases::status,
                equipment_uses::at,
            ))
            .load(writing.connection)
            .await?;
        let mut found = Vec::new();
        for (case, procedure, patient, status, at) in rows {
            let at = at.to_jiff();
            if self
                .since
                .is_some_and(|since| writing.facility.day(at) < since)
            {
                continue;
            }
            found.push(CaseWithEquipment {
                case,
                procedure,
                patient,
                status: status.parse().map_err(|_| StoreError::Unfit)?,
                at,
            });
        }
        let ids = found.iter().map(|each| each.patient).collect();
        let patients = patients_by_id(writing.connection, &self.facility_key, ids).await?;
        let cases: Vec<Uuid> = found.iter().map(|each| each.case).collect();
        let (listed, case_digest) = listed(&cases);
        let data = Data {
            case_count: cases.len(),
            case_digest,
            cases: listed,
            since: self.since,
            with_identity: true,
        };
        let subject = Subject::new("equipment", self.equipment);
        writing.append("show_equipment_cases", subject, &data)?;
        Ok(EquipmentCases {
            cases: found,
            patients,
        })
    }
}
