//! The first argument of what a paired station asks for itself: which station it is.
//!
//! A station's credential signs nobody in. It lets a badge and PIN sign in there, and held scans be
//! delivered; every other operation wants a person's access token.

use super::{browser, sessions::facility_of};
use crate::app::App;
use crate::problem::{ApiError, catalogue};
use actix_web::dev::Payload;
use actix_web::http::header::AUTHORIZATION;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use futures_util::future::LocalBoxFuture;
use lotwarden_store::access::{PairedStation, paired_station};

/// A station that proved its credential.
#[derive(Debug)]
pub struct AtStation(pub PairedStation);

impl FromRequest for AtStation {
    type Error = ApiError;
    type Future = LocalBoxFuture<'static, Result<Self, ApiError>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let request = request.clone();
        Box::pin(async move { station(&request).await.map(Self) })
    }
}

async fn station(request: &HttpRequest) -> Result<PairedStation, ApiError> {
    let not_paired = || ApiError::new(&catalogue::NOT_PAIRED);
    let header = request
        .headers()
        .get(AUTHORIZATION)
        .and_then(|header| header.to_str().ok());
    let credential = header.and_then(|header| {
        let (scheme, credential) = header.split_once(' ')?;
        scheme
            .eq_ignore_ascii_case("station")
            .then(|| credential.trim().to_owned())
    });
    let credential = credential
        .or_else(|| browser::station_credential(request))
        .ok_or_else(not_paired)?;
    let facility = facility_of(&credential).ok_or_else(not_paired)?;
    let app = request.app_data::<Data<App>>().ok_or_else(not_paired)?;
    let mut reading = app.reading(facility).await?;
    let station = paired_station(&mut reading, &credential).await?;
    station.ok_or_else(not_paired)
}
