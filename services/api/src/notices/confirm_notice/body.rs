//! What a person says that a notice names.

use crate::http::body::{Checked, Fields};
use crate::problem::{ApiError, FieldError, sentence};
use jiff::civil::Date;
use lotwarden_domain::notices::{Named, Of, Range};
use lotwarden_store::notices::{Criterion, NewCriterion};
use lotwarden_store::where_used::Question;
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Criteria of one notice at most, and values of one of their lists.
const MOST_CRITERIA: usize = 1_000;
const MOST_VALUES: usize = 10_000;

/// What a notice names.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ConfirmBody {
    /// What it names: each criterion some products, and what of them.
    #[schema(min_items = 1, max_items = 1000)]
    criteria: Vec<CriterionBody>,
    /// True when the person has read the whole text and these criteria say all of it. Otherwise no
    /// item of the named products is left out.
    pub settles_unread: bool,
}

/// Products, and what of them is named; a criterion that names no items names their products
/// without saying which items, so that none can be left out.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CriterionBody {
    /// Identifiers of products as written, at any packaging level: GTINs, HIBC codes, NDCs,
    /// `agency:code`.
    #[serde(default)]
    #[schema(example = json!(["09521400010204"]))]
    identifiers: Vec<String>,
    /// Catalogue, model and part numbers; they hit the products of this catalogue as possible.
    #[serde(default)]
    catalogue_numbers: Vec<String>,
    /// Products of this catalogue.
    #[serde(default)]
    product_ids: Vec<Uuid>,
    /// Lots exactly as printed.
    #[serde(default)]
    #[schema(example = json!(["L2611A", "L2611B"]))]
    lots: Vec<String>,
    /// Serials exactly as printed.
    #[serde(default)]
    serials: Vec<String>,
    /// Ranges of lots or serials.
    #[serde(default)]
    ranges: Vec<RangeBody>,
    /// The first day of expiry that is named.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Date)]
    expires_from: Option<Date>,
    /// The last day of expiry that is named.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Date)]
    expires_to: Option<Date>,
    /// Every lot and piece.
    #[serde(default)]
    all: bool,
}

/// A range: `from`, `to` or both, or `begins_with` alone.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RangeBody {
    /// `lot` or `serial`.
    #[schema(value_type = String, example = "lot", pattern = "^(lot|serial)$")]
    of: Of,
    /// The first code.
    #[serde(default)]
    from: Option<String>,
    /// The last code.
    #[serde(default)]
    to: Option<String>,
    /// The beginning that every code has.
    #[serde(default)]
    begins_with: Option<String>,
}

impl RangeBody {
    fn read(&self) -> Option<Range> {
        let of = self.of;
        match (&self.from, &self.to, &self.begins_with) {
            (None, None, Some(start)) => Some(Range::BeginsWith {
                of,
                start: start.clone(),
            }),
            (None, None, None) | (Some(_), _, Some(_)) | (_, Some(_), Some(_)) => None,
            (from, to, None) => Some(Range::between(of, from.clone(), to.clone())),
        }
    }

    fn texts(&self) -> impl Iterator<Item = &String> {
        self.from.iter().chain(&self.to).chain(&self.begins_with)
    }
}

impl Checked for ConfirmBody {
    fn check(&self, errors: &mut Fields) {
        let count = self.criteria.len();
        let fits = (1..=MOST_CRITERIA).contains(&count);
        errors.require(fits, "/criteria", "must be 1 to 1000 criteria");
        for (at, criterion) in self.criteria.iter().take(MOST_CRITERIA).enumerate() {
            criterion.check(&format!("/criteria/{at}"), errors);
        }
    }
}

impl CriterionBody {
    fn check(&self, pointer: &str, errors: &mut Fields) {
        let named = self.identifiers.len() + self.catalogue_numbers.len() + self.product_ids.len();
        let detail = "must name its products in identifiers, catalogue_numbers or product_ids";
        errors.require(named > 0, pointer, detail);
        let lists = [
            ("identifiers", &self.identifiers, 500),
            ("catalogue_numbers", &self.catalogue_numbers, 200),
            ("lots", &self.lots, 50),
            ("serials", &self.serials, 50),
        ];
        let few = |count| count <= MOST_VALUES;
        let detail = format!("must be at most {MOST_VALUES} values");
        for (name, values, most) in lists {
            errors.require(few(values.len()), &format!("{pointer}/{name}"), &detail);
            for (at, value) in values.iter().enumerate().take(MOST_VALUES) {
                errors.text(&format!("{pointer}/{name}/{at}"), value, 1, most);
            }
        }
        errors.require(
            few(self.ranges.len()),
            &format!("{pointer}/ranges"),
            &detail,
        );
        for (at, range) in self.ranges.iter().enumerate().take(MOST_VALUES) {
            let pointer = format!("{pointer}/ranges/{at}");
            let detail = "must have from, to or both, or begins_with alone";
            errors.require(range.read().is_some(), &pointer, detail);
            for text in range.texts() {
                errors.text(&pointer, text, 1, 50);
            }
        }
        errors.day(&format!("{pointer}/expires_from"), self.expires_from);
        errors.day(&format!("{pointer}/expires_to"), self.expires_to);
        let ordered = match (self.expires_from, self.expires_to) {
            (Some(from), Some(to)) => from <= to,
            _ => true,
        };
        let detail = "must not lie before expires_from";
        errors.require(ordered, &format!("{pointer}/expires_to"), detail);
    }
}

impl ConfirmBody {
    /// The criteria as the store takes them; identifiers are read as where-used reads them.
    ///
    /// # Errors
    /// 400 naming each identifier that is none.
    pub fn criteria(&self, today: Date) -> Result<Vec<NewCriterion>, ApiError> {
        let mut errors = Vec::new();
        let mut criteria = Vec::with_capacity(self.criteria.len());
        for (at, body) in self.criteria.iter().enumerate() {
            let mut codes = Vec::new();
            for (place, text) in body.identifiers.iter().enumerate() {
                match Question::read(text, None, None, today) {
                    Ok(question) => codes.extend(question.codes),
                    Err(fault) => errors.push(FieldError::new(
                        format!("/criteria/{at}/identifiers/{place}"),
                        sentence(&fault.to_string()),
                    )),
                }
            }
            let ranges = body.ranges.iter().filter_map(RangeBody::read);
            let items = Named {
                all: body.all,
                expires_from: body.expires_from,
                expires_to: body.expires_to,
                lots: body.lots.clone(),
                ranges: ranges.collect(),
                serials: body.serials.clone(),
            };
            let criterion = Criterion {
                catalogue_numbers: body.catalogue_numbers.clone(),
                identifiers: body.identifiers.clone(),
                items,
                product_ids: body.product_ids.clone(),
            };
            criteria.push(NewCriterion { criterion, codes });
        }
        if errors.is_empty() {
            Ok(criteria)
        } else {
            Err(ApiError::fields(errors))
        }
    }
}
