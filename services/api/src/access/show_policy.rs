//! `GET /v1/policy`

use super::Allowed;
use crate::app::App;
use crate::http::tagged;
use crate::problem::{ApiError, Refusals};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_domain::access::{Action, Role, act};
use lotwarden_domain::policy::SitePolicy;
use lotwarden_domain::rules::{Rule, Severity};
use lotwarden_store::access::{self as store, show_policy as read};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The site's settings for the rules.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// Days before its expiry within which a scan says `expires_soon`.
    #[schema(example = 30, maximum = 3650)]
    pub expires_soon_days: u16,
    /// Days before its expiry within which a receipt says `short_dated`.
    #[schema(example = 182, maximum = 3650)]
    pub short_dated_days: u16,
    /// Whether the site keeps stock; without it no scan says `not_in_stock`.
    pub keeps_stock: bool,
    /// Minutes without use after which a page locks and a session is not renewed.
    #[schema(example = 15, minimum = 1, maximum = 60)]
    pub idle_lock_minutes: u16,
    /// Whether equipment with a calibration, maintenance or filter that is due is kept off a case.
    pub due_equipment_stops: bool,
    /// Seconds that a station's clock may differ from the service's when it delivers held scans;
    /// beyond them each of these says `clock_differs`.
    #[schema(example = 120, minimum = 1, maximum = 3600)]
    pub clock_skew_seconds: u16,
}

impl From<SitePolicy> for Settings {
    fn from(policy: SitePolicy) -> Self {
        let SitePolicy {
            expires_soon_days,
            short_dated_days,
            keeps_stock,
            idle_lock_minutes,
            due_equipment_stops,
            clock_skew_seconds,
        } = policy;
        Self {
            expires_soon_days,
            short_dated_days,
            keeps_stock,
            idle_lock_minutes,
            due_equipment_stops,
            clock_skew_seconds,
        }
    }
}

/// A rule with its weight and source.
#[derive(Debug, Serialize, ToSchema)]
pub struct RuleRow {
    /// The rule.
    #[schema(value_type = String, example = "already_used")]
    slug: Rule,
    /// `look` or `stop`.
    #[schema(value_type = String, example = "stop")]
    severity: Severity,
    /// Where the rule comes from.
    source: &'static str,
}

/// An action with the roles that may.
#[derive(Debug, Serialize, ToSchema)]
pub struct ActionRow {
    /// The action: the operation's id.
    #[schema(example = "record_scan")]
    action: &'static str,
    /// The roles.
    #[schema(value_type = Vec<String>)]
    roles: &'static [Role],
}

/// What is refused, by which rules, and who may do what.
#[derive(Debug, Serialize, ToSchema)]
pub struct Policy {
    /// The site's settings.
    settings: Settings,
    /// Every rule of a scan and a receipt.
    rules: Vec<RuleRow>,
    /// Who may do what.
    actions: Vec<ActionRow>,
    /// Counts the changes of the settings; the entity tag.
    version: i32,
}

impl From<&store::Policy> for Policy {
    fn from(policy: &store::Policy) -> Self {
        let rule = |rule: &Rule| RuleRow {
            slug: *rule,
            severity: rule.severity(),
            source: rule.source(),
        };
        let action = |action: &Action| ActionRow {
            action: action.as_str(),
            roles: action.roles(),
        };
        Self {
            settings: policy.settings.into(),
            rules: Rule::ALL.iter().map(rule).collect(),
            actions: Action::ALL.iter().map(action).collect(),
            version: policy.version,
        }
    }
}

/// Shows the site's settings, every rule with its source, and who may do what.
#[utoipa::path(
    operation_id = "show_policy", tag = "access",
    responses((status = 200, description = "The policy.", body = Policy), Refusals),
)]
#[get("/v1/policy")]
pub(super) async fn show_policy(
    allowed: Allowed<act::ShowPolicy>,
    app: Data<App>,
    request: HttpRequest,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let policy = read(&mut reading).await?;
    Ok(tagged(&request, policy.version, &Policy::from(&policy)))
}
