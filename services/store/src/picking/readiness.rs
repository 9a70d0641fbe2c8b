//! Whether the cases of a day can be set up, with every reason why not.

use super::bins::{Stock, stock};
use super::show_picking::{Setup, setups};
use crate::access::change_policy;
use crate::cases::{self, Case, CaseFilter};
use crate::cylinders::{self, Cylinder};
use crate::database::{Reading, StoreError};
use crate::equipment::{self, Equipment};
use crate::facilities::Facility;
use crate::lists::After;
use crate::routines::{RoutineStanding, standing};
use jiff::ToSpan;
use jiff::civil::Date;
use lotwarden_domain::cases::CaseStatus;
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_domain::equipment::EquipmentKind;
use lotwarden_domain::gas::CylinderState;
use lotwarden_domain::picking::reasons::{self as said, JudgedPiece, Reason};
use lotwarden_domain::picking::{Barred, Bin, Pick, pick};
use lotwarden_domain::policy::SitePolicy;
use lotwarden_domain::routines::PeriodState;
use lotwarden_domain::rules::{cylinder_findings, judge_equipment};
use std::fmt::Display;
use uuid::Uuid;

/// A case with every reason why it cannot be set up as its list says.
#[derive(Clone, Debug)]
pub struct CaseReadiness {
    /// The case.
    pub case: Case,
    /// The reasons; none when it can be set up.
    pub reasons: Vec<Reason>,
}

/// What the site has, as it stands on a day.
struct Site {
    day: Date,
    stock: Vec<Stock>,
    cylinders: Vec<Cylinder>,
    equipment: Vec<Equipment>,
    policy: SitePolicy,
}

/// Computes for each case of a day, in the order of their times, whether it can be set up. What one
/// case takes is not there for those after it.
///
/// # Errors
/// [`StoreError`].
pub async fn readiness(
    reading: &mut Reading,
    facility: &Facility,
    day: Date,
    today: Date,
) -> Result<Vec<CaseReadiness>, StoreError> {
    let checks = checks(reading, facility, day, today).await?;
    let planned = planned(reading, facility, day).await?;
    let connection = reading.connection();
    let setups = setups(connection, planned).await?;
    let products: Vec<Uuid> = setups.iter().flat_map(Setup::products).collect();
    let kinds: Vec<ProductKind> = setups.iter().flat_map(Setup::kinds).collect();
    let asked = match kinds.contains(&ProductKind::Gas) {
        true => cylinders::Asked::All,
        false => cylinders::Asked::OfProducts(&products),
    };
    let cylinders = cylinders::of(connection, asked).await?;
    let site = Site {
        day,
        stock: stock(connection, facility.id, products, &kinds, day).await?,
        cylinders,
        equipment: equipment::of(connection, equipment::Asked::All).await?,
        policy: change_policy::current(connection).await?.settings,
    };
    let mut bins: Vec<Bin> = site.stock.iter().map(|one| one.bin.clone()).collect();
    let mut found = Vec::new();
    for mut setup in setups {
        let picks = pick(&setup.needs, &mut bins);
        setup.shorten(&picks);
        let mut reasons = site.reasons(&setup, &picks);
        reasons.extend(checks.iter().cloned());
        found.push(CaseReadiness {
            case: setup.case,
            reasons,
        });
    }
    Ok(found)
}

/// The cases of a day that may still take place, in the order of their times.
async fn planned(
    reading: &mut Reading,
    facility: &Facility,
    day: Date,
) -> Result<Vec<Case>, StoreError> {
    let filter = CaseFilter::default().on_day(&facility.zone, day);
    let mut all = Vec::new();
    let mut after = After {
        id: None,
        limit: 200,
    };
    loop {
        let page = cases::list(reading, filter, after).await?;
        all.extend(page.items);
        after.id = page.next;
        if after.id.is_none() {
            break;
        }
    }
    all.retain(|case| {
        matches!(
            case.status,
            CaseStatus::Preparation | CaseStatus::InProgress
        )
    });
    all.sort_by_key(|case| (case.scheduled_for, case.id));
    Ok(all)
}

/// What the routine checks say, for every case of the day.
async fn checks(
    reading: &mut Reading,
    facility: &Facility,
    day: Date,
    today: Date,
) -> Result<Vec<Reason>, StoreError> {
    let from = today.saturating_sub(62.days());
    let all = standing(reading, facility, from, today).await?;
    let reasons = all.iter().filter_map(|one| check(one, day, today));
    Ok(reasons.collect())
}

/// What the newest period of a check says: a missed one stays a reason until one after it is done.
fn check(standing: &RoutineStanding, day: Date, today: Date) -> Option<Reason> {
    let check = &standing.routine.new.name;
    if standing.routine.ended.is_some() {
        return None;
    }
    for period in standing.periods.iter().rev() {
        let last = period.period.last;
        let sentence = match period.state {
            _ if period.out_of_limits => &said::CHECK_OUT_OF_LIMITS,
            PeriodState::Done | PeriodState::Late => return None,
            PeriodState::Unconfirmed => {
                return Some(said::CHECK_UNCONFIRMED.with(&[("check", check)]));
            }
            PeriodState::Missed => &said::CHECK_MISSED,
            PeriodState::Due if day == today => &said::CHECK_DUE,
            PeriodState::Due => continue,
        };
        return Some(sentence.with(&[("check", check), ("day", &last)]));
    }
    None
}

