//! `GET /v1/cylinders/{cylinder}/label`

use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals, catalogue};
use crate::stock::{LabelForm, unprintable};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_documents::{Drawing, Label, Symbol};
use lotwarden_domain::access::act;
use lotwarden_store::cylinders as store;
use uuid::Uuid;

/// Gives the label of a cylinder: a GS1 DataMatrix of its GTIN, outdate, fill lot and serial, and
/// what its stamps say. Scanned on a case it is the cylinder; the supplier's label stays on it.
#[utoipa::path(
    operation_id = "show_cylinder_label", tag = "cylinders",
    params(("cylinder" = Uuid, Path, description = "The fill."), LabelForm),
    responses(
        (status = 200, description = "The label.", content(
            (String = "image/svg+xml"), (String = "image/png"), (String = "application/pdf"),
        )),
        Refusals,
    ),
)]
#[get("/v1/cylinders/{cylinder}/label")]
pub(super) async fn show_cylinder_label(
    allowed: Allowed<act::ShowCylinderLabel>,
    app: Data<App>,
    request: HttpRequest,
    cylinder: Path<Uuid>,
    form: Query<LabelForm>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let cylinder = store::show(&mut reading, cylinder.into_inner()).await?;
    let cylinder = cylinder.ok_or_else(|| ApiError::no_such("cylinder"))?;
    let gtin = store::gtin(&mut reading, cylinder.product).await?;
    let gtin = gtin.ok_or_else(|| {
        ApiError::new(&catalogue::OUT_OF_ORDER).detail(
            "The product has no GTIN in the catalogue, and a GS1 label needs one; use the supplier's label.",
        )
    })?;
    form.answer(&request, drawing(&cylinder, gtin)?)
}

/// Elements of fixed length first, so that the symbol needs the fewest separators (GS1 General
/// Specifications 7.8.5).
fn drawing(cylinder: &store::Cylinder, gtin: String) -> Result<Drawing, ApiError> {
    let elements = [
        ("01", Some(gtin)),
        (
            "17",
            cylinder
                .expires_on
                .map(|day| day.strftime("%y%m%d").to_string()),
        ),
        ("10", cylinder.lot_number.clone()),
        ("21", cylinder.serial.clone()),
    ];
    let label = Label {
        title: cylinder.product_name.clone(),
        elements: elements
            .into_iter()
            .filter_map(|(ai, value)| Some((ai.to_owned(), value?)))
            .collect(),
    };
    let new = &cylinder.new;
    let outdate = cylinder.expires_on.map(|day| format!("Use through {day}"));
    let lines: Vec<String> = [Some(format!("Filled {}", new.filled_on)), outdate]
        .into_iter()
        .flatten()
        .chain([
            format!("Water volume {} L", new.water_volume_litre.normalize()),
            format!("Retest due {}", cylinder.retest().due_on()),
        ])
        .collect();
    let mut drawing = label.draw(Symbol::Gs1DataMatrix).map_err(unprintable)?;
    drawing.add_lines(&lines);
    Ok(drawing)
}
