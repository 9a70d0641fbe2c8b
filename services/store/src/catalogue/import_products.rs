//! Taking in a stretch of a catalogue file.

use super::ProductDescription;
use super::drafts::{Drafts, Effect, Onto};
use crate::recorder::{Operation, Refused, Subject, Writing};
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_domain::import::{Format, ProductRecord};
use serde::{Deserialize, Serialize};

/// Records that one operation takes in at most, so that other writes wait for it only shortly.
pub const MOST_RECORDS: usize = 500;

/// Takes in a stretch of a catalogue file: products that are new, or described otherwise.
///
/// A product is the one that has any of a record's identifiers. A file that says no kind leaves
/// the kind as it is.
#[derive(Clone, Debug)]
pub struct ImportProducts {
    /// The records in the order of the file; 1 to [`MOST_RECORDS`].
    pub records: Vec<ProductRecord>,
    /// The form of the file.
    pub format: Format,
    /// SHA-256 of the whole file, in lower-case hexadecimal digits.
    pub file_sha256: String,
}

/// What came of a stretch of a file.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ImportOutcome {
    /// Products that are new.
    pub added: u32,
    /// Products that are described otherwise now, or have further identifiers.
    pub changed: u32,
    /// Products that were so already.
    pub unchanged: u32,
    /// Records that were not taken in, by their line and the identifier that names another product.
    pub taken: Vec<(u64, String)>,
}

/// Nothing refuses a stretch as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ImportProductsRefusal {}

#[derive(Serialize)]
struct Data<'a> {
    added: u32,
    changed: u32,
    file_sha256: &'a str,
    first_line: u64,
    format: Format,
    last_line: u64,
    skipped: usize,
    unchanged: u32,
}

impl Operation for ImportProducts {
    type Permission = act::AddProduct;
    type Outcome = ImportOutcome;
    type Refusal = ImportProductsRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<ImportOutcome, Refused<ImportProductsRefusal>> {
        let codes = self
            .records
            .iter()
            .flat_map(|record| record.identifiers.iter().map(|i| &i.code))
            .collect();
        let mut drafts = Drafts::load(writing.connection, writing.facility.id, codes).await?;
        let mut outcome = ImportOutcome::default();
        for record in &self.records {
            let known = drafts.found(&record.identifiers);
            let kind = record.kind.or(known.map(|product| product.kind));
            let description = ProductDescription {
                name: record.name.clone(),
                maker: record.maker.clone(),
                model: record.model.clone(),
                kind: kind.unwrap_or(ProductKind::Other),
                use_class: record.use_class,
                carries: record.carries,
            };
            let new = writing.new_id();
            match drafts.put(new, description, &record.identifiers, Onto::Any) {
                Ok((_, Effect::Added)) => outcome.added += 1,
                Ok((_, Effect::Changed)) => outcome.changed += 1,
                Ok((_, Effect::Unchanged)) => outcome.unchanged += 1,
                Err(taken) => outcome.taken.push((record.line, taken.0.to_string())),
            }
        }
        drafts.write(writing).await?;
        let data = Data {
            added: outcome.added,
            changed: outcome.changed,
            file_sha256: &self.file_sha256,
            first_line: self.records.first().map_or(0, |record| record.line),
            format: self.format,
            last_line: self.records.last().map_or(0, |record| record.line),
            skipped: outcome.taken.len(),
            unchanged: outcome.unchanged,
        };
        let subject = Subject::new("import", writing.new_id());
        writing.append("import_products", subject, &data)?;
        Ok(outcome)
    }
}
