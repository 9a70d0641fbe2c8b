//! The first puncture of a multi-dose vial.

use super::Vial;
use super::describe_drug::{facts_of, is_drug};
use super::rows::{Asked, of};
use crate::database::{StoreError, violates};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{lots, products, units, vials};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::UseClass;
use lotwarden_domain::mixes::{VialDays, last_day_of_vial};
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// Puts the first puncture of a vial on record.
#[derive(Clone, Debug)]
pub struct OpenVial {
    /// The lot.
    pub lot: Uuid,
    /// The container, when its label has a serial.
    pub unit: Option<Uuid>,
    /// What is written on the container: 1 to 50 characters.
    pub name: String,
    /// The day of the first puncture; today without one.
    pub punctured_on: Option<Date>,
    /// What it held; the catalogue's without one.
    pub volume_ml: Option<Decimal>,
}

/// Why a puncture is not put on record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum OpenVialRefusal {
    /// There is no such lot.
    #[error("there is no such lot")]
    NoSuchLot,
    /// There is no such piece of the lot.
    #[error("there is no such piece of the lot")]
    NoSuchUnit,
    /// The product is no drug and no diluent.
    #[error("the lot's product is not of the kind drug or diluent")]
    NotADrug,
    /// A vial goes on case after case.
    #[error("a vial of several doses goes on case after case; describe the product as reusable")]
    NotReusable,
    /// It lies in the future.
    #[error("must not lie in the future")]
    NotYet,
    /// Nobody says what it held.
    #[error("the catalogue does not have the volume of a container; give it")]
    VolumeMissing,
    /// It is on record.
    #[error("this vial is on record as punctured already")]
    OnRecord,
}

#[derive(Serialize)]
struct Data<'a> {
    last_day: Date,
    lot: Uuid,
    name: &'a str,
    punctured_on: Date,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
    volume_ml: Decimal,
}

impl Operation for OpenVial {
    type Permission = act::OpenVial;
    type Outcome = Vial;
    type Refusal = OpenVialRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Vial, Refused<OpenVialRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        type Row = (Uuid, String, String, jiff_diesel::NullableDate);
        let found: Option<Row> = lots::table
            .inner_join(products::table.on(products::id.eq(lots::product_id)))
            .filter(lots::id.eq(self.lot))
            .select((
                products::id,
                products::kind,
                products::use_class,
                lots::expires_on,
            ))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((product, kind, use_class, expires_on)) = found else {
            return refuse(OpenVialRefusal::NoSuchLot);
        };
        if !is_drug(&kind) {
            return refuse(OpenVialRefusal::NotADrug);
        }
        if use_class != UseClass::Reusable.as_str() {
            return refuse(OpenVialRefusal::NotReusable);
        }
        if let Some(unit) = self.unit {
            let of: Option<Uuid> = units::table
                .find(unit)
                .select(units::lot_id)
                .first(writing.connection)
                .await
                .optional()?;
            if of != Some(self.lot) {
                return refuse(OpenVialRefusal::NoSuchUnit);
            }
        }
        let today = writing.facility.day(writing.at);
        let punctured_on = self.punctured_on.unwrap_or(today);
        if punctured_on > today {
            return refuse(OpenVialRefusal::NotYet);
        }
        let facts = facts_of(writing.connection, product).await?;
        let volume = self
            .volume_ml
            .or(facts.as_ref().and_then(|facts| facts.volume_ml));
        let Some(volume_ml) = volume else {
            return refuse(OpenVialRefusal::VolumeMissing);
        };
        let last_day = last_day_of_vial(VialDays {
            expires_on: expires_on.to_jiff(),
            punctured_on: Some(punctured_on),
            in_use_days: facts.and_then(|facts| facts.in_use_days),
        });
        let data = Data {
            last_day: last_day.ok_or(StoreError::Unfit)?,
            lot: self.lot,
            name: &self.name,
            punctured_on,
            unit: self.unit,
            volume_ml,
        };
        let id = writing.new_id();
        diesel::insert_into(vials::table)
            .values((
                vials::facility_id.eq(writing.facility.id),
                vials::id.eq(id),
                vials::product_id.eq(product),
                vials::lot_id.eq(self.lot),
                vials::unit_id.eq(self.unit),
                vials::name.eq(&self.name),
                vials::punctured_on.eq(punctured_on.to_diesel()),
                vials::last_day.eq(data.last_day.to_diesel()),
                vials::volume_ml.eq(volume_ml),
                vials::opened_by.eq(writing.actor.to_string()),
                vials::opened_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| {
                let known = ["vials_name_once", "vials_unit_once"];
                match known.iter().any(|name| violates(&error, name)) {
                    true => Refused::Because(OpenVialRefusal::OnRecord),
                    false => error.into(),
                }
            })?;
        writing.append("open_vial", Subject::new("vial", id), &data)?;
        let opened = of(writing.connection, Asked::One(id)).await?.pop();
        Ok(opened.ok_or(StoreError::Unfit)?)
    }
}
