//! Access: signing in, tokens, who may do what, people, stations and the policy.

pub mod emergencies;
pub mod ended;
pub mod passwords;
pub(crate) mod secret;
pub mod throttle;
pub mod tokens;

mod add_person;
mod add_station;
mod allowed;
mod at_station;
mod badge_in;
mod badges;
mod browser;
mod change_password;
mod change_person;
mod change_policy;
mod change_station;
mod check_station;
mod emergency;
mod list_practitioners;
mod list_sessions;
mod list_witnesses;
mod pair_station;
mod people;
mod refresh_session;
mod review_access;
mod revoke_sessions;
mod sessions;
mod show_keys;
mod show_policy;
mod sign_in;
mod tasks;
mod vouch_in;

pub use allowed::Allowed;
pub(crate) use at_station::AtStation;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(sign_in::sign_in)
        .service(refresh_session::refresh_session)
        .service(sessions::show_session)
        .service(sessions::sign_out)
        .service(list_sessions::list_sessions)
        .service(revoke_sessions::revoke_sessions)
        .service(revoke_sessions::revoke_session)
        .service(change_password::change_password)
        .service(change_password::reset_password)
        .service(list_sessions::list_person_sessions)
        .service(revoke_sessions::revoke_person_sessions)
        .service(show_keys::show_keys)
        .service(show_policy::show_policy)
        .service(change_policy::change_policy)
        .service(people::list_people)
        .service(list_practitioners::list_practitioners)
        .service(list_witnesses::list_witnesses)
        .service(add_person::add_person)
        .service(change_person::change_person)
        .service(add_station::list_stations)
        .service(add_station::add_station)
        .service(pair_station::show_station)
        .service(pair_station::pair_station)
        .service(pair_station::make_pairing_code)
        .service(pair_station::unpair_station)
        .service(badge_in::badge_in)
        .service(vouch_in::vouch_in)
        .service(badges::set_pin)
        .service(badges::give_badge)
        .service(badges::end_badge)
        .service(tasks::list_tasks)
        .service(tasks::settle_task)
        .service(emergency::take_emergency_access)
        .service(emergency::review_emergency_access)
        .service(review_access::list_access)
        .service(review_access::review_access)
        .service(change_station::change_station)
        .service(check_station::check_station);
}
