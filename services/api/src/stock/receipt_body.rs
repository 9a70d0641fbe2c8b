//! Receipts as requests write them.

use crate::app::App;
use crate::catalogue::forms;
use crate::http::body::{Checked, Fields};
use crate::problem::{ApiError, FieldError};
use jiff::civil::Date;
use lotwarden_codes::Agency;
use lotwarden_domain::catalogue::{NewIdentifier, PackagingLevel};
use lotwarden_domain::label::{Circumstances, Label, ProductCode, place};
use lotwarden_store::Reading;
use lotwarden_store::catalogue::known_form;
use lotwarden_store::stock::{MOST_LINES, ReceiptLine};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A delivery.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReceiptBody {
    /// Its labels.
    #[schema(min_items = 1, max_items = 200)]
    pub(super) lines: Vec<ReceiptLineBody>,
    /// The station where they were scanned; its setting says what stands for the separator.
    pub(super) station_id: Option<Uuid>,
}

/// One label of a delivery: `text` as scanned, or `identifier` as typed. Lot, serial and expiry date
/// complete what the scanned text does not carry. The place is named by its id, or by its own label
/// as scanned.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReceiptLineBody {
    /// The characters as the scanner sent them; `^` or U+001D stands for FNC1.
    #[schema(
        example = "]d2010952012345678817271231101A2B3C",
        min_length = 1,
        max_length = 4096
    )]
    text: Option<String>,
    /// The product's identifier as typed: a GTIN, an HIBC code, an NDC, or `agency:code`.
    #[schema(min_length = 1, max_length = 500)]
    identifier: Option<String>,
    /// The lot, exactly as printed.
    #[schema(min_length = 1, max_length = 50)]
    lot: Option<String>,
    /// The serial, exactly as printed.
    #[schema(min_length = 1, max_length = 50)]
    serial: Option<String>,
    /// The last usable day.
    #[schema(value_type = Option<String>, format = Date)]
    expires_on: Option<Date>,
    /// Packages with this label; 1 for one with a serial.
    #[serde(default = "one")]
    #[schema(example = 1, minimum = 1, maximum = 1_000_000, default = 1)]
    quantity: u32,
    /// Where they are put.
    location_id: Option<Uuid>,
    /// Where they are put, as the label of the place was scanned.
    #[schema(
        example = "]d291002118367025421473846528490123456789",
        min_length = 1,
        max_length = 4096
    )]
    location_text: Option<String>,
}

const fn one() -> u32 {
    1
}

impl Checked for ReceiptBody {
    fn check(&self, errors: &mut Fields) {
        let count = (1..=MOST_LINES).contains(&self.lines.len());
        errors.require(count, "/lines", "must be 1 to 200 lines");
        for (at, line) in self.lines.iter().enumerate().take(MOST_LINES) {
            line.check(&format!("/lines/{at}"), errors);
        }
    }
}

impl ReceiptLineBody {
    fn check(&self, at: &str, errors: &mut Fields) {
        let one_source = self.text.is_some() != self.identifier.is_some();
        errors.require(one_source, at, "must have either text or identifier");
        if let Some(text) = &self.text {
            let fits = (1..=4096).contains(&text.chars().count()) && !text.contains('\0');
            let detail = "must be 1 to 4096 characters without U+0000";
            errors.require(fits, &format!("{at}/text"), detail);
        }
        for (name, text, most) in [
            ("identifier", &self.identifier, 500),
            ("lot", &self.lot, 50),
            ("serial", &self.serial, 50),
        ] {
            if let Some(text) = text {
                errors.text(&format!("{at}/{name}"), text, 1, most);
            }
        }
        let one_place = self.location_id.is_some() != self.location_text.is_some();
        let detail = "must have either location_id or location_text";
        errors.require(one_place, at, detail);
        let counted = (1..=1_000_000).contains(&self.quantity);
        errors.require(counted, &format!("{at}/quantity"), "must be 1 to 1000000");
    }

    /// The line as the store takes it.
    ///
    /// # Errors
    /// 400 naming the field: the text cannot be read, the identifier names no product, or the label
    /// says another lot, serial or date than the field beside it.
    pub(super) async fn read(
        self,
        app: &App,
        reading: &mut Reading,
        at: &str,
        circumstances: &Circumstances,
    ) -> Result<ReceiptLine, ApiError> {
        let location = self.location_id.or_else(|| {
            let text = self.location_text.as_deref()?;
            place::read(text, circumstances.clone())
        });
        let location =
            location.ok_or_else(|| field(at, "location_text", "must be the label of a place"))?;
        let mut label = match (&self.text, &self.identifier) {
            (Some(text), _) => Label::read(text, circumstances.clone())
                .map_err(|unread| field(at, "text", &unread.message))?,
            (None, identifier) => {
                let identifier = identifier.as_deref().unwrap_or_default();
                let pointer = format!("{at}/identifier");
                let forms = forms(app, &pointer, identifier)?;
                typed(known_form(reading, &forms).await?)
            }
        };
        complete(&mut label.lot, self.lot, at, "lot")?;
        complete(&mut label.serial, self.serial, at, "serial")?;
        complete(&mut label.expires_on, self.expires_on, at, "expires_on")?;
        Ok(ReceiptLine {
            text: self.text,
            label,
            packages: self.quantity,
            location,
        })
    }
}

/// A label that was typed, so far with its code alone.
fn typed(code: Option<ProductCode>) -> Label {
    let wrong_check_digit = code.as_ref().is_some_and(|code| {
        let agency = code.agency.parse::<Agency>().ok();
        let read =
            agency.map(|agency| NewIdentifier::read(agency, &code.code, PackagingLevel::Unit, 1));
        let forms = read.and_then(Result::ok).unwrap_or_default();
        forms.first().is_some_and(|form| !form.check_digit_right)
    });
    Label {
        form: "typed",
        code,
        also: None,
        lot: None,
        serial: None,
        expires_on: None,
        expires_at: None,
        manufactured_on: None,
        wrong_check_digit,
        separator_suspect: false,
        day_not_on_label: false,
    }
}

fn complete<T: PartialEq>(
    on_label: &mut Option<T>,
    given: Option<T>,
    at: &str,
    name: &str,
) -> Result<(), ApiError> {
    match (&on_label, given) {
        (_, None) => Ok(()),
        (None, given) => {
            *on_label = given;
            Ok(())
        }
        (Some(label), Some(given)) if *label == given => Ok(()),
        (Some(_), Some(_)) => Err(field(at, name, "the label's text says another")),
    }
}

fn field(at: &str, name: &str, detail: &str) -> ApiError {
    ApiError::fields(vec![FieldError::new(format!("{at}/{name}"), detail)])
}
