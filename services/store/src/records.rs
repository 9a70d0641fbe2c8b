//! The rest of a case's record: preference lists, picks, energy by zone, checks by two people,
//! follow-ups, and adverse events.

mod add_list;
mod decide_record_years;
mod decide_status;
mod energy_limits;
mod follow_ups;
mod missing;
mod open_event;
mod reconciliation;
mod record_case_check;
mod record_energy;
mod record_pick;

pub(crate) use add_list::ListsOf;
pub use add_list::{AddList, AddListRefusal, ListItem, ListKind, PreferenceList, list_lists};
pub use decide_record_years::{DecideRecordYears, Retention};
pub use decide_status::{DecideStatus, StatusDecided};
pub use energy_limits::{
    AddEnergyLimit, EndEnergyLimit, EndEnergyLimitRefusal, SiteEnergyLimit, list_energy_limits,
};
pub use follow_ups::{
    AddFollowUpRule, AddFollowUpRuleRefusal, CaseFollowUp, RecordFollowUp, RecordFollowUpRefusal,
    WhichFollowUps, list_follow_up_rules, list_follow_ups,
};
pub(crate) use missing::on_cases;
pub use missing::{Missing, MissingItem, show_missing};
pub use open_event::{AdverseEvent, NewEvent, OpenEvent, OpenEventRefusal, list_events};
pub use reconciliation::{ReconciledLot, show_reconciliation};
pub use record_case_check::{
    CaseCheck, CaseCheckLine, ConfirmCaseCheck, ConfirmCaseCheckRefusal, RecordCaseCheck,
    RecordCaseCheckRefusal, list_case_checks,
};
pub use record_energy::{
    CountedLimit, EnergyEntry, EnergyLog, NewEnergy, RecordEnergy, RecordEnergyRefusal, show_energy,
};
pub use record_pick::{Pick, PickLine, RecordPick, RecordPickRefusal};

pub(crate) use decide_record_years::retention;
pub(crate) use reconciliation::reconciled;
pub(crate) use record_case_check::checks_of_case;
pub(crate) use record_energy::{energy_of_case, limits_of};
pub(crate) use record_pick::picks_of_case;
