//! `POST /v1/notices`

use super::Notice;
use super::proposed::NoticeReading;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::import::{NoticeStatus, RecallClass};
use lotwarden_domain::notices::{NoticeSource, check_table, workbook_text};
use lotwarden_store::notices::{AddNotice, AddNoticeRefusal, MOST_TEXT, NewNotice};
use serde::{Deserialize, Serialize};
use std::cell::OnceCell;
use utoipa::ToSchema;
use uuid::Uuid;

/// A notice as it arrived.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NoticeBody {
    /// Who recalls.
    #[schema(
        example = "Example Instruments, Inc.",
        min_length = 1,
        max_length = 500
    )]
    firm: String,
    /// The firm's or the authority's reference number.
    #[schema(example = "FSN-2026-014", min_length = 1, max_length = 100)]
    reference: String,
    /// How grave it is: `I`, `II` or `III` (21 CFR 7.3(m)); left out while nobody has said.
    #[serde(default)]
    #[schema(value_type = Option<String>, example = "II", pattern = "^(I|II|III)$")]
    class: Option<RecallClass>,
    /// How it came: `letter`, `mail`, `telephone`, `distributor` or `feed`.
    #[schema(value_type = String, example = "letter", pattern = "^(letter|mail|telephone|distributor|feed)$")]
    source: NoticeSource,
    /// How far the firm is: `pending`, `ongoing`, `completed` or `terminated`.
    #[serde(default)]
    #[schema(value_type = Option<String>, example = "ongoing", pattern = "^(pending|ongoing|completed|terminated)$")]
    status: Option<NoticeStatus>,
    /// The day it came; today unless told.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Date)]
    received_on: Option<Date>,
    /// The product in the notice's words.
    #[serde(default)]
    #[schema(example = "Infiltration cannula 1.2 mm, box of 10", max_length = 5000)]
    product: String,
    /// Why it was sent, in its words.
    #[serde(default)]
    #[schema(example = "Pouch seals may be open", max_length = 5000)]
    reason: String,
    /// What names the items, pasted as received, with its lines: at most 1,000,000 characters; never a
    /// patient's identity. A table (CSV, or cells copied from a spreadsheet) is read by the names of
    /// its columns: at most 10,000 rows of 200 cells, each row with at most 50 products.
    #[serde(default)]
    #[schema(example = "UDI-DI 09521400010204, Lots L2611A, L2611B, exp 11/2028")]
    text: String,
    /// In the place of `text` a spreadsheet's workbook (XLSX) in base64, of which one sheet has cells.
    /// They are kept as the text of a table. The file has at most 3,000,000 bytes and unpacks to at
    /// most 32 MiB.
    #[serde(default)]
    #[schema(content_encoding = "base64", max_length = 4_000_000)]
    workbook: Option<String>,
    /// Codes of products that came beside the text, as written.
    #[serde(default)]
    #[schema(max_items = 100)]
    also_named: Vec<String>,
    /// The earlier notice of the same matter, for an update, expansion or change of class.
    #[serde(default)]
    follows_id: Option<Uuid>,
    /// What the workbook holds, once it was read.
    #[serde(skip)]
    cells: OnceCell<Result<String, String>>,
}

/// The longest workbook in base64: a file of 3,000,000 bytes.
const LONGEST_WORKBOOK: usize = 4_000_000;

impl NoticeBody {
    /// The text, or that of the workbook; else what is wrong with the workbook.
    fn names(&self) -> Result<&str, &String> {
        match &self.workbook {
            None => Ok(&self.text),
            Some(workbook) => {
                let cells = self.cells.get_or_init(|| self.read(workbook));
                cells.as_deref()
            }
        }
    }

    fn read(&self, workbook: &str) -> Result<String, String> {
        if !self.text.is_empty() {
            return Err("must not come beside a text".to_owned());
        }
        if workbook.len() > LONGEST_WORKBOOK {
            return Err("must be a file of at most 3000000 bytes".to_owned());
        }
        let bytes = STANDARD.decode(workbook);
        let bytes = bytes.map_err(|_| "must be base64".to_owned())?;
        workbook_text(&bytes, MOST_TEXT).map_err(|fault| fault.to_string())
    }
}

