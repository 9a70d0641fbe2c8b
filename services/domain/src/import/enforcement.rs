//! FDA's enforcement records of devices and drugs, in openFDA's JSON.

use super::FileFault;
use super::json_fields::{Fields, as_text};
use super::json_objects;
use super::record::{Problem, RecordFault, fault, text};
use crate::catalogue::{NewIdentifier, PackagingLevel};
use crate::label::ProductCode;
use crate::word::words;
use jiff::civil::Date;
use lotwarden_codes::Agency;
use serde_json::Value;
use std::io::BufRead;
use std::ops::ControlFlow;

words! {
    /// How grave a recall is (21 CFR 7.3(m)).
    RecallClass, "recall class" {
        /// A reasonable probability of serious adverse health consequences or death.
        One = "I",
        /// Temporary or medically reversible consequences, or a remote probability of serious ones.
        Two = "II",
        /// Not likely to cause adverse health consequences.
        Three = "III",
    }
}

words! {
    /// How far the firm is with a recall (openFDA, field `status`).
    NoticeStatus, "recall status" {
        /// Not yet decided.
        Pending = "pending",
        /// Under way.
        Ongoing = "ongoing",
        /// The firm has done what it set out to do.
        Completed = "completed",
        /// FDA has ended it (21 CFR 7.55).
        Terminated = "terminated",
    }
}

/// One enforcement record: one product of a recall.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoticeRecord {
    /// The line of the file it ends on, from 1.
    pub line: u64,
    /// FDA's number, such as `Z-0053-2020`; records of before 2012 have none in openFDA.
    pub recall_number: Option<String>,
    /// What the records of one recall share.
    pub event_id: Option<String>,
    /// Who recalls: 1 to 500 characters.
    pub firm: String,
    /// None while FDA has not classified it.
    pub class: Option<RecallClass>,
    /// How far it is; none when the record does not say.
    pub status: Option<NoticeStatus>,
    /// The product in FDA's words: 1 to 20,000 characters.
    pub product: String,
    /// How much was distributed, in FDA's words.
    pub quantity: String,
    /// Why: at most 20,000 characters.
    pub reason: String,
    /// The codes, in every line as published: `code_info`, then `more_code_info`.
    pub codes: String,
    /// The day the firm began to tell its customers.
    pub initiated_on: Option<Date>,
    /// The day FDA classified it.
    pub classified_on: Option<Date>,
    /// The day of the report.
    pub reported_on: Option<Date>,
    /// The day FDA ended it.
    pub terminated_on: Option<Date>,
    /// The identifiers that openFDA adds and whose form is known, each once.
    pub identifiers: Vec<ProductCode>,
    /// The texts among them that are no whole identifier: drug codes without a package, and what
    /// openFDA holds by mistake. They may name more products than `identifiers` do.
    pub unresolved: Vec<String>,
}

/// Takes one record after the other; breaks when no more are wanted.
pub type TakeNotice<'a> = &'a mut dyn FnMut(Result<NoticeRecord, RecordFault>) -> ControlFlow<()>;

/// Where records stand in an object: openFDA's answers and bulk files, and FDA's examples of them.
const LISTS: &[&str] = &["results", "result", "device", "drug"];

/// Reads every enforcement record of a file in its order and hands each to `take`.
///
/// The file is openFDA's answer or bulk file, an array, one record, or one record a line.
///
/// # Errors
/// [`FileFault`]; the records before it were handed on.
pub fn read_notices(reader: impl BufRead, take: TakeNotice<'_>) -> Result<(), FileFault> {
    json_objects::read(reader, LISTS, &mut |line, map| {
        let map = map.ok_or(fault(line, "record", Problem::Malformed("JSON object")));
        take(map.and_then(|map| Record(Fields { line, map }).notice()))
    })
}

struct Record<'a>(Fields<'a>);

