//! Sending back and destroying.

use super::events::{self, About, Disposed, Recorded};
use super::{WorkRefusal, identity};
use crate::recorder::{Operation, Refused, Writing};
use crate::schema::{people, shelf_movements, stock_levels, units};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use lotwarden_domain::notices::Disposal;
use uuid::Uuid;

/// Puts on record that units of a lot left the site for good, and takes them from its stock.
#[derive(Clone, Debug)]
pub struct RecordDisposal {
    /// The notice.
    pub notice: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// The serialised pieces among them; they stand at no place any more.
    pub units: Vec<Uuid>,
    /// How, how many, and from where.
    pub disposed: Disposed,
}

impl Operation for RecordDisposal {
    type Permission = act::RecordDisposal;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        identity::check_lot(writing, root, self.lot).await?;
        self.check_witness(writing).await?;
        self.take(writing).await?;
        let kinds = ("record_disposal", "disposal");
        let recorded = events::record(writing, root, kinds, About::Lot(self.lot), &self.disposed);
        let recorded = recorded.await?;
        let quantity = i32::try_from(self.disposed.quantity).unwrap_or(i32::MAX);
        diesel::insert_into(shelf_movements::table)
            .values((
                shelf_movements::facility_id.eq(writing.facility.id),
                shelf_movements::lot_id.eq(self.lot),
                shelf_movements::id.eq(writing.new_id()),
                shelf_movements::location_id.eq(self.disposed.location),
                shelf_movements::kind.eq(self.disposed.how.as_str()),
                shelf_movements::quantity.eq(-quantity),
                shelf_movements::cause_id.eq(recorded.event.id),
                shelf_movements::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        Ok(recorded)
    }
}

impl RecordDisposal {
    /// Common practice, no source: what is destroyed is seen by a second person.
    async fn check_witness(&self, writing: &mut Writing<'_>) -> Result<(), Refused<WorkRefusal>> {
        let witness = self.disposed.witness;
        let refuse = Err(Refused::Because(WorkRefusal::NoWitness));
        let Some(witness) = witness else {
            return match self.disposed.how {
                Disposal::SentBack => Ok(()),
                Disposal::Destroyed => refuse,
            };
        };
        let known = diesel::select(exists(people::table.find(witness)));
        let known: bool = known.get_result(writing.connection).await?;
        if known && *writing.actor != Actor::Person(witness) {
            Ok(())
        } else {
            refuse
        }
    }

    async fn take(&self, writing: &mut Writing<'_>) -> Result<(), Refused<WorkRefusal>> {
        let quantity = i32::try_from(self.disposed.quantity).unwrap_or(i32::MAX);
        let place = self.disposed.location;
        let level = stock_levels::table
            .filter(stock_levels::lot_id.eq(self.lot))
            .filter(stock_levels::location_id.eq(place))
            .filter(stock_levels::quantity.ge(quantity));
        let taken = diesel::update(level)
            .set(stock_levels::quantity.eq(stock_levels::quantity - quantity))
            .execute(writing.connection)
            .await?;
        let pieces = units::table
            .filter(units::id.eq_any(&self.units))
            .filter(units::lot_id.eq(self.lot))
            .filter(units::location_id.eq(place));
        let gone = diesel::update(pieces)
            .set(units::location_id.eq(None::<Uuid>))
            .execute(writing.connection)
            .await?;
        if taken == 0 || gone != self.units.len() {
            return Err(Refused::Because(WorkRefusal::NotOnShelf));
        }
        Ok(())
    }
}
