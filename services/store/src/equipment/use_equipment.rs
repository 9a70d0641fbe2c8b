//! Setting equipment up on a case.

use super::rows::{Asked, of};
use crate::access::change_policy;
use crate::cases::{self, NotOpen, add_to};
use crate::database::{Reading, StoreError};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{equipment, equipment_uses};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::Verdict;
use lotwarden_domain::equipment::EquipmentKind;
use lotwarden_domain::rules::{Rule, judge_equipment, verdict_of};
use serde::Serialize;
use serde_json::Value;
use uuid::Uuid;

/// How a person names a piece of equipment.
#[derive(Clone, Debug)]
pub enum Named {
    /// Chosen from the list.
    Chosen(Uuid),
    /// By what a scanner read: its asset number, or its maker's label.
    Scanned(String),
}

/// Sets equipment up on a case. What a rule stops stays on record and is not on the case.
#[derive(Clone, Debug)]
pub struct UseEquipment {
    /// The case.
    pub case: Uuid,
    /// The piece.
    pub named: Named,
}

/// Equipment that was set up.
#[derive(Clone, Debug)]
pub struct EquipmentUse {
    /// The record.
    pub id: Uuid,
    /// The piece.
    pub equipment: Uuid,
    /// As records name it.
    pub described: String,
    /// What it is for.
    pub kind: EquipmentKind,
    /// Whether it was scanned.
    pub scanned: bool,
    /// What the rules said.
    pub verdict: Verdict,
    /// Every finding as it was told, worst first.
    pub findings: Value,
    /// Who did it, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Why it was taken back, if it was.
    pub struck: Option<String>,
}

/// Why equipment is not set up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum UseEquipmentRefusal {
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// There is no such equipment.
    #[error("there is no equipment with this id, asset number or label")]
    NoSuchEquipment,
    /// It is on the case.
    #[error("this equipment is on the case already")]
    OnCase,
}

#[derive(Serialize)]
struct Data<'a> {
    case: Uuid,
    equipment: Uuid,
    findings: Vec<Rule>,
    scanned: bool,
    verdict: &'a str,
}

