//! Signing in, renewing, signing out.

mod browser;
mod open;

use crate::harness::client::text;
use crate::harness::people::PASSWORD;
use crate::harness::{Client, Service};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jiff::SignedDuration;
use lotwarden_domain::access::Role;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

async fn service_with(login: &str) -> (Service, Value) {
    let service = Service::start().await;
    service
        .add_person(service.site.facility, login, &[Role::Circulator])
        .await;
    let session = service.sign_in(login).await.expect(201);
    (service, session)
}

async fn refresh(service: &Service, token: &str) -> crate::harness::Reply {
    service
        .anybody()
        .post("/v1/sessions/refresh", &json!({"refresh_token": token}))
        .await
}

fn holder(service: &Service, session: &Value) -> Client {
    service.anybody().with_token(&text(session, "access_token"))
}

#[actix_web::test]
async fn signing_in_gives_a_bearer_token_for_ten_minutes() {
    let (service, session) = service_with("m.okafor").await;
    assert_eq!(session["token_type"], "Bearer");
    assert_eq!(session["expires_in"], 600);
    let who = holder(&service, &session)
        .get("/v1/sessions/current")
        .await
        .expect(200);
    assert_eq!(who["id"], session["person"]["id"]);
    assert_eq!(who["roles"], json!(["circulator"]));
}

#[actix_web::test]
async fn a_login_is_found_whatever_its_letters_case() {
    let (service, _) = service_with("m.okafor").await;
    service.sign_in("M.Okafor").await.expect(201);
}

#[actix_web::test]
async fn a_wrong_password_and_an_unknown_login_are_refused_alike() {
    let (service, _) = service_with("m.okafor").await;
    let attempt = |login: &str, password: &str| json!({"login": login, "password": password});
    let anybody = service.anybody();
    let wrong = anybody
        .post(
            "/v1/sessions",
            &attempt("m.okafor", "three quiet otters 42"),
        )
        .await;
    let unknown = anybody
        .post("/v1/sessions", &attempt("nobody.here", PASSWORD))
        .await;
    wrong.problem(401, "wrong-credentials");
    // OWASP Authentication Cheat Sheet: the answer does not tell which of the two was wrong.
    assert_eq!(wrong.body, unknown.body);
    assert_eq!(wrong.status, unknown.status);
}

#[actix_web::test]
async fn an_access_token_is_over_after_ten_minutes_of_the_services_clock() {
    let (service, session) = service_with("m.okafor").await;
    let caller = holder(&service, &session);
    service.site.clock.advance(SignedDuration::from_secs(590));
    caller.get("/v1/sessions/current").await.expect(200);
    service.site.clock.advance(SignedDuration::from_secs(11));
    caller
        .get("/v1/sessions/current")
        .await
        .problem(401, "not-signed-in");
}

/// The three parts of a JWT (RFC 7515, 3.1), decoded where they are JSON.
fn parts(token: &str) -> (Value, Value, String) {
    let mut parts = token.split('.');
    let mut json = || {
        let bytes = URL_SAFE_NO_PAD
            .decode(parts.next().expect("three parts"))
            .expect("base64url");
        serde_json::from_slice(&bytes).expect("JSON")
    };
    (
        json(),
        json(),
        parts.next().expect("three parts").to_owned(),
    )
}

fn joined(header: &Value, claims: &Value, signature: &str) -> String {
    let encode = |value: &Value| URL_SAFE_NO_PAD.encode(value.to_string());
    format!("{}.{}.{signature}", encode(header), encode(claims))
}

