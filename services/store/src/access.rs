//! People, their sessions, stations, and the site's policy.

mod add_person;
mod add_station;
mod change_person;
pub(crate) mod change_policy;
mod change_station;
mod people;
mod refresh_session;
mod sign_in;
mod sign_out;
pub(crate) mod stations;
mod token_keys;

pub use add_person::{AddPerson, AddPersonRefusal};
pub use add_station::{AddStation, AddStationRefusal};
pub use change_person::{ChangePerson, ChangePersonRefusal};
pub use change_policy::{ChangePolicy, ChangePolicyRefusal, Policy, show_policy};
pub use change_station::{ChangeStation, ChangeStationRefusal};
pub use people::{Credentials, Person, credentials, list, practitioners, show};
pub use refresh_session::{RefreshRefusal, RefreshSession, Refreshed, session_of};
pub use sign_in::{RefuseSignIn, Session, SignIn, SignInFailure, token_hash};
pub use sign_out::SignOut;
pub use stations::{Station, circumstances, list_stations};
pub use token_keys::{TokenKey, token_keys};
