//! TLS in the service, over real connections.

use crate::harness::Instance;
use crate::harness::people::PASSWORD;
use reqwest::{Certificate, Client, tls::Version};
use serde_json::{Value, json};
use std::fs;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::os::unix::fs::PermissionsExt;
use std::process::Command;
use std::time::{Duration, Instant};

/// The service's own socket.
fn socket(instance: &Instance) -> SocketAddr {
    let address = instance.base.strip_prefix("https://");
    address.expect("https").parse().expect("an address")
}

/// A client that trusts the instance's authority alone, and finds a name at its socket.
fn station(instance: &Instance, name: &str, version: Version) -> (Client, String) {
    let authority = fs::read(instance.data_dir.join("tls/authority.pem")).expect("an authority");
    let authority = Certificate::from_pem(&authority).expect("a certificate");
    let at = socket(instance);
    let client = Client::builder()
        .no_proxy()
        .tls_certs_only([authority])
        .resolve(name, at)
        .tls_version_min(version)
        .tls_version_max(version)
        .pool_max_idle_per_host(0)
        .build();
    let base = format!("https://{name}:{}", at.port());
    (client.expect("a client"), base)
}

/// What the service answers to bytes that are sent at once.
fn answer(to: SocketAddr, bytes: &[u8]) -> Vec<u8> {
    let mut stream = TcpStream::connect(to).expect("a connection");
    let patience = Some(Duration::from_secs(10));
    stream.set_read_timeout(patience).expect("a socket");
    stream.write_all(bytes).expect("it can be sent");
    let mut answer = [0; 256];
    // Closed without a word is an answer too.
    let read = stream.read(&mut answer).unwrap_or_default();
    answer[..read].to_vec()
}

/// A ClientHello of TLS 1.x that names no newer version in an extension (RFC 5246, 7.4.1.2).
fn hello(minor: u8) -> Vec<u8> {
    // Signature algorithms, groups and point formats as in RFC 8446, 4.2, and RFC 8422, 5.1.
    let extensions = [
        0, 13, 0, 8, 0, 6, 4, 3, 8, 4, 4, 1, 0, 10, 0, 4, 0, 2, 0, 0x1d, 0, 11, 0, 2, 1, 0,
    ];
    let mut body = vec![3, minor];
    body.extend([7; 32]);
    // No session; ECDHE with ECDSA or RSA in GCM and CBC; no compression.
    body.extend([
        0, 0, 8, 0xc0, 0x2b, 0xc0, 0x2f, 0xc0, 0x09, 0xc0, 0x13, 1, 0,
    ]);
    body.extend([0, extensions.len() as u8]);
    body.extend(extensions);
    let length = body.len() as u8;
    let mut record = vec![0x16, 3, 1, 0, length + 4, 1, 0, 0, length];
    record.extend(body);
    record
}

#[actix_web::test]
async fn a_service_with_a_certificate_speaks_tls_and_nothing_else() {
    let mut instance = Instance::new();
    instance.run(&["tls", "make", "--name", "station.test"], "");
    for secret in ["tls/authority.key", "tls/server.pem"] {
        let file = fs::metadata(instance.data_dir.join(secret)).expect("a file");
        assert_eq!(file.permissions().mode() & 0o777, 0o600, "{secret}");
    }
    // `status` asks over TLS whether it is ready.
    instance.serve();

    for version in [Version::TLS_1_2, Version::TLS_1_3] {
        let (station, base) = station(&instance, "station.test", version);
        let page = station.get(format!("{base}/station")).send().await;
        let page = page.expect("a handshake");
        assert_eq!(page.status(), 200);
        // RFC 6797, 6.1: one year.
        let hsts = page.headers().get("strict-transport-security");
        assert_eq!(hsts.expect("HSTS"), "max-age=31536000");
        let body = json!({"login": "m.okafor", "password": PASSWORD, "browser": true});
        let session = station.post(format!("{base}/v1/sessions")).json(&body);
        let session = session.send().await.expect("an answer");
        assert_eq!(session.status(), 201);
        let cookies: Vec<_> = session.headers().get_all("set-cookie").iter().collect();
        assert_eq!(cookies.len(), 2);
        for cookie in cookies {
            let cookie = cookie.to_str().expect("text");
            for attribute in ["; Secure", "; HttpOnly", "; SameSite=Strict"] {
                assert!(cookie.contains(attribute), "no{attribute} in a cookie");
            }
        }
    }

    // A name that the certificate does not have, and an authority that is not trusted.
    let (other, base) = station(&instance, "elsewhere.test", Version::TLS_1_3);
    other.get(base).send().await.expect_err("another name");
    let stranger = Client::builder().no_proxy().tls_certs_only([]).build();
    let stranger = stranger.expect("a client").get(&instance.base).send();
    stranger.await.expect_err("an unknown authority");

    // A client that offers TLS 1.1 (RFC 4346) and nothing newer gets an alert; the same one that offers
    // TLS 1.2 gets a handshake, so the version is what was refused.
    let taken = answer(socket(&instance), &hello(3));
    assert_eq!(taken.first(), Some(&0x16));
    let refused = answer(socket(&instance), &hello(2));
    // Fatal; protocol_version or handshake_failure (RFC 5246, 7.2).
    assert_eq!((refused.first(), refused.get(5)), (Some(&0x15), Some(&2)));
    assert!(matches!(refused.get(6), Some(40 | 70)), "{refused:?}");
    // Plain HTTP gets no HTTP back, not even a redirect.
    let plain = answer(
        socket(&instance),
        b"GET /station HTTP/1.1\r\nHost: a\r\n\r\n",
    );
    assert!(!plain.starts_with(b"HTTP"), "plain HTTP was answered");
}

