//! Putting a fill of a cylinder on record.

use super::{Asked, Cylinder, of};
use crate::database::{StoreError, violates};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cylinders, lots, products, units};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::{ProductKind, UseClass};
use lotwarden_domain::gas::Gas;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// A fill of a cylinder as its label, stamps and gauge say; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct NewCylinder {
    /// What the site expects a case to use.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected_litre: Option<Decimal>,
    /// The day of the fill.
    pub filled_on: Date,
    /// What is in it.
    pub gas: Gas,
    /// The gauge's accuracy as a percentage of its full scale.
    pub gauge_accuracy_percent: Decimal,
    /// The gauge's full scale.
    pub gauge_full_scale_psi: Decimal,
    /// The fill lot, whose expiry is the outdate.
    pub lot: Uuid,
    /// The gas as a person read it from the label.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name_read_back: Option<String>,
    /// A plus after the test date.
    pub plus: bool,
    /// The gauge pressure at which the site takes it out of use.
    pub reserve_psi: Decimal,
    /// The first day of the stamped month.
    pub retest_month: Date,
    /// The stamped service pressure.
    pub service_psi: Decimal,
    /// A star after the test date.
    pub star: bool,
    /// The container, when its label has a serial.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<Uuid>,
    /// The stamped or labelled water volume.
    pub water_volume_litre: Decimal,
}

/// Puts a fill of a cylinder on record.
#[derive(Clone, Debug)]
pub struct AddCylinder {
    /// The fill.
    pub new: NewCylinder,
}

/// Why a fill is not put on record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddCylinderRefusal {
    /// There is no such lot.
    #[error("there is no such lot")]
    NoSuchLot,
    /// There is no such piece of the lot's product.
    #[error("there is no such piece of the lot's product")]
    NoSuchUnit,
    /// The product is no gas.
    #[error("the lot's product is not of the kind gas")]
    NotAGas,
    /// A cylinder goes on case after case.
    #[error("a cylinder goes on case after case; describe the product as reusable")]
    NotReusable,
    /// The fill is on record.
    #[error("this fill is on record already")]
    OnRecord,
}

impl Operation for AddCylinder {
    type Permission = act::AddCylinder;
    type Outcome = Cylinder;
    type Refusal = AddCylinderRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Cylinder, Refused<AddCylinderRefusal>> {
        let product = self.product(writing).await?;
        let id = writing.new_id();
        let new = &self.new;
        diesel::insert_into(cylinders::table)
            .values((
                cylinders::facility_id.eq(writing.facility.id),
                cylinders::id.eq(id),
                cylinders::product_id.eq(product),
                cylinders::lot_id.eq(new.lot),
                cylinders::unit_id.eq(new.unit),
                cylinders::gas.eq(new.gas.as_str()),
                cylinders::name_read_back.eq(&new.name_read_back),
                cylinders::filled_on.eq(new.filled_on.to_diesel()),
                cylinders::water_volume_litre.eq(new.water_volume_litre),
                cylinders::service_psi.eq(new.service_psi),
                cylinders::plus_mark.eq(new.plus),
                cylinders::retest_month.eq(new.retest_month.to_diesel()),
                cylinders::star_mark.eq(new.star),
                cylinders::gauge_accuracy_percent.eq(new.gauge_accuracy_percent),
                cylinders::gauge_full_scale_psi.eq(new.gauge_full_scale_psi),
                cylinders::reserve_psi.eq(new.reserve_psi),
                cylinders::expected_litre.eq(new.expected_litre),
                cylinders::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "cylinders_fill_once") {
                true => Refused::Because(AddCylinderRefusal::OnRecord),
                false => error.into(),
            })?;
        writing.append("add_cylinder", Subject::new("cylinder", id), new)?;
        let added = of(writing.connection, Asked::One(id)).await?.pop();
        Ok(added.ok_or(StoreError::Unfit)?)
    }
}

impl AddCylinder {
    async fn product(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Uuid, Refused<AddCylinderRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let found: Option<(Uuid, String, String)> = lots::table
            .inner_join(products::table.on(products::id.eq(lots::product_id)))
            .filter(lots::id.eq(self.new.lot))
            .select((products::id, products::kind, products::use_class))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((product, kind, use_class)) = found else {
            return refuse(AddCylinderRefusal::NoSuchLot);
        };
        if kind != ProductKind::Gas.as_str() {
            return refuse(AddCylinderRefusal::NotAGas);
        }
        if use_class != UseClass::Reusable.as_str() {
            return refuse(AddCylinderRefusal::NotReusable);
        }
        if let Some(unit) = self.new.unit {
            let of: Option<Uuid> = units::table
                .find(unit)
                .select(units::product_id)
                .first(writing.connection)
                .await
                .optional()?;
            if of != Some(product) {
                return refuse(AddCylinderRefusal::NoSuchUnit);
            }
        }
        Ok(product)
    }
}
