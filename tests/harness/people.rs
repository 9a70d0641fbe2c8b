//! People of a test's facility, one for each role asked for.

use super::{Client, Service};
use lotwarden_api::access::passwords;
use lotwarden_domain::access::{Caller, Grant, Role, act};
use lotwarden_store::access::AddPerson;
use lotwarden_store::{Rendered, Request};
use std::sync::{Arc, OnceLock};
use uuid::Uuid;

/// Everybody's password.
pub const PASSWORD: &str = "three quiet otters 41";

/// Its hash: made once, because argon2 is slow on purpose.
fn password_hash() -> String {
    static HASH: OnceLock<String> = OnceLock::new();
    HASH.get_or_init(|| passwords::hash(PASSWORD).expect("argon2 hashes"))
        .clone()
}

impl Service {
    /// Adds a person to a facility, as the operator at the command line does.
    pub async fn add_person(&self, facility: Uuid, login: &str, roles: &[Role]) -> Uuid {
        let ends = roles.contains(&Role::Inspector);
        let person = AddPerson {
            login: login.to_owned(),
            name: format!("Test {login}"),
            roles: roles.to_vec(),
            password_hash: password_hash(),
            ends_at: ends.then(|| "2030-01-01T00:00:00Z".parse().expect("an instant")),
        };
        let grant = Grant::<act::AddPerson>::to_operator("tests", facility);
        let id = Arc::new(OnceLock::new());
        let kept = Arc::clone(&id);
        let render = move |person: &lotwarden_store::access::Person, _| {
            let _ = kept.set(person.id);
            Rendered {
                status: 201,
                body: Vec::new(),
                etag: None,
            }
        };
        let recorded = self
            .app
            .recorder
            .record(&grant, Request::default(), person, render)
            .await;
        recorded.expect("a person can be added");
        *id.get().expect("the person was rendered")
    }

    /// A caller of a facility with an access token for these roles, without the slow sign-in.
    pub async fn caller(&self, facility: Uuid, roles: &[Role]) -> Client {
        let login = format!("p{}", Uuid::new_v4().simple());
        let person = self.add_person(facility, &login, roles).await;
        let roles = roles.to_vec();
        let caller = Caller {
            person,
            facility,
            session: Uuid::new_v4(),
            roles,
        };
        let token = self.app.tokens.sign(&caller, self.site.clock.reading());
        Client {
            token,
            person,
            ..self.anybody()
        }
    }

    /// A caller of the test's own facility with one role.
    pub async fn role(&self, role: Role) -> Client {
        self.caller(self.site.facility, &[role]).await
    }

    /// Signs in as a caller at a page or program does.
    pub async fn sign_in(&self, login: &str) -> super::Reply {
        let body = serde_json::json!({"login": login, "password": PASSWORD});
        self.anybody().post("/v1/sessions", &body).await
    }
}
