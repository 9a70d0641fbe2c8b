//! The facility before its first case: people, places, stations, products.

use jiff::{SignedDuration, Timestamp};
use lotwarden_api::access::passwords;
use lotwarden_domain::access::{Caller, Role, act};
use lotwarden_domain::cases::LocationKind;
use lotwarden_domain::station::Separator;
use lotwarden_store::access::{AddPerson, AddStation};
use lotwarden_store::stock::AddLocation;
use uuid::Uuid;

use super::Loader;
use crate::commands::demo::products;
use crate::commands::demo::staff::{Account, Invented, STAFF};

/// How long the inspector may look.
const INSPECTION: SignedDuration = SignedDuration::from_hours(90 * 24);

/// Who acts and where things are.
pub struct Site {
    /// Receives stock, places holds and lifts them.
    pub materials: Caller,
    /// Reviews what was done.
    pub compliance: Caller,
    /// Set up cases, in turns.
    pub circulators: Vec<Caller>,
    /// Sign cases, in turns.
    pub practitioners: Vec<Caller>,
    /// The procedure room.
    pub room: Uuid,
    /// The store room.
    pub shelf: Uuid,
    /// The scanning place of the procedure room.
    pub station: Uuid,
}

impl Loader {
    /// Adds people, places, stations and products; gives the passwords made for them.
    pub fn set_up(&self, now: Timestamp) -> anyhow::Result<(Site, Vec<Account>)> {
        let mut accounts = Vec::new();
        let mut callers: Vec<(Role, Caller)> = Vec::new();
        for one in &STAFF {
            let password = passwords::random();
            let operation = adding(one, &password, now)?;
            let person = match callers.first() {
                None => {
                    let grant = self.opened.grant::<act::AddPerson>(&self.facility)?;
                    self.record_granted(&grant, operation)?
                }
                Some((_, administrator)) => self.record(administrator, operation)?,
            };
            callers.push((one.role, self.caller(person.id, one.role)));
            accounts.push(Account {
                login: one.login.to_owned(),
                name: one.name.to_owned(),
                role: one.role.to_string(),
                password,
            });
        }
        let of = |role: Role| -> Vec<Caller> {
            let found = callers.iter().filter(|(held, _)| *held == role);
            found.map(|(_, caller)| caller.clone()).collect()
        };
        let only = |role: Role| {
            let found = of(role).into_iter().next();
            found.ok_or_else(|| anyhow::anyhow!("the demonstration has no {role}"))
        };
        let administrator = only(Role::Administrator)?;
        let materials = only(Role::Materials)?;
        let compliance = only(Role::Compliance)?;
        let place = |name: &str, kind| {
            let name = name.to_owned();
            self.record(&administrator, AddLocation { name, kind })
        };
        let room = place("Procedure room 1", LocationKind::Room)?.id;
        let shelf = place("Store room", LocationKind::Shelf)?.id;
        place("Receiving dock", LocationKind::Dock)?;
        place("Quarantine cage", LocationKind::Quarantine)?;
        let name = "Set-up table, procedure room 1".to_owned();
        let station = self
            .record(
                &administrator,
                AddStation {
                    name,
                    separator: Separator::Raw,
                },
            )?
            .id;
        for product in products::ALL {
            self.record(&materials, product.adding()?)?;
        }
        let site = Site {
            materials,
            compliance,
            circulators: of(Role::Circulator),
            practitioners: of(Role::Practitioner),
            room,
            shelf,
            station,
        };
        Ok((site, accounts))
    }
}

fn adding(one: &Invented, password: &str, now: Timestamp) -> anyhow::Result<AddPerson> {
    let password_hash =
        passwords::hash(password).map_err(|_| anyhow::anyhow!("the password cannot be hashed"))?;
    Ok(AddPerson {
        login: one.login.to_owned(),
        name: one.name.to_owned(),
        roles: vec![one.role],
        password_hash,
        ends_at: (one.role == Role::Inspector).then_some(now + INSPECTION),
    })
}
