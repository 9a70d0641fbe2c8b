//! Days by which something is due: work days, federal holidays, reports, answers, follow-ups.

mod accounting;
mod follow_ups;
mod holidays;
mod reports;
mod work_days;

pub use accounting::{DisclosureAccounting, disclosure_accounting};
pub use follow_ups::{FollowUp, follow_ups, overdue};
pub use holidays::{FIRST_YEAR, Holiday, federal_holidays, observed_holiday};
pub use reports::{
    AnnualReport, Clock, Event, FacilityStatus, Recipient, Reporting, Rule, annual_report,
    report_number, reporting,
};
pub use work_days::{Deadline, Skipped, after_work_days};
