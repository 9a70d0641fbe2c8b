//! Lists: `{items, next}` with opaque cursors.

use crate::problem::{ApiError, FieldError};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use lotwarden_store::{After, Page};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// The most rows a page has.
pub const MOST: u16 = 200;
const USUAL: u16 = 50;

/// Which page of a list.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Paging {
    /// The `next` of the page before; none for the first page.
    pub cursor: Option<String>,
    /// Rows on the page, 1 to 200; 50 unless told.
    #[param(minimum = 1, maximum = 200)]
    pub limit: Option<u16>,
}

impl Paging {
    /// The page as the store takes it.
    ///
    /// # Errors
    /// 400 naming the parameter.
    pub fn after(&self) -> Result<After, ApiError> {
        let limit = self.limit.unwrap_or(USUAL);
        if !(1..=MOST).contains(&limit) {
            let error = FieldError::new("limit", format!("must be 1 to {MOST}"));
            return Err(ApiError::fields(vec![error]));
        }
        let id = self.cursor.as_deref().map(id).transpose()?;
        Ok(After { id, limit })
    }
}

fn id(cursor: &str) -> Result<Uuid, ApiError> {
    let bytes = URL_SAFE_NO_PAD.decode(cursor).ok();
    bytes
        .and_then(|bytes| Uuid::from_slice(&bytes).ok())
        .ok_or_else(|| {
            let error = FieldError::new("cursor", "must be the next of an earlier page");
            ApiError::fields(vec![error])
        })
}

/// One page of a list.
#[derive(Debug, Serialize, ToSchema)]
pub struct List<T> {
    /// The rows.
    pub items: Vec<T>,
    /// The cursor of the next page, when more rows follow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

impl<T> List<T> {
    /// A page in the words of the API.
    pub fn of<S>(page: Page<S>, item: impl Fn(S) -> T) -> Self {
        let next = page.next.map(|id| URL_SAFE_NO_PAD.encode(id.as_bytes()));
        Self {
            items: page.items.into_iter().map(item).collect(),
            next,
        }
    }
}
