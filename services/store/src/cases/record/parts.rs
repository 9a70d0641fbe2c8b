//! The parts of a case's record beside its scans, as they are hashed.

use super::canonical::slugs;
use crate::cylinders::GasUse;
use crate::equipment::{EquipmentUse, Run};
use crate::mixes::{Closed, Dose, Made, Mix, MixIngredient, SubstanceStrength};
use crate::moment::instant_text;
use crate::records::{CaseCheck, CaseCheckLine, EnergyEntry, NewEnergy, Pick, ReconciledLot};
use crate::step::Step;
use jiff::civil::Date;
use lotwarden_domain::cases::{CheckKind, PickKind, Verdict};
use lotwarden_ledger::Hash;
use rust_decimal::Decimal;
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

#[derive(Serialize)]
pub(super) struct MixPart<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    checked: Option<StepPart>,
    #[serde(skip_serializing_if = "Option::is_none")]
    closed: Option<ClosedPart<'a>>,
    doses: Vec<DosePart<'a>>,
    ingredients: Vec<IngredientPart<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    made: Option<MadePart>,
    mix: Uuid,
    name: &'a str,
    /// Binds the order with the commitment to the weight in it.
    order_hash: Hash,
    ordered: StepPart,
    use_by_source: &'a str,
    use_within_minutes: i32,
    written_order: &'a str,
}

#[derive(Serialize)]
struct StepPart {
    at: String,
    person: Uuid,
}

#[derive(Serialize)]
struct MadePart {
    ready: StepPart,
    started_at: String,
    use_by: String,
}

#[derive(Serialize)]
struct ClosedPart<'a> {
    actor: &'a str,
    at: String,
    discarded_ml: Decimal,
    #[serde(skip_serializing_if = "Option::is_none")]
    explanation: Option<&'a str>,
    left_ml: Decimal,
}

#[derive(Serialize)]
struct IngredientPart<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    last_day: Option<Date>,
    lot: Uuid,
    product: Uuid,
    scan: Uuid,
    strengths: &'a [SubstanceStrength],
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
    volume_ml: Decimal,
}

#[derive(Serialize)]
struct DosePart<'a> {
    actor: &'a str,
    at: String,
    dose: Uuid,
    findings: Vec<&'a str>,
    given: bool,
    volume_ml: Decimal,
    zone: &'a str,
}

#[derive(Serialize)]
pub(super) struct GasPart<'a> {
    actor: &'a str,
    at: String,
    cylinder: Uuid,
    gas_use: Uuid,
    litre: Decimal,
    litre_per_minute: Decimal,
    minutes: Decimal,
    zone: &'a str,
}

#[derive(Serialize)]
pub(super) struct EnergyPart<'a> {
    actor: &'a str,
    at: String,
    energy: Uuid,
    /// As the record of the piece read then.
    generator: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    instrument: Option<&'a str>,
    recorded: &'a NewEnergy,
}

#[derive(Serialize)]
pub(super) struct EquipmentPart<'a> {
    actor: &'a str,
    at: String,
    equipment: Uuid,
    equipment_use: Uuid,
    findings: Vec<&'a str>,
    scanned: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    struck: Option<&'a str>,
    verdict: Verdict,
}

#[derive(Serialize)]
pub(super) struct RunPart<'a> {
    actor: &'a str,
    at: String,
    equipment: Uuid,
    minutes: Decimal,
    run: Uuid,
}

#[derive(Serialize)]
pub(super) struct CheckPart<'a> {
    check: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    confirmed: Option<StepPart>,
    kind: CheckKind,
    lines: &'a [CaseCheckLine],
    recorded: StepPart,
}

#[derive(Serialize)]
pub(super) struct PickPart<'a> {
    actor: &'a str,
    at: String,
    kind: PickKind,
    lot: Uuid,
    pick: Uuid,
    quantity: i32,
}

/// What was reconciled, so that whoever signs signs its differences.
#[derive(Serialize)]
pub(super) struct LotPart {
    difference: i64,
    /// By word, so that the keys are in order.
    dispositions: BTreeMap<&'static str, i64>,
    lot: Uuid,
    picked: i64,
    returned: i64,
}

impl StepPart {
    fn of(step: &Step) -> Self {
        Self {
            at: instant_text(step.at),
            person: step.person,
        }
    }
}

