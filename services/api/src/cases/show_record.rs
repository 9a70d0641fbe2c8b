//! `GET /v1/cases/{case}/record`

use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::RecordPart;
use lotwarden_domain::retention::{CAUTION as RETENTION_CAUTION, Rule};
use lotwarden_store::{cases as store, records};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// The record of a case as it is hashed.
#[derive(Debug, Serialize, ToSchema)]
pub struct RecordShown {
    /// The case.
    case_id: Uuid,
    /// The version of the case.
    version: i32,
    /// The form of the record.
    #[schema(example = 2)]
    record_version: i16,
    /// The SHA-256 of `record`.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    record_hash: String,
    /// Canonical JSON (RFC 8785) as a text: the bytes that a signature is over. Personal values
    /// stand as salted commitments.
    record: String,
    /// What it states part by part, the case itself first, with the newest amendment of each value
    /// in its place.
    parts: Vec<StatedPart>,
    /// Until when it is kept.
    retention: Retention,
}

/// Until when the record of a case is kept, at least.
#[derive(Debug, Serialize, ToSchema)]
pub struct Retention {
    /// The last day by the rules below; left out while the state's years are not on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    until: Option<Date>,
    /// By rule.
    rules: Vec<RetentionRule>,
    /// What the service does not know.
    #[schema(value_type = String)]
    caution: &'static str,
}

/// A rule that keeps a record.
#[derive(Debug, Serialize, ToSchema)]
pub struct RetentionRule {
    /// The rule.
    #[schema(value_type = String, example = "required_documentation")]
    rule: Rule,
    /// The last day.
    #[schema(value_type = String, format = Date)]
    until: Date,
    /// Where it stands.
    source: String,
}

impl From<records::Retention> for Retention {
    fn from(kept: records::Retention) -> Self {
        let latest = kept.rules.iter().map(|(_, until, _)| *until).max();
        let rule = |(rule, until, source)| RetentionRule {
            rule,
            until,
            source,
        };
        Self {
            until: latest.filter(|_| kept.state_years_known),
            rules: kept.rules.into_iter().map(rule).collect(),
            caution: RETENTION_CAUTION,
        }
    }
}

/// A part of the record as people read and amend it.
#[derive(Debug, Serialize, ToSchema)]
pub struct StatedPart {
    /// `record`, `scan`, `mix`, `dose`, `gas_use`, `energy`, `equipment`,
    /// `check` or `pick`.
    #[schema(value_type = String, example = "energy")]
    part: RecordPart,
    /// Which; the case for the record as a whole.
    part_id: Uuid,
    /// What people know it by.
    #[schema(example = "Calf")]
    name: String,
    /// Its values.
    values: Vec<StatedValue>,
}

/// One value of a part.
#[derive(Debug, Serialize, ToSchema)]
pub struct StatedValue {
    /// What it is of the part.
    #[schema(value_type = String, example = "passes")]
    field: &'static str,
    /// As text; left out where nothing is recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "6")]
    value: Option<String>,
    /// Whether an amendment put it there.
    amended: bool,
}

impl From<store::Part> for StatedPart {
    fn from(part: store::Part) -> Self {
        let value = |stated: store::Stated| StatedValue {
            field: stated.field,
            value: stated.value,
            amended: stated.amended,
        };
        Self {
            part: part.kind,
            part_id: part.id,
            name: part.name,
            values: part.values.into_iter().map(value).collect(),
        }
    }
}

/// Shows everything on record of a case as the text whose hash is signed, without the patient's
/// identity.
#[utoipa::path(
    operation_id = "show_record", tag = "cases",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The record.", body = RecordShown), Refusals),
)]
#[get("/v1/cases/{case}/record")]
pub(super) async fn show_record(
    allowed: Allowed<act::ShowRecord>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let case = case.into_inner();
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let shown = store::show_record(&mut reading, &facility.zone, case).await?;
    let shown = shown.ok_or_else(|| ApiError::no_such("case"))?;
    Ok(HttpResponse::Ok().json(RecordShown {
        case_id: case,
        version: shown.version,
        record_version: shown.form,
        record_hash: shown.hash.to_string(),
        record: shown.text,
        retention: Retention::from(shown.retention),
        parts: shown.parts.into_iter().map(StatedPart::from).collect(),
    }))
}