impl Site {
    fn reasons(&self, setup: &Setup, picks: &[Pick]) -> Vec<Reason> {
        let Some(list) = &setup.list else {
            return vec![said::NO_LIST.with(&[("procedure", &setup.case.procedure)])];
        };
        let mut reasons = Vec::new();
        for (at, line) in setup.lines.iter().enumerate() {
            if line.short > 0 {
                let needed = line.open + line.hold;
                let (sentence, name) = match line.product {
                    Some(_) => (&said::SHORT, "product"),
                    None => (&said::SHORT_OF_KIND, "product_kind"),
                };
                reasons.push(sentence.with(&[
                    (name, &line.name),
                    ("needed", &needed),
                    ("taken", &(needed - line.short)),
                    ("short", &line.short),
                ]));
                reasons.extend(self.barred(setup, at));
            }
            let substitutes = picks
                .iter()
                .filter(|pick| pick.need == at && pick.substitute);
            for pick in substitutes {
                let stock = self.stock.get(pick.bin);
                let substitute = stock.map_or("", |one| one.product_name.as_str());
                reasons.push(said::STANDS_IN.with(&[
                    ("product", &line.name),
                    ("quantity", &pick.quantity),
                    ("substitute", &substitute),
                ]));
            }
        }
        reasons.extend(self.gas(setup));
        reasons.extend(
            list.equipment
                .iter()
                .filter_map(|kind| self.equipment(*kind)),
        );
        reasons
    }

    /// Stock that would have done.
    fn barred(&self, setup: &Setup, at: usize) -> Vec<Reason> {
        let Some(need) = setup.needs.get(at) else {
            return Vec::new();
        };
        let reason = |one: &Stock| {
            need.wanted.rank(one.bin.product, one.bin.kind)?;
            let (with_lot, without) = match one.bin.barred? {
                Barred::Expired => (&said::STOCK_EXPIRES, &said::NO_LOT_EXPIRES),
                Barred::Held => (&said::STOCK_HELD, &said::NO_LOT_HELD),
                Barred::Named => (&said::STOCK_NAMED, &said::NO_LOT_NAMED),
            };
            let lot = one.lot_number.as_deref();
            let sentence = lot.map_or(without, |_| with_lot);
            Some(sentence.with(&[
                ("quantity", &one.bin.left),
                ("product", &one.product_name),
                ("lot", &lot.unwrap_or_default()),
                ("place", &one.bin.place),
            ]))
        };
        self.stock.iter().filter_map(reason).collect()
    }

    /// Gases of which fewer fills are in order than the list asks for.
    fn gas(&self, setup: &Setup) -> Vec<Reason> {
        let mut reasons = Vec::new();
        let lines = setup.needs.iter().zip(&setup.lines);
        for (need, line) in lines.filter(|(_, line)| line.gas) {
            let wanted =
                |one: &&Cylinder| need.wanted.rank(one.product, ProductKind::Gas).is_some();
            let open = self
                .cylinders
                .iter()
                .filter(wanted)
                .filter(|fill| fill.state() != Some(CylinderState::Empty));
            let pieces: Vec<JudgedPiece> = open
                .map(|fill| {
                    let name = fill.serial.as_ref().or(fill.lot_number.as_ref());
                    JudgedPiece {
                        name: name.cloned().unwrap_or_default(),
                        findings: cylinder_findings(&fill.facts(self.day)),
                    }
                })
                .collect();
            let in_order = pieces.iter().filter(|piece| piece.findings.is_empty());
            let (in_order, needed) = (in_order.count(), line.open + line.hold);
            if i64::try_from(in_order).is_ok_and(|in_order| in_order >= needed) {
                continue;
            }
            let (none, too_few, name) = match line.product {
                Some(_) => (&said::NO_FILL, &said::TOO_FEW_FILLS, "product"),
                None => (
                    &said::NO_FILL_OF_KIND,
                    &said::TOO_FEW_OF_KIND,
                    "product_kind",
                ),
            };
            let of = (name, &line.name as &dyn Display);
            if pieces.is_empty() {
                reasons.push(none.with(&[of]));
                continue;
            }
            let faulty = pieces.into_iter();
            let faulty = faulty.filter(|piece| !piece.findings.is_empty());
            let reason = too_few.with(&[of, ("needed", &needed), ("in_order", &in_order)]);
            reasons.push(reason.of_pieces(faulty.collect()));
        }
        reasons
    }

    /// A kind of equipment of which no piece is in order.
    fn equipment(&self, kind: EquipmentKind) -> Option<Reason> {
        let pieces = self.equipment.iter().filter(|one| one.new.kind == kind);
        let pieces = pieces.map(|one| JudgedPiece {
            name: one.new.described(),
            findings: judge_equipment(&one.facts(self.day, &self.policy)),
        });
        let pieces: Vec<JudgedPiece> = pieces.collect();
        let of = ("equipment_kind", &kind as &dyn Display);
        if pieces.is_empty() {
            return Some(said::NO_EQUIPMENT.with(&[of]));
        }
        let all = pieces.iter().all(|piece| !piece.findings.is_empty());
        all.then(|| said::EQUIPMENT_FAULTY.with(&[of]).of_pieces(pieces))
    }
}
