//! `GET /v1/access-review` and `POST /v1/people/{person}/access-review`

use super::Allowed;
use super::people::Person;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, List, Paging, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get, post};
use jiff::{SignedDuration, Timestamp};
use lotwarden_domain::access::{Role, act};
use lotwarden_store::access::{self as store, ReviewAccess, ReviewAccessRefusal};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// How long a review counts: 90 days. Common practice, no source.
const REVIEW_LASTS: SignedDuration = SignedDuration::from_hours(90 * 24);

/// What one person holds.
#[derive(Debug, Serialize, ToSchema)]
pub struct AccessHeld {
    /// The person, with roles and the end of the account.
    person: Person,
    /// When the account was made.
    #[schema(format = DateTime)]
    added_at: String,
    /// The last sign-in; none when there was none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    signed_in_at: Option<String>,
    /// When the badge in force was given; none without a badge.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    badge_given_at: Option<String>,
    /// The last review; none when there was none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    reviewed_at: Option<String>,
    /// When the next review is due: 90 days after the last one, or after the account was made.
    #[schema(format = DateTime)]
    due_at: String,
    /// Whether it is due now; an account that ended is never due.
    due: bool,
}

impl AccessHeld {
    fn of(access: &store::Access, now: Timestamp) -> Self {
        let due_at = access.reviewed_at.unwrap_or(access.added_at) + REVIEW_LASTS;
        let ended = access.person.ends_at.is_some_and(|end| end <= now);
        Self {
            person: Person::from(&access.person),
            added_at: instant_text(access.added_at),
            signed_in_at: access.signed_in_at.map(instant_text),
            badge_given_at: access.badge_given_at.map(instant_text),
            reviewed_at: access.reviewed_at.map(instant_text),
            due_at: instant_text(due_at),
            due: due_at <= now && !ended,
        }
    }
}

/// A review of what a person holds.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AccessReview {
    /// The roles that stay; a review gives none.
    #[schema(value_type = Vec<String>, example = json!(["circulator"]), min_items = 1)]
    roles: Vec<Role>,
    /// What was found.
    #[schema(
        example = "No longer receives stock.",
        min_length = 3,
        max_length = 500
    )]
    note: String,
}

impl Checked for AccessReview {
    fn check(&self, errors: &mut Fields) {
        let named = !self.roles.is_empty();
        errors.require(
            named,
            "/roles",
            "must name at least one role; an account ends at ends_at",
        );
        errors.text("/note", &self.note, 3, 500);
    }
}

impl From<ReviewAccessRefusal> for ApiError {
    fn from(refusal: ReviewAccessRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            ReviewAccessRefusal::NoSuchPerson => ApiError::no_such("person"),
            ReviewAccessRefusal::Stale => ApiError::new(&catalogue::STALE),
            ReviewAccessRefusal::Own => ApiError::new(&catalogue::FORBIDDEN).detail(detail),
            ReviewAccessRefusal::GivesRole => {
                ApiError::fields(vec![FieldError::new("/roles", detail)])
            }
        }
    }
}

/// Lists what each person holds, when it was used and reviewed last, and whether a review is due.
#[utoipa::path(
    operation_id = "list_access", tag = "access", params(Paging),
    responses((status = 200, description = "A page of people.", body = List<AccessHeld>), Refusals),
)]
#[get("/v1/access-review")]
pub(super) async fn list_access(
    allowed: Allowed<act::ListAccess>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let now = app.recorder.clock().now();
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_access(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |access| AccessHeld::of(&access, now))))
}

/// Puts the review of a person's access on record, old and new; roles that go, go at once, and open
/// sessions with them. Nobody reviews the own access.
#[utoipa::path(
    operation_id = "review_access", tag = "access", request_body = AccessReview,
    params(("person" = Uuid, Path, description = "The person."), Change, IdempotencyKey),
    responses((status = 200, description = "Reviewed.", body = Person), Refusals),
)]
#[post("/v1/people/{person}/access-review")]
pub(super) async fn review_access(
    allowed: Allowed<act::ReviewAccess>,
    app: Data<App>,
    person: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<AccessReview>,
) -> Result<HttpResponse, ApiError> {
    let AccessReview { roles, note } = keyed.body;
    let operation = ReviewAccess {
        person: person.into_inner(),
        version: version.0,
        roles,
        note,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |person, receipt| {
            let version = Some(person.version);
            render(StatusCode::OK, &Person::from(person), receipt, version)
        },
    );
    let answer = recorded.await?;
    let facility = allowed.caller.facility;
    app.ended.learn(&app.recorder, facility).await?;
    Ok(reply(answer))
}
