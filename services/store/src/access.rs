//! People, their sessions, stations, and the site's policy.

mod add_person;
mod add_station;
mod badge_in;
mod badges;
mod change_password;
mod change_person;
pub(crate) mod change_policy;
mod change_station;
mod emergency;
mod held_session;
mod list_sessions;
mod pairing;
pub(crate) mod people;
mod refresh_session;
mod review_access;
mod revoke_sessions;
mod sign_in;
mod sign_out;
pub(crate) mod stations;
mod tasks;
pub(crate) mod token_keys;
mod vouch_in;

pub use add_person::{AddPerson, AddPersonRefusal};
pub use add_station::{AddStation, AddStationRefusal};
pub use badge_in::{BadgeIn, BadgeInRefusal, RefuseBadgeIn};
pub use badges::{
    BadgeHolder, BadgeRefusal, EndBadge, GiveBadge, GivenBadge, PIN_FAILURES, SetPin, badge_holder,
    badge_lookup,
};
pub use change_password::{ChangePassword, ResetPassword, ResetPasswordRefusal};
pub use change_person::{ChangePerson, ChangePersonRefusal};
pub use change_policy::{ChangePolicy, ChangePolicyRefusal, Policy, show_policy};
pub use change_station::{ChangeStation, ChangeStationRefusal};
pub use emergency::{
    EmergencyAccess, ReviewEmergencyAccess, ReviewEmergencyAccessRefusal, TakeEmergencyAccess,
    TakeEmergencyAccessRefusal, all_emergencies, emergencies,
};
pub use held_session::held_session;
pub use list_sessions::{OpenSession, all_ended_sessions, ended_sessions, list_sessions};
pub use pairing::{
    MakePairingCode, PairStation, PairStationRefusal, PairedStation, StationRefusal, UnpairStation,
    code_hash, paired_station, session_station, station_of_code,
};
pub use people::{Credentials, Person, credentials, list, practitioners, show, witnesses};
pub use refresh_session::{RefreshRefusal, RefreshSession, Refreshed, session_of};
pub use review_access::{Access, ReviewAccess, ReviewAccessRefusal, list_access};
pub use revoke_sessions::{
    RevokePersonSessions, RevokeRefusal, RevokeSession, RevokeSessions, Which,
};
pub use sign_in::{RefuseSignIn, Session, SignIn, SignInFailure, token_hash};
pub use sign_out::SignOut;
pub use stations::{Station, circumstances, list_stations};
pub use tasks::{SettleTask, SettleTaskRefusal, Task, TaskKind, list_tasks};
pub use token_keys::{TokenKey, token_keys};
pub use vouch_in::{VOUCHED_AFTER, VouchIn, VouchInRefusal};
