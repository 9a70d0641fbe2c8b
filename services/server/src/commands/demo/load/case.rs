//! One case of the past: opened, set up by scanning, done, completed and mostly signed.

mod set_up;

use anyhow::anyhow;
use jiff::civil::Date;
use lotwarden_domain::access::{Caller, Grant, act};
use lotwarden_domain::cases::Disposition;
use lotwarden_store::Request;
use lotwarden_store::cases::{
    CancelCase, Case, CompleteCase, OpenCase, SetDisposition, SignCase, StartCase,
};
use lotwarden_store::recorder::{NewScan, ScanOutcome};

use super::history::Past;
use super::keeping;
use crate::commands::demo::patients;

/// What is out of the ordinary on a case.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Twist {
    /// Nothing.
    None,
    /// A stocking of the wrong size is scanned and struck.
    Struck,
    /// A damaged label cannot be read; the next one can.
    Unread,
    /// The handpiece of the case before is scanned again.
    ReuseStopped,
    /// One cannula is opened and not used.
    OpenedUnused,
    /// A filter of the short-dated lot is scanned: it expires soon, later it has expired.
    ShortDated,
    /// A bag of the lot that materials held is scanned.
    HeldSaline,
    /// The procedure does not take place.
    NotDone,
    /// The handpiece fails and a second one is used.
    HandpieceFailed,
    /// Only the primary symbol of a cannula is scanned, so its lot is not known.
    LotNotRead,
    /// A cannula of the lot that is on hold until today is scanned.
    HeldCannula,
    /// A vial goes back to the shelf unopened.
    Returned,
    /// An item that the catalogue does not have.
    NotInCatalogue,
    /// A pad falls to the floor.
    Wasted,
    /// The same label is scanned twice by mistake.
    ScannedTwice,
}

/// A case while it is worked on.
struct Open<'a, 'b> {
    past: &'a mut Past<'b>,
    case: Case,
    day: Date,
    circulator: Caller,
}

const PROCEDURES: [&str; 4] = [
    "Cooled vein closure, left leg",
    "Cooled vein closure, right leg",
    "Cooled vein closure, both legs",
    "Side-branch closure, left calf",
];

impl Past<'_> {
    /// Plays one case of a day; those of the last day stay unsigned.
    pub fn case(
        &mut self,
        day: Date,
        hour: i8,
        unsigned: bool,
        twist: Twist,
    ) -> anyhow::Result<()> {
        let number = self.told.cases;
        let turn = |all: &[Caller]| all.iter().cycle().nth(number).cloned();
        let circulator = turn(&self.site.circulators).ok_or_else(|| anyhow!("no circulator"))?;
        let practitioner =
            turn(&self.site.practitioners).ok_or_else(|| anyhow!("no practitioner"))?;
        self.loader.wait_until(day, hour, 0)?;
        let planned = day.at(hour, 45, 0, 0);
        let opening = OpenCase {
            facility_key: self.loader.key.clone(),
            patient: patients::of(number),
            procedure: PROCEDURES[number % PROCEDURES.len()].to_owned(),
            location: self.site.room,
            practitioner: practitioner.person,
            scheduled_for: planned
                .to_zoned(self.loader.facility.zone.clone())?
                .timestamp(),
        };
        let case = self.loader.record(&circulator, opening)?;
        self.told.cases += 1;
        let (id, version) = (case.id, case.version);
        let mut open = Open {
            past: self,
            case,
            day,
            circulator,
        };
        if twist == Twist::NotDone {
            let reason =
                "Put off by the practitioner before set-up; a new date is arranged".to_owned();
            let cancelling = CancelCase {
                case: id,
                version,
                reason,
            };
            return open
                .past
                .loader
                .record(&open.circulator, cancelling)
                .map(drop);
        }
        open.set_up(number, twist)?;
        open.perform(hour, &practitioner, !unsigned)
    }
}

impl Open<'_, '_> {
    fn scan(&mut self, text: &str, another_piece: bool) -> anyhow::Result<ScanOutcome> {
        let scan = NewScan {
            case: self.case.id,
            text: text.to_owned(),
            symbology: None,
            occurred_at: None,
            held_session: None,
            clock_ahead: None,
            another_piece,
        };
        let request = Request {
            key: None,
            station: Some(self.past.site.station),
        };
        let grant: Grant<act::RecordScan> = Grant::to(&self.circulator)?;
        let (kept, render) = keeping::<ScanOutcome>();
        let opened = &self.past.loader.opened;
        let recorded = opened.recorder.record_scan(&grant, request, scan, render);
        opened.runtime.block_on(recorded)?;
        let outcome = kept
            .get()
            .cloned()
            .ok_or_else(|| anyhow!("a scan gave no outcome"))?;
        *self.past.told.scans.entry(outcome.verdict).or_default() += 1;
        Ok(outcome)
    }

    fn becomes(
        &self,
        scan: &ScanOutcome,
        disposition: Disposition,
        reason: &str,
    ) -> anyhow::Result<()> {
        let operation = SetDisposition {
            case: self.case.id,
            scan: scan.id,
            disposition,
            reason: Some(reason.to_owned()),
            version: 1,
        };
        self.past
            .loader
            .record(&self.circulator, operation)
            .map(drop)
    }

    /// Starts, completes and signs.
    fn perform(&mut self, hour: i8, practitioner: &Caller, sign: bool) -> anyhow::Result<()> {
        let loader = self.past.loader;
        let id = self.case.id;
        loader.wait_until(self.day, hour, 50)?;
        let version = self.version()?;
        let started = loader.record(&self.circulator, StartCase { case: id, version })?;
        loader.wait_until(self.day, hour + 1, 40)?;
        let version = started.version;
        let completed = loader.record(&self.circulator, CompleteCase { case: id, version })?;
        if sign {
            loader.wait_until(self.day, hour + 2, 10)?;
            let signing = SignCase {
                case: id,
                version: completed.version,
                meaning: "I performed the procedure and reviewed this record".to_owned(),
            };
            loader.record(practitioner, signing)?;
            self.past.told.signatures += 1;
        }
        Ok(())
    }

    /// The case's version after strikes and dispositions.
    fn version(&self) -> anyhow::Result<i32> {
        let loader = self.past.loader;
        let (facility, id) = (loader.facility.id, self.case.id);
        let shown = loader.opened.runtime.block_on(async {
            let mut reading = loader.opened.recorder.database().reading(facility).await?;
            lotwarden_store::cases::show(&mut reading, id).await
        })?;
        let shown = shown.ok_or_else(|| anyhow!("a case that was opened is not there"))?;
        Ok(shown.case.version)
    }
}
