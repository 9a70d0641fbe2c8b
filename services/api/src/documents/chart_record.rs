//! `GET /v1/cases/{case}/chart-record`

use super::sections::{
    amended, amount, column, computed, exact, expires_on, identifier, lot, none, patient,
    procedure, product, report, serial, signatures, word, zones,
};
use super::{PDF, energy, identified};
use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_documents::Report;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::Disposition;
use lotwarden_domain::computations::CAUTION;
use lotwarden_domain::mixes::references_for;
use lotwarden_domain::retention::CAUTION as CAUTION_OF_RETENTION;
use lotwarden_store::Step;
use lotwarden_store::cases::ScanItem;
use lotwarden_store::documents::{CaseFile, Identified};
use lotwarden_store::mixes::{Mix, sums};
use uuid::Uuid;

/// Gives the record of a case for the chart as PDF. Each copy is a ledger entry, which holds no
/// identity.
#[utoipa::path(
    operation_id = "show_chart_record", tag = "documents",
    params(("case" = Uuid, Path, description = "The case.")),
    responses(
        (status = 200, description = "The record.", body = String, content_type = "application/pdf"),
        Refusals,
    ),
)]
#[get("/v1/cases/{case}/chart-record")]
pub(super) async fn show_chart_record(
    allowed: Allowed<act::ShowChartRecord>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let kind = (PDF, "chart-record.pdf");
    identified(allowed, &app, case.into_inner(), kind, |found, receipt| {
        pages(found, receipt.position).pdf()
    })
    .await
}

fn pages(found: &Identified, entry: u64) -> Report {
    let file = &found.file;
    let mut report = report("Chart record", file, entry);
    patient(&mut report, found);
    procedure(&mut report, file);
    items(&mut report, file);
    for mix in &file.recorded.mixes {
        of_mix(&mut report, file, mix);
    }
    given(&mut report, found);
    equipment(&mut report, file);
    gas(&mut report, file);
    energy::log(&mut report, file);
    checks(&mut report, file);
    reconciliation(&mut report, file);
    readings(&mut report, file);
    signatures(&mut report, file);
    kept_until(&mut report, file);
    report
}

fn items(report: &mut Report, file: &CaseFile) {
    report.heading("Items");
    let columns = [
        column("Product", 26),
        column("Identifier", 19),
        column("Lot", 11),
        column("Serial", 10),
        column("Expires", 12),
        column("Zone", 8),
        column("Became", 14),
    ];
    let rows = file.items.iter().map(|item| {
        let piece = item.scan.on_case.as_ref();
        let became = piece.map(|piece| match &piece.reason {
            Some(reason) => format!("{}: {reason}", what_became(piece.disposition)),
            None => what_became(piece.disposition),
        });
        vec![
            product(file, item),
            identifier(item),
            lot(item),
            serial(item),
            expires_on(item),
            zones(item),
            became.unwrap_or_default(),
        ]
    });
    report.table(&columns, rows.collect(), "No item is on the case.");
    for load in &file.through.loads {
        let held = load.held.as_deref();
        let held = held
            .map(|why| format!(" (held: {why})"))
            .unwrap_or_default();
        let at = file.local(load.started_at.to_jiff());
        report.text(&format!("Sterilized in {}, {at}{held}.", load.name));
    }
}

fn what_became(disposition: Disposition) -> String {
    word("disposition", disposition.as_str())
}

