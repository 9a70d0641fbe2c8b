//! What a case's record states, part by part, as people read and amend it.

use super::Recorded;
use crate::cases::ScanItem;
use crate::cylinders::GasUse;
use crate::equipment::{EquipmentUse, Run};
use crate::mixes::{Dose, Mix};
use crate::moment::instant_text;
use crate::records::{CaseCheck, EnergyEntry, Pick};
use jiff::Timestamp;
use lotwarden_domain::cases::RecordPart;
use rust_decimal::Decimal;
use std::fmt::Write;
use uuid::Uuid;

/// A part of the record of a case with what it states.
#[derive(Clone, Debug)]
pub struct Part {
    /// What it is.
    pub kind: RecordPart,
    /// Which; the case for the record as a whole.
    pub id: Uuid,
    /// What people know it by.
    pub name: String,
    /// Its values.
    pub values: Vec<Stated>,
}

/// One value of a part.
#[derive(Clone, Debug)]
pub struct Stated {
    /// What it is of the part.
    pub field: &'static str,
    /// As text; none where nothing is recorded.
    pub value: Option<String>,
    /// Whether an amendment put it there.
    pub amended: bool,
}

fn stated(field: &'static str, value: impl ToString) -> Stated {
    perhaps(field, Some(value))
}

fn perhaps(field: &'static str, value: Option<impl ToString>) -> Stated {
    Stated {
        field,
        value: value.map(|value| value.to_string()),
        amended: false,
    }
}

fn time(field: &'static str, at: Option<Timestamp>) -> Stated {
    perhaps(field, at.map(instant_text))
}

impl Recorded {
    /// The parts of the record, the case itself first.
    #[must_use]
    pub fn parts(&self) -> Vec<Part> {
        let mut parts = vec![self.whole()];
        parts.extend(self.scans.iter().map(of_scan));
        for mix in &self.mixes {
            parts.push(of_mix(mix));
            parts.extend(mix.doses.iter().map(|dose| of_dose(mix, dose)));
        }
        parts.extend(self.gas.iter().map(of_gas));
        parts.extend(self.energy.iter().map(of_energy));
        parts.extend(self.equipment.iter().map(|used| self.of_equipment(used)));
        parts.extend(self.checks.iter().map(of_check));
        parts.extend(self.picks.iter().map(|pick| self.of_pick(pick)));
        parts
    }

    fn whole(&self) -> Part {
        let case = &self.case;
        Part {
            kind: RecordPart::Record,
            id: case.id,
            name: case.procedure.clone(),
            values: vec![
                stated("procedure", &case.procedure),
                stated("location", &case.location.1),
                stated("practitioner", &case.practitioner.1),
                time("scheduled_for", Some(case.scheduled_for)),
                time("started_at", case.started_at),
                time("ended_at", case.ended_at),
                stated("status", case.status),
            ],
        }
    }

    fn of_equipment(&self, used: &EquipmentUse) -> Part {
        let of = |run: &&Run| run.recorded.equipment == used.equipment;
        let runs = self.runs.iter().filter(of);
        let minutes: Decimal = runs.map(|run| run.recorded.minutes).sum();
        Part {
            kind: RecordPart::Equipment,
            id: used.id,
            name: used.described.clone(),
            values: vec![
                stated("equipment", &used.described),
                time("at", Some(used.at)),
                stated("minutes", minutes),
            ],
        }
    }

    fn of_pick(&self, pick: &Pick) -> Part {
        let lot = self.lots.iter().find(|lot| lot.lot == pick.lot);
        let name = lot.map(|lot| lot.product_name.clone()).unwrap_or_default();
        Part {
            kind: RecordPart::Pick,
            id: pick.id,
            values: vec![
                perhaps("lot", lot.and_then(|lot| lot.number.clone())),
                stated("kind", pick.kind),
                stated("quantity", pick.quantity),
            ],
            name,
        }
    }
}

