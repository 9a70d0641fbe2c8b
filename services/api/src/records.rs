//! The rest of a case's record: lists, picks, energy, checks, follow-ups, adverse events.

mod add_list;
mod checks;
mod decide_record_years;
mod decide_status;
mod energy;
mod energy_limits;
mod events;
mod follow_ups;
mod reconciliation;
mod show_missing;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add_list::add_list)
        .service(add_list::list_lists)
        .service(show_missing::show_missing)
        .service(reconciliation::record_pick)
        .service(reconciliation::show_reconciliation)
        .service(energy_limits::add_energy_limit)
        .service(energy_limits::end_energy_limit)
        .service(energy_limits::list_energy_limits)
        .service(energy::record_energy)
        .service(energy::show_energy)
        .service(checks::record_case_check)
        .service(checks::confirm_case_check)
        .service(checks::list_case_checks)
        .service(follow_ups::add_follow_up_rule)
        .service(follow_ups::list_follow_up_rules)
        .service(follow_ups::list_follow_ups)
        .service(follow_ups::record_follow_up)
        .service(decide_record_years::decide_record_years)
        .service(decide_status::decide_status)
        .service(events::open_event)
        .service(events::list_events);
}