fn of_mix(report: &mut Report, file: &CaseFile, mix: &Mix) {
    let step = |one: &Step| step(file, one);
    let perhaps = |found: Option<String>| found.unwrap_or_else(none);
    report.heading(&format!("Mix: {}", mix.name));
    let made = mix.made.as_ref();
    let closed = mix.closed.as_ref();
    report.facts([
        ("Order", mix.written_order.clone()),
        ("Ordered and signed", step(&mix.ordered)),
        ("Made", perhaps(made.map(|made| step(&made.step)))),
        ("Checked", perhaps(mix.checked.as_ref().map(step))),
        (
            "Use by",
            perhaps(
                made.map(|made| format!("{} ({})", file.local(made.use_by), mix.use_by_source)),
            ),
        ),
        (
            "Rest",
            perhaps(closed.map(|closed| {
                let why = closed.explanation.as_deref().unwrap_or_default();
                let (gone, left) = (exact(closed.discarded_ml), exact(closed.left_ml));
                format!("{gone} mL discarded, {left} mL left {why}")
            })),
        ),
    ]);
    let columns = [
        column("Ingredient", 36),
        column("Lot", 14),
        column("mL", 10),
        column("Strength", 36),
    ];
    let rows = mix.ingredients.iter().map(|each| {
        let strengths = each.strengths.iter().map(|strength| {
            let mg = strength.mg_per_ml.map(|mg| format!("{} mg/mL", exact(mg)));
            let meq = strength
                .meq_per_ml
                .map(|meq| format!("{} mEq/mL", exact(meq)));
            let value = mg.or(meq).unwrap_or_default();
            format!("{} {value}", strength.substance)
        });
        let strengths: Vec<String> = strengths.collect();
        vec![
            each.product.1.clone(),
            each.lot.1.clone().unwrap_or_else(none),
            exact(each.volume_ml),
            strengths.join("; "),
        ]
    });
    report.table(&columns, rows.collect(), "It was not made.");
    let columns = [
        column("Zone", 40),
        column("mL", 12),
        column("When", 30),
        column("", 14),
    ];
    let rows = mix.doses.iter().map(|dose| {
        let given = if dose.given { "given" } else { "stopped" };
        vec![
            format!("{}{}", dose.zone, amended(file, dose.id)),
            exact(dose.volume_ml),
            file.local(dose.at),
            given.to_owned(),
        ]
    });
    report.table(&columns, rows.collect(), "Nothing of it was given.");
}

fn given(report: &mut Report, found: &Identified) {
    let mixes = &found.file.recorded.mixes;
    if mixes.is_empty() {
        return;
    }
    let (amounts, without) = sums(mixes);
    report.heading("Given in all mixes");
    let weight = found.weight.as_ref();
    if let Some(weight) = weight {
        report.text(&format!(
            "Weight {} kg, entered by {}, {}.",
            exact(weight.kilogram),
            weight.entered_by,
            found.file.local(weight.entered_at)
        ));
    }
    let columns = [
        column("Substance", 18),
        column("Amount", 18),
        column("mg/kg", 10),
        column("Published values, lowest first", 50),
    ];
    let rows = amounts.iter().map(|(substance, of)| {
        let per_kg = of.mg.zip(weight).map(|(mg, weight)| mg / weight.kilogram);
        let published = references_for(substance)
            .map(|one| format!("{} mg/kg, {} ({})", one.mg_per_kg, one.about, one.source));
        let published: Vec<String> = published.collect();
        vec![
            substance.clone(),
            amount(*of),
            per_kg.map_or_else(|| "cannot be computed".to_owned(), computed),
            published.join("; "),
        ]
    });
    report.table(
        &columns,
        rows.collect(),
        "Nothing of a named strength was given.",
    );
    if without > 0 {
        report.text(&format!(
            "{without} drug(s) without a strength on record: their amounts cannot be computed."
        ));
    }
    report.text(CAUTION);
}

fn equipment(report: &mut Report, file: &CaseFile) {
    if file.recorded.equipment.is_empty() {
        return;
    }
    report.heading("Equipment");
    let columns = [
        column("Piece", 40),
        column("Set up", 22),
        column("Verdict", 10),
        column("Ran, min", 10),
        column("Taken back", 14),
    ];
    let rows = file.recorded.equipment.iter().map(|used| {
        let runs = file.recorded.runs.iter();
        let runs = runs.filter(|run| run.recorded.equipment == used.equipment);
        let ran = runs.map(|run| run.recorded.minutes).reduce(|a, b| a + b);
        vec![
            used.described.clone(),
            file.local(used.at),
            word("verdict", used.verdict.as_str()),
            ran.map(exact).unwrap_or_default(),
            used.struck.clone().unwrap_or_default(),
        ]
    });
    report.table(&columns, rows.collect(), "");
}

