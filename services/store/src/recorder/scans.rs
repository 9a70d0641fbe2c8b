//! Judging the scans of a batch in memory, each with the effects of the ones before it.

use super::batch::NewEntry;
use super::columns::Writes;
use super::job::{Failure, ScanJob, station_text};
use super::scan::{ScanOutcome, ScanRefusal, UsePlaced};
use super::world::{ClaimRow, LotRow, ProductRow, UnitRow, World};
use super::writing::Commitments;
use super::{Answer, Receipt, Rendered};
use crate::facilities::Facility;
use crate::moment::{date, instant_text, new_id};
use crate::sealing::{DISCLOSURE, Key, PATIENT_KEY};
use jiff::{SignedDuration, Timestamp};
use jiff_diesel::ToDiesel;
use lotwarden_domain::cases::{Disposition, HoldScope, Verdict};
use lotwarden_domain::catalogue::{LabelCarries, UseClass};
use lotwarden_domain::label::{Label, ProductCode, UnreadLabel};
use lotwarden_domain::rules::{
    ClaimFacts, Facts, HoldFacts, Judgement, LabelFacts, ProductFacts, judge,
};
use lotwarden_ledger::{Event, Head};
use serde::Serialize;
use std::collections::BTreeMap;
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

/// The entry of a scan.
#[derive(Serialize)]
struct ScanData<'a> {
    case: Uuid,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    commitments: BTreeMap<&'a str, String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drawn_from: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    expires_on: Option<String>,
    findings: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    first_scan: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    identifier: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot_id: Option<Uuid>,
    occurred_at: String,
    on_case: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    product: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    symbology: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unread: Option<&'static str>,
    verdict: Verdict,
}

#[derive(Serialize)]
struct NewcomerData {
    catalogued: bool,
    identifiers: [String; 1],
    name: String,
}

