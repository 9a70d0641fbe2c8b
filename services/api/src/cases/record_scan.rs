//! `POST /v1/cases/{case}/scans`

use super::Named;
use super::scan::{Finding, ItemOnCase};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::access::{Grant, act};
use lotwarden_domain::cases::Verdict;
use lotwarden_domain::clock::whole_microseconds;
use lotwarden_domain::label::Label;
use lotwarden_domain::rules;
use lotwarden_store::moment::instant_text;
use lotwarden_store::recorder::{NewScan, ScanOutcome, ScanRefusal};
use lotwarden_store::{Answer, Request};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// One reading of one label.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ScanBody {
    /// The characters as the scanner sent them, or as typed; `^` or U+001D stands for FNC1.
    #[schema(
        example = "]d2010952012345678817271231101A2B3C",
        min_length = 1,
        max_length = 4096
    )]
    text: String,
    /// The symbology identifier (ISO/IEC 15424), when the scanner gives it apart from the
    /// characters.
    #[schema(example = "]d2", pattern = "^\\][A-Za-z][0-9A-Za-z]$")]
    symbology: Option<String>,
    /// The station.
    pub(super) station_id: Option<Uuid>,
    /// When it was scanned, by the station's clock; at most 72 hours ago. None means now.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub(super) occurred_at: Option<Timestamp>,
    /// The person confirms that a label which is on the case already is on a further piece of that
    /// lot.
    #[serde(default)]
    another_piece: bool,
}

impl Checked for ScanBody {
    fn check(&self, errors: &mut Fields) {
        let length = self.text.chars().count();
        errors.require(
            (1..=4096).contains(&length),
            "/text",
            "must be 1 to 4096 characters",
        );
        errors.require(!self.text.contains('\0'), "/text", "must not hold U+0000");
        let symbology = self.symbology.as_deref().unwrap_or("]A0");
        let form = |letters: &[u8]| {
            matches!(letters, [b']', code, modifier]
                if code.is_ascii_alphabetic() && modifier.is_ascii_alphanumeric())
        };
        errors.require(
            form(symbology.as_bytes()),
            "/symbology",
            "must be such as ]d2",
        );
    }
}

/// What one scan came to.
#[derive(Debug, Serialize, ToSchema)]
pub struct ScanRecorded {
    /// The scan.
    id: Uuid,
    /// The case.
    case_id: Uuid,
    /// The station.
    #[serde(skip_serializing_if = "Option::is_none")]
    station_id: Option<Uuid>,
    /// When, by the station's clock.
    #[schema(format = DateTime)]
    occurred_at: String,
    /// When it reached the service.
    #[schema(format = DateTime)]
    received_at: String,
    /// Its station held it and delivered it later.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    #[schema(required = false)]
    delivered_late: bool,
    /// `taken`, `look`, `stop` or `unread`.
    #[schema(value_type = String, example = "taken")]
    verdict: Verdict,
    /// Every finding, worst first.
    #[schema(value_type = Vec<Finding>)]
    findings: Vec<rules::Finding>,
    /// What the label says; none for an unread one.
    #[serde(skip_serializing_if = "Option::is_none")]
    label: Option<LabelRead>,
    /// Why the characters could not be read.
    #[serde(skip_serializing_if = "Option::is_none")]
    unread: Option<Unread>,
    /// The product.
    #[serde(skip_serializing_if = "Option::is_none")]
    product: Option<Named>,
    /// The lot on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot_id: Option<Uuid>,
    /// The serialised piece on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// What it put on the case; none when nothing is on the case by this scan.
    #[serde(skip_serializing_if = "Option::is_none")]
    item: Option<ItemOnCase>,
    /// The first scan of the same label on this case, for a repeated reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    first_scan_id: Option<Uuid>,
}

/// What a label says.
#[derive(Debug, Serialize, ToSchema)]
pub struct LabelRead {
    /// The form of the label.
    #[schema(example = "gs1_element_string")]
    form: &'static str,
    /// The product's identifier, agency first.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "gs1:09520123456788")]
    identifier: Option<String>,
    /// The lot, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<String>,
    /// The serial, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<String>,
    /// The last usable day.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    expires_on: Option<Date>,
    /// The day of manufacture.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    manufactured_on: Option<Date>,
}

