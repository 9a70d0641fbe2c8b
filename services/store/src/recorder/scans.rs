//! Judging the scans of a batch in memory, each with the effects of the ones before it.

mod entry;
mod items;
mod rows;

use super::Answer;
use super::columns::Writes;
use super::job::{Failure, ScanJob};
use super::scan::{ScanOutcome, ScanRefusal, UsePlaced};
use super::world::{ClaimRow, LotRow, ProductRow, UnitRow, World};
use crate::cylinders::Cylinder;
use crate::facilities::Facility;
use crate::moment::new_id;
use crate::notices::watch::{self, Watched};
use crate::sealing::Key;
use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use lotwarden_domain::cases::{Disposition, HoldScope, Verdict};
use lotwarden_domain::gas::CylinderFacts;
use lotwarden_domain::label::{Label, UnreadLabel};
use lotwarden_domain::notices::MatchClass;
use lotwarden_domain::rules::{
    ClaimFacts, Facts, HoldFacts, Judgement, LabelFacts, LoadFacts, NoticeFacts, ProcessingFacts,
    ProductFacts, VialFacts, judge,
};
use lotwarden_ledger::Head;
use uuid::Uuid;

/// How long a station may hold a scan; as long as answers are kept at least.
const HELD_AT_MOST: SignedDuration = SignedDuration::from_hours(72);
/// How far a station's clock may be ahead.
const AHEAD_AT_MOST: SignedDuration = SignedDuration::from_mins(2);

/// What one scan of the batch came to.
pub(crate) enum Judged {
    Answer(Answer),
    Refused(ScanRefusal),
}

/// The batch while it is judged.
pub(crate) struct Batch<'a> {
    pub(crate) facility: &'a Facility,
    pub(crate) facility_key: &'a Key,
    pub(crate) world: &'a mut World,
    pub(crate) head: &'a mut Head,
    pub(crate) writes: &'a mut Writes,
    pub(crate) at: Timestamp,
}

/// The items a label names, as rows; made when they are met first.
#[derive(Clone, Copy, Default)]
struct Item {
    product: Option<Uuid>,
    lot: Option<Uuid>,
    unit: Option<Uuid>,
    claim: Option<ClaimRow>,
    other_lot: Option<Uuid>,
    drawn_from: Option<Uuid>,
    first_scan: Option<Uuid>,
}

