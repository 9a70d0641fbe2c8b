//! Problems (RFC 9457): one catalogue of permanent slugs, one error type, one way to answer.

pub mod catalogue;

pub use catalogue::Catalogued;

use actix_web::http::StatusCode;
use actix_web::http::header::{self, HeaderValue};
use actix_web::{HttpResponse, ResponseError};
use lotwarden_domain::Causes;
use lotwarden_domain::access::Forbidden;
use lotwarden_store::{RecordError, StoreError};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt;
use utoipa::openapi::{ContentBuilder, Ref, RefOr, Response, ResponseBuilder};

/// What is wrong with one field.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, utoipa::ToSchema)]
pub struct FieldError {
    /// The field: a JSON Pointer (RFC 6901) into the body, or the name of a parameter.
    #[schema(example = "/lines/0/quantity")]
    pub pointer: String,
    /// What is wrong and what to do.
    #[schema(example = "must be 1 to 1000000")]
    pub detail: String,
}

impl FieldError {
    /// An error of one field.
    #[must_use]
    pub fn new(pointer: impl Into<String>, detail: impl Into<String>) -> Self {
        Self {
            pointer: pointer.into(),
            detail: detail.into(),
        }
    }
}

/// A refused request: a catalogued problem with this occurrence's details.
#[derive(Clone, Debug)]
pub struct ApiError {
    problem: &'static Catalogued,
    detail: Option<String>,
    errors: Vec<FieldError>,
    retry_after: Option<u32>,
}

/// The body of a refusal.
#[derive(Debug, Serialize, utoipa::ToSchema)]
pub struct Problem<'a> {
    /// Where the service documents this kind of problem.
    #[serde(rename = "type")]
    #[schema(value_type = String, example = "/problems/no-such-thing")]
    pub kind: String,
    /// What this kind of problem is.
    #[schema(value_type = String)]
    pub title: &'a str,
    /// The HTTP status.
    #[schema(example = 404, minimum = 400, maximum = 599)]
    pub status: u16,
    /// The permanent slug.
    #[schema(value_type = String, example = "no-such-thing")]
    pub code: &'a str,
    /// What happened this time and what to do.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>)]
    pub detail: Option<&'a str>,
    /// What is wrong, by field.
    #[serde(skip_serializing_if = "<[FieldError]>::is_empty")]
    #[schema(value_type = Option<Vec<FieldError>>)]
    pub errors: &'a [FieldError],
}

impl ApiError {
    /// A problem of the catalogue.
    #[must_use]
    pub fn new(problem: &'static Catalogued) -> Self {
        Self {
            problem,
            detail: None,
            errors: Vec::new(),
            retry_after: None,
        }
    }

    /// Adds what happened this time; never a patient's identity.
    #[must_use]
    pub fn detail(mut self, detail: impl Into<String>) -> Self {
        self.detail = Some(detail.into());
        self
    }

    /// A body or parameter that does not fit, by field.
    #[must_use]
    pub fn fields(errors: Vec<FieldError>) -> Self {
        Self {
            errors,
            ..Self::new(&catalogue::INVALID)
        }
    }

    /// A thing that is not there, or not in the caller's facility.
    #[must_use]
    pub fn no_such(what: &str) -> Self {
        Self::new(&catalogue::NO_SUCH_THING).detail(format!("There is no such {what}."))
    }

    /// Says when to try again, in seconds.
    #[must_use]
    pub fn retry_after(mut self, seconds: u32) -> Self {
        self.retry_after = Some(seconds);
        self
    }

    /// The same occurrence as another kind of problem.
    #[must_use]
    pub fn as_kind(self, problem: &'static Catalogued) -> Self {
        Self { problem, ..self }
    }

    /// The permanent slug.
    #[must_use]
    pub fn code(&self) -> &'static str {
        self.problem.code
    }
}

impl ApiError {
    /// The body of its answer, for an answer that has several.
    #[must_use]
    pub fn text(&self) -> String {
        // Our own bodies are structs of strings and numbers; they always render.
        serde_json::to_string(&self.body()).unwrap_or_default()
    }

    fn body(&self) -> Problem<'_> {
        Problem {
            kind: format!("/problems/{}", self.problem.code),
            title: self.problem.title,
            status: self.problem.status,
            code: self.problem.code,
            detail: self.detail.as_deref(),
            errors: &self.errors,
        }
    }
}

impl fmt::Display for ApiError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.problem.code)
    }
}

impl std::error::Error for ApiError {}

impl ResponseError for ApiError {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.problem.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse {
        metrics::counter!("lotwarden_problems_total", "code" => self.problem.code).increment(1);
        let mut response = HttpResponse::build(self.status_code());
        if let Some(seconds) = self.retry_after {
            response.insert_header((header::RETRY_AFTER, seconds.to_string()));
        }
        if self.problem.status == 401 {
            response.insert_header((header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer")));
        }
        response
            .content_type("application/problem+json")
            .json(self.body())
    }
}

impl From<StoreError> for ApiError {
    fn from(error: StoreError) -> Self {
        tracing::error!(error = %Causes(&error), "a read failed");
        match error {
            StoreError::Unreachable(_) | StoreError::Exhausted => unavailable(),
            StoreError::Query(_) | StoreError::Sealed(_) | StoreError::Unfit => {
                Self::new(&catalogue::INTERNAL)
            }
        }
    }
}

impl From<Forbidden> for ApiError {
    fn from(forbidden: Forbidden) -> Self {
        Self::new(&catalogue::FORBIDDEN).detail(sentence(&forbidden.to_string()))
    }
}

impl<R> From<RecordError<R>> for ApiError
where
    R: std::error::Error + Into<ApiError>,
{
    fn from(error: RecordError<R>) -> Self {
        match error {
            RecordError::Refused(refusal) => refusal.into(),
            RecordError::KeyReused => Self::new(&catalogue::KEY_REUSED),
            RecordError::Busy => Self::new(&catalogue::BUSY).retry_after(1),
            RecordError::Unavailable => unavailable(),
        }
    }
}

impl From<std::convert::Infallible> for ApiError {
    fn from(never: std::convert::Infallible) -> Self {
        match never {}
    }
}

fn unavailable() -> ApiError {
    ApiError::new(&catalogue::UNAVAILABLE).retry_after(2)
}

/// A refusal's own words as a sentence.
#[must_use]
pub(crate) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters
        .next()
        .map(|letter| letter.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

/// The refusals every operation can answer with, for its description.
#[derive(Debug)]
pub struct Refusals;

impl utoipa::IntoResponses for Refusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        let problem = |description: &str| {
            let schema = Ref::from_schema_name("Problem");
            let content = ContentBuilder::new().schema(Some(schema)).build();
            let response = ResponseBuilder::new().description(description);
            RefOr::T(
                response
                    .content("application/problem+json", content)
                    .build(),
            )
        };
        let kinds = [
            (
                "4XX",
                "Refused; `code` says why and `/problems/{code}` what to do.",
            ),
            (
                "5XX",
                "Not acknowledged; repeat it with the same Idempotency-Key.",
            ),
        ];
        kinds
            .map(|(status, text)| (status.to_owned(), problem(text)))
            .into()
    }
}
