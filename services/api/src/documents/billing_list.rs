//! `GET /v1/cases/{case}/billing-list`

use super::document;
use super::sections::{concerned, expires_on, was_used};
use super::table::Table;
use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::documents::{self as store, CaseFile, Item};
use serde::Deserialize;
use std::collections::BTreeMap;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// The form of a table.
#[derive(Clone, Copy, Debug, Default, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum BillingFormat {
    /// Comma-separated values (RFC 4180).
    #[default]
    Csv,
    /// An Office Open XML workbook.
    Xlsx,
}

/// The form of the billing list.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct BillingForm {
    /// `csv` unless told.
    #[serde(default)]
    #[param(required = false, inline)]
    format: BillingFormat,
}

const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// Gives what a case used for billing, a line for each product, lot and what became of it, without
/// the patient's identity: billing knows the case.
#[utoipa::path(
    operation_id = "show_billing_list", tag = "documents",
    params(("case" = Uuid, Path, description = "The case."), BillingForm),
    responses(
        (status = 200, description = "The list.", content(
            (String = "text/csv"), (String = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
        )),
        Refusals,
    ),
)]
#[get("/v1/cases/{case}/billing-list")]
pub(super) async fn show_billing_list(
    allowed: Allowed<act::ShowBillingList>,
    app: Data<App>,
    case: Path<Uuid>,
    form: Query<BillingForm>,
) -> Result<HttpResponse, ApiError> {
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let file = store::show_case_file(&mut reading, &facility, case.into_inner()).await?;
    let file = file.ok_or_else(|| ApiError::no_such("case"))?;
    let table = Table {
        title: "Billing list",
        columns: COLUMNS,
        rows: rows(&file),
    };
    Ok(match form.format {
        BillingFormat::Csv => document(table.csv(), "text/csv; charset=utf-8", "billing-list.csv"),
        BillingFormat::Xlsx => document(table.xlsx()?, XLSX, "billing-list.xlsx"),
    })
}

const COLUMNS: &[&str] = &[
    "date",
    "case",
    "procedure",
    "practitioner",
    "product",
    "maker",
    "model",
    "agency",
    "identifier",
    "lot",
    "serial",
    "expires_on",
    "disposition",
    "quantity",
    "used_on_patient",
    "amendments",
    "signed",
    "record_sha256",
];

/// Pieces of one product, lot and serial that became the same are one line with their number.
fn rows(file: &CaseFile) -> Vec<Vec<String>> {
    let mut groups: BTreeMap<Vec<String>, Vec<&Item>> = BTreeMap::new();
    for item in &file.items {
        groups.entry(of_item(item)).or_default().push(item);
    }
    let case = &file.recorded.case;
    let signed = file.signatures.iter().any(|signature| signature.unchanged);
    let row = |(own, items): (Vec<String>, Vec<&Item>)| {
        let first = [
            file.day().to_string(),
            case.id.to_string(),
            case.procedure.clone(),
            case.practitioner.1.clone(),
        ];
        let used = items.iter().all(|item| was_used(item));
        let last = [
            items.len().to_string(),
            yes(used),
            amended(file, &items),
            yes(signed),
            file.record_hash.to_string(),
        ];
        first.into_iter().chain(own).chain(last).collect()
    };
    groups.into_iter().map(row).collect()
}

fn of_item(item: &Item) -> Vec<String> {
    let description = &item.product.description;
    let code = item.code.as_ref();
    let (lot, unit) = (item.scan.lot.as_ref(), item.scan.unit.as_ref());
    let piece = item.scan.on_case.as_ref();
    vec![
        description.name.clone(),
        description.maker.clone(),
        description.model.clone(),
        code.map(|code| code.agency.to_owned()).unwrap_or_default(),
        code.map(|code| code.code.clone()).unwrap_or_default(),
        lot.and_then(|(_, number, _)| number.clone())
            .unwrap_or_default(),
        unit.map(|(_, serial)| serial.clone()).unwrap_or_default(),
        expires_on(item),
        piece
            .map(|piece| piece.disposition.to_string())
            .unwrap_or_default(),
    ]
}

/// What amendments say of these items, and of the record as a whole.
fn amended(file: &CaseFile, items: &[&Item]) -> String {
    let concerns =
        |id: Uuid| id == file.recorded.case.id || items.iter().any(|item| item.scan.id == id);
    let own = file
        .amendments
        .iter()
        .filter(|one| concerns(one.correction.part_id));
    let own: Vec<String> = own
        .map(|one| {
            let old = one
                .correction
                .old_value
                .as_deref()
                .unwrap_or("not recorded");
            format!(
                "{}: {old} -> {}",
                concerned(file, one),
                one.correction.new_value
            )
        })
        .collect();
    own.join("; ")
}

pub(super) fn yes(so: bool) -> String {
    if so { "yes" } else { "no" }.to_owned()
}
