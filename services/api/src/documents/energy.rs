//! The energy log beside the site's settings and end points, in the words of the pages.

use super::sections::{amended, column, exact, none, word};
use crate::pages::english;
use lotwarden_documents::Report;
use lotwarden_store::documents::CaseFile;
use lotwarden_store::records::{CountedLimit, SiteEnergyLimit};
use std::collections::BTreeMap;
use uuid::Uuid;

pub(super) fn log(report: &mut Report, file: &CaseFile) {
    let entries = &file.recorded.energy;
    if entries.is_empty() {
        return;
    }
    report.heading("Energy");
    let columns = [
        column("Zone", 11),
        column("Generator", 17),
        column("Power, %", 6),
        column("L/min", 5),
        column("Passes", 6),
        column("Seconds", 7),
        column("Highest skin temperature", 17),
        column("Outside the site's limits", 20),
    ];
    let rows = entries.iter().zip(&file.energy_limits);
    let rows = rows.map(|(entry, limits)| {
        let new = &entry.new;
        let skin = new.max_skin_celsius.map(|celsius| {
            let by = entry.instrument.as_deref().unwrap_or_default();
            format!("{} °C, {by}", exact(celsius))
        });
        vec![
            format!("{}{}", new.zone, amended(file, entry.id)),
            entry.generator.clone(),
            exact(new.power_percent),
            new.litre_per_minute.map(exact).unwrap_or_default(),
            new.passes.to_string(),
            exact(new.active_seconds),
            skin.unwrap_or_else(none),
            outside(limits),
        ]
    });
    report.table(&columns, rows.collect(), "");
    for entry in entries {
        if let Some(notes) = &entry.new.notes {
            report.text(&format!("{}: {notes}", entry.new.zone));
        }
    }
    counted(report, file);
}

/// The limits that counted for an entry of the log, each once.
fn counted(report: &mut Report, file: &CaseFile) {
    report.heading(english("energy.limits"));
    report.text(
        "The site's own, each with its source, that counted when the energy was recorded. Entries \
         are compared with them; nothing is refused.",
    );
    let limits = file.energy_limits.iter().flatten();
    let limits: BTreeMap<Uuid, &SiteEnergyLimit> =
        limits.map(|one| (one.limit.id, &one.limit)).collect();
    let columns = [
        column("Value", 22),
        column("Least", 7),
        column("Most", 7),
        column("Zone", 14),
        column("Type of thermometer", 17),
        column("Source", 24),
    ];
    let rows = limits.values().map(|one| {
        let limit = &one.limit;
        let type_of = limit.thermometer_type;
        vec![
            word("energy_value", limit.value.as_str()),
            limit.least.map(exact).unwrap_or_default(),
            limit.most.map(exact).unwrap_or_default(),
            limit.zone.clone().unwrap_or_default(),
            type_of
                .map(|one| word("thermometer_type", one.as_str()))
                .unwrap_or_default(),
            one.source.clone(),
        ]
    });
    report.table(
        &columns,
        rows.collect(),
        "The site had written down none for them.",
    );
}

/// The limits that an entry lies outside of.
pub(super) fn outside(limits: &[CountedLimit]) -> String {
    let left = limits.iter().filter(|one| one.is_left);
    let left: Vec<String> = left.map(|one| in_words(&one.limit)).collect();
    left.join("; ")
}

/// A limit with its source, as `limitText` of the pages has it.
fn in_words(one: &SiteEnergyLimit) -> String {
    let limit = &one.limit;
    let bound = |bound: Option<_>| bound.map(exact).unwrap_or_default();
    let bounds = format!("{} – {}", bound(limit.least), bound(limit.most));
    let type_of = limit.thermometer_type;
    let type_of = type_of.map(|one| word("thermometer_type", one.as_str()));
    let about: Vec<String> = limit.zone.iter().cloned().chain(type_of).collect();
    let about = match about.as_slice() {
        [] => String::new(),
        some => format!(" ({})", some.join(", ")),
    };
    let value = word("energy_value", limit.value.as_str());
    format!("{value} {}{about} {}", bounds.trim(), one.source)
}
