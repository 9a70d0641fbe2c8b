//! `POST /v1/cases/{case}/mixes`

use super::mix::Mix;
use crate::access::Allowed;
use crate::access::secret::{self, BadgeAndPin};
use crate::app::App;
use crate::cases::facility_key;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::mixes::{OrderMix, OrderMixRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;
use zeroize::Zeroizing;

/// A written order with the patient's weight and the signer's password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OrderBody {
    /// What the team calls the mix; never a patient's identity.
    #[schema(example = "Bag A", min_length = 1, max_length = 100)]
    name: String,
    /// The order in words; never a patient's identity.
    #[schema(
        example = "250 mL saline, 25 mL lidocaine 1 %, 0.25 mL epinephrine 1 mg/mL, 2.5 mL bicarbonate 8.4 %",
        min_length = 1,
        max_length = 1000
    )]
    written_order: String,
    /// The patient's weight in kilograms, 0.5 to 500; it is sealed.
    #[schema(example = "60")]
    weight_kg: Exact,
    /// Minutes from the start of preparation within which the mix is used, 1 to 10080: the site's.
    #[schema(example = 240, minimum = 1, maximum = 10080)]
    use_within_minutes: u16,
    /// Where the site has that time from.
    #[schema(
        example = "Site policy 12, after USP <797>",
        min_length = 3,
        max_length = 200
    )]
    use_by_source: String,
    /// The signer's password, asked for again (21 CFR 11.200).
    #[schema(value_type = Option<String>, format = Password, example = "three quiet otters 41", min_length = 1, max_length = 256)]
    password: Option<Zeroizing<String>>,
    /// In place of the password, in a session that was begun so: the signer's badge and PIN.
    by_badge: Option<BadgeAndPin>,
}

impl Checked for OrderBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 100);
        errors.text("/written_order", &self.written_order, 1, 1000);
        errors.range("/weight_kg", self.weight_kg, "0.5", "500");
        let minutes = (1..=10_080).contains(&self.use_within_minutes);
        errors.require(minutes, "/use_within_minutes", "must be 1 to 10080");
        errors.text("/use_by_source", &self.use_by_source, 3, 200);
        errors.signer(self.password.as_deref(), self.by_badge.as_ref());
    }
}

impl From<OrderMixRefusal> for ApiError {
    fn from(refusal: OrderMixRefusal) -> Self {
        match refusal {
            OrderMixRefusal::Case(reason) => reason.into(),
            OrderMixRefusal::NotAPerson => {
                ApiError::new(&catalogue::FORBIDDEN).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Signs the order of a mix. No mix is made without one; the weight is sealed, and the ledger holds
/// a salted commitment to it only.
#[utoipa::path(
    operation_id = "order_mix", tag = "mixes", request_body = OrderBody,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "Ordered and signed.", body = Mix), Refusals),
)]
#[post("/v1/cases/{case}/mixes")]
pub(super) async fn order_mix(
    allowed: Allowed<act::OrderMix>,
    app: Data<App>,
    http: HttpRequest,
    case: Path<Uuid>,
    keyed: Keyed<OrderBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    secret::prove_signer(&app, &http, &allowed.caller, (body.password, body.by_badge)).await?;
    let (_, facility_key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = OrderMix {
        facility_key,
        case: case.into_inner(),
        name: body.name,
        written_order: body.written_order,
        weight_kg: body.weight_kg.0,
        use_within_minutes: body.use_within_minutes,
        use_by_source: body.use_by_source,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, |mix, receipt| {
            let version = Some(mix.version);
            render(StatusCode::CREATED, &Mix::from(mix), receipt, version)
        });
    Ok(reply(recorded.await?))
}
