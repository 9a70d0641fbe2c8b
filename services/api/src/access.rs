//! Access: signing in, tokens, who may do what, people, stations and the policy.

pub mod passwords;
pub mod throttle;
pub mod tokens;

mod add_person;
mod add_station;
mod allowed;
mod browser;
mod change_person;
mod change_policy;
mod change_station;
mod check_station;
mod list_practitioners;
mod people;
mod refresh_session;
mod sessions;
mod show_keys;
mod show_policy;
mod sign_in;

pub use allowed::Allowed;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(sign_in::sign_in)
        .service(refresh_session::refresh_session)
        .service(sessions::show_session)
        .service(sessions::sign_out)
        .service(show_keys::show_keys)
        .service(show_policy::show_policy)
        .service(change_policy::change_policy)
        .service(people::list_people)
        .service(list_practitioners::list_practitioners)
        .service(add_person::add_person)
        .service(change_person::change_person)
        .service(add_station::list_stations)
        .service(add_station::add_station)
        .service(change_station::change_station)
        .service(check_station::check_station);
}
