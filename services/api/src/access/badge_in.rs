//! `POST /v1/stations/current/sessions`

use super::at_station::AtStation;
use super::sessions::{NewSession, hand_out, new_refresh_token, taken, unrendered};
use super::{browser, passwords};
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::problem::{ApiError, Refusals, catalogue};
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::{BadgeText, Grant, act};
use lotwarden_store::Request;
use lotwarden_store::access::{
    BadgeHolder, BadgeIn, BadgeInRefusal, PIN_FAILURES, PairedStation, Person, RefuseBadgeIn,
    Session, SignInFailure, VOUCHED_AFTER, badge_holder, badge_lookup, token_hash,
};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;
use zeroize::Zeroizing;

/// A badge and its holder's PIN.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BadgeInBody {
    /// The badge's characters as the scanner sent them.
    #[schema(value_type = String, example = "]d292LWBK7QM2XPAK7QM2XPAK7QM", min_length = 1, max_length = 100)]
    badge: Zeroizing<String>,
    /// The PIN.
    #[schema(value_type = String, format = Password, example = "471903", min_length = 6, max_length = 12)]
    pin: Zeroizing<String>,
    /// True for a page of this service: the tokens come as cookies that no script can read, and
    /// not in the answer.
    #[serde(default)]
    browser: bool,
}

impl Checked for BadgeInBody {
    fn check(&self, errors: &mut Fields) {
        let length = self.badge.chars().count();
        errors.require(
            (1..=100).contains(&length),
            "/badge",
            "must be 1 to 100 characters",
        );
        errors.text("/pin", &self.pin, 1, 64);
    }
}

impl From<BadgeInRefusal> for ApiError {
    fn from(_: BadgeInRefusal) -> Self {
        ApiError::new(&catalogue::WRONG_BADGE)
    }
}

/// Signs in by badge and PIN at a paired station; whoever was signed in there is signed out.
///
/// Attempts are slowed down for the badge and for the station, each by itself: a badge that is
/// guessed at does not keep another person from signing in. After five wrong PINs in a row on record
/// the answer is `pin-held-back` instead of `too-many`, and another person may vouch; after ten the PIN
/// is over, and its owner sets another with the password.
#[utoipa::path(
    operation_id = "badge_in", tag = "access", request_body = BadgeInBody,
    security(("station" = [])),
    responses((status = 201, description = "Signed in.", body = NewSession), Refusals),
)]
#[post("/v1/stations/current/sessions")]
pub(super) async fn badge_in(
    station: AtStation,
    app: Data<App>,
    body: Body<BadgeInBody>,
) -> Result<HttpResponse, ApiError> {
    let (station, body) = (station.0, body.0);
    let place = (station.id, station.facility);
    let holder = verified(&app, place, &body.badge, body.pin).await?;
    let session = open(&app, &station, &holder).await?;
    app.ended.learn(&app.recorder, station.facility).await?;
    Ok(browser::answer(session, body.browser))
}

/// Who holds a badge, once the PIN is right; everything else is on record.
///
/// # Errors
/// 401 for a wrong badge or PIN, or a PIN that is over; 429 after several, by its own name once
/// another person may vouch.
pub(super) async fn verified(
    app: &App,
    place: (Uuid, Uuid),
    badge: &str,
    pin: Zeroizing<String>,
) -> Result<BadgeHolder, ApiError> {
    let (station, facility) = place;
    app.throttle.station(station)?;
    let wrong = || ApiError::new(&catalogue::WRONG_BADGE);
    let Some(holder) = holder(app, facility, badge).await? else {
        // The same work as for a known badge, so that the time does not tell which it was.
        passwords::verify_apart(pin, None).await;
        tracing::warn!(%station, "a badge that is nobody's was shown");
        return Err(wrong());
    };
    if let Err(wait) = app.throttle.pin(holder.person) {
        refuse(app, place, &holder, SignInFailure::Throttled).await?;
        // From as many wrong ones as this, another person may vouch.
        return Err(match holder.pin_failures >= VOUCHED_AFTER {
            true => wait.as_kind(&catalogue::PIN_HELD_BACK),
            false => wait,
        });
    }
    let now = app.recorder.clock().now();
    if holder.ends_at.is_some_and(|end| end <= now) {
        refuse(app, place, &holder, SignInFailure::AccountEnded).await?;
        return Err(wrong());
    }
    let ended = holder.pin_failures >= PIN_FAILURES;
    let Some(hash) = holder.pin_hash.clone().filter(|_| !ended) else {
        refuse(app, place, &holder, SignInFailure::NoPin).await?;
        return Err(ApiError::new(match ended {
            true => &catalogue::PIN_ENDED,
            false => &catalogue::NO_PIN,
        }));
    };
    if !passwords::verify_apart(pin, Some(hash)).await {
        refuse(app, place, &holder, SignInFailure::WrongPin).await?;
        return Err(wrong());
    }
    Ok(holder)
}

/// Who holds a badge; nothing is proven by it alone.
///
/// # Errors
/// 401 for characters that are no badge.
pub(super) async fn holder(
    app: &App,
    facility: Uuid,
    badge: &str,
) -> Result<Option<BadgeHolder>, ApiError> {
    let Some(badge) = BadgeText::read(badge) else {
        let detail = "These characters are no badge of this service.";
        return Err(ApiError::new(&catalogue::WRONG_BADGE).detail(detail));
    };
    let known = app.recorder.facility(facility).await?;
    let lookup = badge_lookup(&known, app.recorder.master(), &badge)?;
    let mut reading = app.reading(facility).await?;
    Ok(badge_holder(&mut reading, lookup).await?)
}

async fn open(
    app: &App,
    station: &PairedStation,
    holder: &BadgeHolder,
) -> Result<NewSession, ApiError> {
    let refresh_token = new_refresh_token(station.facility);
    let operation = BadgeIn {
        badge: holder.badge,
        person: holder.person,
        station: station.id,
        refresh_hash: token_hash(&refresh_token),
    };
    let grant = Grant::on_badge(station.facility, holder.person);
    let (opened, render) = taken(<(Session, Person)>::clone);
    app.recorder
        .record(&grant, at(station.id), operation, render)
        .await?;
    let (session, person) = opened
        .get()
        .ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
    hand_out(app, station.facility, *session, person, refresh_token)
}

/// Puts a failed attempt with a known badge on record.
async fn refuse(
    app: &App,
    (station, facility): (Uuid, Uuid),
    holder: &BadgeHolder,
    reason: SignInFailure,
) -> Result<(), ApiError> {
    let operation = RefuseBadgeIn {
        person: holder.person,
        reason,
    };
    let grant = Grant::<act::BadgeIn>::at_station(facility, station);
    app.recorder
        .record(&grant, at(station), operation, unrendered)
        .await?;
    Ok(())
}

/// A request from a station.
pub(super) fn at(station: Uuid) -> Request {
    Request {
        key: None,
        station: Some(station),
    }
}
