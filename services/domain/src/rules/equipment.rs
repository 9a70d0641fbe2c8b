//! What the rules say about equipment when it is set up on a case.

use super::finding::{Finding, Severity};
use super::sentences as said;
use crate::equipment::{FilterLife, FilterState};
use crate::policy::SitePolicy;
use jiff::civil::Date;
use std::fmt::Display;

/// What the rules ask about a piece of equipment.
#[derive(Clone, Copy, Debug)]
pub struct EquipmentFacts<'a> {
    /// The civil day at the facility.
    pub today: Date,
    /// The site's settings.
    pub policy: &'a SitePolicy,
    /// Why it is out of service, if it is.
    pub out_of_service: Option<&'a str>,
    /// The last day of its maintenance; none where none is on record.
    pub maintenance_due_on: Option<Date>,
    /// The last day of its calibration; none where none is on record.
    pub calibration_due_on: Option<Date>,
    /// Whether it measures, so that it needs a calibration on record.
    pub measures: bool,
    /// Its filter.
    pub filter: Option<FilterLife>,
    /// Whether it draws through a filter, so that it needs one on record.
    pub filters: bool,
}

/// Every finding of a piece of equipment, worst first. The site decides whether what is due keeps
/// it off the case.
#[must_use]
pub fn judge_equipment(facts: &EquipmentFacts<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    if let Some(reason) = facts.out_of_service {
        let reason = reason.trim_end_matches('.');
        findings.push(said::OUT_OF_SERVICE.with(&[("reason", &reason)]));
    }
    let mut due = |mut finding: Finding| {
        if facts.policy.due_equipment_stops {
            finding.severity = Severity::Stop;
        }
        findings.push(finding);
    };
    match facts.calibration_due_on {
        Some(on) if on < facts.today => due(said::CALIBRATION_OVER.with(&[("day", &on)])),
        None if facts.measures => due(said::NO_CALIBRATION.with(&[])),
        _ => {}
    }
    if let Some(on) = facts.maintenance_due_on.filter(|on| *on < facts.today) {
        due(said::MAINTENANCE_DUE.with(&[("day", &on)]));
    }
    if let Some(spent) = filter(facts) {
        due(spent);
    }
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    findings
}

fn filter(facts: &EquipmentFacts<'_>) -> Option<Finding> {
    let Some(life) = facts.filter else {
        return facts.filters.then(|| said::NO_FILTER.with(&[]));
    };
    let spent = match life.state() {
        FilterState::Lasts => return None,
        FilterState::ShortForACase => false,
        FilterState::Spent => true,
    };
    Some(match life {
        FilterLife::Hours { life, used, case } => {
            let (life, used) = (life.normalize(), used.normalize());
            let case = case.unwrap_or_default().normalize();
            let values: [(_, &dyn Display); 3] =
                [("used", &used), ("life", &life), ("case", &case)];
            match spent {
                true => said::FILTER_HOURS_OVER.with(&values[..2]),
                false => said::FILTER_HOURS_SHORT.with(&values),
            }
        }
        FilterLife::Cases { life, used } => {
            let values: [(_, &dyn Display); 2] = [("used", &used), ("life", &life)];
            match spent {
                true => said::FILTER_CASES_OVER.with(&values),
                false => said::FILTER_CASES_SHORT.with(&values),
            }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::Rule;
    use jiff::civil::date;

    const LOOKS: SitePolicy = SitePolicy {
        expires_soon_days: 30,
        short_dated_days: 182,
        keeps_stock: true,
        idle_lock_minutes: 15,
        due_equipment_stops: false,
        clock_skew_seconds: 120,
    };
    const STOPS: SitePolicy = SitePolicy {
        due_equipment_stops: true,
        ..LOOKS
    };

    fn facts(policy: &SitePolicy) -> EquipmentFacts<'_> {
        EquipmentFacts {
            today: date(2026, 3, 10),
            policy,
            out_of_service: None,
            maintenance_due_on: Some(date(2026, 3, 10)),
            calibration_due_on: Some(date(2026, 3, 10)),
            measures: true,
            filter: None,
            filters: false,
        }
    }

    fn said(facts: &EquipmentFacts<'_>) -> Vec<(Rule, Severity)> {
        let findings = judge_equipment(facts);
        findings
            .iter()
            .map(|one| (one.slug, one.severity))
            .collect()
    }

    // Good through the day of the sticker: common practice, no source.
    #[test]
    fn what_is_due_is_shown_from_the_day_after_and_stops_where_the_site_decides_so() {
        assert_eq!(said(&facts(&STOPS)), []);
        let late = |policy| EquipmentFacts {
            today: date(2026, 3, 11),
            ..facts(policy)
        };
        for (policy, severity) in [(&LOOKS, Severity::Look), (&STOPS, Severity::Stop)] {
            let due = [
                (Rule::CalibrationDue, severity),
                (Rule::MaintenanceDue, severity),
            ];
            assert_eq!(said(&late(policy)), due);
        }
    }

    #[test]
    fn what_is_out_of_service_stops_and_what_is_not_on_record_is_named() {
        let out = EquipmentFacts {
            out_of_service: Some("Arcs at the cable"),
            calibration_due_on: None,
            filters: true,
            ..facts(&LOOKS)
        };
        let expected = [
            (Rule::OutOfService, Severity::Stop),
            (Rule::CalibrationDue, Severity::Look),
            (Rule::FilterSpent, Severity::Look),
        ];
        assert_eq!(said(&out), expected);
    }
}