impl Record<'_> {
    fn notice(&self) -> Result<NoticeRecord, RecordFault> {
        let (identifiers, unresolved) = self.identifiers()?;
        Ok(NoticeRecord {
            line: self.0.line,
            recall_number: self.optional("recall_number", 100)?,
            event_id: self.optional("event_id", 100)?,
            firm: self.required("recalling_firm", 500)?,
            class: self.class()?,
            status: self.status()?,
            product: self.required("product_description", 20_000)?,
            quantity: self.text("product_quantity", 20_000)?,
            reason: self.text("reason_for_recall", 20_000)?,
            codes: self.codes()?,
            initiated_on: self.date("recall_initiation_date")?,
            classified_on: self.date("center_classification_date")?,
            reported_on: self.date("report_date")?,
            terminated_on: self.date("termination_date")?,
            identifiers,
            unresolved,
        })
    }

    fn text(&self, field: &'static str, most: usize) -> Result<String, RecordFault> {
        text(self.0.line, field, &self.0.text(field, &[field])?, most)
    }

    fn optional(&self, field: &'static str, most: usize) -> Result<Option<String>, RecordFault> {
        let text = self.text(field, most)?;
        Ok((!text.is_empty() && text != "N/A").then_some(text))
    }

    fn required(&self, field: &'static str, most: usize) -> Result<String, RecordFault> {
        let text = self.text(field, most)?;
        if text.is_empty() {
            return Err(fault(self.0.line, field, Problem::Missing));
        }
        Ok(text)
    }

    /// Both code fields with their line breaks, which part lists.
    fn codes(&self) -> Result<String, RecordFault> {
        let mut codes = self.0.text("code_info", &["code_info"])?;
        let more = self.0.text("more_code_info", &["more_code_info"])?;
        if !more.trim().is_empty() {
            codes.push('\n');
            codes.push_str(&more);
        }
        Ok(codes)
    }

    fn class(&self) -> Result<Option<RecallClass>, RecordFault> {
        let class = self.text("classification", 100)?;
        let number = class.strip_prefix("Class ").unwrap_or(&class);
        if number.is_empty() || number.eq_ignore_ascii_case("not yet classified") {
            return Ok(None);
        }
        let class = number
            .parse()
            .map_err(|word: crate::NotAWord| fault(self.0.line, "classification", word))?;
        Ok(Some(class))
    }

    /// Data say `Ongoing` where openFDA's list of values says `On-Going`.
    fn status(&self) -> Result<Option<NoticeStatus>, RecordFault> {
        let status = self.text("status", 100)?.to_lowercase().replace('-', "");
        if status.is_empty() {
            return Ok(None);
        }
        let status = status
            .parse()
            .map_err(|word: crate::NotAWord| fault(self.0.line, "status", word))?;
        Ok(Some(status))
    }

    /// `20251231`, or `2025-12-31` as in openFDA's older records.
    fn date(&self, field: &'static str) -> Result<Option<Date>, RecordFault> {
        let Some(text) = self.optional(field, 100)? else {
            return Ok(None);
        };
        let format = if text.contains('-') {
            "%Y-%m-%d"
        } else {
            "%Y%m%d"
        };
        let date = Date::strptime(format, &text)
            .map_err(|_| fault(self.0.line, field, Problem::NotADate))?;
        Ok(Some(date))
    }

    fn identifiers(&self) -> Result<(Vec<ProductCode>, Vec<String>), RecordFault> {
        let (mut known, mut unresolved) = (Vec::new(), Vec::new());
        let kinds = [
            ("package_ndc", Some(Agency::Ndc)),
            ("upc", Some(Agency::Gs1)),
            ("product_ndc", None),
        ];
        for (name, agency) in kinds {
            for text in self.list(name)? {
                let read = agency.and_then(|agency| {
                    NewIdentifier::read(agency, &text, PackagingLevel::Unit, 1).ok()
                });
                match read {
                    Some(read) => known.extend(read.into_iter().map(|identifier| identifier.code)),
                    None => unresolved.push(text),
                }
            }
        }
        known.sort();
        known.dedup();
        Ok((known, unresolved))
    }

    /// A member of `openfda`, which is empty where FDA found no listing.
    fn list(&self, name: &'static str) -> Result<Vec<String>, RecordFault> {
        let malformed = || fault(self.0.line, "openfda", Problem::Malformed("list of texts"));
        let Some(value) = self
            .0
            .value(&["openfda"])
            .and_then(|openfda| openfda.get(name))
        else {
            return Ok(Vec::new());
        };
        let all = value
            .as_array()
            .map(Vec::as_slice)
            .unwrap_or(std::slice::from_ref(value));
        let text = |value: &Value| as_text(value).ok_or_else(malformed);
        all.iter().map(text).collect()
    }
}