fn gas(report: &mut Report, file: &CaseFile) {
    if file.recorded.gas.is_empty() {
        return;
    }
    report.heading("Gas");
    let columns = [
        column("Zone", 36),
        column("L/min", 16),
        column("min", 16),
        column("Litres", 28),
    ];
    let rows = file.recorded.gas.iter().map(|gas| {
        vec![
            format!("{}{}", gas.recorded.zone, amended(file, gas.id)),
            exact(gas.recorded.litre_per_minute),
            exact(gas.recorded.minutes),
            exact(gas.litre),
        ]
    });
    report.table(&columns, rows.collect(), "");
}

/// Who did a step, and when.
fn step(file: &CaseFile, step: &Step) -> String {
    format!("{}, {}", step.name, file.local(step.at))
}

fn checks(report: &mut Report, file: &CaseFile) {
    report.heading("Checks and counts by two people");
    let columns = [
        column("Check", 14),
        column("Lines", 34),
        column("Recorded", 24),
        column("Confirmed", 24),
    ];
    let rows = file.recorded.checks.iter().map(|check| {
        let lines = check.lines.iter();
        let lines: Vec<String> = lines
            .map(|line| format!("{}: {}", line.item, line.answer))
            .collect();
        let confirmed = check.confirmed.as_ref().map(|one| step(file, one));
        vec![
            word("check", check.kind.as_str()),
            lines.join("\n"),
            step(file, &check.recorded),
            confirmed.unwrap_or_else(|| "not confirmed".to_owned()),
        ]
    });
    report.table(&columns, rows.collect(), "No check is on record.");
}

fn reconciliation(report: &mut Report, file: &CaseFile) {
    report.heading("Reconciliation, in units of use");
    let columns = [
        column("Product", 34),
        column("Lot", 14),
        column("Picked", 8),
        column("Returned", 9),
        column("On the case", 20),
        column("Difference", 11),
    ];
    let rows = file.recorded.lots.iter().map(|lot| {
        let became = lot.dispositions.iter();
        let became: Vec<String> = became
            .map(|(what, count)| format!("{count} {}", what_became(*what)))
            .collect();
        vec![
            lot.product_name.clone(),
            lot.number.clone().unwrap_or_else(none),
            lot.picked.to_string(),
            lot.returned.to_string(),
            became.join(", "),
            lot.difference().to_string(),
        ]
    });
    report.table(&columns, rows.collect(), "Nothing was picked or used.");
}

fn kept_until(report: &mut Report, file: &CaseFile) {
    report.heading("Kept until, at least");
    let columns = [column("Until", 12), column("Source", 84)];
    let rows = file.retention.rules.iter();
    let rows = rows.map(|(_, until, source)| vec![until.to_string(), source.clone()]);
    report.table(&columns, rows.collect(), "");
    if !file.retention.state_years_known {
        report.text("The state's years for medical records are not on record: by them the day cannot be computed.");
    }
    report.text(CAUTION_OF_RETENTION);
}

/// Readings that put nothing on the case, or were taken back: they are part of the record.
fn readings(report: &mut Report, file: &CaseFile) {
    let off = |scan: &&ScanItem| scan.on_case.is_none() || scan.strike.is_some();
    let columns = [
        column("Product", 30),
        column("Lot", 14),
        column("When", 22),
        column("Verdict", 8),
        column("Why", 22),
    ];
    let rows = file.recorded.scans.iter().filter(off).map(|scan| {
        let product = scan.product.as_ref().map(|(_, name)| name.clone());
        let lot = scan.lot.as_ref().and_then(|(_, number, _)| number.clone());
        let slugs = scan.findings.as_array().into_iter().flatten();
        let rules = slugs.filter_map(|one| one["slug"].as_str());
        let rules: Vec<String> = rules.map(|slug| word("rule", slug)).collect();
        let (verdict, why) = match &scan.strike {
            Some(strike) => (word("verdict", "struck"), strike.reason.clone()),
            None => (word("verdict", scan.verdict.as_str()), rules.join(", ")),
        };
        vec![
            product.unwrap_or_default(),
            lot.unwrap_or_default(),
            file.local(scan.received_at),
            verdict,
            why,
        ]
    });
    report.heading("Readings that put nothing on the case");
    report.table(&columns, rows.collect(), "There are none.");
}
