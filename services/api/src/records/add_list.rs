//! `POST /v1/lists` and `GET /v1/lists`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, List, Paging, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_domain::equipment::EquipmentKind;
use lotwarden_store::records::{self as store, AddList, AddListRefusal};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashSet};
use utoipa::ToSchema;
use uuid::Uuid;

/// What a setup needs.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ListBody {
    /// The procedure, as cases name it.
    #[schema(example = "Vein ablation, left leg", min_length = 1, max_length = 200)]
    procedure: String,
    /// The practitioner; none for everybody's.
    practitioner_id: Option<Uuid>,
    /// What is needed, 1 to 200.
    #[schema(min_items = 1, max_items = 200)]
    items: Vec<ListItem>,
    /// What is needed of any product of a kind, each kind once.
    #[serde(default)]
    #[schema(max_items = 20)]
    kinds: Vec<ListKind>,
    /// What equipment is needed: `generator`, `vibration_drive`, `smoke_evacuator`, `thermometer` or
    /// `other`, one piece of each.
    #[serde(default)]
    #[schema(value_type = Vec<String>, example = json!(["smoke_evacuator"]), max_items = 5)]
    equipment: Vec<EquipmentKind>,
}

/// So many of any product of a kind.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ListKind {
    /// The kind.
    #[schema(value_type = String, example = "dressing")]
    kind: ProductKind,
    /// To open, up to 1000.
    #[schema(example = 2, maximum = 1000)]
    open: u32,
    /// To have available and not open, up to 1000.
    #[schema(example = 1, maximum = 1000)]
    hold: u32,
}

/// A product that a setup needs.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ListItem {
    /// The product.
    product_id: Uuid,
    /// To open, up to 1000.
    #[schema(example = 2, maximum = 1000)]
    open: u32,
    /// To have available and not open, up to 1000.
    #[schema(example = 1, maximum = 1000)]
    hold: u32,
    /// Products that may stand in for it.
    #[serde(default)]
    #[schema(max_items = 20)]
    alternative_ids: Vec<Uuid>,
}

impl Checked for ListBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/procedure", &self.procedure, 1, 200);
        let count = (1..=200).contains(&self.items.len());
        errors.require(count, "/items", "must be 1 to 200");
        for (number, item) in self.items.iter().enumerate() {
            let at = |member: &str| format!("/items/{number}/{member}");
            errors.require(item.open <= 1000, &at("open"), "must be 0 to 1000");
            errors.require(item.hold <= 1000, &at("hold"), "must be 0 to 1000");
            let few = item.alternative_ids.len() <= 20;
            errors.require(few, &at("alternative_ids"), "must be at most 20");
        }
        let kinds: HashSet<ProductKind> = self.kinds.iter().map(|one| one.kind).collect();
        let once = kinds.len() == self.kinds.len();
        errors.require(once, "/kinds", "must name each kind once");
        for (number, one) in self.kinds.iter().enumerate() {
            let at = |member: &str| format!("/kinds/{number}/{member}");
            errors.require(one.open <= 1000, &at("open"), "must be 0 to 1000");
            errors.require(one.hold <= 1000, &at("hold"), "must be 0 to 1000");
        }
        let equipment: HashSet<EquipmentKind> = self.equipment.iter().copied().collect();
        let once = equipment.len() == self.equipment.len();
        errors.require(once, "/equipment", "must name each kind once");
    }
}

/// A preference list.
#[derive(Debug, Serialize, ToSchema)]
pub struct PreferenceList {
    /// The list.
    id: Uuid,
    /// The procedure.
    procedure: String,
    /// The practitioner; none for everybody's.
    #[serde(skip_serializing_if = "Option::is_none")]
    practitioner_id: Option<Uuid>,
    /// What is needed.
    items: Vec<ListItem>,
    /// What is needed of any product of a kind.
    kinds: Vec<ListKind>,
    /// What equipment is needed.
    #[schema(value_type = Vec<String>)]
    equipment: Vec<EquipmentKind>,
    /// The names of the products that its items name, by id.
    #[schema(example = json!({"0199c3a4-7c1e-7a52-9d3e-5b0c2f6d8e11": "Compression pad"}))]
    product_names: BTreeMap<Uuid, String>,
}

impl From<&store::PreferenceList> for PreferenceList {
    fn from(list: &store::PreferenceList) -> Self {
        let items = list.items.iter().map(|item| ListItem {
            product_id: item.product,
            open: item.open,
            hold: item.hold,
            alternative_ids: item.alternatives.clone(),
        });
        Self {
            id: list.id,
            procedure: list.procedure.clone(),
            practitioner_id: list.practitioner,
            items: items.collect(),
            kinds: list
                .kinds
                .iter()
                .map(|one| ListKind {
                    kind: one.kind,
                    open: one.open,
                    hold: one.hold,
                })
                .collect(),
            equipment: list.equipment.clone(),
            product_names: list.names.clone(),
        }
    }
}

impl From<AddListRefusal> for ApiError {
    fn from(refusal: AddListRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let pointer = match refusal {
            AddListRefusal::NoSuchPerson => "/practitioner_id".to_owned(),
            AddListRefusal::NoSuchProduct { item } => format!("/items/{item}/product_id"),
        };
        ApiError::fields(vec![FieldError::new(pointer, detail)])
    }
}

/// Adds a preference list. The newest of a procedure counts, one of the practitioner's own first.
#[utoipa::path(
    operation_id = "add_list", tag = "records", request_body = ListBody, params(IdempotencyKey),
    responses((status = 201, description = "Added.", body = PreferenceList), Refusals),
)]
#[post("/v1/lists")]
pub(super) async fn add_list(
    allowed: Allowed<act::AddList>,
    app: Data<App>,
    keyed: Keyed<ListBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let items = body.items.into_iter().map(|item| store::ListItem {
        alternatives: item.alternative_ids,
        hold: item.hold,
        open: item.open,
        product: item.product_id,
    });
    let kinds = body.kinds.into_iter().map(|one| store::ListKind {
        hold: one.hold,
        kind: one.kind,
        open: one.open,
    });
    let operation = AddList {
        equipment: body.equipment,
        kinds: kinds.collect(),
        items: items.collect(),
        practitioner: body.practitioner_id,
        procedure: body.procedure,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |list, receipt| {
                render(
                    StatusCode::CREATED,
                    &PreferenceList::from(list),
                    receipt,
                    None,
                )
            });
    Ok(reply(recorded.await?))
}

/// Lists preference lists in the order they were added.
#[utoipa::path(
    operation_id = "list_lists", tag = "records", params(Paging),
    responses((status = 200, description = "A page of lists.", body = List<PreferenceList>), Refusals),
)]
#[get("/v1/lists")]
pub(super) async fn list_lists(
    allowed: Allowed<act::ListLists>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_lists(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |list| PreferenceList::from(&list))))
}
