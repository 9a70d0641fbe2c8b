//! The proof that somebody may do something; a write asks for it by type.

use super::act::{BadgeIn, PairStation, RefreshSession, SignIn, VouchIn};
use super::{Action, Permission, Role, allowed};
use std::fmt;
use std::marker::PhantomData;
use uuid::Uuid;

/// Who did something, as the ledger writes it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Actor {
    /// A signed-in person.
    Person(Uuid),
    /// A paired station, when nobody is signed in there.
    Station(Uuid),
    /// Somebody who is not signed in: a sign-in that failed.
    Nobody,
    /// Somebody at the server's own command line, by the name of the operating system's account.
    Operator(String),
}

impl fmt::Display for Actor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Person(id) => write!(f, "person:{id}"),
            Self::Station(id) => write!(f, "station:{id}"),
            Self::Nobody => f.write_str("nobody"),
            Self::Operator(name) => write!(f, "operator:{name}"),
        }
    }
}

/// A signed-in person with the roles the access token states.
#[derive(Clone, Debug)]
pub struct Caller {
    /// The person.
    pub person: Uuid,
    /// The person's facility; the only one whose rows can be reached.
    pub facility: Uuid,
    /// The session the token belongs to.
    pub session: Uuid,
    /// What the person is here for.
    pub roles: Vec<Role>,
}

/// The caller's roles do not hold the action.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("none of your roles may do {}; it is for {}", .action.as_str(), role_list(*.action))]
pub struct Forbidden {
    /// What was asked for.
    pub action: Action,
}

fn role_list(action: Action) -> String {
    let names: Vec<&str> = action.roles().iter().map(|role| role.as_str()).collect();
    names.join(", ")
}

/// The proof that an actor may do the action `A` in one facility.
#[derive(Clone, Debug)]
pub struct Grant<A: Permission> {
    facility: Uuid,
    actor: Actor,
    permission: PhantomData<A>,
}

impl<A: Permission> Grant<A> {
    /// Grants the action to a caller whose roles hold it.
    ///
    /// # Errors
    /// [`Forbidden`] when no role does.
    pub fn to(caller: &Caller) -> Result<Self, Forbidden> {
        if allowed(&caller.roles, A::ACTION) {
            let actor = Actor::Person(caller.person);
            Ok(Self {
                facility: caller.facility,
                actor,
                permission: PhantomData,
            })
        } else {
            Err(Forbidden { action: A::ACTION })
        }
    }

    /// Grants the action to a caller who has emergency access to the case it is in.
    ///
    /// # Errors
    /// [`Forbidden`] when emergency access does not give the action.
    pub fn in_emergency(caller: &Caller) -> Result<Self, Forbidden> {
        if A::ACTION.in_emergency() {
            Ok(Self {
                facility: caller.facility,
                actor: Actor::Person(caller.person),
                permission: PhantomData,
            })
        } else {
            Err(Forbidden { action: A::ACTION })
        }
    }

    /// Grants the action to the operator at the server's command line, who holds the data directory
    /// and its keys anyway; the ledger names the operating system's account.
    #[must_use]
    pub fn to_operator(account: &str, facility: Uuid) -> Self {
        Self {
            facility,
            actor: Actor::Operator(account.to_owned()),
            permission: PhantomData,
        }
    }

    /// The facility the grant is for.
    #[must_use]
    pub const fn facility(&self) -> Uuid {
        self.facility
    }

    /// Who acts.
    #[must_use]
    pub const fn actor(&self) -> &Actor {
        &self.actor
    }
}

impl Grant<SignIn> {
    /// Grants signing in to a person whose credentials were just verified.
    #[must_use]
    pub fn on_credentials(facility: Uuid, person: Uuid) -> Self {
        Self {
            facility,
            actor: Actor::Person(person),
            permission: PhantomData,
        }
    }

    /// Grants putting a failed sign-in on record.
    #[must_use]
    pub fn on_failure(facility: Uuid) -> Self {
        Self {
            facility,
            actor: Actor::Nobody,
            permission: PhantomData,
        }
    }
}

impl Grant<PairStation> {
    /// Grants pairing to whoever holds a code; the operation itself checks the code.
    #[must_use]
    pub fn on_pairing_code(facility: Uuid, station: Uuid) -> Self {
        Self {
            facility,
            actor: Actor::Station(station),
            permission: PhantomData,
        }
    }
}

impl Grant<BadgeIn> {
    /// Grants signing in to a person whose badge and PIN were just verified.
    #[must_use]
    pub fn on_badge(facility: Uuid, person: Uuid) -> Self {
        Self {
            facility,
            actor: Actor::Person(person),
            permission: PhantomData,
        }
    }

    /// Grants putting a failed sign-in at a paired station on record.
    #[must_use]
    pub fn at_station(facility: Uuid, station: Uuid) -> Self {
        Self {
            facility,
            actor: Actor::Station(station),
            permission: PhantomData,
        }
    }
}

impl Grant<VouchIn> {
    /// Grants letting somebody in to a person whose badge and PIN were just verified.
    #[must_use]
    pub fn on_voucher(facility: Uuid, voucher: Uuid) -> Self {
        Self {
            facility,
            actor: Actor::Person(voucher),
            permission: PhantomData,
        }
    }
}

impl Grant<RefreshSession> {
    /// Grants renewing to whoever holds a refresh token; the operation itself checks the token.
    #[must_use]
    pub fn on_refresh_token(facility: Uuid, person: Uuid) -> Self {
        Self {
            facility,
            actor: Actor::Person(person),
            permission: PhantomData,
        }
    }
}