fn of_scan(scan: &ScanItem) -> Part {
    let piece = scan.on_case.as_ref();
    let product = scan.product.as_ref().map(|(_, name)| name);
    Part {
        kind: RecordPart::Scan,
        id: scan.id,
        name: product.cloned().unwrap_or_default(),
        values: vec![
            perhaps("product", product),
            perhaps(
                "lot",
                scan.lot.as_ref().and_then(|(_, number, _)| number.clone()),
            ),
            perhaps("serial", scan.unit.as_ref().map(|(_, serial)| serial)),
            perhaps("expires_on", scan.lot.as_ref().and_then(|(.., day)| *day)),
            time("occurred_at", Some(scan.occurred_at)),
            stated("verdict", scan.verdict),
            perhaps("disposition", piece.map(|piece| piece.disposition)),
            perhaps(
                "disposition_reason",
                piece.and_then(|piece| piece.reason.clone()),
            ),
        ],
    }
}

fn of_mix(mix: &Mix) -> Part {
    let ingredients = mix
        .ingredients
        .iter()
        .fold(String::new(), |mut text, each| {
            let lot = each.lot.1.as_deref().unwrap_or("-");
            let gap = if text.is_empty() { "" } else { "; " };
            let _ = write!(text, "{gap}{} {lot} {} mL", each.product.1, each.volume_ml);
            text
        });
    let closed = mix.closed.as_ref();
    Part {
        kind: RecordPart::Mix,
        id: mix.id,
        name: mix.name.clone(),
        values: vec![
            stated("written_order", &mix.written_order),
            perhaps(
                "ingredients",
                (!ingredients.is_empty()).then_some(ingredients),
            ),
            time("started_at", mix.made.as_ref().map(|made| made.started_at)),
            time("made_at", mix.made.as_ref().map(|made| made.step.at)),
            time("use_by", mix.made.as_ref().map(|made| made.use_by)),
            time("checked_at", mix.checked.as_ref().map(|step| step.at)),
            perhaps("discarded_ml", closed.map(|closed| closed.discarded_ml)),
            perhaps("left_ml", closed.map(|closed| closed.left_ml)),
            perhaps(
                "explanation",
                closed.and_then(|closed| closed.explanation.clone()),
            ),
        ],
    }
}

fn of_dose(mix: &Mix, dose: &Dose) -> Part {
    Part {
        kind: RecordPart::Dose,
        id: dose.id,
        name: format!("{}, {}", mix.name, dose.zone),
        values: vec![
            stated("zone", &dose.zone),
            stated("volume_ml", dose.volume_ml),
            stated("given", if dose.given { "yes" } else { "no" }),
            time("at", Some(dose.at)),
        ],
    }
}

fn of_gas(gas: &GasUse) -> Part {
    Part {
        kind: RecordPart::GasUse,
        id: gas.id,
        name: gas.recorded.zone.clone(),
        values: vec![
            stated("zone", &gas.recorded.zone),
            stated("litre_per_minute", gas.recorded.litre_per_minute),
            stated("minutes", gas.recorded.minutes),
            stated("litre", gas.litre),
            time("at", Some(gas.at)),
        ],
    }
}

fn of_energy(entry: &EnergyEntry) -> Part {
    let new = &entry.new;
    Part {
        kind: RecordPart::Energy,
        id: entry.id,
        name: new.zone.clone(),
        values: vec![
            stated("zone", &new.zone),
            stated("generator", &entry.generator),
            stated("power_percent", new.power_percent),
            perhaps("litre_per_minute", new.litre_per_minute),
            stated("passes", new.passes),
            stated("active_seconds", new.active_seconds),
            perhaps("max_skin_celsius", new.max_skin_celsius),
            perhaps("instrument", entry.instrument.as_ref()),
            perhaps("notes", new.notes.as_ref()),
            time("at", Some(entry.at)),
        ],
    }
}

fn of_check(check: &CaseCheck) -> Part {
    let line = |text: &mut String, item: &str, answer: &str| {
        let gap = if text.is_empty() { "" } else { "; " };
        let _ = write!(text, "{gap}{item}: {answer}");
    };
    let mut lines = String::new();
    for each in &check.lines {
        line(&mut lines, &each.item, &each.answer);
    }
    Part {
        kind: RecordPart::Check,
        id: check.id,
        name: check.kind.to_string(),
        values: vec![
            stated("kind", check.kind),
            stated("lines", lines),
            time("recorded_at", Some(check.recorded.at)),
            time("confirmed_at", check.confirmed.as_ref().map(|step| step.at)),
        ],
    }
}