impl Batch<'_> {
    /// Judges one scan and adds its rows, entries and answer to the batch.
    pub(crate) fn scan(&mut self, job: &ScanJob) -> Result<Judged, Failure> {
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
            .is_some_and(|id| !self.world.stations.contains(&id))
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
            verdict: Verdict::Unread,
            findings: Vec::new(),
            label: self.usable(&scan.label),
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
    fn usable(&self, label: &Result<Label, UnreadLabel>) -> Result<Label, UnreadLabel> {
        match label {
            Ok(read) if read.wrong_check_digit && self.world.product_of(read).is_none() => {
                Err(UnreadLabel {
                    code: "wrong_check_digit",
                    at: 0,
                    message: "The check digit does not fit, so a character was misread or the \
                              label is damaged; scan it again or type it from the label."
                        .to_owned(),
                })
            }
            other => other.clone(),
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
        item.drawn_from = match unit {
            Some(UnitRow {
                location: Some(place),
                claim: None,
                ..
            }) => lot.filter(|lot| lot.at(*place) > 0).map(|_| *place),
            Some(_) => None,
            None => lot.and_then(|lot| lot.draw_from(case.location)),
        };
        let holds: Vec<HoldFacts<'_>> = product
            .map(|product| holds(product, item, label, lot))
            .unwrap_or_default();
        let code = label.code.as_ref().map(ToString::to_string);
        let policy = self.world.policy.unwrap_or_default();
        let facts = Facts {
            today: self.facility.day(outcome.occurred_at),
            policy: &policy,
            case: case.status,
            label: LabelFacts {
                identifier: code.as_deref(),
                lot: label.lot.as_deref().or_else(|| lot?.number.as_deref()),
                serial: label.serial.as_deref(),
                expires_on: label.expires_on,
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
            claim: item.claim.map(|claim| ClaimFacts {
                same_case: claim.case == outcome.case,
                on: self.facility.day(claim.at),
            }),
            same_characters: earlier.is_some(),
            another_piece: job.scan.another_piece,
            on_shelf: item.drawn_from.is_some(),
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

    fn unit(&self, product: Option<Uuid>, label: &Label) -> Option<&UnitRow> {
        let key = (product?, label.serial.clone()?);
        self.world.units.get(&key)?.as_ref()
    }

    /// Finds the rows a label names, and makes the ones that were never met.
    fn item(&mut self, job: &ScanJob, label: &Label) -> Result<Item, Failure> {
        let Some(code) = &label.code else {
            return Ok(Item::default());
        };
        let product = match self.world.product_of(label) {
            Some(product) => product,
            None => self.add_product(job, code)?,
        };
        let known = self.unit(Some(product), label);
        let (on_record, mut item) = match known {
            Some(unit) => (
                Some(unit.lot),
                Item {
                    unit: Some(unit.id),
                    claim: unit.claim,
                    ..Item::default()
                },
            ),
            None => (None, Item::default()),
        };
        item.product = Some(product);
        let lot = match on_record {
            Some(lot) if label.lot.is_none() => lot,
            _ => self.lot(product, label),
        };
        item.lot = Some(lot);
        item.other_lot = on_record.filter(|other| *other != lot);
        if let (Some(serial), None) = (&label.serial, item.unit) {
            item.unit = Some(self.add_unit(product, lot, serial));
        }
        Ok(item)
    }

    fn add_product(&mut self, job: &ScanJob, code: &ProductCode) -> Result<Uuid, Failure> {
        let id = new_id(self.at);
        let name = format!("Not in the catalogue: {code}");
        let new = &mut self.writes.newcomers;
        new.product.push(id);
        new.product_name.push(name.clone());
        new.agency.push(code.agency);
        new.code.push(code.code.clone());
        new.code_product.push(id);
        let data = NewcomerData {
            catalogued: false,
            identifiers: [code.to_string()],
            name: name.clone(),
        };
        self.entry(job, "add_product", format!("product:{id}"), None, &data)?;
        self.world.codes.insert(code.clone(), Some(id));
        let row = ProductRow {
            name,
            catalogued: false,
            use_class: UseClass::SingleUse,
            carries: LabelCarries::default(),
            holds: Vec::new(),
        };
        self.world.products.insert(id, row);
        Ok(id)
    }

    fn lot(&mut self, product: Uuid, label: &Label) -> Uuid {
        let key = (product, label.lot.clone());
        if let Some(Some(lot)) = self.world.lot_numbers.get(&key) {
            return *lot;
        }
        let id = new_id(self.at);
        // The row without a number stands for many pieces, which share no date.
        let dates = label
            .lot
            .as_ref()
            .map(|_| (label.expires_on, label.manufactured_on));
        let (expires_on, manufactured_on) = dates.unwrap_or_default();
        let new = &mut self.writes.newcomers;
        new.lot.push(id);
        new.lot_product.push(product);
        new.lot_number.push(label.lot.clone());
        new.expires_on.push(date(expires_on));
        new.manufactured_on.push(date(manufactured_on));
        let row = LotRow {
            number: label.lot.clone(),
            expires_on,
            levels: Vec::new(),
        };
        self.world.lots.insert(id, row);
        self.world.lot_numbers.insert(key, Some(id));
        id
    }

    fn add_unit(&mut self, product: Uuid, lot: Uuid, serial: &str) -> Uuid {
        let id = new_id(self.at);
        let new = &mut self.writes.newcomers;
        new.unit.push(id);
        new.unit_product.push(product);
        new.unit_lot.push(lot);
        new.serial.push(serial.to_owned());
        let row = UnitRow {
            id,
            lot,
            location: None,
            claim: None,
        };
        self.world
            .units
            .insert((product, serial.to_owned()), Some(row));
        id
    }

    fn append(&mut self, job: &ScanJob, outcome: &ScanOutcome) -> Result<Receipt, Failure> {
        let label = outcome.label.as_ref().ok();
        let mut commitments = Commitments::default();
        if label.is_none() {
            commitments.commit("text", &job.scan.text);
        }
        let data = ScanData {
            case: outcome.case,
            commitments: commitments.digests(),
            drawn_from: outcome.placed.and_then(|placed| placed.drawn_from),
            expires_on: label
                .and_then(|label| label.expires_on)
                .map(|date| date.to_string()),
            findings: outcome
                .findings
                .iter()
                .map(|finding| finding.slug.as_str())
                .collect(),
            first_scan: outcome.first_scan,
            identifier: label
                .and_then(|label| label.code.as_ref())
                .map(ToString::to_string),
            lot: label.and_then(|label| label.lot.as_deref()),
            lot_id: outcome.lot,
            occurred_at: instant_text(outcome.occurred_at),
            on_case: outcome.placed.is_some(),
            product: outcome.product.as_ref().map(|(id, _)| *id),
            serial: label.and_then(|label| label.serial.as_deref()),
            symbology: job.scan.symbology.as_deref(),
            text: label.map(|_| job.scan.text.as_str()),
            unit: outcome.unit,
            unread: outcome.label.as_ref().err().map(|unread| unread.code),
            verdict: outcome.verdict,
        };
        let subject = format!("scan:{}", outcome.id);
        let receipt = self.entry(job, "record_scan", subject, Some(outcome.case), &data)?;
        self.disclose(outcome.case, receipt, &commitments)?;
        Ok(receipt)
    }

    fn disclose(
        &mut self,
        case: Uuid,
        receipt: Receipt,
        commitments: &Commitments,
    ) -> Result<(), Failure> {
        for disclosure in &commitments.disclosures {
            let case = self.world.cases.get(&case).and_then(Option::as_ref);
            let case = case.ok_or(Failure::Unfit)?;
            let key = self.facility_key.unwrap(PATIENT_KEY, &case.wrapped_key)?;
            let new = &mut self.writes.newcomers;
            new.disclosed_at.push(receipt.position.cast_signed());
            new.disclosed_name.push("text");
            new.patient.push(case.patient);
            new.sealed
                .push(key.seal(DISCLOSURE, disclosure.encoded().as_bytes())?);
        }
        Ok(())
    }

    fn entry(
        &mut self,
        job: &ScanJob,
        action: &'static str,
        subject: String,
        case: Option<Uuid>,
        data: &impl Serialize,
    ) -> Result<Receipt, Failure> {
        let actor = job.waiting.caller.clone();
        let station = station_text(job.waiting.request.station);
        let event = Event::new(action, actor.clone(), station, subject.clone(), data)?;
        let entry = self.head.append(&event, self.at)?;
        let receipt = Receipt {
            position: entry.position,
            hash: entry.hash,
        };
        self.writes.entries.push(NewEntry {
            entry,
            action,
            actor,
            subject,
            case,
        });
        Ok(receipt)
    }

    fn rows(
        &mut self,
        job: &ScanJob,
        outcome: &ScanOutcome,
        item: Item,
        receipt: Receipt,
    ) -> Result<(), Failure> {
        let label = outcome.label.as_ref().ok();
        let rows = &mut self.writes.scans;
        rows.case.push(outcome.case);
        rows.id.push(outcome.id);
        rows.station.push(outcome.station);
        rows.actor.push(job.waiting.caller.clone());
        rows.occurred_at.push(outcome.occurred_at.to_diesel());
        rows.symbology.push(job.scan.symbology.clone());
        rows.text.push(label.map(|_| job.scan.text.clone()));
        rows.form.push(label.map(|label| label.form));
        rows.verdict.push(outcome.verdict.as_str());
        rows.findings
            .push(serde_json::to_string(&outcome.findings).map_err(|_| Failure::Unfit)?);
        rows.product.push(item.product);
        rows.lot.push(item.lot);
        rows.unit.push(item.unit);
        rows.first.push(outcome.first_scan);
        rows.position.push(receipt.position.cast_signed());
        if let (Some(_), Some(product), Some(lot), Some(label)) =
            (outcome.placed, item.product, item.lot, label)
        {
            self.place(job, outcome, item, (product, lot), label);
        }
        Ok(())
    }

    /// Puts a cleared item on the case: the use, the claim of a single-use piece, the movement.
    fn place(
        &mut self,
        job: &ScanJob,
        outcome: &ScanOutcome,
        item: Item,
        (product, lot): (Uuid, Uuid),
        label: &Label,
    ) {
        let uses = &mut self.writes.uses;
        uses.scan.push(outcome.id);
        uses.case.push(outcome.case);
        uses.product.push(product);
        uses.lot.push(lot);
        uses.unit.push(item.unit);
        uses.drawn_from.push(item.drawn_from);
        let one_case = self
            .world
            .products
            .get(&product)
            .is_some_and(|p| p.use_class.one_case_only());
        if let (Some(unit), Some(serial), true) = (item.unit, &label.serial, one_case) {
            let (units, cases, scans) = &mut self.writes.claims;
            units.push(unit);
            cases.push(outcome.case);
            scans.push(outcome.id);
            if let Some(Some(unit)) = self.world.units.get_mut(&(product, serial.clone())) {
                unit.claim = Some(ClaimRow {
                    case: outcome.case,
                    scan: outcome.id,
                    at: self.at,
                });
            }
        }
        if let Some(place) = item.drawn_from {
            let moves = &mut self.writes.moves;
            moves.lot.push(lot);
            moves.id.push(new_id(self.at));
            moves.unit.push(item.unit);
            moves.location.push(place);
            moves.cause.push(outcome.id);
            *self.writes.taken.entry((lot, place)).or_default() += 1;
            if let Some(lot) = self.world.lots.get_mut(&lot) {
                lot.take(place);
            }
        }
        if let Some(Some(case)) = self.world.cases.get_mut(&outcome.case) {
            case.texts
                .entry(job.scan.text.clone())
                .or_insert(outcome.id);
        }
    }

    fn keep(&mut self, job: &ScanJob, rendered: &Rendered) {
        let Some((key, fingerprint)) = &job.waiting.request.key else {
            return;
        };
        let kept = &mut self.writes.answers;
        kept.caller.push(job.waiting.caller.clone());
        kept.key.push(key.clone());
        kept.fingerprint.push(fingerprint.to_vec());
        kept.status.push(rendered.status.cast_signed());
        kept.body.push(rendered.body.clone());
    }
}

/// The holds that hit an item, and those that cannot be excluded because the label did not say.
fn holds<'a>(
    product: &'a ProductRow,
    item: Item,
    label: &Label,
    lot: Option<&LotRow>,
) -> Vec<HoldFacts<'a>> {
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
            HoldScope::Unit => label.serial.is_none(),
        };
        (certain || possible).then_some(HoldFacts {
            scope: hold.scope,
            reason: &hold.reason,
            certain,
        })
    });
    hits.collect()
}
