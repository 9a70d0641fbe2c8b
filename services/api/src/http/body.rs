//! Bodies: JSON in, checked field by field.

use super::exact::Exact;
use crate::access::passwords;
use crate::access::secret::BadgeAndPin;
use crate::problem::{ApiError, FieldError, catalogue};
use actix_web::body::{BodyStream, to_bytes_limited};
use actix_web::dev::{Decompress, Payload};
use actix_web::http::header::{CONTENT_LENGTH, CONTENT_TYPE};
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpRequest};
use futures_util::future::LocalBoxFuture;
use serde::de::DeserializeOwned;

/// The longest body of most operations, in bytes.
const LONGEST: usize = 256 * 1024;

/// A body that can say what is wrong with it, all of it at once.
pub trait Checked {
    /// The longest that is taken, in bytes; a packed one is measured unpacked.
    const LONGEST: usize = LONGEST;

    /// Adds an error for each field that does not fit.
    fn check(&self, errors: &mut Fields);
}

/// A checked body of a request that is not kept with a key.
#[derive(Debug)]
pub struct Body<T>(pub T);

impl<T: DeserializeOwned + Checked + 'static> FromRequest for Body<T> {
    type Error = ApiError;
    type Future = LocalBoxFuture<'static, Result<Self, ApiError>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let (request, payload) = (request.clone(), payload.take());
        Box::pin(async move {
            let bytes = received(&request, payload, T::LONGEST).await?;
            parse(&request, &bytes).map(Self)
        })
    }
}

/// Receives a body of at most so many bytes; one that says that it is longer is not read at all.
///
/// # Errors
/// 413 for a longer one, 400 when it breaks off.
pub(super) async fn received(
    request: &HttpRequest,
    payload: Payload,
    longest: usize,
) -> Result<Bytes, ApiError> {
    let too_large = || {
        let detail = format!("This operation takes at most {} KiB.", longest / 1024);
        ApiError::new(&catalogue::TOO_LARGE).detail(detail)
    };
    let said = request.headers().get(CONTENT_LENGTH);
    let said = said.and_then(|said| said.to_str().ok()?.parse::<usize>().ok());
    if said.is_some_and(|said| said > longest) {
        return Err(too_large());
    }
    let unpacked = BodyStream::new(Decompress::from_headers(payload, request.headers()));
    let whole = to_bytes_limited(unpacked, longest).await;
    let whole = whole.map_err(|_| too_large())?;
    whole.map_err(|_| ApiError::new(&catalogue::NOT_JSON).detail("The body did not arrive whole."))
}

/// An empty body.
#[derive(Debug, Default, serde::Deserialize, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Nothing {}

impl Checked for Nothing {
    fn check(&self, _: &mut Fields) {}
}

/// The errors of a body, gathered by field.
#[derive(Debug, Default)]
pub struct Fields {
    errors: Vec<FieldError>,
}

impl Fields {
    /// Adds an error unless the condition holds.
    pub fn require(&mut self, holds: bool, pointer: &str, detail: &str) {
        if !holds {
            self.errors.push(FieldError::new(pointer, detail));
        }
    }

    /// Requires a text of so many characters, without control characters.
    pub fn text(&mut self, pointer: &str, text: &str, least: usize, most: usize) {
        let length = text.chars().count();
        let fits = (least..=most).contains(&length) && (least == 0 || !text.trim().is_empty());
        self.require(
            fits,
            pointer,
            &format!("must be {least} to {most} characters"),
        );
        let plain = !text.chars().any(char::is_control);
        self.require(plain, pointer, "must not hold control characters");
    }

    /// Requires a number from one limit to another, both included; limits are decimal texts.
    pub fn range(&mut self, pointer: &str, number: Exact, least: &str, most: &str) {
        let limit = |text: &str| text.parse().map(Exact);
        let fits = limit(least).is_ok_and(|least| least <= number)
            && limit(most).is_ok_and(|most| number <= most);
        self.require(fits, pointer, &format!("must be {least} to {most}"));
    }

    /// Requires a day between 1900 and 2200: others are slips of the hand, and some have no place in
    /// the database.
    pub fn day(&mut self, pointer: &str, day: Option<jiff::civil::Date>) {
        let fits = day.is_none_or(|day| (1900..=2200).contains(&day.year()));
        self.require(fits, pointer, "must lie between 1900 and 2200");
    }

    /// Requires the password in force, asked for at `/password`, to have a length that one can have.
    pub fn password(&mut self, password: &str) {
        let fits = (1..=passwords::MOST).contains(&password.chars().count());
        self.require(fits, "/password", "must be 1 to 256 characters");
    }

    /// Requires either the password or badge and PIN, as a signer proves who signs.
    pub fn signer(&mut self, password: Option<&String>, by_badge: Option<&BadgeAndPin>) {
        let one = password.is_some() != by_badge.is_some();
        self.require(one, "/password", "must have either password or by_badge");
        if let Some(password) = password {
            self.password(password);
        }
        if let Some(by_badge) = by_badge {
            by_badge.check("/by_badge", self);
        }
    }

    /// The error, when there is any.
    ///
    /// # Errors
    /// 400 with every field's error.
    pub fn done(self) -> Result<(), ApiError> {
        if self.errors.is_empty() {
            Ok(())
        } else {
            Err(ApiError::fields(self.errors))
        }
    }
}

/// Parses and checks a body. An empty one counts as `{}`.
pub(super) fn parse<T: DeserializeOwned + Checked>(
    request: &HttpRequest,
    bytes: &[u8],
) -> Result<T, ApiError> {
    let kind = request
        .headers()
        .get(CONTENT_TYPE)
        .and_then(|kind| kind.to_str().ok());
    let json = kind.is_some_and(|kind| kind.trim_start().starts_with("application/json"));
    if !bytes.is_empty() && !json {
        return Err(ApiError::new(&catalogue::NOT_ACCEPTED));
    }
    let bytes = if bytes.is_empty() { b"{}" } else { bytes };
    // serde's message names the field or kind that was expected; values and names that are no
    // field's are cut, because a patient's may stand in the wrong place.
    let body: T = serde_json::from_slice(bytes).map_err(|error| {
        let place = format!("line {}, column {}", error.line(), error.column());
        ApiError::new(&catalogue::NOT_JSON).detail(format!("{} ({place}).", without_values(&error)))
    })?;
    let mut fields = Fields::default();
    body.check(&mut fields);
    fields.done()?;
    Ok(body)
}

fn without_values(error: &serde_json::Error) -> String {
    let text = error.to_string();
    let text = text.rsplit_once(" at line ").map_or("", |(text, _)| text);
    let unknown = text.starts_with("unknown field");
    if unknown && text.ends_with(", there are no fields") {
        return "Unknown field; none is expected".to_owned();
    }
    if let Some((_, expected)) = text.rsplit_once(", expected ") {
        let first = if unknown {
            "Unknown field; expected"
        } else {
            "Expected"
        };
        return format!("{first} {expected}");
    }
    if text.starts_with("missing field") {
        return crate::problem::sentence(text)
            .trim_end_matches('.')
            .to_owned();
    }
    if error.is_data() {
        "A value does not fit its field".to_owned()
    } else {
        "Not JSON".to_owned()
    }
}
