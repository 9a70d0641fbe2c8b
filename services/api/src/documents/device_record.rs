//! `GET /v1/cases/{case}/device-record`

use super::sections::{
    amended, amounts, column, exact, expires_on, identifier, lot, patient, procedure, product,
    report, serial, signatures, was_used, zones,
};
use super::{PDF, identified};
use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_documents::Report;
use lotwarden_domain::access::act;
use lotwarden_domain::mixes::Amount;
use lotwarden_store::documents::{CaseFile, Identified};
use lotwarden_store::mixes::Mix;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Gives the patient's own record of what was used, as PDF. Each copy is a ledger entry, which holds
/// no identity.
#[utoipa::path(
    operation_id = "show_device_record", tag = "documents",
    params(("case" = Uuid, Path, description = "The case.")),
    responses(
        (status = 200, description = "The record.", body = String, content_type = "application/pdf"),
        Refusals,
    ),
)]
#[get("/v1/cases/{case}/device-record")]
pub(super) async fn show_device_record(
    allowed: Allowed<act::ShowDeviceRecord>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let kind = (PDF, "device-record.pdf");
    identified(allowed, &app, case.into_inner(), kind, |found, receipt| {
        pages(found, receipt.position).pdf()
    })
    .await
}

fn pages(found: &Identified, entry: u64) -> Report {
    let file = &found.file;
    let mut report = report("Device record for the patient", file, entry);
    report.text(
        "This paper lists what was used on you. It records and gives no advice; questions are for \
         your practitioner.",
    );
    patient(&mut report, found);
    procedure(&mut report, file);
    items(&mut report, file);
    mixes(&mut report, file);
    gas(&mut report, file);
    signatures(&mut report, file);
    reading(&mut report);
    report
}

fn items(report: &mut Report, file: &CaseFile) {
    report.heading("What was used");
    let columns = [
        column("Product", 32),
        column("Identifier", 20),
        column("Lot", 12),
        column("Serial", 12),
        column("Expires", 12),
        column("Zone", 12),
    ];
    let rows = file.items.iter().filter(|item| was_used(item)).map(|item| {
        vec![
            product(file, item),
            identifier(item),
            lot(item),
            serial(item),
            expires_on(item),
            zones(item),
        ]
    });
    report.table(&columns, rows.collect(), "No item is on record.");
}

fn mixes(report: &mut Report, file: &CaseFile) {
    let columns = [column("Zone", 20), column("mL", 10), column("In it", 66)];
    let given = |mix: &&Mix| mix.doses.iter().any(|dose| dose.given);
    for mix in file.recorded.mixes.iter().filter(given) {
        report.heading(&format!("Mix: {}", mix.name));
        let mixture = mix.mixture();
        let row = |zone: &str, volume, amounts_of: &BTreeMap<String, Amount>| {
            vec![zone.to_owned(), exact(volume), amounts(amounts_of)]
        };
        let doses = mix.doses.iter().filter(|dose| dose.given);
        let mut rows: Vec<_> = doses
            .map(|dose| {
                let mixture = mixture.as_ref();
                let held = mixture.map(|mixture| mixture.amounts_in(dose.volume_ml));
                row(&dose.zone, dose.volume_ml, &held.unwrap_or_default())
            })
            .collect();
        rows.push(row("All zones", mix.given_ml(), &mix.given()));
        report.table(&columns, rows, "");
        let made_of: Vec<String> = mix
            .ingredients
            .iter()
            .map(|each| {
                let lot = each.lot.1.as_deref().unwrap_or("not recorded");
                format!(
                    "{} (lot {lot}, {} mL)",
                    each.product.1,
                    exact(each.volume_ml)
                )
            })
            .collect();
        report.text(&format!("Made from {}.", made_of.join("; ")));
    }
}

fn gas(report: &mut Report, file: &CaseFile) {
    if file.recorded.gas.is_empty() {
        return;
    }
    report.heading("Gas");
    let columns = [
        column("Zone", 30),
        column("Litres", 12),
        column("Flow and time", 54),
    ];
    let rows = file.recorded.gas.iter().map(|gas| {
        let flow = exact(gas.recorded.litre_per_minute);
        vec![
            format!("{}{}", gas.recorded.zone, amended(file, gas.id)),
            exact(gas.litre),
            format!("{flow} L/min for {} min", exact(gas.recorded.minutes)),
        ]
    });
    report.table(&columns, rows.collect(), "");
}

fn reading(report: &mut Report) {
    report.heading("How to read this");
    report.facts([
        ("Identifier", "The code on the package that names the product, after the agency that issued it."),
        ("Lot, serial", "Which of that product it was. A maker's notice names lots or serials: with them anybody can tell whether it concerns an item of this list."),
        ("Expires", "The last day on its label, year-month-day."),
        ("Zone", "Where it was used, if that was recorded."),
        ("Record SHA-256", "A number computed from the whole record of the procedure. Asked with it, the facility can show that the record was not changed."),
    ]);
}
