//! `PUT /v1/policy`

use super::Allowed;
use super::show_policy::{Policy, Settings};
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, put};
use lotwarden_domain::access::act;
use lotwarden_domain::policy::SitePolicy;
use lotwarden_store::access::{ChangePolicy, ChangePolicyRefusal};
use serde::Deserialize;
use utoipa::ToSchema;

/// New settings, with the reason.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PolicyChange {
    /// The site's settings.
    settings: Settings,
    /// Why they change.
    #[schema(
        example = "The board asked for a longer warning.",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for PolicyChange {
    fn check(&self, errors: &mut Fields) {
        let Settings {
            expires_soon_days,
            short_dated_days,
            idle_lock_minutes,
            clock_skew_seconds,
            ..
        } = self.settings;
        errors.require(
            expires_soon_days <= 3650,
            "/settings/expires_soon_days",
            "must be 0 to 3650",
        );
        errors.require(
            short_dated_days <= 3650,
            "/settings/short_dated_days",
            "must be 0 to 3650",
        );
        errors.require(
            (1..=60).contains(&idle_lock_minutes),
            "/settings/idle_lock_minutes",
            "must be 1 to 60",
        );
        errors.require(
            (1..=3600).contains(&clock_skew_seconds),
            "/settings/clock_skew_seconds",
            "must be 1 to 3600",
        );
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<ChangePolicyRefusal> for ApiError {
    fn from(refusal: ChangePolicyRefusal) -> Self {
        match refusal {
            ChangePolicyRefusal::Stale => ApiError::new(&catalogue::STALE),
        }
    }
}

/// Changes the site's settings; old, new and the reason stand in the ledger.
#[utoipa::path(
    operation_id = "change_policy", tag = "access", request_body = PolicyChange,
    params(Change, IdempotencyKey),
    responses((status = 200, description = "Changed.", body = Policy), Refusals),
)]
#[put("/v1/policy")]
pub(super) async fn change_policy(
    allowed: Allowed<act::ChangePolicy>,
    app: Data<App>,
    version: IfMatch,
    keyed: Keyed<PolicyChange>,
) -> Result<HttpResponse, ApiError> {
    let PolicyChange { settings, reason } = keyed.body;
    let Settings {
        expires_soon_days,
        short_dated_days,
        keeps_stock,
        idle_lock_minutes,
        due_equipment_stops,
        clock_skew_seconds,
    } = settings;
    let settings = SitePolicy {
        expires_soon_days,
        short_dated_days,
        keeps_stock,
        idle_lock_minutes,
        due_equipment_stops,
        clock_skew_seconds,
    };
    let operation = ChangePolicy {
        version: version.0,
        settings,
        reason,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |policy, receipt| {
            render(
                StatusCode::OK,
                &Policy::from(policy),
                receipt,
                Some(policy.version),
            )
        },
    );
    Ok(reply(recorded.await?))
}
