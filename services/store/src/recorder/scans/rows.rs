//! The rows of a scan, and its kept answer.

use super::{Batch, Item};
use crate::recorder::job::{Failure, ScanJob};
use crate::recorder::scan::ScanOutcome;
use crate::recorder::world::ClaimRow;
use crate::recorder::{Receipt, Rendered};
use jiff_diesel::ToDiesel;
use lotwarden_domain::label::Label;
use uuid::Uuid;

impl Batch<'_> {
    pub(super) fn rows(
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
        rows.held_session.push(job.scan.held_session);
        if let (Some(_), Some(product), Some(lot), Some(label)) =
            (outcome.placed, item.product, item.lot, label)
        {
            self.place(job, outcome, item, (product, lot), label);
        }
        Ok(())
    }

    /// Puts a cleared item on the case: the use, the claim of a single-use piece.
    fn place(
        &mut self,
        job: &ScanJob,
        outcome: &ScanOutcome,
        item: Item,
        (product, lot): (Uuid, Uuid),
        label: &Label,
    ) {
        let one_case = self
            .world
            .products
            .get(&product)
            .is_some_and(|p| p.use_class.one_case_only());
        let uses = &mut self.writes.uses;
        uses.claims_unit.push(one_case && item.unit.is_some());
        uses.scan.push(outcome.id);
        uses.case.push(outcome.case);
        uses.product.push(product);
        uses.lot.push(lot);
        uses.unit.push(item.unit);
        uses.drawn_from.push(item.drawn_from);
        uses.other_lot.push(item.other_lot);
        let mut loose = item.unit.is_none();
        let serial = self.world.serial(label).cloned();
        if let (Some(_), Some(serial)) = (item.unit, serial)
            && let Some(Some(unit)) = self.world.units.get_mut(&(product, serial))
        {
            loose = unit.location.is_none();
            if one_case {
                unit.claim = Some(ClaimRow {
                    case: outcome.case,
                    scan: outcome.id,
                    at: self.at,
                });
            }
            unit.processed.last_use = Some((outcome.case, self.at));
        }
        if let Some(place) = item.drawn_from {
            *self.writes.taken.entry((lot, place)).or_default() += 1;
            if let Some(lot) = self.world.lots.get_mut(&lot) {
                lot.take(place, loose);
            }
        }
        if let Some(Some(case)) = self.world.cases.get_mut(&outcome.case) {
            case.texts
                .entry(job.scan.text.clone())
                .or_insert(outcome.id);
        }
    }

    pub(super) fn keep(&mut self, job: &ScanJob, rendered: &Rendered) {
        let Some((request, fingerprint)) = job.waiting.kept_under(self.facility.id) else {
            return;
        };
        let kept = &mut self.writes.answers;
        kept.request.push(request);
        kept.fingerprint.push(fingerprint.to_vec());
        kept.status.push(rendered.status.cast_signed());
        kept.body.push(rendered.body.clone());
    }
}
