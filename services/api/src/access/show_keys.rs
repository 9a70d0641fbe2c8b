//! `GET /.well-known/jwks.json`

use super::tokens::PublicKey;
use crate::app::App;
use actix_web::web::Data;
use actix_web::{HttpResponse, get};
use serde::Serialize;
use utoipa::ToSchema;

/// The keys that access tokens are verified with (RFC 7517).
#[derive(Debug, Serialize, ToSchema)]
pub struct Keys<'a> {
    /// The keys, the one that signs first.
    #[schema(value_type = Vec<PublicKey>)]
    keys: &'a [PublicKey],
}

/// Shows the public keys of access tokens.
#[utoipa::path(
    operation_id = "show_keys", tag = "access", security(()),
    responses((status = 200, description = "The keys.", body = Keys<'static>)),
)]
#[get("/.well-known/jwks.json")]
pub(super) async fn show_keys(app: Data<App>) -> HttpResponse {
    HttpResponse::Ok().json(Keys {
        keys: app.tokens.public(),
    })
}
