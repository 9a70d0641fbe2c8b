//! Two recall notices of the past: one worked to its close, one in the middle.

use anyhow::Context;
use jiff::civil::Date;
use lotwarden_domain::access::Caller;
use lotwarden_domain::effectiveness::Level;
use lotwarden_domain::import::RecallClass;
use lotwarden_domain::label::ProductCode;
use lotwarden_domain::notices::{
    Disposal, Named, NoticeSource, OutreachMethod, OutreachResult, ReviewDecision, TaskKind,
    TaskState,
};
use lotwarden_store::notices::work::{
    AnswerNotice, ChangeNoticeTask, CheckEffectiveness, CloseNotice, Contact, Count, CountStock,
    Disposed, Outreach, RecordDisposal, RecordOutreach, Review, ReviewPatient, Work, show_work,
};
use lotwarden_store::notices::{AddNotice, ConfirmNotice, Criterion, NewCriterion, NewNotice};
use uuid::Uuid;

use super::history::Past;
use crate::commands::demo::products::{DemoProduct, LIDOCAINE, PAD};

/// A notice about one lot of the first deliveries.
struct Letter {
    firm: &'static str,
    reference: &'static str,
    class: RecallClass,
    product: &'static DemoProduct,
    reason: &'static str,
    delivery: usize,
}

