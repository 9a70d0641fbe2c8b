//! Who may do what: roles, actions, the one table that joins them, and the grant a write needs.

mod action;
mod badge;
mod grant;

pub use action::{Action, Permission, act, policy_table};
pub use badge::{BadgeText, pin_fault, random_letters};
pub use grant::{Actor, Caller, Forbidden, Grant};

use crate::word::words;

words! {
    /// What a person is here for; one person may hold several.
    Role, "role" {
        /// OR nurse or technician.
        Circulator = "circulator",
        /// The licensed practitioner.
        Practitioner = "practitioner",
        /// The materials manager.
        Materials = "materials",
        /// The compliance officer.
        Compliance = "compliance",
        /// Manages people, stations and places.
        Administrator = "administrator",
        /// Reads only, for a limited time.
        Inspector = "inspector",
        /// A machine.
        Integration = "integration",
    }
}

/// Whether one of the roles may do the action.
#[must_use]
pub fn allowed(roles: &[Role], action: Action) -> bool {
    roles.iter().any(|role| action.roles().contains(role))
}
