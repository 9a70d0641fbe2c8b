//! What the label of a drug prints.

use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::mixes::SubstanceStrength;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{drug_facts, products};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::ProductKind;
use rust_decimal::Decimal;
use serde::Serialize;
use serde_json::Value;
use uuid::Uuid;

/// What the label of a drug prints.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DrugFacts {
    /// The maker's days after the first puncture, which take the place of the 28.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_use_days: Option<u16>,
    /// Where it is from: 3 to 200 characters.
    pub source: String,
    /// What is in it; none for a diluent.
    pub strengths: Vec<SubstanceStrength>,
    /// The volume of a container.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume_ml: Option<Decimal>,
}

/// Says what the label of a drug prints; old and new stand in the ledger.
#[derive(Clone, Debug)]
pub struct DescribeDrug {
    /// The product.
    pub product: Uuid,
    /// What its label prints.
    pub facts: DrugFacts,
}

/// Why a drug is not described.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum DescribeDrugRefusal {
    /// There is no such product.
    #[error("there is no such product")]
    NoSuchProduct,
    /// It is no drug and no diluent.
    #[error("the product is not of the kind drug or diluent")]
    NotADrug,
}

#[derive(Serialize)]
struct Data<'a> {
    new: &'a DrugFacts,
    #[serde(skip_serializing_if = "Option::is_none")]
    old: Option<DrugFacts>,
}

impl Operation for DescribeDrug {
    type Permission = act::DescribeDrug;
    type Outcome = DescribeDrug;
    type Refusal = DescribeDrugRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<DescribeDrug, Refused<DescribeDrugRefusal>> {
        let kind: Option<String> = products::table
            .find(self.product)
            .select(products::kind)
            .first(writing.connection)
            .await
            .optional()?;
        let kind = kind.ok_or(Refused::Because(DescribeDrugRefusal::NoSuchProduct))?;
        if !is_drug(&kind) {
            return Err(Refused::Because(DescribeDrugRefusal::NotADrug));
        }
        let old = facts_of(writing.connection, self.product).await?;
        let facts = &self.facts;
        let strengths = serde_json::to_value(&facts.strengths).map_err(|_| StoreError::Unfit)?;
        let values = (
            drug_facts::volume_ml.eq(facts.volume_ml),
            drug_facts::in_use_days.eq(facts.in_use_days.map(i32::from)),
            drug_facts::strengths.eq(strengths),
            drug_facts::source.eq(facts.source.clone()),
        );
        diesel::insert_into(drug_facts::table)
            .values((
                drug_facts::facility_id.eq(writing.facility.id),
                drug_facts::product_id.eq(self.product),
                values.clone(),
            ))
            .on_conflict(drug_facts::product_id)
            .do_update()
            .set(values)
            .execute(writing.connection)
            .await?;
        let subject = Subject::new("product", self.product);
        writing.append("describe_drug", subject, &Data { new: facts, old })?;
        Ok(self.clone())
    }
}

/// Whether a kind of product is drawn into mixes.
pub(super) fn is_drug(kind: &str) -> bool {
    [ProductKind::Drug, ProductKind::Diluent]
        .iter()
        .any(|one| one.as_str() == kind)
}

type Row = (Option<Decimal>, Option<i32>, Value, String);

const COLUMNS: (
    drug_facts::volume_ml,
    drug_facts::in_use_days,
    drug_facts::strengths,
    drug_facts::source,
) = (
    drug_facts::volume_ml,
    drug_facts::in_use_days,
    drug_facts::strengths,
    drug_facts::source,
);

fn facts((volume_ml, in_use_days, strengths, source): Row) -> Result<DrugFacts, StoreError> {
    let in_use_days = in_use_days.map(u16::try_from).transpose();
    Ok(DrugFacts {
        in_use_days: in_use_days.map_err(|_| StoreError::Unfit)?,
        source,
        strengths: serde_json::from_value(strengths).map_err(|_| StoreError::Unfit)?,
        volume_ml,
    })
}

/// What the label of a product prints; none where nobody said.
pub(super) async fn facts_of(
    connection: &mut AsyncPgConnection,
    product: Uuid,
) -> Result<Option<DrugFacts>, StoreError> {
    let row: Option<Row> = drug_facts::table
        .find(product)
        .select(COLUMNS)
        .first(connection)
        .await
        .optional()?;
    row.map(facts).transpose()
}

/// Lists the drugs that somebody described, by product.
///
/// # Errors
/// [`StoreError`].
pub async fn list_drugs(
    reading: &mut Reading,
    after: After,
) -> Result<Page<(Uuid, String, DrugFacts)>, StoreError> {
    let rows: Vec<(Uuid, String, Row)> = drug_facts::table
        .inner_join(products::table.on(products::id.eq(drug_facts::product_id)))
        .filter(drug_facts::product_id.gt(after.start()))
        .order(drug_facts::product_id)
        .limit(after.fetch())
        .select((products::id, products::name, COLUMNS))
        .load(reading.connection())
        .await?;
    let items = rows
        .into_iter()
        .map(|(id, name, row)| Ok((id, name, facts(row)?)))
        .collect::<Result<_, StoreError>>()?;
    Ok(Page::of(items, after, |one: &(Uuid, String, DrugFacts)| {
        one.0
    }))
}