impl<'a> MixPart<'a> {
    pub(super) fn of(mix: &'a Mix) -> Self {
        Self {
            checked: mix.checked.as_ref().map(StepPart::of),
            closed: mix.closed.as_ref().map(ClosedPart::of),
            doses: mix.doses.iter().map(DosePart::of).collect(),
            ingredients: mix.ingredients.iter().map(IngredientPart::of).collect(),
            made: mix.made.as_ref().map(MadePart::of),
            mix: mix.id,
            name: &mix.name,
            order_hash: mix.order_hash,
            ordered: StepPart::of(&mix.ordered),
            use_by_source: &mix.use_by_source,
            use_within_minutes: mix.use_within_minutes,
            written_order: &mix.written_order,
        }
    }
}

impl MadePart {
    fn of(made: &Made) -> Self {
        Self {
            ready: StepPart::of(&made.step),
            started_at: instant_text(made.started_at),
            use_by: instant_text(made.use_by),
        }
    }
}

impl<'a> ClosedPart<'a> {
    fn of(closed: &'a Closed) -> Self {
        Self {
            actor: &closed.by,
            at: instant_text(closed.at),
            discarded_ml: closed.discarded_ml,
            explanation: closed.explanation.as_deref(),
            left_ml: closed.left_ml,
        }
    }
}

impl<'a> IngredientPart<'a> {
    fn of(ingredient: &'a MixIngredient) -> Self {
        Self {
            last_day: ingredient.last_day,
            lot: ingredient.lot.0,
            product: ingredient.product.0,
            scan: ingredient.scan,
            strengths: &ingredient.strengths,
            unit: ingredient.unit,
            volume_ml: ingredient.volume_ml,
        }
    }
}

impl<'a> DosePart<'a> {
    fn of(dose: &'a Dose) -> Self {
        Self {
            actor: &dose.by,
            at: instant_text(dose.at),
            dose: dose.id,
            findings: slugs(&dose.findings),
            given: dose.given,
            volume_ml: dose.volume_ml,
            zone: &dose.zone,
        }
    }
}

impl<'a> GasPart<'a> {
    pub(super) fn of(gas: &'a GasUse) -> Self {
        Self {
            actor: &gas.by,
            at: instant_text(gas.at),
            cylinder: gas.recorded.cylinder,
            gas_use: gas.id,
            litre: gas.litre,
            litre_per_minute: gas.recorded.litre_per_minute,
            minutes: gas.recorded.minutes,
            zone: &gas.recorded.zone,
        }
    }
}

impl<'a> EnergyPart<'a> {
    pub(super) fn of(entry: &'a EnergyEntry) -> Self {
        Self {
            actor: &entry.by,
            at: instant_text(entry.at),
            energy: entry.id,
            generator: &entry.generator,
            instrument: entry.instrument.as_deref(),
            recorded: &entry.new,
        }
    }
}

impl<'a> EquipmentPart<'a> {
    pub(super) fn of(used: &'a EquipmentUse) -> Self {
        Self {
            actor: &used.by,
            at: instant_text(used.at),
            equipment: used.equipment,
            equipment_use: used.id,
            findings: slugs(&used.findings),
            scanned: used.scanned,
            struck: used.struck.as_deref(),
            verdict: used.verdict,
        }
    }
}

impl<'a> RunPart<'a> {
    pub(super) fn of(run: &'a Run) -> Self {
        Self {
            actor: &run.by,
            at: instant_text(run.at),
            equipment: run.recorded.equipment,
            minutes: run.recorded.minutes,
            run: run.id,
        }
    }
}

impl<'a> CheckPart<'a> {
    pub(super) fn of(check: &'a CaseCheck) -> Self {
        Self {
            check: check.id,
            confirmed: check.confirmed.as_ref().map(StepPart::of),
            kind: check.kind,
            lines: &check.lines,
            recorded: StepPart::of(&check.recorded),
        }
    }
}

impl<'a> PickPart<'a> {
    pub(super) fn of(pick: &'a Pick) -> Self {
        Self {
            actor: &pick.by,
            at: instant_text(pick.at),
            kind: pick.kind,
            lot: pick.lot,
            pick: pick.id,
            quantity: pick.quantity,
        }
    }
}

impl LotPart {
    pub(super) fn of(lot: &ReconciledLot) -> Self {
        Self {
            difference: lot.difference(),
            dispositions: lot
                .dispositions
                .iter()
                .map(|(what, count)| (what.as_str(), *count))
                .collect(),
            lot: lot.lot,
            picked: lot.picked,
            returned: lot.returned,
        }
    }
}