impl Operation for UseEquipment {
    type Permission = act::UseEquipment;
    type Outcome = EquipmentUse;
    type Refusal = UseEquipmentRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<EquipmentUse, Refused<UseEquipmentRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        add_to::<UseEquipmentRefusal>(writing, self.case).await?;
        let id = match &self.named {
            Named::Chosen(id) => Some(*id),
            Named::Scanned(text) => equipment::table
                .filter(equipment::asset_number.eq(text))
                .or_filter(equipment::label.eq(text))
                .order(equipment::asset_number.eq(text).desc())
                .select(equipment::id)
                .first(writing.connection)
                .await
                .optional()?,
        };
        let piece = match id {
            Some(id) => of(writing.connection, Asked::One(id)).await?.pop(),
            None => None,
        };
        let Some(piece) = piece else {
            return refuse(UseEquipmentRefusal::NoSuchEquipment);
        };
        if on_case(writing, piece.id, self.case).await?.is_some() {
            return refuse(UseEquipmentRefusal::OnCase);
        }
        let policy = change_policy::current(writing.connection).await?.settings;
        let today = writing.facility.day(writing.at);
        let findings = judge_equipment(&piece.facts(today, &policy));
        let verdict = verdict_of(&findings);
        let data = Data {
            case: self.case,
            equipment: piece.id,
            findings: findings.iter().map(|finding| finding.slug).collect(),
            scanned: matches!(self.named, Named::Scanned(_)),
            verdict: verdict.as_str(),
        };
        let used = EquipmentUse {
            id: writing.new_id(),
            equipment: piece.id,
            described: piece.new.described(),
            kind: piece.new.kind,
            scanned: data.scanned,
            verdict,
            findings: serde_json::to_value(&findings).map_err(|_| StoreError::Unfit)?,
            by: writing.actor.to_string(),
            at: writing.at,
            struck: None,
        };
        diesel::insert_into(equipment_uses::table)
            .values((
                equipment_uses::facility_id.eq(writing.facility.id),
                equipment_uses::id.eq(used.id),
                equipment_uses::equipment_id.eq(piece.id),
                equipment_uses::case_id.eq(self.case),
                equipment_uses::scanned.eq(used.scanned),
                equipment_uses::verdict.eq(verdict.as_str()),
                equipment_uses::findings.eq(&used.findings),
                equipment_uses::actor.eq(&used.by),
                equipment_uses::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::of_case("equipment_use", used.id, self.case);
        writing.append("use_equipment", subject, &data)?;
        Ok(used)
    }
}

/// Takes equipment back from a case on which it was set up by mistake.
#[derive(Clone, Debug)]
pub struct StrikeEquipment {
    /// The case.
    pub case: Uuid,
    /// The piece.
    pub equipment: Uuid,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why equipment is not taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StrikeEquipmentRefusal {
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// It is not on the case.
    #[error("this equipment is not on the case")]
    NotOnCase,
}

#[derive(Serialize)]
struct StrikeData<'a> {
    case: Uuid,
    equipment: Uuid,
    reason: &'a str,
}

impl Operation for StrikeEquipment {
    type Permission = act::StrikeEquipment;
    type Outcome = EquipmentUse;
    type Refusal = StrikeEquipmentRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<EquipmentUse, Refused<StrikeEquipmentRefusal>> {
        add_to::<StrikeEquipmentRefusal>(writing, self.case).await?;
        let found = on_case(writing, self.equipment, self.case).await?;
        let mut used = found.ok_or(Refused::Because(StrikeEquipmentRefusal::NotOnCase))?;
        diesel::update(equipment_uses::table.find(used.id))
            .set((
                equipment_uses::struck_at.eq(writing.at.to_diesel()),
                equipment_uses::struck_reason.eq(&self.reason),
            ))
            .execute(writing.connection)
            .await?;
        let data = StrikeData {
            case: self.case,
            equipment: self.equipment,
            reason: &self.reason,
        };
        let subject = Subject::of_case("equipment_use", used.id, self.case);
        writing.append("strike_equipment", subject, &data)?;
        used.struck = Some(self.reason.clone());
        Ok(used)
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = equipment_uses)]
struct Row {
    id: Uuid,
    equipment_id: Uuid,
    scanned: bool,
    verdict: String,
    findings: Value,
    actor: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    at: Timestamp,
    struck_reason: Option<String>,
}

type Joined = (Row, (String, String, Option<String>, String));

const NAMES: (
    equipment::name,
    equipment::asset_number,
    equipment::serial,
    equipment::kind,
) = (
    equipment::name,
    equipment::asset_number,
    equipment::serial,
    equipment::kind,
);

fn used((row, (name, asset_number, serial, kind)): Joined) -> Result<EquipmentUse, StoreError> {
    Ok(EquipmentUse {
        id: row.id,
        equipment: row.equipment_id,
        described: super::described(&name, &asset_number, serial.as_deref()),
        kind: kind.parse().map_err(|_| StoreError::Unfit)?,
        scanned: row.scanned,
        verdict: row.verdict.parse().map_err(|_| StoreError::Unfit)?,
        findings: row.findings,
        by: row.actor,
        at: row.at,
        struck: row.struck_reason,
    })
}

/// Equipment that is on a case; none when it is not, or was stopped or taken back.
pub(crate) async fn on_case(
    writing: &mut Writing<'_>,
    piece: Uuid,
    case: Uuid,
) -> Result<Option<EquipmentUse>, StoreError> {
    let row: Option<Joined> = equipment_uses::table
        .inner_join(equipment::table.on(equipment::id.eq(equipment_uses::equipment_id)))
        .filter(equipment_uses::equipment_id.eq(piece))
        .filter(equipment_uses::case_id.eq(case))
        .filter(equipment_uses::verdict.ne(Verdict::Stop.as_str()))
        .filter(equipment_uses::struck_at.is_null())
        .select((Row::as_select(), NAMES))
        .first(writing.connection)
        .await
        .optional()?;
    row.map(used).transpose()
}

/// Lists the equipment of a case in the order it was set up, stopped and taken back included; none
/// when there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn list_on_case(
    reading: &mut Reading,
    case: Uuid,
) -> Result<Option<Vec<EquipmentUse>>, StoreError> {
    if !cases::exists(reading, case).await? {
        return Ok(None);
    }
    Ok(Some(of_case(reading.connection(), case).await?))
}

/// The equipment of a case in the order it was set up, stopped and taken back included.
pub(crate) async fn of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<EquipmentUse>, StoreError> {
    let rows: Vec<Joined> = equipment_uses::table
        .inner_join(equipment::table.on(equipment::id.eq(equipment_uses::equipment_id)))
        .filter(equipment_uses::case_id.eq(case))
        .order(equipment_uses::id)
        .select((Row::as_select(), NAMES))
        .load(connection)
        .await?;
    rows.into_iter().map(used).collect()
}
