//! Saying that the site sterilizes a reusable product, and how often.

use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cycle_limits, products};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::UseClass;
use serde::Serialize;
use uuid::Uuid;

/// Says that the site sterilizes a reusable product: from then on each of its pieces needs a
/// released load since its last use, and stops after the maker's limit of cycles.
#[derive(Clone, Debug)]
pub struct SetCycleLimit {
    /// The product.
    pub product: Uuid,
    /// The maker's limit; none where the maker names none.
    pub most: Option<u32>,
    /// Where the limit is from: 3 to 200 characters.
    pub source: String,
}

/// Why a limit is not set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SetCycleLimitRefusal {
    /// There is no such product.
    #[error("there is no such product")]
    NoSuchProduct,
    /// The product is not reusable.
    #[error("the product is not described as reusable")]
    NotReusable,
}

#[derive(Serialize)]
struct Data<'a> {
    new: Value<'a>,
    #[serde(skip_serializing_if = "Option::is_none")]
    old: Option<Value<'a>>,
}

#[derive(Serialize)]
struct Value<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    most: Option<i32>,
    source: &'a str,
}

impl Operation for SetCycleLimit {
    type Permission = act::SetCycleLimit;
    type Outcome = SetCycleLimit;
    type Refusal = SetCycleLimitRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<SetCycleLimit, Refused<SetCycleLimitRefusal>> {
        let use_class: Option<String> = products::table
            .find(self.product)
            .select(products::use_class)
            .first(writing.connection)
            .await
            .optional()?;
        match use_class.as_deref() {
            None => return Err(Refused::Because(SetCycleLimitRefusal::NoSuchProduct)),
            Some(class) if class == UseClass::Reusable.as_str() => {}
            Some(_) => return Err(Refused::Because(SetCycleLimitRefusal::NotReusable)),
        }
        let old: Option<(Option<i32>, String)> = cycle_limits::table
            .find(self.product)
            .select((cycle_limits::most, cycle_limits::source))
            .first(writing.connection)
            .await
            .optional()?;
        let most = self.most.and_then(|most| i32::try_from(most).ok());
        let values = (
            cycle_limits::most.eq(most),
            cycle_limits::source.eq(&self.source),
        );
        diesel::insert_into(cycle_limits::table)
            .values((
                cycle_limits::facility_id.eq(writing.facility.id),
                cycle_limits::product_id.eq(self.product),
                values,
            ))
            .on_conflict(cycle_limits::product_id)
            .do_update()
            .set(values)
            .execute(writing.connection)
            .await?;
        let data = Data {
            new: Value {
                most,
                source: &self.source,
            },
            old: old.as_ref().map(|(most, source)| Value {
                most: *most,
                source,
            }),
        };
        let subject = Subject::new("product", self.product);
        writing.append("set_cycle_limit", subject, &data)?;
        Ok(self.clone())
    }
}
