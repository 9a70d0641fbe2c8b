//! `POST /v1/notices/{notice}/disclosures`, and the accounting of them

use super::{WorkRecorded, on_record};
use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get, post};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_store::moment::instant_text;
use lotwarden_store::notices::work::{
    Accounted, Disclosure, RecordDisclosure, disclosures_of_notice, disclosures_of_patient,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What of a patient was disclosed.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DisclosureBody {
    /// The patient, by id.
    patient_id: Uuid,
    /// The day.
    #[schema(value_type = String, format = Date)]
    disclosed_on: Date,
    /// Who received it.
    #[schema(
        example = "Saltwick Remedies, complaint unit",
        min_length = 1,
        max_length = 200
    )]
    to: String,
    /// The receiver's address, if it is known.
    #[serde(default)]
    #[schema(example = "1 Quay Street, Saltwick", min_length = 1, max_length = 300)]
    address: Option<String>,
    /// What, briefly; never the identity itself.
    #[schema(
        example = "Lot, day of the procedure, and the course after it",
        min_length = 3,
        max_length = 500
    )]
    what: String,
    /// Why.
    #[schema(
        example = "Public health: report of a device's failure to its maker",
        min_length = 3,
        max_length = 500
    )]
    purpose: String,
}

impl Checked for DisclosureBody {
    fn check(&self, errors: &mut Fields) {
        errors.day("/disclosed_on", Some(self.disclosed_on));
        errors.text("/to", &self.to, 1, 200);
        if let Some(address) = &self.address {
            errors.text("/address", address, 1, 300);
        }
        errors.text("/what", &self.what, 3, 500);
        errors.text("/purpose", &self.purpose, 3, 500);
    }
}

/// An accounting of disclosures: to whom, when, what and why (45 CFR 164.528(b)(2), from memory).
#[derive(Debug, Serialize, ToSchema)]
pub struct Accounting {
    /// The disclosures in the order they were put on record.
    items: Vec<AccountedDisclosure>,
}

/// A line of an accounting.
#[derive(Debug, Serialize, ToSchema)]
pub struct AccountedDisclosure {
    /// Its id.
    id: Uuid,
    /// The first notice of the matter.
    notice_id: Uuid,
    /// The patient, by id; none for an answer to the firm, which names no patient.
    #[serde(skip_serializing_if = "Option::is_none")]
    patient_id: Option<Uuid>,
    /// The day.
    #[schema(format = Date)]
    disclosed_on: String,
    /// Who received it; none once it was erased.
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<String>,
    /// The receiver's address.
    #[serde(skip_serializing_if = "Option::is_none")]
    address: Option<String>,
    /// What; none once it was erased.
    #[serde(skip_serializing_if = "Option::is_none")]
    what: Option<String>,
    /// Why; none once it was erased.
    #[serde(skip_serializing_if = "Option::is_none")]
    purpose: Option<String>,
    /// Who put it on record.
    by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

impl From<Vec<Accounted>> for Accounting {
    fn from(lines: Vec<Accounted>) -> Self {
        let items = lines.into_iter().map(|line| AccountedDisclosure {
            id: line.id,
            notice_id: line.notice,
            patient_id: line.patient,
            disclosed_on: line.disclosure.disclosed_on.to_string(),
            to: line.disclosure.to,
            address: line.disclosure.address,
            what: line.disclosure.what,
            purpose: line.disclosure.purpose,
            by: line.by,
            at: instant_text(line.at),
        });
        Self {
            items: items.collect(),
        }
    }
}

/// Puts on record that information of a patient was disclosed for a notice. The ledger has salted
/// commitments to receiver, address, content and purpose; the values are sealed.
#[utoipa::path(
    operation_id = "record_disclosure", tag = "notices", request_body = DisclosureBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/disclosures")]
pub(super) async fn record_disclosure(
    allowed: Allowed<act::RecordDisclosure>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<DisclosureBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let (_, facility_key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = RecordDisclosure {
        facility_key,
        notice: notice.into_inner(),
        patient: body.patient_id,
        disclosure: Disclosure {
            address: body.address,
            disclosed_on: body.disclosed_on,
            purpose: Some(body.purpose),
            to: Some(body.to),
            what: Some(body.what),
        },
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}

/// Lists what was disclosed for a notice: of patients by id, and the answers to the firm.
#[utoipa::path(
    operation_id = "list_notice_disclosures", tag = "notices",
    params(("notice" = Uuid, Path, description = "The notice.")),
    responses((status = 200, description = "The accounting.", body = Accounting), Refusals),
)]
#[get("/v1/notices/{notice}/disclosures")]
pub(super) async fn list_notice_disclosures(
    allowed: Allowed<act::ListNoticeDisclosures>,
    app: Data<App>,
    notice: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let (facility, key) = facility_key(&app, allowed.caller.facility).await?;
    let mut reading = app.reading(facility.id).await?;
    let lines = disclosures_of_notice(&mut reading, notice.into_inner(), (&facility, &key)).await?;
    let lines = lines.ok_or_else(|| ApiError::no_such("notice"))?;
    Ok(HttpResponse::Ok().json(Accounting::from(lines)))
}

/// Lists what was disclosed of a patient for notices, without the patient's identity.
#[utoipa::path(
    operation_id = "list_patient_disclosures", tag = "notices",
    params(("patient" = Uuid, Path, description = "The patient, by id.")),
    responses((status = 200, description = "The accounting.", body = Accounting), Refusals),
)]
#[get("/v1/patients/{patient}/disclosures")]
pub(super) async fn list_patient_disclosures(
    allowed: Allowed<act::ListPatientDisclosures>,
    app: Data<App>,
    patient: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let (facility, key) = facility_key(&app, allowed.caller.facility).await?;
    let mut reading = app.reading(facility.id).await?;
    let lines =
        disclosures_of_patient(&mut reading, patient.into_inner(), (&facility, &key)).await?;
    let lines = lines.ok_or_else(|| ApiError::no_such("patient"))?;
    Ok(HttpResponse::Ok().json(Accounting::from(lines)))
}
