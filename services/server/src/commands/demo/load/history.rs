//! Three months of work, told in the order of time: a ledger takes no entry older than its head.

use jiff::civil::{Date, Weekday};
use jiff::{Timestamp, ToSpan};
use lotwarden_domain::access::Caller;
use lotwarden_domain::cases::{HoldScope, Verdict};
use lotwarden_store::holds::{Hold, LiftHold, PlaceHold};
use std::collections::BTreeMap;
use uuid::Uuid;

use super::case::Twist;
use super::deliveries::Delivery;
use super::site::Site;
use super::{DAYS, Loader};
use crate::commands::demo::products::{CANNULA, SALINE};
use crate::commands::demo::{ZONE, day_of};
use crate::commands::say;

/// A delivery comes on every fourth day of work.
const DELIVERY_EVERY: usize = 4;

/// What was recorded, in numbers.
#[derive(Debug, Default)]
pub struct Told {
    /// Cases opened.
    pub cases: usize,
    /// Scans by verdict.
    pub scans: BTreeMap<Verdict, usize>,
    /// Signatures.
    pub signatures: usize,
}

/// When the past begins: at eight in the morning of its first day.
pub fn begin(now: Timestamp) -> anyhow::Result<Timestamp> {
    let first = day_of(now)?.checked_sub(DAYS.days())?;
    Ok(first.at(8, 0, 0, 0).in_tz(ZONE)?.timestamp())
}

/// The Tuesdays and Thursdays from the first day until yesterday: always 26.
fn days_of_work(now: Timestamp) -> anyhow::Result<Vec<Date>> {
    let today = day_of(now)?;
    let mut days = Vec::new();
    for back in (1..=DAYS).rev() {
        let day = today.checked_sub(back.days())?;
        if matches!(day.weekday(), Weekday::Tuesday | Weekday::Thursday) {
            days.push(day);
        }
    }
    Ok(days)
}

/// The cases of a day of work: two and one in turns, and two on the last.
fn cases_on(number: usize, last: usize) -> usize {
    if number.is_multiple_of(2) || number == last {
        2
    } else {
        1
    }
}

/// What is remembered from one day to the next.
pub struct Past<'a> {
    pub(super) loader: &'a Loader,
    pub(super) site: &'a Site,
    /// Deliveries, oldest first.
    pub(super) deliveries: Vec<Delivery>,
    /// The label of the handpiece of the case before.
    pub(super) last_handpiece: Option<String>,
    pub(super) told: Told,
}

/// Records the deliveries, cases and holds of three months.
pub fn tell(loader: &Loader, site: &Site, now: Timestamp) -> anyhow::Result<Told> {
    let mut past = Past {
        loader,
        site,
        deliveries: Vec::new(),
        last_handpiece: None,
        told: Told::default(),
    };
    let days = days_of_work(now)?;
    let last = days.len().saturating_sub(1);
    let mut held = None;
    for (number, day) in days.into_iter().enumerate() {
        if number.is_multiple_of(DELIVERY_EVERY) {
            loader.wait_until(day, 8, 30)?;
            let ordinal = u32::try_from(past.deliveries.len())?;
            past.deliveries.push(loader.receive(site, day, ordinal)?);
        }
        for slot in 0..cases_on(number, last) {
            let hour = if slot == 0 { 9 } else { 13 };
            past.case(day, hour, number >= last, twist(number, slot))?;
            if (number, slot) == (10, 0) {
                past.lift(held.take())?;
            }
        }
        loader.wait_until(day, 16, 30)?;
        match number {
            9 => held = Some(past.hold_saline()?),
            18 => past.hold_cannula()?,
            20 => past.closed_notice(day)?,
            24 => past.open_notice()?,
            _ => {}
        }
        if number % 5 == 4 {
            say(&format!("{day}: {} cases so far", past.told.cases));
        }
    }
    Ok(past.told)
}

/// What is out of the ordinary on a case.
fn twist(number: usize, slot: usize) -> Twist {
    match (number, slot) {
        (2, 0) => Twist::Struck,
        (4, 0) => Twist::Unread,
        (5, 0) => Twist::ReuseStopped,
        (7, 0) => Twist::OpenedUnused,
        (9, 0) => Twist::ShortDated,
        (10, 0) => Twist::HeldSaline,
        (12, 0) => Twist::NotDone,
        (13, 0) => Twist::HandpieceFailed,
        (14, 0) => Twist::ShortDated,
        (17, 0) => Twist::LotNotRead,
        (19, 0) => Twist::HeldCannula,
        (20, 1) => Twist::Returned,
        (21, 0) => Twist::NotInCatalogue,
        (22, 1) => Twist::Wasted,
        (23, 0) => Twist::ScannedTwice,
        _ => Twist::None,
    }
}

impl Past<'_> {
    /// A hold that is lifted later.
    fn hold_saline(&self) -> anyhow::Result<Hold> {
        let lot = self.delivery(0)?.lot_id(&SALINE)?;
        let reason = "Carton found wet at the dock; the maker was asked about the bags";
        self.hold(&self.site.materials, lot, reason)
    }

    /// A hold that is still in force.
    fn hold_cannula(&self) -> anyhow::Result<()> {
        let lot = self.delivery(0)?.lot_id(&CANNULA)?;
        let reason = "Maker's letter of this week: pouch seals of this lot may be open";
        self.hold(&self.site.materials, lot, reason).map(drop)
    }

    fn hold(&self, who: &Caller, lot: Uuid, reason: &str) -> anyhow::Result<Hold> {
        let operation = PlaceHold {
            target: lot,
            scope: HoldScope::Lot,
            reason: reason.to_owned(),
        };
        self.loader.record(who, operation)
    }

    fn lift(&self, hold: Option<Hold>) -> anyhow::Result<()> {
        let Some(hold) = hold else {
            return Ok(());
        };
        let operation = LiftHold {
            id: hold.id,
            version: hold.version,
            reason: "The maker wrote back: bags of this lot are tested tight; carton repacked"
                .to_owned(),
        };
        self.loader
            .record(&self.site.materials, operation)
            .map(drop)
    }

    /// The newest delivery, or one before it.
    pub(super) fn delivery(&self, back: usize) -> anyhow::Result<&Delivery> {
        let found = self.deliveries.iter().rev().nth(back);
        found.ok_or_else(|| anyhow::anyhow!("no delivery has come yet"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_months_from_any_day_have_forty_cases() {
        let start: Timestamp = "2026-11-24T12:00:00Z".parse().unwrap();
        for day in 0..7 {
            let days = days_of_work(start + (24 * day).hours()).unwrap();
            let last = days.len() - 1;
            let cases: usize = (0..days.len()).map(|day| cases_on(day, last)).sum();
            assert_eq!((days.len(), cases), (26, 40));
        }
    }
}
