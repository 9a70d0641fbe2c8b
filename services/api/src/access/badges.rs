//! `POST` and `DELETE /v1/people/{person}/badge`, and `POST /v1/people/current/pin`

use super::Allowed;
use super::passwords;
use super::secret::prove;
use super::sessions::{taken, unrendered};
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, delete, post};
use lotwarden_documents::{Label, Symbol, svg};
use lotwarden_domain::access::{BadgeText, act, pin_fault};
use lotwarden_store::Request;
use lotwarden_store::access::{
    BadgeRefusal, EndBadge, GiveBadge, GivenBadge, SetPin, badge_lookup,
};
use lotwarden_store::sealing::random_bytes;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;
use zeroize::Zeroizing;

/// A badge that was just given. Its text is shown this once.
#[derive(Debug, Serialize, ToSchema)]
pub struct Badge {
    /// The badge.
    id: Uuid,
    /// Whose it is.
    person_id: Uuid,
    /// What stands on it.
    #[schema(example = "LWBK7QM2XPAK7QM2XPAK7QM")]
    text: String,
    /// The badge as a picture: the person's name and a GS1 DataMatrix with the text in AI 92.
    label_svg: String,
}

/// The password in force and a PIN.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PinBody {
    /// The password in force.
    #[schema(value_type = String, format = Password, example = "three quiet otters 41", min_length = 1, max_length = 256)]
    password: Zeroizing<String>,
    /// 6 to 12 digits, not in a row and not the same ones over and over.
    #[schema(value_type = String, format = Password, example = "471903", pattern = "^[0-9]{6,12}$")]
    pin: Zeroizing<String>,
}

impl Checked for PinBody {
    fn check(&self, errors: &mut Fields) {
        errors.password(&self.password);
        if let Some(fault) = pin_fault(&self.pin) {
            errors.require(false, "/pin", fault);
        }
    }
}

/// A PIN was set.
#[derive(Debug, Serialize, ToSchema)]
pub struct PinSet {
    /// Whose.
    person_id: Uuid,
}

impl From<BadgeRefusal> for ApiError {
    fn from(refusal: BadgeRefusal) -> Self {
        match refusal {
            BadgeRefusal::NoSuchPerson => ApiError::no_such("person"),
            BadgeRefusal::NoBadge => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Gives a person a badge; the former one ends. What stands on it is shown this once, so the
/// request takes no key.
#[utoipa::path(
    operation_id = "give_badge", tag = "access",
    params(("person" = Uuid, Path, description = "The person.")),
    responses((status = 201, description = "Given.", body = Badge), Refusals),
)]
#[post("/v1/people/{person}/badge")]
pub(super) async fn give_badge(
    allowed: Allowed<act::GiveBadge>,
    app: Data<App>,
    person: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let text = BadgeText::new(random_bytes());
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let operation = GiveBadge {
        person: person.into_inner(),
        lookup: badge_lookup(&facility, app.recorder.master(), &text)?,
    };
    let (given, render) = taken(GivenBadge::clone);
    app.recorder
        .record(&allowed.grant, Request::default(), operation, render)
        .await?;
    let given = given
        .get()
        .ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
    let label = Label {
        title: given.name.clone(),
        elements: vec![(BadgeText::AI.to_owned(), text.as_str().to_owned())],
    };
    let drawing = label.draw(Symbol::Gs1DataMatrix);
    let drawing = drawing.map_err(crate::stock::unprintable)?;
    Ok(HttpResponse::Created().json(Badge {
        id: given.id,
        person_id: given.person,
        text: text.as_str().to_owned(),
        label_svg: svg(&drawing),
    }))
}

/// Ends a person's badge: lost, or handed in. A session that is open goes on.
#[utoipa::path(
    operation_id = "end_badge", tag = "access",
    params(("person" = Uuid, Path, description = "The person.")),
    responses((status = 204, description = "Ended."), Refusals),
)]
#[delete("/v1/people/{person}/badge")]
pub(super) async fn end_badge(
    allowed: Allowed<act::EndBadge>,
    app: Data<App>,
    person: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let operation = EndBadge {
        person: person.into_inner(),
    };
    app.recorder
        .record(&allowed.grant, Request::default(), operation, unrendered)
        .await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Sets the caller's PIN, which counts with the badge at paired stations; the password is asked for
/// again.
#[utoipa::path(
    operation_id = "set_pin", tag = "access", request_body = PinBody, params(IdempotencyKey),
    responses((status = 200, description = "Set.", body = PinSet), Refusals),
)]
#[post("/v1/people/current/pin")]
pub(super) async fn set_pin(
    allowed: Allowed<act::SetPin>,
    app: Data<App>,
    http: HttpRequest,
    keyed: Keyed<PinBody>,
) -> Result<HttpResponse, ApiError> {
    let PinBody { password, pin } = keyed.body;
    prove(&app, &http, &allowed.caller, password).await?;
    let hashed = actix_web::web::block(move || passwords::hash(&pin)).await;
    let person_id = allowed.caller.person;
    let operation = SetPin {
        person: person_id,
        pin_hash: hashed.map_err(|_| ApiError::new(&catalogue::INTERNAL))??,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |(), receipt| render(StatusCode::OK, &PinSet { person_id }, receipt, None),
    );
    Ok(reply(recorded.await?))
}