impl Batch<'_> {
    /// Judges one scan and adds its rows, entries and answer to the batch.
    pub(crate) fn scan(
        &mut self,
        job: &ScanJob,
        label: Result<Label, UnreadLabel>,
    ) -> Result<Judged, Failure> {
        let scan = &job.scan;
        let occurred_at = scan.occurred_at.unwrap_or(self.at);
        let late = self.at.duration_since(occurred_at);
        if late > HELD_AT_MOST || late < -AHEAD_AT_MOST {
            return Ok(Judged::Refused(ScanRefusal::OccurredOutOfRange));
        }
        if job
            .waiting
            .request
            .station
            .is_some_and(|id| !self.world.stations.contains_key(&id))
        {
            return Ok(Judged::Refused(ScanRefusal::NoSuchStation));
        }
        if !matches!(self.world.cases.get(&scan.case), Some(Some(_))) {
            return Ok(Judged::Refused(ScanRefusal::NoSuchCase));
        }
        let mut outcome = ScanOutcome {
            id: new_id(self.at),
            case: scan.case,
            station: job.waiting.request.station,
            occurred_at,
            received_at: self.at,
            delivered_late: scan.held_session.is_some(),
            verdict: Verdict::Unread,
            findings: Vec::new(),
            label: self.usable(label),
            product: None,
            lot: None,
            unit: None,
            placed: None,
            first_scan: None,
        };
        let item = match outcome.label.clone() {
            Ok(label) => self.judge(job, &label, &mut outcome)?,
            Err(_) => Item::default(),
        };
        let receipt = self.append(job, &outcome)?;
        self.rows(job, &outcome, item, receipt)?;
        let rendered = (job.render)(&outcome, receipt);
        self.keep(job, &rendered);
        Ok(Judged::Answer(Answer {
            rendered,
            replayed: false,
        }))
    }

    /// A label with a wrong check digit counts only when the catalogue has its code.
    fn usable(&self, label: Result<Label, UnreadLabel>) -> Result<Label, UnreadLabel> {
        match label {
            Ok(read) if read.wrong_check_digit && self.world.product_of(&read).is_none() => {
                Err(UnreadLabel {
                    code: "wrong_check_digit",
                    at: 0,
                    message: "The check digit does not fit, so a character was misread or the \
                              label is damaged; scan it again or type it from the label."
                        .to_owned(),
                })
            }
            other => other,
        }
    }

    fn judge(
        &mut self,
        job: &ScanJob,
        label: &Label,
        outcome: &mut ScanOutcome,
    ) -> Result<Item, Failure> {
        let mut item = self.item(job, label)?;
        let case = self.world.cases.get(&outcome.case).and_then(Option::as_ref);
        let case = case.ok_or(Failure::Unfit)?;
        let product = item.product.and_then(|id| self.world.products.get(&id));
        let lot = item.lot.and_then(|id| self.world.lots.get(&id));
        let earlier = case.texts.get(&job.scan.text).copied();
        let unit = self.unit(item.product, label);
        let place = match unit {
            Some(unit) if unit.claim.is_some() => None,
            Some(UnitRow {
                location: Some(place),
                ..
            }) => lot.filter(|lot| lot.at(*place) > 0).map(|_| *place),
            // Never received by its serial, so it came in a package.
            Some(_) => lot.and_then(|lot| lot.draw_loose(case.location)),
            None => lot.and_then(|lot| lot.draw_any(case.location)),
        };
        // A reusable piece stays in stock: it comes back from every case.
        item.drawn_from =
            place.filter(|_| product.is_some_and(|product| product.use_class.one_case_only()));
        let today = self.facility.day(outcome.occurred_at);
        let holds: Vec<HoldFacts<'_>> = product
            .map(|product| holds(product, item, lot))
            .unwrap_or_default();
        let hit = self.notices(product, item, label);
        let notices: Vec<NoticeFacts<'_>> = hit
            .iter()
            .map(|(notice, class)| notice.facts(*class))
            .collect();
        let code = label.code.as_ref().map(ToString::to_string);
        let policy = self.world.policy.unwrap_or_default();
        let facts = Facts {
            today,
            policy: &policy,
            case: case.status,
            label: LabelFacts {
                identifier: code.as_deref(),
                lot: label.lot.as_deref().or_else(|| lot?.number.as_deref()),
                serial: self.world.serial(label).map(String::as_str),
                expires_on: label.expires_on,
                ended: label
                    .expires_at
                    .and_then(|end| end.passed(outcome.occurred_at, &self.facility.zone)),
                wrong_check_digit: label.wrong_check_digit,
                separator_suspect: label.separator_suspect,
                day_not_on_label: label.day_not_on_label,
            },
            product: product.map(|product| ProductFacts {
                name: &product.name,
                catalogued: product.catalogued,
                use_class: product.use_class,
                carries: product.carries,
            }),
            other_lot_on_record: item
                .other_lot
                .and_then(|id| self.world.lots.get(&id)?.number.as_deref()),
            lot_expires_on: lot.and_then(|lot| lot.expires_on),
            holds: &holds,
            notices: &notices,
            claim: item.claim.map(|claim| ClaimFacts {
                same_case: claim.case == outcome.case,
                on: self.facility.day(claim.at),
            }),
            same_characters: earlier.is_some(),
            another_piece: job.scan.another_piece,
            on_shelf: place.is_some(),
            cylinder: product.and_then(|product| cylinder(product, item, today)),
            processing: product.and_then(|product| processing(product, unit, outcome.case)),
            clock_ahead: job.scan.clock_ahead,
            vial: product.and_then(|product| vial(product, item)),
        };
        let Judgement {
            findings,
            verdict,
            cleared,
        } = judge(&facts);
        item.first_scan = match item.claim {
            Some(claim) if claim.case == outcome.case => Some(claim.scan),
            _ if cleared.is_none() => earlier,
            _ => None,
        };
        outcome.product = item
            .product
            .zip(product.map(|product| product.name.clone()));
        outcome.lot = item.lot;
        outcome.unit = item.unit;
        outcome.findings = findings;
        outcome.verdict = verdict;
        outcome.first_scan = item.first_scan;
        outcome.placed = cleared.map(|_cleared| UsePlaced {
            disposition: Disposition::Used,
            drawn_from: item.drawn_from,
        });
        Ok(item)
    }

    /// The notices that hit an item, through its product or through what its label says.
    fn notices<'a>(
        &'a self,
        product: Option<&'a ProductRow>,
        item: Item,
        label: &Label,
    ) -> Vec<(&'a Watched, MatchClass)> {
        let of_product = product.into_iter().flat_map(|product| &product.notices);
        let of_codes = label
            .codes()
            .filter_map(|code| self.world.noticed.get(code));
        let ids = [item.lot, item.other_lot];
        let lots = ids.into_iter().flatten().filter_map(|id| {
            let lot = self.world.lots.get(&id)?;
            Some(watch::ItemLot {
                id,
                number: lot.number.as_deref(),
                expires_on: [label.expires_on, lot.expires_on],
            })
        });
        let asked = watch::Item {
            lots: lots.collect(),
            unit: item.unit,
            serial: self.world.serial(label).map(String::as_str),
        };
        watch::hits(of_product.chain(of_codes.flatten()), &asked)
    }
}

