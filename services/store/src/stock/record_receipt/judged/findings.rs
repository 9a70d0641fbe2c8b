//! What the rules say about one line.

use super::{Judged, Piece};
use lotwarden_domain::cases::HoldScope;
use lotwarden_domain::label::Label;
use lotwarden_domain::rules::{
    DockFacts, Finding, HoldFacts, LabelFacts, ProductFacts, judge_at_dock,
};
use uuid::Uuid;

impl Judged<'_> {
    /// Every finding of a line, before what the line itself changes.
    pub(super) fn findings(
        &self,
        label: &Label,
        (product, lot, names_piece): (Uuid, Uuid, bool),
        piece: Piece,
    ) -> Vec<Finding> {
        let Some(known) = self.known.products.get(&product) else {
            return Vec::new();
        };
        let on_record = self.known.lots.get(&lot);
        let number = on_record.and_then(|lot| lot.number.as_deref());
        let other = piece.lot.filter(|other| *other != lot);
        let other_number = other.and_then(|id| self.known.lots.get(&id)?.number.as_deref());
        let holds: Vec<HoldFacts<'_>> = known
            .holds
            .iter()
            .filter_map(|hold| {
                let (certain, possible) = match hold.scope {
                    HoldScope::Product => (true, true),
                    HoldScope::Lot => {
                        let named =
                            hold.lot == Some(lot) || hold.lot.is_some() && hold.lot == other;
                        (named, number.is_none())
                    }
                    HoldScope::Unit => {
                        let named = hold.unit.is_some() && hold.unit == piece.unit;
                        (named, !names_piece)
                    }
                };
                (certain || possible).then_some(HoldFacts {
                    scope: hold.scope,
                    reason: &hold.reason,
                    certain,
                })
            })
            .collect();
        let identifier = label.code.as_ref().map(ToString::to_string);
        judge_at_dock(&DockFacts {
            today: self.facility.day(self.at),
            policy: &self.known.policy,
            label: LabelFacts {
                identifier: identifier.as_deref(),
                lot: label.lot.as_deref().or(number),
                serial: label.serial.as_deref(),
                expires_on: label.expires_on,
                wrong_check_digit: label.wrong_check_digit,
                separator_suspect: label.separator_suspect,
                day_not_on_label: label.day_not_on_label,
            },
            product: ProductFacts {
                name: &known.name,
                catalogued: known.catalogued,
                use_class: known.use_class,
                carries: known.carries,
            },
            other_lot_on_record: other_number,
            lot_expires_on: on_record.and_then(|lot| lot.expires_on),
            holds: &holds,
            piece: self.piece_facts(piece),
        })
    }
}