#[actix_web::test]
async fn a_token_with_other_claims_another_signature_or_none_is_refused() {
    let (service, session) = service_with("m.okafor").await;
    let token = text(&session, "access_token");
    let (header, claims, signature) = parts(&token);
    // RFC 7515, 4.1.1 and RFC 8037, 3.1: the algorithm of an Ed25519 signature is EdDSA.
    assert_eq!(header["alg"], "EdDSA");
    let with = |value: &Value, member: &str, to: Value| {
        let mut changed = value.clone();
        changed[member] = to;
        changed
    };
    let administrator = with(&claims, "roles", json!(["administrator"]));
    let later = with(&claims, "exp", json!(4_102_444_800_i64));
    let none = with(&header, "alg", json!("none"));
    // RFC 8725, 2.1: an HMAC keyed with the public key, or no signature at all, must not pass.
    let hmac = with(&header, "alg", json!("HS256"));
    let no_kid = with(&header, "kid", Value::Null);
    let other_kid = with(&header, "kid", json!("AAAAAAAAAAAA"));
    let mut flipped = URL_SAFE_NO_PAD.decode(&signature).expect("base64url");
    flipped[10] ^= 1;
    let refused = [
        joined(&header, &administrator, &signature),
        joined(&header, &later, &signature),
        joined(&none, &claims, ""),
        joined(&none, &claims, &signature),
        joined(&hmac, &claims, &signature),
        joined(&no_kid, &claims, &signature),
        joined(&other_kid, &claims, &signature),
        joined(&header, &claims, &URL_SAFE_NO_PAD.encode(flipped)),
        joined(&header, &claims, ""),
        "not.a.token".to_owned(),
        String::new(),
    ];
    for token in refused {
        let reply = service
            .anybody()
            .with_token(&token)
            .get("/v1/sessions/current")
            .await;
        assert_eq!(reply.status, 401, "{token}: {}", reply.text());
        reply.problem(401, "not-signed-in");
    }
    service
        .anybody()
        .with_token(&token)
        .get("/v1/sessions/current")
        .await
        .expect(200);
}

#[actix_web::test]
async fn a_token_of_another_installation_is_refused() {
    let (service, _) = service_with("m.okafor").await;
    let (elsewhere, session) = service_with("m.okafor").await;
    let caller = service
        .anybody()
        .with_token(&text(&session, "access_token"));
    caller
        .get("/v1/sessions/current")
        .await
        .problem(401, "not-signed-in");
    holder(&elsewhere, &session)
        .get("/v1/sessions/current")
        .await
        .expect(200);
}

#[actix_web::test]
async fn the_published_keys_are_what_tokens_are_signed_with() {
    let (service, session) = service_with("m.okafor").await;
    let keys = service
        .anybody()
        .get("/.well-known/jwks.json")
        .await
        .expect(200);
    let (header, ..) = parts(&text(&session, "access_token"));
    let key = &keys["keys"][0];
    assert_eq!(key["kid"], header["kid"]);
    // RFC 8037, 2: kty OKP, crv Ed25519, x the 32 bytes of the public key, and never d.
    assert_eq!(
        (&key["kty"], &key["crv"]),
        (&json!("OKP"), &json!("Ed25519"))
    );
    assert_eq!(
        URL_SAFE_NO_PAD
            .decode(text(key, "x"))
            .expect("base64url")
            .len(),
        32
    );
    assert!(key.get("d").is_none());
}

#[actix_web::test]
async fn a_refresh_token_gets_the_next_pair_once() {
    let (service, first) = service_with("m.okafor").await;
    let second = refresh(&service, &text(&first, "refresh_token"))
        .await
        .expect(201);
    assert_ne!(first["refresh_token"], second["refresh_token"]);
    holder(&service, &second)
        .get("/v1/sessions/current")
        .await
        .expect(200);
    refresh(&service, &text(&second, "refresh_token"))
        .await
        .expect(201);
}

