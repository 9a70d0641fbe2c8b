//! `GET /v1/cases/{case}/scans` and `GET /v1/cases/{case}/scans/{scan}`

use super::facility_key;
use super::scan::Scan;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::http::header::ETAG;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::{Caller, Grant, act};
use lotwarden_domain::cases::Verdict;
use lotwarden_store::cases::{self as store, ShowScanText, ShowScanTextRefusal};
use lotwarden_store::{Rendered, Request};
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

/// Lists the scans of a case in the order they were received, stopped, unread and struck ones too.
#[utoipa::path(
    operation_id = "list_scans", tag = "cases",
    params(("case" = Uuid, Path, description = "The case."), Paging),
    responses((status = 200, description = "A page of scans.", body = List<Scan>), Refusals),
)]
#[get("/v1/cases/{case}/scans")]
pub(super) async fn list_scans(
    allowed: Allowed<act::ListScans>,
    app: Data<App>,
    case: Path<Uuid>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let after = paging.after()?;
    let case = case.into_inner();
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_scans(&mut reading, case, after).await?;
    if page.items.is_empty() && !store::exists(&mut reading, case).await? {
        return Err(ApiError::no_such("case"));
    }
    Ok(HttpResponse::Ok().json(List::of(page, |scan| Scan::from(&scan))))
}

/// How much of a scan to show.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct How {
    /// Opens the characters of an unread scan. They may be a wristband, so it takes a role that may
    /// see the patient, and each look is a ledger entry.
    #[serde(default)]
    #[param(required = false)]
    with_text: bool,
}

impl From<ShowScanTextRefusal> for ApiError {
    fn from(refusal: ShowScanTextRefusal) -> Self {
        match refusal {
            ShowScanTextRefusal::NothingKept => ApiError::no_such("sealed text"),
        }
    }
}

/// Shows a scan. Its ETag is the version of the item it put on the case.
#[utoipa::path(
    operation_id = "show_scan", tag = "cases",
    params(
        ("case" = Uuid, Path, description = "The case."),
        ("scan" = Uuid, Path, description = "The scan."),
        How,
    ),
    responses((status = 200, description = "The scan.", body = Scan), Refusals),
)]
#[get("/v1/cases/{case}/scans/{scan}")]
pub(super) async fn show_scan(
    allowed: Allowed<act::ShowScan>,
    app: Data<App>,
    path: Path<(Uuid, Uuid)>,
    how: Query<How>,
) -> Result<HttpResponse, ApiError> {
    let (case, scan) = path.into_inner();
    let mut reading = app.reading(allowed.caller.facility).await?;
    let found = store::show_scan(&mut reading, case, scan).await?;
    drop(reading);
    let mut found = found.ok_or_else(|| ApiError::no_such("scan"))?;
    if how.with_text && found.verdict == Verdict::Unread {
        found.text = Some(sealed_text(&app, &allowed.caller, case, scan).await?);
    }
    let mut response = HttpResponse::Ok();
    if let Some(item) = &found.on_case {
        response.insert_header((ETAG, format!("\"{}\"", item.version)));
    }
    Ok(response.json(Scan::from(&found)))
}

async fn sealed_text(
    app: &App,
    caller: &Caller,
    case: Uuid,
    scan: Uuid,
) -> Result<String, ApiError> {
    let grant = Grant::<act::ShowPatient>::to(caller)?;
    let (_, facility_key) = facility_key(app, caller.facility).await?;
    let operation = ShowScanText {
        facility_key,
        case,
        scan,
    };
    let render = |text: &String, _| Rendered {
        status: 200,
        body: text.clone().into_bytes(),
        etag: None,
    };
    // Without a key nothing of the answer is kept.
    let recorded = app
        .recorder
        .record(&grant, Request::default(), operation, render);
    let body = recorded.await?.rendered.body;
    Ok(String::from_utf8_lossy(&body).into_owned())
}
