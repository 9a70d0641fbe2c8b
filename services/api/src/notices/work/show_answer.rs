//! `GET /v1/notices/{notice}/answer`

use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use crate::stock::unprintable;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_documents::{LACKS, Paper, text};
use lotwarden_domain::access::act;
use lotwarden_store::moment::instant_text;
use lotwarden_store::notices::work::{FirmAnswer, LotAnswer, NoticeEvent, newest_answer};
use uuid::Uuid;

/// Gives the newest answer to the firm as PDF, as it was put on record: numbers by lot, no
/// patient's identity.
#[utoipa::path(
    operation_id = "show_answer", tag = "notices",
    params(("notice" = Uuid, Path, description = "The notice.")),
    responses(
        (status = 200, description = "The answer.", body = String, content_type = "application/pdf"),
        Refusals,
    ),
)]
#[get("/v1/notices/{notice}/answer")]
pub(super) async fn show_answer(
    allowed: Allowed<act::ShowAnswer>,
    app: Data<App>,
    notice: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let found = newest_answer(&mut reading, notice.into_inner()).await?;
    let (event, answer) = found.ok_or_else(|| ApiError::no_such("answer to a notice"))?;
    let bytes = text(&lines(&event, &answer), Paper::Letter, LACKS).map_err(unprintable)?;
    Ok(HttpResponse::Ok()
        .content_type("application/pdf")
        .body(bytes))
}

fn lines(event: &NoticeEvent, answer: &FirmAnswer) -> Vec<String> {
    let yes = |so: bool| if so { "yes" } else { "no" };
    let mut lines = vec![
        "ANSWER TO A RECALL NOTICE".to_owned(),
        String::new(),
        format!("To:                      {}", answer.firm),
        format!("Your reference:          {}", answer.reference),
        format!("From:                    {}", answer.facility),
        format!("Notice received on:      {}", answer.received_on),
        format!("Stock checked:           {}", yes(answer.stock_checked)),
    ];
    if let Some(at) = &answer.stock_checked_at {
        lines.push(format!("Stock checked at:        {at}"));
    }
    lines.extend([
        format!("None on hand:            {}", yes(answer.none_on_hand)),
        format!("None ever received:      {}", yes(answer.none_received)),
        format!("Adverse events known:    {}", yes(answer.adverse_events)),
        format!(
            "Patients told:           {} of {} to be told",
            answer.patients_told, answer.patients_to_tell
        ),
        String::new(),
        "By lot, in units of use:".to_owned(),
        format!(
            "{:<24} {:>8} {:>8} {:>11} {:>6} {:>7} {:>9} {:>10} {:>12}",
            "lot",
            "received",
            "on hand",
            "quarantined",
            "used",
            "wasted",
            "sent back",
            "destroyed",
            "unaccounted"
        ),
    ]);
    for lot in &answer.lots {
        lines.push(numbers(lot));
        lines.extend(lot.tracking.iter().map(|how| format!("    {how}")));
    }
    if answer.lots.is_empty() {
        lines.push("none".to_owned());
    }
    let contact = &answer.contact;
    lines.extend([
        String::new(),
        format!(
            "Contact:                 {}, {}, {}",
            contact.name, contact.title, contact.phone
        ),
        format!("Sent by:                 {}", answer.sent_by),
        format!("On record since:         {}", instant_text(event.at)),
        format!("On record as:            {}", event.id),
    ]);
    lines
}

/// What was not counted cannot be computed and is a hyphen, never zero.
fn numbers(lot: &LotAnswer) -> String {
    let counted = |count: Option<u64>| count.map_or("-".to_owned(), |count| count.to_string());
    let unaccounted = lot
        .unaccounted
        .map_or("-".to_owned(), |count| count.to_string());
    format!(
        "{:<24} {:>8} {:>8} {:>11} {:>6} {:>7} {:>9} {:>10} {unaccounted:>12}",
        lot.lot.as_deref().unwrap_or("(not recorded)"),
        lot.received,
        counted(lot.on_hand),
        counted(lot.quarantined),
        lot.used,
        lot.wasted,
        lot.returned,
        lot.destroyed
    )
}
