//! Documents of a case and of a facility's days: for the patient, the chart, billing, and the log.

mod billing_list;
mod chart_bundle;
mod chart_record;
mod device_record;
mod energy;
mod fhir;
mod sections;
mod surgical_log;
mod table;

use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::problem::ApiError;
use crate::stock::unprintable;
use actix_web::HttpResponse;
use actix_web::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use lotwarden_documents::Unprintable;
use lotwarden_domain::access::Permission;
use lotwarden_store::Receipt;
use lotwarden_store::documents::{Identified, ShowDocument, ShowDocumentRefusal};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(device_record::show_device_record)
        .service(chart_record::show_chart_record)
        .service(chart_bundle::show_chart_bundle)
        .service(billing_list::show_billing_list)
        .service(surgical_log::show_surgical_log);
}

const PDF: &str = "application/pdf";

impl From<ShowDocumentRefusal> for ApiError {
    fn from(refusal: ShowDocumentRefusal) -> Self {
        match refusal {
            ShowDocumentRefusal::NoSuchCase => Self::no_such("case"),
        }
    }
}

/// Gives a document that shows who the patient is; each time is a ledger entry, and nothing of the
/// answer is kept.
async fn identified<P: Permission>(
    allowed: Allowed<P>,
    app: &App,
    case: Uuid,
    (kind, name): (&'static str, &'static str),
    make: impl FnOnce(&Identified, Receipt) -> Result<Vec<u8>, Unprintable>,
) -> Result<HttpResponse, ApiError> {
    let (_, key) = facility_key(app, allowed.caller.facility).await?;
    let operation = ShowDocument::<P>::new(key, case);
    let (found, receipt) = app.recorder.look(&allowed.grant, operation).await?;
    let bytes = make(&found, receipt).map_err(unprintable)?;
    Ok(document(bytes, kind, name))
}

/// A document under a name that names nobody; like every answer it is never cached.
fn document(bytes: Vec<u8>, kind: &str, name: &str) -> HttpResponse {
    HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, kind))
        .insert_header((CONTENT_DISPOSITION, format!("inline; filename=\"{name}\"")))
        .body(bytes)
}
