//! What a person confirmed that a notice names, as rows.

use super::watch::Loaded;
use crate::database::StoreError;
use crate::recorder::{Failure, Writing};
use crate::schema::notice_criteria;
use diesel::prelude::*;
use diesel::sql_types::{Array, Integer, Text, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use lotwarden_domain::label::ProductCode;
use lotwarden_domain::notices::{Criteria, Named};
use lotwarden_ledger::Hash;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A criterion as it is kept and shown: products as written, and what of them is named.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Criterion {
    /// Catalogue numbers as written.
    pub catalogue_numbers: Vec<String>,
    /// Identifiers as written.
    pub identifiers: Vec<String>,
    /// What of these products is named.
    pub items: Named,
    /// Products of this catalogue.
    pub product_ids: Vec<Uuid>,
}

/// A criterion with the codes its identifiers are looked up by.
#[derive(Clone, Debug)]
pub struct NewCriterion {
    /// As it is kept.
    pub criterion: Criterion,
    /// Every code that one of its identifiers can stand in the catalogue as.
    pub codes: Vec<ProductCode>,
}

/// What a criterion names a product by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NamedBy {
    /// An identifier.
    Code(ProductCode),
    /// A catalogue number.
    Model(String),
    /// A product of this catalogue.
    Product(Uuid),
}

impl NewCriterion {
    /// Everything it names products by.
    pub fn names(&self) -> impl Iterator<Item = NamedBy> {
        let codes = self.codes.iter().cloned().map(NamedBy::Code);
        let models = self.criterion.catalogue_numbers.iter().cloned();
        let products = self.criterion.product_ids.iter().copied();
        codes
            .chain(models.map(NamedBy::Model))
            .chain(products.map(NamedBy::Product))
    }
}

/// Adds criteria to a matter behind those it has; gives the digest of what was added: SHA-256 over
/// each body in its order, each followed by a line feed.
pub(super) async fn add(
    writing: &mut Writing<'_>,
    (root, revision): (Uuid, Uuid),
    criteria: &[NewCriterion],
    open: bool,
) -> Result<Hash, Failure> {
    let facility = writing.facility.id;
    let last: Option<i32> = notice_criteria::table
        .filter(notice_criteria::notice_id.eq(root))
        .select(diesel::dsl::max(notice_criteria::number))
        .get_result(writing.connection)
        .await?;
    let first = last.unwrap_or_default() + 1;
    let mut text = String::new();
    let mut rows = Vec::with_capacity(criteria.len());
    let (mut agency, mut code, mut number) = (Vec::new(), Vec::new(), Vec::new());
    for (at, new) in (first..).zip(criteria) {
        let body = serde_json::to_string(&new.criterion).map_err(|_| Failure::Unfit)?;
        text.push_str(&body);
        text.push('\n');
        rows.push((
            notice_criteria::facility_id.eq(facility),
            notice_criteria::notice_id.eq(root),
            notice_criteria::number.eq(at),
            notice_criteria::revision_id.eq(revision),
            notice_criteria::body.eq(body),
            notice_criteria::open.eq(open),
        ));
        for name in new.names() {
            let (by, value) = match name {
                NamedBy::Code(found) => (found.agency, found.code),
                NamedBy::Model(model) => ("model", model),
                NamedBy::Product(id) => ("product", id.to_string()),
            };
            agency.push(by);
            code.push(value);
            number.push(at);
        }
    }
    diesel::insert_into(notice_criteria::table)
        .values(&rows)
        .execute(writing.connection)
        .await?;
    diesel::sql_query(
        "INSERT INTO notice_names (facility_id, notice_id, agency, code, number)
         SELECT DISTINCT $1, $2, r.agency,
             CASE r.agency WHEN 'model' THEN folded_model(r.code) ELSE r.code END, r.number
         FROM unnest($3, $4, $5) AS r (agency, code, number)",
    )
    .bind::<SqlUuid, _>(facility)
    .bind::<SqlUuid, _>(root)
    .bind::<Array<Text>, _>(agency)
    .bind::<Array<Text>, _>(code)
    .bind::<Array<Integer>, _>(number)
    .execute(writing.connection)
    .await?;
    Ok(Hash::of(text.as_bytes()))
}

impl Loaded {
    /// The criteria of a stored body.
    pub(super) fn criteria(&self) -> Result<Criteria, StoreError> {
        let stored: Criterion = serde_json::from_str(&self.body).map_err(|_| StoreError::Unfit)?;
        Ok(Criteria::of(&stored.items, self.open))
    }
}
