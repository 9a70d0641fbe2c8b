//! `POST /v1/cases/{case}/picks` and `GET /v1/cases/{case}/reconciliation`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfSeen, Keyed, reply};
use crate::openapi::{ChangeIfSeen, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::{Disposition, PickKind};
use lotwarden_store::records::{self as store, RecordPick, RecordPickRefusal};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What was taken out for a case, or came back untouched.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PickBody {
    /// `picked` or `returned`.
    #[schema(value_type = String, example = "picked", pattern = "^(picked|returned)$")]
    kind: PickKind,
    /// The lots, 1 to 200.
    #[schema(min_items = 1, max_items = 200)]
    lines: Vec<PickLine>,
}

/// So many of a lot.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PickLine {
    /// The lot.
    lot_id: Uuid,
    /// Units of use.
    #[schema(example = 6, minimum = 1, maximum = 10000)]
    quantity: i32,
}

impl Checked for PickBody {
    fn check(&self, errors: &mut Fields) {
        let count = (1..=200).contains(&self.lines.len());
        errors.require(count, "/lines", "must be 1 to 200");
        for (number, line) in self.lines.iter().enumerate() {
            let fits = (1..=10_000).contains(&line.quantity);
            errors.require(
                fits,
                &format!("/lines/{number}/quantity"),
                "must be 1 to 10000",
            );
        }
    }
}

impl From<&RecordPick> for PickBody {
    fn from(pick: &RecordPick) -> Self {
        let lines = pick.lines.iter().map(|line| PickLine {
            lot_id: line.lot,
            quantity: line.quantity,
        });
        Self {
            kind: pick.kind,
            lines: lines.collect(),
        }
    }
}

impl From<RecordPickRefusal> for ApiError {
    fn from(refusal: RecordPickRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            RecordPickRefusal::Case(reason) => reason.into(),
            RecordPickRefusal::Stale => ApiError::new(&catalogue::STALE),
            RecordPickRefusal::NoSuchLot { line } => ApiError::fields(vec![FieldError::new(
                format!("/lines/{line}/lot_id"),
                detail,
            )]),
        }
    }
}

/// Records what was taken out for a case, or came back untouched. Stock moves with the scans. With
/// `If-Match`, the version of the picking list, nothing is recorded when the case changed since.
#[utoipa::path(
    operation_id = "record_pick", tag = "records", request_body = PickBody,
    params(("case" = Uuid, Path, description = "The case."), ChangeIfSeen, IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = PickBody), Refusals),
)]
#[post("/v1/cases/{case}/picks")]
pub(super) async fn record_pick(
    allowed: Allowed<act::RecordPick>,
    app: Data<App>,
    case: Path<Uuid>,
    seen: IfSeen,
    keyed: Keyed<PickBody>,
) -> Result<HttpResponse, ApiError> {
    let lines = keyed.body.lines.into_iter().map(|line| store::PickLine {
        lot: line.lot_id,
        quantity: line.quantity,
    });
    let operation = RecordPick {
        case: case.into_inner(),
        seen: seen.0,
        kind: keyed.body.kind,
        lines: lines.collect(),
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |pick, receipt| {
                render(StatusCode::CREATED, &PickBody::from(pick), receipt, None)
            });
    Ok(reply(recorded.await?))
}

/// A case lot by lot: picked = used + wasted + opened unused + failed + returned + difference.
#[derive(Debug, Serialize, ToSchema)]
pub struct Reconciliation {
    /// Whether every lot is accounted for.
    agrees: bool,
    /// The lots.
    lots: Vec<ReconciledLot>,
}

/// A lot of the case.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReconciledLot {
    /// The lot.
    lot_id: Uuid,
    /// Its number, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<String>,
    /// Its product's name.
    product_name: String,
    /// Taken out for the case.
    picked: i64,
    /// Used.
    used: i64,
    /// Wasted.
    wasted: i64,
    /// Opened and not used.
    opened_unused: i64,
    /// Failed in use.
    failed: i64,
    /// Returned, untouched or unopened.
    returned: i64,
    /// Picked and not accounted for; below zero where more is accounted for than was picked.
    difference: i64,
}

impl From<&store::ReconciledLot> for ReconciledLot {
    fn from(lot: &store::ReconciledLot) -> Self {
        let of = |disposition| {
            lot.dispositions
                .get(&disposition)
                .copied()
                .unwrap_or_default()
        };
        Self {
            lot_id: lot.lot,
            lot: lot.number.clone(),
            product_name: lot.product_name.clone(),
            picked: lot.picked,
            used: of(Disposition::Used),
            wasted: of(Disposition::Wasted),
            opened_unused: of(Disposition::OpenedUnused),
            failed: of(Disposition::Failed),
            returned: lot.returned + of(Disposition::Returned),
            difference: lot.difference(),
        }
    }
}

/// Reconciles a case lot by lot and names every difference.
#[utoipa::path(
    operation_id = "show_reconciliation", tag = "records",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The reconciliation.", body = Reconciliation), Refusals),
)]
#[get("/v1/cases/{case}/reconciliation")]
pub(super) async fn show_reconciliation(
    allowed: Allowed<act::ShowReconciliation>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let lots = store::show_reconciliation(&mut reading, case.into_inner()).await?;
    let lots = lots.ok_or_else(|| ApiError::no_such("case"))?;
    Ok(HttpResponse::Ok().json(Reconciliation {
        agrees: lots.iter().all(|lot| lot.difference() == 0),
        lots: lots.iter().map(ReconciledLot::from).collect(),
    }))
}
