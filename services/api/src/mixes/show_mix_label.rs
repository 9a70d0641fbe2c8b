//! `GET /v1/mixes/{mix}/label`

use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals, catalogue};
use crate::stock::{LabelForm, unprintable};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use lotwarden_documents::{Drawing, Label, Symbol};
use lotwarden_domain::access::act;
use lotwarden_store::mixes as store;
use uuid::Uuid;

/// Gives the label of a mix: a GS1 DataMatrix of its id, what is in it, who prepared it, and its
/// use-by (USP <797> section 1.3, from memory). No patient identity stands on it.
#[utoipa::path(
    operation_id = "show_mix_label", tag = "mixes",
    params(("mix" = Uuid, Path, description = "The mix."), LabelForm),
    responses(
        (status = 200, description = "The label.", content(
            (String = "image/svg+xml"), (String = "image/png"), (String = "application/pdf"),
        )),
        Refusals,
    ),
)]
#[get("/v1/mixes/{mix}/label")]
pub(super) async fn show_mix_label(
    allowed: Allowed<act::ShowMixLabel>,
    app: Data<App>,
    request: HttpRequest,
    mix: Path<Uuid>,
    form: Query<LabelForm>,
) -> Result<HttpResponse, ApiError> {
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let mix = store::show(&mut reading, mix.into_inner()).await?;
    let mix = mix.ok_or_else(|| ApiError::no_such("mix"))?;
    let made = mix.made.as_ref().ok_or_else(|| {
        ApiError::new(&catalogue::OUT_OF_ORDER).detail("The mix is not made yet.")
    })?;
    form.answer(&request, drawing(&mix, made, &facility.zone)?)
}

/// Its id as the 39 decimal digits of its 128 bits in AI 91, which GS1 leaves to each company (GS1
/// General Specifications 3.9.11), and below it a line for each thing the label says.
fn drawing(mix: &store::Mix, made: &store::Made, zone: &TimeZone) -> Result<Drawing, ApiError> {
    let label = Label {
        title: mix.name.clone(),
        elements: vec![("91".to_owned(), format!("{:039}", mix.id.as_u128()))],
    };
    let time = |at: Timestamp| {
        at.to_zoned(zone.clone())
            .strftime("%Y-%m-%d %H:%M")
            .to_string()
    };
    let mut lines = vec![
        format!("Use by {}", time(made.use_by)),
        format!(
            "Prepared {} by {}",
            time(made.started_at),
            initials(&made.step.name)
        ),
    ];
    lines.extend(mix.ingredients.iter().map(|each| {
        let lot = each.lot.1.as_deref().unwrap_or("not recorded");
        format!(
            "{} mL {}, lot {lot}",
            each.volume_ml.normalize(),
            each.product.1
        )
    }));
    let mut drawing = label.draw(Symbol::Gs1DataMatrix).map_err(unprintable)?;
    drawing.add_lines(&lines);
    Ok(drawing)
}

/// The first letter of each word of a name.
fn initials(name: &str) -> String {
    name.split_whitespace()
        .filter_map(|word| word.chars().next())
        .collect()
}