/// Why characters are no known form.
#[derive(Debug, Serialize, ToSchema)]
pub struct Unread {
    /// A permanent slug.
    #[schema(example = "unknown_form")]
    code: &'static str,
    /// The byte it was found at.
    at: usize,
    /// One plain sentence that says what to do.
    message: String,
}

impl From<&ScanOutcome> for ScanRecorded {
    fn from(scan: &ScanOutcome) -> Self {
        let label = scan.label.as_ref().ok().map(LabelRead::from);
        let unread = scan.label.as_ref().err().map(|unread| Unread {
            code: unread.code,
            at: unread.at,
            message: unread.message.clone(),
        });
        let received_at = instant_text(scan.received_at);
        Self {
            id: scan.id,
            case_id: scan.case,
            station_id: scan.station,
            occurred_at: instant_text(scan.occurred_at),
            delivered_late: scan.delivered_late,
            verdict: scan.verdict,
            findings: scan.findings.clone(),
            label,
            unread,
            product: scan.product.as_ref().map(Named::from),
            lot_id: scan.lot,
            unit_id: scan.unit,
            item: scan.placed.map(|placed| ItemOnCase {
                disposition: placed.disposition,
                reason: None,
                drawn_from_id: placed.drawn_from,
                taken_at: received_at.clone(),
                version: 1,
            }),
            first_scan_id: scan.first_scan,
            received_at,
        }
    }
}

impl From<&Label> for LabelRead {
    fn from(label: &Label) -> Self {
        Self {
            form: label.form,
            identifier: label.code.as_ref().map(ToString::to_string),
            lot: label.lot.clone(),
            serial: label.serial.clone(),
            expires_on: label.expires_on,
            manufactured_on: label.manufactured_on,
        }
    }
}

impl From<ScanRefusal> for ApiError {
    fn from(refusal: ScanRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let field = |pointer| ApiError::fields(vec![FieldError::new(pointer, detail.clone())]);
        match refusal {
            ScanRefusal::NoSuchCase => ApiError::no_such("case"),
            ScanRefusal::NoSuchStation => field("/station_id"),
            ScanRefusal::OccurredOutOfRange => field("/occurred_at"),
        }
    }
}

/// Records one scan and judges it. A stopped or unread scan is 201 too: the reading is on record,
/// the item is not on the case.
#[utoipa::path(
    operation_id = "record_scan", tag = "cases", request_body = ScanBody,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = ScanRecorded), Refusals),
)]
#[post("/v1/cases/{case}/scans")]
pub(super) async fn record_scan(
    allowed: Allowed<act::RecordScan>,
    app: Data<App>,
    case: Path<Uuid>,
    keyed: Keyed<ScanBody>,
) -> Result<HttpResponse, ApiError> {
    let mut request = keyed.request;
    request.station = keyed.body.station_id;
    let case = case.into_inner();
    let recorded = record(&app, &allowed.grant, request, case, keyed.body, None);
    Ok(reply(recorded.await?))
}

/// What comes with a scan that its station held.
#[derive(Clone, Copy)]
pub(super) struct Held {
    /// The session of who was signed in then.
    pub(super) session: Uuid,
    /// Seconds that the station's clock was ahead when it delivered.
    pub(super) clock_ahead: Option<i64>,
}

/// Records a scan, held or not.
pub(super) async fn record(
    app: &App,
    grant: &Grant<act::RecordScan>,
    request: Request,
    case: Uuid,
    body: ScanBody,
    held: Option<Held>,
) -> Result<Answer, ApiError> {
    let scan = NewScan {
        case,
        text: body.text,
        symbology: body.symbology,
        occurred_at: body.occurred_at.map(whole_microseconds),
        held_session: held.map(|held| held.session),
        clock_ahead: held.and_then(|held| held.clock_ahead),
        another_piece: body.another_piece,
    };
    let recorded = app
        .recorder
        .record_scan(grant, request, scan, |scan, receipt| {
            render(
                StatusCode::CREATED,
                &ScanRecorded::from(scan),
                receipt,
                None,
            )
        });
    Ok(recorded.await?)
}