impl Checked for NoticeBody {
    /// Room for the longest workbook and everything beside it.
    const LONGEST: usize = 4 * 1024 * 1024;

    fn check(&self, errors: &mut Fields) {
        let pointer = match self.workbook {
            Some(_) => "/workbook",
            None => "/text",
        };
        let fault = match self.names() {
            Ok(text) => check_table(text).err().map(|fault| fault.to_string()),
            Err(fault) => Some(fault.clone()),
        };
        errors.require(fault.is_none(), pointer, &fault.unwrap_or_default());
        errors.text("/firm", &self.firm, 1, 500);
        errors.text("/reference", &self.reference, 1, 100);
        let texts = [
            ("/product", &self.product, 5_000),
            ("/reason", &self.reason, 5_000),
            ("/text", &self.text, MOST_TEXT),
        ];
        errors.day("/received_on", self.received_on);
        let few = self.also_named.len() <= 100;
        errors.require(few, "/also_named", "must be at most 100 codes");
        for (at, code) in self.also_named.iter().enumerate().take(100) {
            errors.text(&format!("/also_named/{at}"), code, 1, 200);
        }
        for (pointer, text, most) in texts {
            let detail = format!("must be at most {most} characters");
            errors.require(text.chars().count() <= most, pointer, &detail);
            let plain = !text.contains(|c: char| c.is_control() && !"\n\r\t\u{1d}".contains(c));
            let detail = "must not hold control characters but line ends, tabs and GS";
            errors.require(plain, pointer, detail);
        }
    }
}

impl From<AddNoticeRefusal> for ApiError {
    fn from(refusal: AddNoticeRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            AddNoticeRefusal::Known { .. } => ApiError::new(&catalogue::TAKEN).detail(detail),
            AddNoticeRefusal::Same { .. } => ApiError::new(&catalogue::ALREADY_DONE).detail(detail),
            AddNoticeRefusal::NoSuchNotice => {
                ApiError::fields(vec![FieldError::new("/follows_id", detail)])
            }
        }
    }
}

/// A notice that was taken in, with what was read of it.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeAdded {
    /// The notice.
    #[serde(flatten)]
    notice: Notice,
    /// What was read of its text.
    reading: NoticeReading,
}

/// Takes in a notice. A person has to confirm what it names before it stops anything.
///
/// The body is 4 MiB at most, so that the tables of large recalls fit; a longer one is answered with
/// 413.
#[utoipa::path(
    operation_id = "add_notice", tag = "notices", request_body = NoticeBody, params(IdempotencyKey),
    responses((status = 201, description = "Taken in; not confirmed yet.", body = NoticeAdded), Refusals),
)]
#[post("/v1/notices")]
pub(super) async fn add_notice(
    allowed: Allowed<act::AddNotice>,
    app: Data<App>,
    keyed: Keyed<NoticeBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let text = body.names();
    let text = text.map_err(|fault| ApiError::fields(vec![FieldError::new("/workbook", fault)]))?;
    let (text, kept) = (text.to_owned(), text.to_owned());
    let operation = AddNotice {
        notice: NewNotice {
            firm: body.firm.trim().to_owned(),
            reference: body.reference.trim().to_owned(),
            class: body.class,
            source: body.source,
            status: body.status,
            received_on: body.received_on,
            product: body.product,
            reason: body.reason,
            text: kept,
            also_named: body.also_named,
        },
        follows: body.follows_id,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |notice, receipt| {
            let added = NoticeAdded {
                reading: NoticeReading::of(&text, notice.received_on),
                notice: Notice::from(notice),
            };
            render(StatusCode::CREATED, &added, receipt, Some(notice.version))
        },
    );
    Ok(reply(recorded.await?))
}
