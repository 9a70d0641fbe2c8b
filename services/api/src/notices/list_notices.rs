//! `GET /v1/notices` and `GET /v1/notices/{notice}`

use super::Notice;
use super::proposed::NoticeReading;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging, tagged};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_domain::import::RecallClass;
use lotwarden_domain::notices::NoticeState;
use lotwarden_store::notices::{self as store, NoticeFilter};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// Which notices.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only those in this state: `unconfirmed`, `open`, `closed` or `withdrawn`.
    #[param(value_type = Option<String>, pattern = "^(unconfirmed|open|closed|withdrawn)$")]
    state: Option<NoticeState>,
    /// Only those in which the reader found a code of a product of this catalogue, or only the
    /// others. The others may name products of this site in words.
    in_catalogue: Option<bool>,
    /// Only those of this class: `I`, `II` or `III`.
    #[param(value_type = Option<String>, pattern = "^(I|II|III)$")]
    class: Option<RecallClass>,
}

/// A notice with its text, its matter and what was confirmed.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeShown {
    /// The notice.
    #[serde(flatten)]
    notice: Notice,
    /// What names the items, as received.
    text: String,
    /// What was read of the text.
    reading: NoticeReading,
    /// Every notice of the matter, in the order they came.
    revisions: Vec<NoticeRevision>,
    /// What was confirmed for the whole matter, in order.
    criteria: Vec<ConfirmedCriterion>,
}

/// A notice of a matter.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeRevision {
    /// The notice.
    id: Uuid,
    /// Counts the notices of the matter, from 1.
    revision: i32,
    /// Its reference number.
    reference: String,
    /// How grave it says it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>)]
    class: Option<RecallClass>,
    /// How far the site is with it.
    #[schema(value_type = String)]
    state: NoticeState,
}

/// What a person confirmed that a notice names.
#[derive(Debug, Serialize, ToSchema)]
pub struct ConfirmedCriterion {
    /// The notice or update that brought it.
    revision_id: Uuid,
    /// Part of the text stays unread and unsettled: no item of the products is left out.
    open: bool,
    /// Catalogue numbers as written.
    catalogue_numbers: Vec<String>,
    /// Identifiers as written.
    identifiers: Vec<String>,
    /// Products of this catalogue.
    product_ids: Vec<Uuid>,
    /// What of these products is named: `all`, `expires_from`, `expires_to`, `lots`, `ranges`,
    /// `serials`.
    #[schema(value_type = serde_json::Value)]
    items: lotwarden_domain::notices::Named,
}

impl From<store::NoticeShown> for NoticeShown {
    fn from(shown: store::NoticeShown) -> Self {
        let revisions = shown.revisions.into_iter().map(|one| NoticeRevision {
            id: one.id,
            revision: one.revision,
            reference: one.reference,
            class: one.class,
            state: one.state,
        });
        let criteria =
            shown
                .criteria
                .into_iter()
                .map(|(revision_id, open, one)| ConfirmedCriterion {
                    revision_id,
                    open,
                    catalogue_numbers: one.catalogue_numbers,
                    identifiers: one.identifiers,
                    product_ids: one.product_ids,
                    items: one.items,
                });
        Self {
            notice: Notice::from(&shown.notice),
            reading: NoticeReading::of(&shown.text, shown.notice.received_on),
            text: shown.text,
            revisions: revisions.collect(),
            criteria: criteria.collect(),
        }
    }
}

/// Lists notices in the order they were taken in.
#[utoipa::path(
    operation_id = "list_notices", tag = "notices", params(Which, Paging),
    responses((status = 200, description = "A page of notices.", body = List<Notice>), Refusals),
)]
#[get("/v1/notices")]
pub(super) async fn list_notices(
    allowed: Allowed<act::ListNotices>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let filter = NoticeFilter {
        state: which.state,
        in_catalogue: which.in_catalogue,
        class: which.class,
    };
    let page = store::list(&mut reading, filter, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |notice| Notice::from(&notice))))
}

/// Shows a notice, what was read of its text, and what was confirmed.
#[utoipa::path(
    operation_id = "show_notice", tag = "notices",
    params(("notice" = Uuid, Path, description = "The notice.")),
    responses((status = 200, description = "The notice.", body = NoticeShown), Refusals),
)]
#[get("/v1/notices/{notice}")]
pub(super) async fn show_notice(
    allowed: Allowed<act::ShowNotice>,
    app: Data<App>,
    request: HttpRequest,
    notice: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let shown = store::show(&mut reading, notice.into_inner()).await?;
    let shown = shown.ok_or_else(|| ApiError::no_such("notice"))?;
    let version = shown.notice.version;
    Ok(tagged(&request, version, &NoticeShown::from(shown)))
}
