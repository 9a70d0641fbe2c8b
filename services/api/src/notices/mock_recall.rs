//! `POST /v1/mock-recalls`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::Nothing;
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::notices::{MockRecall, MockRecallRefusal, Rehearsed};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What came of a rehearsal.
#[derive(Debug, Serialize, ToSchema)]
pub struct MockRecalled {
    /// The rehearsal.
    id: Uuid,
    /// The lot that was drawn.
    lot_id: Uuid,
    /// Its number.
    #[schema(example = "L2611A")]
    lot: String,
    /// The product's name.
    product: String,
    /// The ledger's head that the draw hangs on: the lot is the first in the order of SHA-256 over
    /// it and the lot's id.
    seed: String,
    /// Items on cases that are of the lot.
    affected: usize,
    /// Items on cases whose lot was not recorded.
    cannot_exclude: usize,
    /// Cases with either.
    cases: usize,
    /// Patients of these cases.
    patients: usize,
    /// Units of use that were received.
    received: u64,
    /// What the stock record says is there; nobody counted.
    on_record: u64,
    /// Used.
    used: u64,
    /// Wasted.
    wasted: u64,
    /// Received less all of these by the records, below zero when more is known of.
    unaccounted: i64,
    /// How long finding all of it took, in milliseconds.
    #[schema(example = "4.211")]
    elapsed_ms: String,
}

impl From<&Rehearsed> for MockRecalled {
    fn from(rehearsed: &Rehearsed) -> Self {
        let all = rehearsed.counts.reconcile(rehearsed.received);
        let signed = |count: u64| i64::try_from(count).unwrap_or(i64::MAX);
        let elapsed = rehearsed.elapsed_us;
        Self {
            id: rehearsed.id,
            lot_id: rehearsed.lot,
            lot: rehearsed.number.clone(),
            product: rehearsed.product.clone(),
            seed: rehearsed.seed.clone(),
            affected: rehearsed.affected,
            cannot_exclude: rehearsed.cannot_exclude,
            cases: rehearsed.cases,
            patients: rehearsed.patients,
            received: rehearsed.received,
            on_record: rehearsed.counts.on_hand,
            used: rehearsed.counts.used,
            wasted: rehearsed.counts.wasted,
            unaccounted: signed(all.unaccounted()) - signed(all.too_many()),
            elapsed_ms: format!("{}.{:03}", elapsed / 1_000, elapsed % 1_000),
        }
    }
}

impl From<MockRecallRefusal> for ApiError {
    fn from(refusal: MockRecallRefusal) -> Self {
        match refusal {
            MockRecallRefusal::NoLot => {
                ApiError::new(&catalogue::NOT_ON_SHELF).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Rehearses a recall: a received lot is drawn at random, everything it reached is found against
/// the clock, and the result is put on record. Nothing is held and no identity is shown.
#[utoipa::path(
    operation_id = "mock_recall", tag = "notices", request_body = Nothing, params(IdempotencyKey),
    responses((status = 201, description = "On record.", body = MockRecalled), Refusals),
)]
#[post("/v1/mock-recalls")]
pub(super) async fn mock_recall(
    allowed: Allowed<act::MockRecall>,
    app: Data<App>,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        MockRecall,
        |rehearsed, receipt| {
            let answer = MockRecalled::from(rehearsed);
            render(StatusCode::CREATED, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