/// The fill a label names: by lot and serial, or by lot alone where the label has no serial.
fn cylinder(product: &ProductRow, item: Item, today: Date) -> Option<CylinderFacts> {
    let is = |cylinder: &&Cylinder| {
        let same_container = item.unit.is_none() || cylinder.new.unit == item.unit;
        Some(cylinder.new.lot) == item.lot && same_container
    };
    // The lot's outdate speaks by the rule of every lot.
    let facts = product.cylinders.iter().find(is)?.facts(today);
    Some(CylinderFacts {
        expires_on: None,
        ..facts
    })
}

/// The vial a label names. Without a serial it may be any punctured one of the lot, or a fresh one:
/// then the one that ended first speaks.
fn vial(product: &ProductRow, item: Item) -> Option<VialFacts<'_>> {
    let own = product.vials.iter();
    if item.unit.is_some() {
        let mut own = own.filter(|vial| vial.unit == item.unit);
        return own.next().map(|vial| vial.facts(true));
    }
    own.filter(|vial| Some(vial.lot.0) == item.lot)
        .min_by_key(|vial| vial.last_day)
        .map(|vial| vial.facts(false))
}

/// The processing of a piece whose product the site sterilizes.
fn processing<'a>(
    product: &ProductRow,
    unit: Option<&'a UnitRow>,
    case: Uuid,
) -> Option<ProcessingFacts<'a>> {
    let limit = product.sterilized?.most;
    let processed = unit.map(|unit| &unit.processed);
    let load = processed.and_then(|processed| {
        let load = processed.load.as_ref()?;
        let last = processed.last_use.filter(|(other, _)| *other != case);
        Some(LoadFacts {
            name: &load.name,
            held: load.held.as_deref(),
            released: load.released,
            used_since: last.is_some_and(|(_, at)| at > load.started_at),
        })
    });
    Some(ProcessingFacts {
        load,
        cycles: processed.map_or(0, |processed| processed.cycles),
        limit,
    })
}

/// The holds that hit an item, and those that cannot be excluded because the label did not say.
fn holds<'a>(product: &'a ProductRow, item: Item, lot: Option<&LotRow>) -> Vec<HoldFacts<'a>> {
    let lot_known = lot.is_some_and(|lot| lot.number.is_some());
    let hits = product.holds.iter().filter_map(|hold| {
        let certain = match hold.scope {
            HoldScope::Product => true,
            HoldScope::Lot => {
                hold.lot == item.lot || hold.lot == item.other_lot && hold.lot.is_some()
            }
            HoldScope::Unit => hold.unit.is_some() && hold.unit == item.unit,
        };
        let possible = match hold.scope {
            HoldScope::Product => true,
            HoldScope::Lot => !lot_known,
            HoldScope::Unit => item.unit.is_none(),
        };
        (certain || possible).then_some(HoldFacts {
            scope: hold.scope,
            reason: &hold.reason,
            certain,
        })
    });
    hits.collect()
}
