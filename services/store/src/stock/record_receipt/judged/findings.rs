//! What the rules say about one line.

use super::{Judged, Piece};
use crate::notices::watch::{self, Watched};
use lotwarden_domain::cases::HoldScope;
use lotwarden_domain::label::Label;
use lotwarden_domain::notices::MatchClass;
use lotwarden_domain::rules::{
    DockFacts, Finding, HoldFacts, LabelFacts, NoticeFacts, ProductFacts, judge_at_dock,
};
use uuid::Uuid;

/// A confirmed notice that hits a line.
pub(super) struct Recall {
    pub(super) notice: Uuid,
    /// Serials are named, so that the piece is held rather than its lot.
    pub(super) by_piece: bool,
}

impl Judged<'_> {
    /// Every finding of a line, before what the line itself changes, and the notices that hit it.
    pub(super) fn findings(
        &self,
        label: &Label,
        (product, lot, names_piece): (Uuid, Uuid, bool),
        piece: Piece,
    ) -> (Vec<Finding>, Vec<Recall>) {
        let Some(known) = self.known.products.get(&product) else {
            return (Vec::new(), Vec::new());
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
        let serial = label.serial.as_deref().filter(|_| names_piece);
        let hits = self.notices(label, (product, lot, other), piece.unit, serial);
        let notices: Vec<NoticeFacts<'_>> = hits
            .iter()
            .map(|(notice, class)| notice.facts(*class))
            .collect();
        let recalls = hits.iter().map(|(notice, _)| Recall {
            notice: notice.id,
            by_piece: notice.names_serials(),
        });
        let identifier = label.code.as_ref().map(ToString::to_string);
        let findings = judge_at_dock(&DockFacts {
            today: self.facility.day(self.at),
            policy: &self.known.policy,
            label: LabelFacts {
                identifier: identifier.as_deref(),
                lot: label.lot.as_deref().or(number),
                serial: label.serial.as_deref(),
                expires_on: label.expires_on,
                ended: label
                    .expires_at
                    .and_then(|end| end.passed(self.at, &self.facility.zone)),
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
            notices: &notices,
            piece: self.piece_facts(piece),
        });
        (findings, recalls.collect())
    }

    /// The notices that hit a line, through its product or through what its label says.
    fn notices(
        &self,
        label: &Label,
        (product, lot, other): (Uuid, Uuid, Option<Uuid>),
        unit: Option<Uuid>,
        serial: Option<&str>,
    ) -> Vec<(&Watched, MatchClass)> {
        let known = self.known.products.get(&product);
        let of_product = known.into_iter().flat_map(|known| &known.notices);
        let of_codes = label
            .codes()
            .filter_map(|code| self.known.noticed.get(code));
        let lots = [Some(lot), other].into_iter().flatten().filter_map(|id| {
            let lot = self.known.lots.get(&id)?;
            Some(watch::ItemLot {
                id,
                number: lot.number.as_deref(),
                expires_on: [label.expires_on, lot.expires_on],
            })
        });
        let asked = watch::Item {
            lots: lots.collect(),
            unit,
            serial,
        };
        watch::hits(of_product.chain(of_codes.flatten()), &asked)
    }
}