impl Past<'_> {
    /// The notice of which nothing is left to do.
    pub(super) fn closed_notice(&self, day: Date) -> anyhow::Result<()> {
        let letter = Letter {
            firm: "Wexcombe Filtration (invented)",
            reference: "WX-FSN-26-03",
            class: RecallClass::Three,
            product: &PAD,
            reason: "The fold of some pads is glued on one side only",
            delivery: 0,
        };
        let (notice, lot) = self.notice(&letter)?;
        let work = self.work(notice)?;
        let there = work.lots.iter().find(|one| one.lot == lot);
        let there = u32::try_from(there.map_or(0, |one| one.on_record))?;
        let materials = &self.site.materials;
        self.count(notice, lot, there)?;
        self.review(notice, &work, ReviewDecision::NotNeeded)?;
        self.loader.wait_until(day, 17, 10)?;
        if there > 0 {
            let disposed = Disposed {
                how: Disposal::SentBack,
                location: self.site.shelf,
                quantity: there,
                tracking: "Parcel of the maker's carrier".to_owned(),
                witness: None,
            };
            let units = Vec::new();
            let operation = RecordDisposal {
                notice,
                lot,
                units,
                disposed,
            };
            self.loader.record(materials, operation)?;
        }
        let level = Level::E;
        let checks = None;
        let operation = CheckEffectiveness {
            notice,
            level,
            checks,
        };
        self.loader.record(&self.site.compliance, operation)?;
        self.answer(notice)?;
        self.end_tasks(notice, |kind| kind != TaskKind::Closing)?;
        for who in [materials, &self.site.compliance] {
            let operation = CloseNotice {
                notice,
                version: 2,
                meaning: "The work is done and I reviewed its record".to_owned(),
            };
            self.loader.record(who, operation)?;
        }
        Ok(())
    }

    /// The notice that is being worked on: counted, and half of the patients decided on and told.
    pub(super) fn open_notice(&self) -> anyhow::Result<()> {
        let letter = Letter {
            firm: "Saltwick Remedies (invented)",
            reference: "SR-RC-26-11",
            class: RecallClass::Two,
            product: &LIDOCAINE,
            reason: "Some vials of the lot may hold visible particles",
            delivery: 1,
        };
        let (notice, lot) = self.notice(&letter)?;
        let work = self.work(notice)?;
        let there = work.lots.iter().find(|one| one.lot == lot);
        let there = u32::try_from(there.map_or(0, |one| one.on_record))?;
        self.count(notice, lot, there)?;
        self.end_tasks(notice, |kind| kind == TaskKind::Quarantine)?;
        let half = Work {
            patients: work.patients[..work.patients.len() / 2].to_vec(),
            ..work
        };
        self.review(notice, &half, ReviewDecision::Notify)?;
        for (at, patient) in half.patients.iter().enumerate() {
            let result = if at % 3 == 2 {
                OutreachResult::NoAnswer
            } else {
                OutreachResult::Reached
            };
            let operation = RecordOutreach {
                notice,
                patient: patient.patient,
                outreach: Outreach {
                    method: OutreachMethod::Telephone,
                    result,
                },
            };
            self.loader.record(&self.site.compliance, operation)?;
        }
        Ok(())
    }

    /// A letter comes and is confirmed; gives the notice and the lot.
    fn notice(&self, letter: &Letter) -> anyhow::Result<(Uuid, Uuid)> {
        let delivery = self.deliveries.get(letter.delivery);
        let delivery = delivery.context("no delivery has come yet")?;
        let lot = delivery.lot_id(letter.product)?;
        let number = delivery.lot_number(letter.product)?;
        let materials = &self.site.materials;
        let operation = AddNotice {
            notice: NewNotice {
                firm: letter.firm.to_owned(),
                reference: letter.reference.to_owned(),
                class: Some(letter.class),
                source: NoticeSource::Letter,
                status: None,
                received_on: None,
                product: letter.product.name.to_owned(),
                reason: letter.reason.to_owned(),
                text: format!("Lot {number}"),
                also_named: Vec::new(),
            },
            follows: None,
        };
        let notice = self.loader.record(materials, operation)?.id;
        let added = letter.product.adding()?;
        let codes: Vec<ProductCode> = added.identifiers.into_iter().map(|one| one.code).collect();
        let criterion = Criterion {
            catalogue_numbers: Vec::new(),
            identifiers: codes.iter().map(ToString::to_string).collect(),
            items: Named {
                lots: vec![number],
                ..Named::default()
            },
            product_ids: Vec::new(),
        };
        let operation = ConfirmNotice {
            id: notice,
            version: 1,
            criteria: vec![NewCriterion { criterion, codes }],
            open: false,
        };
        self.loader.record(materials, operation)?;
        Ok((notice, lot))
    }

    fn work(&self, notice: Uuid) -> anyhow::Result<Work> {
        let opened = &self.loader.opened;
        let database = opened.recorder.database();
        opened.runtime.block_on(async {
            let mut reading = database.reading(self.loader.facility.id).await?;
            let work = show_work(&mut reading, notice).await?;
            work.context("the notice is gone")
        })
    }

    fn count(&self, notice: Uuid, lot: Uuid, quarantined: u32) -> anyhow::Result<()> {
        let count = Count {
            quarantined,
            left_in_place: 0,
        };
        let operation = CountStock { notice, lot, count };
        self.loader
            .record(&self.site.materials, operation)
            .map(drop)
    }

    fn review(&self, notice: Uuid, work: &Work, decision: ReviewDecision) -> anyhow::Result<()> {
        let practitioner: &Caller = self.site.practitioners.first().context("no practitioner")?;
        for patient in &work.patients {
            let operation = ReviewPatient {
                notice,
                patient: patient.patient,
                review: Review {
                    decision,
                    reason: "Record of the case reviewed".to_owned(),
                },
            };
            self.loader.record(practitioner, operation)?;
        }
        Ok(())
    }

    fn answer(&self, notice: Uuid) -> anyhow::Result<()> {
        let operation = AnswerNotice {
            notice,
            adverse_events: false,
            contact: Contact {
                name: "The materials manager".to_owned(),
                phone: "+1 555 0100".to_owned(),
                title: "Materials".to_owned(),
            },
            sent_by: "Form by mail".to_owned(),
        };
        self.loader
            .record(&self.site.materials, operation)
            .map(drop)
    }

    fn end_tasks(&self, notice: Uuid, which: impl Fn(TaskKind) -> bool) -> anyhow::Result<()> {
        for task in self.work(notice)?.tasks {
            if !which(task.kind) {
                continue;
            }
            let operation = ChangeNoticeTask {
                id: task.id,
                version: task.version,
                owner: Some(self.site.materials.person),
                due_at: task.due_at,
                state: TaskState::Done,
                remark: None,
            };
            self.loader.record(&self.site.materials, operation)?;
        }
        Ok(())
    }
}
