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
pub use lotwarden_domain::picking::ReasonKind;
use lotwarden_domain::picking::{Barred, Bin, Pick, pick};
use lotwarden_domain::policy::SitePolicy;
use lotwarden_domain::routines::PeriodState;
use lotwarden_domain::rules::{Finding, cylinder_findings, judge_equipment};
use uuid::Uuid;

/// A case with every reason why it cannot be set up as its list says.
#[derive(Clone, Debug)]
pub struct CaseReadiness {
    /// The case.
    pub case: Case,
    /// The reasons; none when it can be set up.
    pub reasons: Vec<Reason>,
}

/// A reason in words.
#[derive(Clone, Debug)]
pub struct Reason {
    /// What it is about.
    pub kind: ReasonKind,
    /// One plain sentence.
    pub sentence: String,
}

impl Reason {
    fn new(kind: ReasonKind, sentence: String) -> Self {
        Self { kind, sentence }
    }
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
    Ok(reasons
        .map(|sentence| Reason::new(ReasonKind::Check, sentence))
        .collect())
}

/// What the newest period of a check says: a missed one stays a reason until one after it is done.
fn check(standing: &RoutineStanding, day: Date, today: Date) -> Option<String> {
    let name = &standing.routine.new.name;
    if standing.routine.ended.is_some() {
        return None;
    }
    for period in standing.periods.iter().rev() {
        let last = period.period.last;
        match period.state {
            _ if period.out_of_limits => {
                return Some(format!("{name}: a value was out of its limits on {last}."));
            }
            PeriodState::Done | PeriodState::Late => return None,
            PeriodState::Unconfirmed => {
                return Some(format!("{name}: the second person is missing."));
            }
            PeriodState::Missed => return Some(format!("{name}: missed on {last}.")),
            PeriodState::Due if day == today => {
                return Some(format!("{name}: due by {last} and not done yet."));
            }
            PeriodState::Due => {}
        }
    }
    None
}

impl Site {
    fn reasons(&self, setup: &Setup, picks: &[Pick]) -> Vec<Reason> {
        let Some(list) = &setup.list else {
            let what = format!(
                "There is no preference list for {}, so nothing can be said of its items.",
                setup.case.procedure
            );
            return vec![Reason::new(ReasonKind::NoList, what)];
        };
        let mut reasons = Vec::new();
        for (at, line) in setup.lines.iter().enumerate() {
            if line.short > 0 {
                let what = format!(
                    "{}: {} needed, {} taken or to be taken, {} short.",
                    line.name,
                    line.open + line.hold,
                    line.open + line.hold - line.short,
                    line.short
                );
                reasons.push(Reason::new(ReasonKind::Short, what));
                reasons.extend(self.barred(setup, at));
            }
            let substitutes = picks
                .iter()
                .filter(|pick| pick.need == at && pick.substitute);
            for pick in substitutes {
                let name = self
                    .stock
                    .get(pick.bin)
                    .map(|one| one.product_name.as_str());
                let what = format!(
                    "{}: {} of {} may stand in for it; a person has to agree.",
                    line.name,
                    pick.quantity,
                    name.unwrap_or_default()
                );
                reasons.push(Reason::new(ReasonKind::Substitute, what));
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
            let why = match one.bin.barred? {
                Barred::Expired => "expires before the case".to_owned(),
                Barred::Held => "is on hold".to_owned(),
                Barred::Named => "is named, or not left out, by a recall notice".to_owned(),
            };
            let lot = one.lot_number.as_deref().unwrap_or("not recorded");
            let what = format!(
                "{} of {}, lot {lot}, at {}: {why}.",
                one.bin.left, one.product_name, one.bin.place
            );
            Some(Reason::new(ReasonKind::Stock, what))
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
            let judged: Vec<(&Cylinder, Vec<Finding>)> = open
                .map(|fill| (fill, cylinder_findings(&fill.facts(self.day))))
                .collect();
            let in_order = judged.iter().filter(|(_, findings)| findings.is_empty());
            let (in_order, asked) = (in_order.count(), line.open + line.hold);
            if i64::try_from(in_order).is_ok_and(|in_order| in_order >= asked) {
                continue;
            }
            let faulty = judged.iter().filter(|(_, findings)| !findings.is_empty());
            let said: Vec<String> = faulty
                .map(|(fill, findings)| {
                    let name = fill.serial.as_ref().or(fill.lot_number.as_ref());
                    format!("{}: {}", name.map_or("", |name| name), sentences(findings))
                })
                .collect();
            let mut what = format!("{}: {asked} fills needed, {in_order} in order.", line.name);
            if judged.is_empty() {
                what = format!("No fill of {} that is not empty is on record.", line.name);
            }
            for one in said {
                what.push(' ');
                what.push_str(&one);
            }
            reasons.push(Reason::new(ReasonKind::Gas, what));
        }
        reasons
    }

    /// A kind of equipment of which no piece is in order.
    fn equipment(&self, kind: EquipmentKind) -> Option<Reason> {
        let pieces = self.equipment.iter().filter(|one| one.new.kind == kind);
        let judged: Vec<(&Equipment, Vec<Finding>)> = pieces
            .map(|one| (one, judge_equipment(&one.facts(self.day, &self.policy))))
            .collect();
        if judged.iter().any(|(_, findings)| findings.is_empty()) {
            return None;
        }
        let said: Vec<String> = judged
            .iter()
            .map(|(one, findings)| format!("{}: {}", one.new.described(), sentences(findings)))
            .collect();
        let what = match said.is_empty() {
            true => format!("No {kind} is on record."),
            false => format!("No {kind} is in order. {}", said.join(" ")),
        };
        Some(Reason::new(ReasonKind::Equipment, what))
    }
}

fn sentences(findings: &[Finding]) -> String {
    let all: Vec<&str> = findings.iter().map(|one| one.sentence.as_str()).collect();
    all.join(" ")
}