#[actix_web::test]
async fn a_refresh_token_that_comes_back_ends_its_whole_session() {
    // RFC 9700, 4.14.2: reuse of a rotated refresh token revokes all tokens of the grant.
    let (service, first) = service_with("m.okafor").await;
    let second = refresh(&service, &text(&first, "refresh_token"))
        .await
        .expect(201);
    refresh(&service, &text(&first, "refresh_token"))
        .await
        .problem(401, "not-signed-in");
    refresh(&service, &text(&second, "refresh_token"))
        .await
        .problem(401, "not-signed-in");
    let actions = service.entries(service.site.facility).await;
    assert!(
        actions
            .iter()
            .any(|(_, body)| body.starts_with(r#"{"action":"revoke_session""#))
    );
}

#[actix_web::test]
async fn another_session_of_the_same_person_outlives_a_revoked_one() {
    let (service, first) = service_with("m.okafor").await;
    let other = service.sign_in("m.okafor").await.expect(201);
    refresh(&service, &text(&first, "refresh_token"))
        .await
        .expect(201);
    refresh(&service, &text(&first, "refresh_token"))
        .await
        .problem(401, "not-signed-in");
    refresh(&service, &text(&other, "refresh_token"))
        .await
        .expect(201);
}

#[actix_web::test]
async fn signing_out_ends_the_refresh_tokens() {
    let (service, session) = service_with("m.okafor").await;
    holder(&service, &session)
        .delete("/v1/sessions/current")
        .await
        .expect(204);
    refresh(&service, &text(&session, "refresh_token"))
        .await
        .problem(401, "not-signed-in");
}

#[actix_web::test]
async fn a_made_up_refresh_token_is_refused() {
    let (service, session) = service_with("m.okafor").await;
    let token = text(&session, "refresh_token");
    let (facility, _) = token.split_once('.').expect("the token names its facility");
    let elsewhere = URL_SAFE_NO_PAD.encode(Uuid::new_v4().as_bytes());
    for made_up in [
        format!("{facility}.AAAA"),
        token.replace(facility, &elsewhere),
        "x".to_owned(),
    ] {
        refresh(&service, &made_up)
            .await
            .problem(401, "not-signed-in");
    }
}

#[actix_web::test]
async fn guessing_at_one_account_is_slowed_down() {
    let (service, _) = service_with("m.okafor").await;
    let attempt = json!({"login": "m.okafor", "password": "is it this one, perhaps?"});
    let mut refused = None;
    for _ in 0..12 {
        let reply = service.anybody().post("/v1/sessions", &attempt).await;
        if reply.status == 429 {
            refused = Some(reply);
            break;
        }
        reply.problem(401, "wrong-credentials");
    }
    let refused = refused.expect("a guesser is told to wait");
    refused.problem(429, "too-many");
    // RFC 9110, 10.2.3: a delay in whole seconds.
    let wait: u32 = refused
        .header("retry-after")
        .and_then(|wait| wait.parse().ok())
        .expect("seconds");
    assert!((1..=60).contains(&wait), "{wait}");
    let right = service.sign_in("m.okafor").await;
    right.problem(429, "too-many");
    service
        .add_person(service.site.facility, "r.lindqvist", &[Role::Materials])
        .await;
    service.sign_in("r.lindqvist").await.expect(201);
}

#[actix_web::test]
async fn a_caller_who_asks_too_much_is_told_to_wait() {
    let setup = crate::harness::service::Setup {
        requests_per_minute: 5,
        ..Default::default()
    };
    let service = Service::with(setup).await;
    let caller = service.role(Role::Circulator).await;
    // Five a minute, so one comes back every twelve seconds (draft-ietf-httpapi-ratelimit-headers-10).
    for left in ["r=4;t=12", "r=3;t=24", "r=2;t=36", "r=1;t=48", "r=0;t=60"] {
        let reply = caller.get("/v1/sessions/current").await;
        let limit = reply.header("ratelimit").map(str::to_owned);
        assert_eq!(limit, Some(format!("\"caller\";{left}")));
        assert_eq!(
            reply.header("ratelimit-policy"),
            Some("\"caller\";q=5;w=60")
        );
        reply.expect(200);
    }
    let refused = caller.get("/v1/sessions/current").await;
    refused.problem(429, "too-many");
    assert_eq!(refused.header("ratelimit"), Some("\"caller\";r=0;t=60"));
    assert!(refused.header("retry-after").is_some());
    service
        .role(Role::Circulator)
        .await
        .get("/v1/sessions/current")
        .await
        .expect(200);
}

#[actix_web::test]
async fn an_account_that_ended_cannot_sign_in_or_renew() {
    let service = Service::start().await;
    service
        .add_person(service.site.facility, "i.vance", &[Role::Inspector])
        .await;
    let session = service.sign_in("i.vance").await.expect(201);
    service
        .site
        .clock
        .set("2030-01-01T00:00:01Z".parse().expect("an instant"));
    service
        .sign_in("i.vance")
        .await
        .problem(401, "wrong-credentials");
    refresh(&service, &text(&session, "refresh_token"))
        .await
        .problem(401, "not-signed-in");
}

#[actix_web::test]
async fn failed_and_successful_sign_ins_are_ledger_entries() {
    let (service, _) = service_with("m.okafor").await;
    let wrong = json!({"login": "m.okafor", "password": "three quiet otters 42"});
    service
        .anybody()
        .post("/v1/sessions", &wrong)
        .await
        .problem(401, "wrong-credentials");
    let entries = service.entries(service.site.facility).await;
    let count = |action: &str| {
        let start = format!(r#"{{"action":"{action}""#);
        entries
            .iter()
            .filter(|(_, body)| body.starts_with(&start))
            .count()
    };
    assert_eq!(count("sign_in"), 1);
    assert_eq!(count("refuse_sign_in"), 1);
    assert!(!entries.iter().any(|(_, body)| body.contains("otters")));
}

#[actix_web::test]
async fn passwords_are_kept_as_argon2id_with_the_parameters_owasp_names() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let body = json!({"login": "m.okafor", "name": "Mina Okafor", "roles": ["circulator"], "password": PASSWORD});
    administrator.post("/v1/people", &body).await.expect(201);
    let kept = service
        .site
        .database
        .column("SELECT password_hash FROM people WHERE login = 'm.okafor'")
        .await;
    // OWASP Password Storage Cheat Sheet, Argon2id: m=19456 (19 MiB), t=2, p=1.
    assert!(
        kept[0].starts_with("$argon2id$v=19$m=19456,t=2,p=1$"),
        "another form"
    );
    service.sign_in("m.okafor").await.expect(201);
}

#[actix_web::test]
async fn answers_with_tokens_are_not_stored_by_caches() {
    let (service, _) = service_with("m.okafor").await;
    let reply = service.sign_in("m.okafor").await;
    reply.expect(201);
    // RFC 6749, 5.1: Cache-Control: no-store on responses with tokens.
    assert_eq!(reply.header("cache-control"), Some("no-store"));
    let kept = service
        .site
        .database
        .column("SELECT count(*) FROM answers")
        .await;
    assert_eq!(kept, ["0"], "tokens must not be kept for replay");
}

#[actix_web::test]
async fn a_bearer_token_is_taken_from_the_authorization_header_alone() {
    let (service, session) = service_with("m.okafor").await;
    let token = text(&session, "access_token");
    let anybody = service.anybody();
    let in_address = anybody
        .get(&format!("/v1/sessions/current?access_token={token}"))
        .await;
    in_address.problem(401, "not-signed-in");
    let request = anybody.request(Method::GET, "/v1/sessions/current");
    // RFC 9110, 11.1: the scheme's name is case-insensitive.
    request
        .header("authorization", &format!("bearer {token}"))
        .send()
        .await
        .expect(200);
    let basic = anybody.request(Method::GET, "/v1/sessions/current");
    basic
        .header("authorization", &format!("Basic {token}"))
        .send()
        .await
        .problem(401, "not-signed-in");
}
#[actix_web::test]
async fn a_sign_in_never_goes_on_with_a_session_from_before_it() {
    // Session fixation (ASVS 5.0, 7.2.4): whatever a caller brings, signing in makes a new session.
    let (service, session) = service_with("m.okafor").await;
    let body = json!({"login": "m.okafor", "password": PASSWORD});
    let request = holder(&service, &session).request(Method::POST, "/v1/sessions");
    let again = request.json(&body).send().await.expect(201);
    let (_, before, _) = parts(&text(&session, "access_token"));
    let (_, after, _) = parts(&text(&again, "access_token"));
    assert_ne!(before["session"], after["session"]);
    assert_ne!(session["refresh_token"], again["refresh_token"]);
}
