//! Bodies that are malformed, too long or of another kind.

use crate::harness::{Client, Service};
use lotwarden_domain::access::Role;
use reqwest::Method;
use serde_json::json;
use std::io::{Read, Write};
use std::net::TcpStream;

async fn administrator() -> (Service, Client) {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    (service, administrator)
}

#[actix_web::test]
async fn malformed_bodies_are_refused_with_the_place_and_without_their_values() {
    let (service, administrator) = administrator().await;
    let secret = "Marguerite Delacroix-Owusu";
    let malformed = [
        String::new(),
        "{".to_owned(),
        "[]".to_owned(),
        "null".to_owned(),
        "\"text\"".to_owned(),
        format!("{{\"name\": \"{secret}\""),
        format!("{{\"name\": [\"{secret}\"]}}"),
        format!("{{\"name\": \"Room 2\", \"{}\": 1}}", "unknown_member"),
        format!("{{\"name\": \"Room 2\", \"{secret}\": 1}}"),
        format!("{{\"name\": \"Room 2\", \"{secret}, expected {secret} at line 1\": 1}}"),
        format!("{{\"name\": \"Room 2\", \"at line 1, {secret} at line 1\": 1}}"),
        "{\"name\": \"a\", \"name\": \"b\"}".to_owned(),
        "{\"name\": 12}".to_owned(),
        format!("{}1{}", "[".repeat(50_000), "]".repeat(50_000)),
        format!("{{\"name\": \"{}\"}}", "x".repeat(101)),
        "{\"name\": \"tab\\tand bell\\u0007\"}".to_owned(),
        "{\"name\": \"\\ud800\"}".to_owned(),
    ];
    for body in malformed {
        let request = administrator
            .request(Method::POST, "/v1/stations")
            .fresh_key();
        let reply = request.body("application/json", body.clone()).send().await;
        assert_eq!(reply.status, 400, "{body}: {}", reply.text());
        assert_eq!(
            reply.header("content-type"),
            Some("application/problem+json")
        );
        assert!(
            !reply.text().contains("Delacroix"),
            "the answer repeats a value: {}",
            reply.text()
        );
    }
    let invalid_utf8 = b"{\"name\": \"\xff\xfe\"}".to_vec();
    let request = administrator
        .request(Method::POST, "/v1/stations")
        .fresh_key();
    request
        .body("application/json", invalid_utf8)
        .send()
        .await
        .problem(400, "not-json");
    assert_eq!(
        service
            .site
            .database
            .column("SELECT count(*) FROM stations")
            .await,
        ["0"]
    );
    assert!(
        !crate::harness::log::lines().contains("Delacroix-Owusu"),
        "a log line has a value of a body"
    );
}

#[actix_web::test]
async fn a_name_that_is_no_fields_is_refused_with_the_place_and_the_fields() {
    let (service, administrator) = administrator().await;
    let secret = "Marguerite Delacroix-Owusu";
    let body = format!("{{\"name\": \"Room 2\",\n\"{secret}\": 1}}");
    let request = administrator
        .request(Method::POST, "/v1/stations")
        .fresh_key();
    let reply = request.body("application/json", body).send().await;
    let problem = reply.problem(400, "not-json");
    let detail = problem["detail"].as_str().expect("a detail");
    let told = "Unknown field; expected `name` or `separator` (line 2, column";
    assert!(detail.starts_with(told), "{detail}");
    // An operation without fields.
    let nobody = uuid::Uuid::now_v7();
    let path = format!("/v1/cases/{nobody}/start");
    let facility = service.site.facility;
    let circulator = service.caller(facility, &[Role::Circulator]).await;
    let request = circulator.request(Method::POST, &path).fresh_key();
    let request = request.header("If-Match", "\"1\"");
    let body = format!("{{\"{secret}\": 1}}");
    let reply = request.body("application/json", body).send().await;
    let problem = reply.problem(400, "not-json");
    assert!(!problem.to_string().contains("Delacroix"), "{problem}");
}