#[actix_web::test]
async fn a_renewed_certificate_is_shown_without_a_restart() {
    let mut instance = Instance::new();
    instance.run(&["tls", "make", "--name", "station.test"], "");
    instance.serve();
    let authority = instance.data_dir.join("tls/authority.pem");
    let before = fs::read(&authority).expect("an authority");
    instance.run(&["tls", "make", "--name", "renewed.test"], "");
    assert_eq!(fs::read(&authority).expect("an authority"), before);
    let (station, base) = station(&instance, "renewed.test", Version::TLS_1_3);
    let begun = Instant::now();
    while station.get(format!("{base}/livez")).send().await.is_err() {
        let waited = begun.elapsed();
        assert!(waited < Duration::from_secs(30), "it is not shown");
        tokio::time::sleep(Duration::from_millis(500)).await;
    }
}

/// What `openssl`, which shares nothing with the service, is shown at its port.
fn shown(instance: &Instance, field: &str) -> String {
    let at = socket(instance);
    let script = format!(
        "openssl s_client -connect {at} -servername station.test -verify_return_error -CAfile tls/authority.pem </dev/null 2>/dev/null | openssl x509 -noout {field}"
    );
    sh(instance, &script)
}

fn sh(instance: &Instance, script: &str) -> String {
    let mut command = Command::new("sh");
    command
        .args(["-ec", script])
        .current_dir(&instance.data_dir);
    let output = command.output().expect("a shell");
    String::from_utf8(output.stdout).expect("text")
}

#[actix_web::test]
async fn a_certificate_near_its_end_is_made_anew_and_shown_without_a_restart() {
    let mut instance = Instance::new();
    instance.run(&["tls", "make", "--name", "station.test"], "");
    instance.serve();
    let first = shown(&instance, "-serial");
    assert!(first.starts_with("serial="), "{first}");
    // The same authority gives one for 20 days; the service makes it anew 30 days before its end.
    sh(
        &instance,
        "cd tls
         openssl req -new -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -keyout short.key -subj /CN=station.test -out short.csr
         echo subjectAltName=DNS:station.test,DNS:other.test > short.ext
         openssl x509 -req -in short.csr -CA authority.pem -CAkey authority.key -CAcreateserial -days 20 -extfile short.ext -out short.pem
         cat short.pem short.key > short.next
         mv short.next server.pem",
    );
    let begun = Instant::now();
    loop {
        let names = shown(&instance, "-ext subjectAltName");
        // Good for a hundred days: so it is not the one for 20, and it has that one's names.
        let lasting = shown(&instance, "-checkend 8640000");
        if names.contains("other.test") && lasting.contains("will not expire") {
            break;
        }
        let waited = begun.elapsed();
        assert!(
            waited < Duration::from_secs(30),
            "it is not made anew: {names}"
        );
        tokio::time::sleep(Duration::from_millis(500)).await;
    }
    let status = instance.try_run(&["status", "--json"], "");
    let status: Value = serde_json::from_slice(&status.stdout).expect("JSON");
    assert!(status["certificate_ends_at"].is_string() && status["authority_ends_at"].is_string());
}

#[actix_web::test]
async fn the_last_year_of_the_authority_is_told() {
    let instance = Instance::new();
    let told = |arguments: &[&str]| {
        let output = instance.try_run(arguments, "");
        String::from_utf8_lossy(&output.stderr).contains("the authority that stations trust ends")
    };
    let make = ["tls", "make", "--name", "station.test"];
    assert!(!told(&make) && !told(&["status"]));
    sh(
        &instance,
        "cd tls
         openssl x509 -in authority.pem -signkey authority.key -days 300 -out shorter.pem
         mv shorter.pem authority.pem",
    );
    assert!(told(&make) && told(&["status"]));
}

#[actix_web::test]
async fn the_command_line_asks_the_service_and_no_proxy() {
    let mut instance = Instance::new();
    instance.serve();
    // Nobody listens there (RFC 863: the port of discard).
    let proxy = [
        ("HTTP_PROXY", "http://127.0.0.1:9"),
        ("http_proxy", "http://127.0.0.1:9"),
    ];
    let status = instance.try_run_with(&proxy, &["status"]);
    assert!(status.status.success(), "it was asked through a proxy");
}

#[actix_web::test]
async fn plain_http_is_not_offered_to_other_machines_unless_a_proxy_ends_tls() {
    let instance = Instance::new();
    let refused = instance.try_run(&["serve", "--listen", "0.0.0.0:0"], "");
    assert!(!refused.status.success());
    let said = String::from_utf8_lossy(&refused.stderr);
    assert!(said.contains("lotwarden tls make"), "{said}");
    let half = instance.try_run(&["status", "--tls-key", "/tmp/none"], "");
    assert!(String::from_utf8_lossy(&half.stderr).contains("go together"));
}
