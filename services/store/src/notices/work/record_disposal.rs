//! Sending back and destroying.

use super::events::{self, About, Disposed, Recorded};
use super::{WorkRefusal, identity};
use crate::access::people;
use crate::recorder::{Operation, Refused, Writing};
use crate::schema::units;
use crate::stock::level::{self, Change, Movement};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::MovementKind;
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
        let kinds = ("record_disposal", "disposal");
        let recorded = events::record(writing, root, kinds, About::Lot(self.lot), &self.disposed);
        let recorded = recorded.await?;
        self.take(writing, recorded.event.id).await?;
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
        if people::is_another(writing, witness).await? {
            Ok(())
        } else {
            refuse
        }
    }

    async fn take(
        &self,
        writing: &mut Writing<'_>,
        cause: Uuid,
    ) -> Result<(), Refused<WorkRefusal>> {
        let quantity = i32::try_from(self.disposed.quantity).unwrap_or(i32::MAX);
        let place = self.disposed.location;
        let kind = match self.disposed.how {
            Disposal::SentBack => MovementKind::SentBack,
            Disposal::Destroyed => MovementKind::Destroyed,
        };
        let pieces = i32::try_from(self.units.len()).unwrap_or(i32::MAX);
        let whole = self.units.iter().map(|unit| (Some(*unit), 1));
        let rest = (quantity > pieces).then_some((None, quantity - pieces));
        for (unit, quantity) in whole.chain(rest) {
            let movement = Movement {
                lot: self.lot,
                unit,
                place,
                kind,
                quantity: -quantity,
                cause,
            };
            if level::change(writing, &movement).await? != Change::Done {
                return Err(Refused::Because(WorkRefusal::NotOnShelf));
            }
        }
        let pieces = units::table
            .filter(units::id.eq_any(&self.units))
            .filter(units::lot_id.eq(self.lot))
            .filter(units::location_id.eq(place));
        let gone = diesel::update(pieces)
            .set(units::location_id.eq(None::<Uuid>))
            .execute(writing.connection)
            .await?;
        if gone != self.units.len() {
            return Err(Refused::Because(WorkRefusal::NotOnShelf));
        }
        Ok(())
    }
}