#[actix_web::test]
async fn a_body_of_10_megabytes_is_refused() {
    let (_service, administrator) = administrator().await;
    let request = administrator
        .request(Method::POST, "/v1/stations")
        .fresh_key();
    let long = format!("{{\"name\": \"{}\"}}", "x".repeat(10 * 1024 * 1024));
    // The service may close while the body is still being sent; then there is no answer to read.
    if let Ok(reply) = request.body("application/json", long).try_send().await {
        reply.problem(413, "too-large");
    }
    administrator.get("/v1/stations").await.expect(200);
}

#[actix_web::test]
async fn a_body_that_says_it_has_10_megabytes_is_refused_before_it_is_sent() {
    let (service, administrator) = administrator().await;
    let address = service.base.trim_start_matches("http://").to_owned();
    let token = administrator.token.clone().expect("a token");
    let answer = actix_web::rt::task::spawn_blocking(move || {
        let mut stream = TcpStream::connect(address).expect("the service listens");
        let head = format!(
            "POST /v1/stations HTTP/1.1\r\nhost: x\r\nauthorization: Bearer {token}\r\nidempotency-key: k\r\n\
             content-type: application/json\r\ncontent-length: 10485760\r\nconnection: close\r\n\r\n{{"
        );
        stream.write_all(head.as_bytes()).expect("the head is sent");
        stream
            .set_read_timeout(Some(std::time::Duration::from_secs(10)))
            .expect("a timeout");
        let mut answer = vec![0; 4096];
        let read = stream.read(&mut answer).expect("an answer");
        String::from_utf8_lossy(&answer[..read]).into_owned()
    });
    let answer = answer.await.expect("a thread");
    assert!(answer.starts_with("HTTP/1.1 413"), "{answer}");
    assert!(answer.contains("\"too-large\""), "{answer}");
}

#[actix_web::test]
async fn a_body_of_another_type_is_refused() {
    let (_service, administrator) = administrator().await;
    for kind in [
        "text/plain",
        "application/xml",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
    ] {
        let request = administrator
            .request(Method::POST, "/v1/stations")
            .fresh_key();
        request
            .body(kind, "{\"name\": \"Room 2\"}")
            .send()
            .await
            .problem(415, "not-accepted");
    }
    let request = administrator
        .request(Method::POST, "/v1/stations")
        .fresh_key();
    let utf8 = request.body("application/json; charset=utf-8", "{\"name\": \"Room 2\"}");
    utf8.send().await.expect(201);
}

#[actix_web::test]
async fn credentials_are_asked_for_before_a_body_is_looked_at() {
    let service = Service::start().await;
    let malformed = || {
        service
            .anybody()
            .request(Method::POST, "/v1/stations")
            .body("text/plain", "{")
    };
    malformed().send().await.problem(401, "not-signed-in");
    let circulator = service.role(Role::Circulator).await;
    let forbidden = circulator
        .request(Method::POST, "/v1/stations")
        .body("text/plain", "{");
    forbidden.send().await.problem(403, "forbidden");
}

#[actix_web::test]
async fn a_sign_in_with_a_malformed_body_says_nothing_of_the_password() {
    let service = Service::start().await;
    let body = r#"{"login": "m.okafor", "password": ["three quiet otters 41"]}"#;
    let request = service
        .anybody()
        .request(Method::POST, "/v1/sessions")
        .body("application/json", body);
    let reply = request.send().await;
    reply.problem(400, "not-json");
    assert!(!reply.text().contains("otters"));
}

#[actix_web::test]
async fn text_in_other_scripts_is_kept_as_sent() {
    let (_service, administrator) = administrator().await;
    let name = "Saal 2 – Präparation / 手術室 🏥";
    let added = administrator
        .post("/v1/stations", &json!({"name": name}))
        .await
        .expect(201);
    assert_eq!(added["name"], name);
}
