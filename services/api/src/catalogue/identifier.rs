//! Identifiers as bodies and answers write them.

use crate::app::App;
use crate::http::body::Fields;
use crate::problem::{ApiError, FieldError, sentence};
use jiff::tz::TimeZone;
use lotwarden_codes::Agency;
use lotwarden_domain::catalogue::{NewIdentifier, PackagingLevel};
use lotwarden_domain::label::ProductCode;
use lotwarden_store::where_used::Question;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An identifier of a product.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProductIdentifier {
    /// `gs1`, `hibcc`, `iccbba`, `ifa` or `ndc`.
    #[schema(value_type = String, example = "gs1")]
    agency: &'static str,
    /// The code in its normal form: 14 digits for GS1, no check character for HIBCC.
    #[schema(example = "09520123456788")]
    code: String,
    /// `unit` or `package`.
    #[schema(value_type = String, example = "unit")]
    level: PackagingLevel,
    /// Units of use in one package with it.
    #[schema(example = 1)]
    quantity: u32,
    /// False for a code that is kept with a check digit that does not fit.
    #[schema(example = true)]
    check_digit_right: bool,
}

impl From<&NewIdentifier> for ProductIdentifier {
    fn from(identifier: &NewIdentifier) -> Self {
        Self {
            agency: identifier.code.agency,
            code: identifier.code.code.clone(),
            level: identifier.level,
            quantity: identifier.quantity,
            check_digit_right: identifier.check_digit_right,
        }
    }
}

/// An identifier to be given to a product.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IdentifierBody {
    /// `gs1`, `hibcc`, `iccbba`, `ifa` or `ndc`.
    #[schema(example = "gs1", pattern = "^(gs1|hibcc|iccbba|ifa|ndc)$")]
    agency: String,
    /// As printed: a GTIN of 8, 12, 13 or 14 digits, an HIBCC code with or without `+` and check
    /// character, an NDC with hyphens.
    #[schema(example = "09520123456788", min_length = 1, max_length = 50)]
    code: String,
    /// Units of use in one package with it; more than 1 makes it a package's.
    #[serde(default = "one")]
    #[schema(example = 1, minimum = 1, maximum = 1_000_000, default = 1)]
    quantity: u32,
    /// `unit` or `package`; what the quantity says unless given.
    #[schema(value_type = Option<String>, example = "unit", pattern = "^(unit|package)$")]
    level: Option<PackagingLevel>,
}

const fn one() -> u32 {
    1
}

impl IdentifierBody {
    /// Adds what is wrong with it.
    pub(super) fn check(&self, at: &str, errors: &mut Fields) {
        let counted = (1..=1_000_000).contains(&self.quantity);
        errors.require(counted, &format!("{at}/quantity"), "must be 1 to 1000000");
        let whole = self.level != Some(PackagingLevel::Unit) || self.quantity <= 1;
        errors.require(
            whole,
            &format!("{at}/level"),
            "must be package for more than one unit",
        );
        match self.agency.parse::<Agency>() {
            Err(unknown) => errors.require(false, &format!("{at}/agency"), &unknown.to_string()),
            Ok(agency) => {
                if let Err(fault) = self.forms(agency) {
                    errors.require(false, &format!("{at}/code"), &fault.to_string());
                }
            }
        }
    }

    /// The identifiers a scan of it can come as.
    ///
    /// # Errors
    /// 400 for a body that was not checked.
    pub(super) fn read(&self) -> Result<Vec<NewIdentifier>, ApiError> {
        let refuse =
            |detail: String| ApiError::fields(vec![FieldError::new("/code", sentence(&detail))]);
        let agency: Agency = self
            .agency
            .parse()
            .map_err(|unknown: lotwarden_codes::UnknownAgency| refuse(unknown.to_string()))?;
        self.forms(agency)
            .map_err(|fault| refuse(fault.to_string()))
    }

    fn forms(
        &self,
        agency: Agency,
    ) -> Result<Vec<NewIdentifier>, lotwarden_codes::IdentifierFault> {
        let level = self.level.unwrap_or(if self.quantity > 1 {
            PackagingLevel::Package
        } else {
            PackagingLevel::Unit
        });
        NewIdentifier::read(agency, &self.code, level, self.quantity)
    }
}

/// Every form that a typed, printed or scanned identifier can stand in the catalogue as.
///
/// # Errors
/// 400 naming the field when it names no product.
pub(crate) fn forms(
    app: &App,
    pointer: &str,
    identifier: &str,
) -> Result<Vec<ProductCode>, ApiError> {
    let today = app.recorder.clock().now().to_zoned(TimeZone::UTC).date();
    match Question::read(identifier, None, None, today) {
        Ok(question) => Ok(question.codes),
        Err(fault) => Err(ApiError::fields(vec![FieldError::new(
            pointer,
            fault.to_string(),
        )])),
    }
}
