//! `POST /v1/stations/current/vouches`

use super::at_station::AtStation;
use super::badge_in::{at, holder, verified};
use super::browser;
use super::secret::BadgeAndPin;
use super::sessions::{NewSession, hand_out, new_refresh_token, taken};
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::{Action, Grant, allowed};
use lotwarden_store::access::{Person, Session, VouchIn, VouchInRefusal, show, token_hash};
use serde::Deserialize;
use utoipa::ToSchema;
use zeroize::Zeroizing;

/// The badge of who is let in, and badge and PIN of who vouches.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VouchBody {
    /// The badge of who is let in, as the scanner sent it.
    #[schema(value_type = String, example = "]d292LWBK7QM2XPAK7QM2XPAK7QM", min_length = 1, max_length = 100)]
    badge: Zeroizing<String>,
    /// Who vouches: another person.
    voucher: BadgeAndPin,
    /// True for a page of this service: the tokens come as cookies that no script can read, and
    /// not in the answer.
    #[serde(default)]
    browser: bool,
}

impl Checked for VouchBody {
    fn check(&self, errors: &mut Fields) {
        let fits = (1..=100).contains(&self.badge.chars().count());
        errors.require(fits, "/badge", "must be 1 to 100 characters");
        self.voucher.check("/voucher", errors);
    }
}

impl From<VouchInRefusal> for ApiError {
    fn from(refusal: VouchInRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let problem = match refusal {
            VouchInRefusal::BadgeEnded => &catalogue::WRONG_BADGE,
            VouchInRefusal::NotHeldBack => &catalogue::OUT_OF_ORDER,
            VouchInRefusal::OneAndTheSame => &catalogue::FORBIDDEN,
        };
        ApiError::new(problem).detail(detail)
    }
}

/// Lets a person in at a paired station whose PIN is held back after five wrong ones: somebody else
/// vouches with badge and PIN. The session lasts an hour, the entry names both, and a signature
/// still asks for the signer's own secret.
#[utoipa::path(
    operation_id = "vouch_in", tag = "access", request_body = VouchBody,
    security(("station" = [])),
    responses((status = 201, description = "Let in.", body = NewSession), Refusals),
)]
#[post("/v1/stations/current/vouches")]
pub(super) async fn vouch_in(
    station: AtStation,
    app: Data<App>,
    body: Body<VouchBody>,
) -> Result<HttpResponse, ApiError> {
    let (station, body) = (station.0, body.0);
    let facility = station.facility;
    let BadgeAndPin { badge, pin } = body.voucher;
    let voucher = verified(&app, (station.id, facility), &badge, pin).await?;
    let mut reading = app.reading(facility).await?;
    let roles = show(&mut reading, voucher.person).await?;
    drop(reading);
    if !roles.is_some_and(|person| allowed(&person.roles, Action::VouchIn)) {
        return Err(ApiError::new(&catalogue::FORBIDDEN));
    }
    let now = app.recorder.clock().now();
    let let_in = holder(&app, facility, &body.badge).await?;
    let let_in = let_in.filter(|held| held.ends_at.is_none_or(|end| end > now));
    let let_in = let_in.ok_or_else(|| ApiError::new(&catalogue::WRONG_BADGE))?;
    let refresh_token = new_refresh_token(facility);
    let operation = VouchIn {
        badge: let_in.badge,
        person: let_in.person,
        voucher: voucher.person,
        station: station.id,
        refresh_hash: token_hash(&refresh_token),
    };
    let grant = Grant::on_voucher(facility, voucher.person);
    let (opened, render) = taken(<(Session, Person)>::clone);
    app.recorder
        .record(&grant, at(station.id), operation, render)
        .await?;
    let (session, person) = opened
        .get()
        .ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
    let session = hand_out(&app, facility, *session, person, refresh_token)?;
    app.ended.learn(&app.recorder, facility).await?;
    Ok(browser::answer(session, body.browser))
}
