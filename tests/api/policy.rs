//! Who may do what: the policy table against the description, and both against the running service.

use crate::harness::{Client, Service, description, root};
use description::{description, operations};
use lotwarden_api::problem::catalogue::PROBLEMS;
use lotwarden_domain::access::{Action, Caller, Role, policy_table};
use std::collections::BTreeSet;
use std::fmt::Write;
use uuid::Uuid;

/// Operations that ask for no access token. An addition here is a decision to review.
const PUBLIC: &[&str] = &[
    "list_problems",
    "livez",
    "metrics",
    "openapi",
    "pair_station",
    "readyz",
    "refresh_session",
    "show_keys",
    "show_problem",
    "sign_in",
];

#[test]
fn exactly_the_listed_operations_need_no_token() {
    let operations = operations();
    let public: BTreeSet<&str> = operations
        .iter()
        .filter(|operation| operation.public)
        .map(|operation| &*operation.id)
        .collect();
    assert_eq!(public, BTreeSet::from_iter(PUBLIC.iter().copied()));
}

#[test]
fn every_operation_is_an_action_of_the_policy_or_public() {
    for operation in operations() {
        let known = Action::ALL
            .iter()
            .any(|action| action.as_str() == operation.id);
        assert!(
            known || PUBLIC.contains(&&*operation.id),
            "{} has no row in the policy",
            operation.id
        );
    }
}

#[test]
fn every_action_of_the_policy_is_one_operation() {
    let operations = operations();
    for action in Action::ALL {
        let count = operations
            .iter()
            .filter(|operation| operation.id == action.as_str())
            .count();
        assert_eq!(count, 1, "{} is {count} operations", action.as_str());
    }
}

#[actix_web::test]
async fn every_operation_is_refused_without_credentials() {
    let service = Service::start().await;
    let anybody = service.anybody();
    for operation in operations().iter().filter(|operation| !operation.public) {
        let request = anybody.request(operation.method.clone(), &operation.to_nothing());
        let reply = request.send().await;
        assert_eq!(
            reply.status,
            401,
            "{} without a token: {}",
            operation.id,
            reply.text()
        );
        let missing = if operation.station {
            "not-paired"
        } else {
            "not-signed-in"
        };
        reply.problem(401, missing);
        // RFC 9110, 11.6.1: a 401 names how to authenticate; RFC 6750, 3: the scheme is Bearer.
        assert!(
            reply
                .header("www-authenticate")
                .is_some_and(|how| how.starts_with("Bearer"))
        );
    }
}

#[actix_web::test]
async fn every_operation_is_refused_for_exactly_the_roles_that_the_policy_does_not_list() {
    let service = Service::start().await;
    for role in Role::ALL.iter().copied() {
        let person = service.role(role).await;
        for operation in operations().iter().filter(|operation| !operation.public) {
            if operation.station {
                let request = person.request(operation.method.clone(), &operation.to_nothing());
                request.send().await.problem(401, "not-paired");
                continue;
            }
            let action = Action::ALL
                .iter()
                .find(|action| action.as_str() == operation.id);
            let action =
                action.unwrap_or_else(|| panic!("{} has no row in the policy", operation.id));
            let request = person.request(operation.method.clone(), &operation.to_nothing());
            let reply = request.send().await;
            if action.roles().contains(&role) {
                let answered = !matches!(reply.status, 401 | 403) && reply.status < 500;
                assert!(
                    answered,
                    "{} as {role}: {} {}",
                    operation.id,
                    reply.status,
                    reply.text()
                );
            } else {
                assert_eq!(
                    reply.status,
                    403,
                    "{} as {role}: {}",
                    operation.id,
                    reply.text()
                );
                reply.problem(403, "forbidden");
            }
        }
    }
}

#[actix_web::test]
async fn a_person_with_several_roles_may_what_any_of_them_may() {
    let service = Service::start().await;
    let both = service
        .caller(
            service.site.facility,
            &[Role::Circulator, Role::Administrator],
        )
        .await;
    both.get("/v1/people").await.expect(200);
    both.get("/v1/cases").await.expect(200);
    let neither = both.get("/v1/ledger/entries").await;
    neither.problem(403, "forbidden");
}

#[actix_web::test]
async fn a_token_for_no_role_may_nothing_but_is_known() {
    let service = Service::start().await;
    let person = service.role(Role::Circulator).await;
    let facility = service.site.facility;
    let caller = Caller {
        person: person.person,
        facility,
        session: Uuid::new_v4(),
        roles: Vec::new(),
    };
    let token = service
        .app
        .tokens
        .sign(&caller, service.site.clock.reading())
        .expect("a token");
    let nobody = Client {
        token: Some(token),
        ..person
    };
    nobody.get("/v1/policy").await.problem(403, "forbidden");
}

/// The files of `api-spec` are what reviews read; `UPDATE_SPEC=1 cargo test` writes them anew.
#[track_caller]
fn holds_exactly(file: &str, text: &str) {
    let path = root().join("api-spec").join(file);
    if std::env::var_os("UPDATE_SPEC").is_some() {
        std::fs::write(&path, text).expect("api-spec can be written");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == text,
        "api-spec/{file} is out of date; UPDATE_SPEC=1 cargo test -p lotwarden-tests policy"
    );
}

#[test]
fn the_checked_in_policy_is_the_one_in_force() {
    holds_exactly("policy.txt", &policy_table());
}

#[test]
fn the_checked_in_description_is_the_one_served() {
    let pretty = serde_json::to_string_pretty(&lotwarden_api::openapi::describe());
    holds_exactly("openapi.json", &(pretty.expect("JSON") + "\n"));
}

#[test]
fn the_checked_in_problems_are_those_of_the_service() {
    let mut text = String::from(
        "# Problems\nEvery refusal is `application/problem+json` (RFC 9457). `code` is permanent; \
         the service documents each at `/problems/<code>`.\n\n| status | code | what it is | what to do |\n|---|---|---|---|\n",
    );
    for problem in PROBLEMS {
        let _ = writeln!(
            text,
            "| {} | `{}` | {} | {} |",
            problem.status, problem.code, problem.title, problem.advice
        );
    }
    holds_exactly("problems.md", &text);
}

#[test]
fn the_description_is_openapi_3_1_with_a_description_for_every_operation() {
    // OpenAPI 3.1.0, 4.8.1: `openapi` is the version of the specification.
    let description = description();
    assert!(
        description["openapi"]
            .as_str()
            .is_some_and(|version| version.starts_with("3.1."))
    );
    for (path, item) in description["paths"].as_object().expect("paths") {
        for (method, operation) in item.as_object().expect("operations") {
            let says = operation["summary"]
                .as_str()
                .is_some_and(|summary| !summary.is_empty());
            assert!(says, "{method} {path} has no summary");
            assert!(operation["tags"].is_array(), "{method} {path} has no tag");
        }
    }
}

#[actix_web::test]
async fn the_description_that_is_served_is_the_checked_in_one() {
    let service = Service::start().await;
    let served = service.anybody().get("/openapi.json").await.expect(200);
    assert_eq!(served, description());
}
