//! Requests as a station sends them.

use std::thread::sleep;
use std::time::Duration;

use anyhow::{Context, bail};
use reqwest::Method;
use reqwest::blocking;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::commands::demo::staff::Account;
use crate::commands::say;
use crate::tls;

/// How often a request is sent again that the service turned away for a while.
const AGAIN: usize = 5;

/// A caller of one service.
pub struct Client {
    http: blocking::Client,
    base: String,
}

/// A signed-in person.
#[derive(Clone)]
pub struct Session {
    token: String,
    /// The person's id.
    pub person: String,
    /// What the person is here for.
    pub role: String,
    /// Asked for again when signing.
    pub password: String,
}

/// An answer, read whole.
pub struct Reply {
    /// The status.
    pub status: u16,
    /// The body; a problem when the request was refused.
    pub body: Value,
}

impl Client {
    /// A client of the service at a base address.
    ///
    /// # Errors
    /// The client cannot be set up.
    pub fn new(base: String, trust: tls::Trust<'_>) -> anyhow::Result<Self> {
        let http = tls::client(trust)?
            .timeout(Duration::from_secs(60))
            .build()?;
        Ok(Self { http, base })
    }

    /// Signs a person in.
    ///
    /// # Errors
    /// The service does not answer or refuses.
    pub fn sign_in(&self, account: &Account) -> anyhow::Result<Session> {
        let body = json!({"login": account.login, "password": account.password});
        let reply = self.send(None, &Method::POST, "/v1/sessions", Some(&body), None)?;
        let session = reply
            .expect(201)
            .with_context(|| format!("{} cannot sign in", account.login))?;
        Ok(Session {
            token: text(&session, "/access_token")?,
            person: text(&session, "/person/id")?,
            role: account.role.clone(),
            password: account.password.clone(),
        })
    }

    /// Reads.
    ///
    /// # Errors
    /// The service does not answer.
    pub fn get(&self, who: &Session, path: &str) -> anyhow::Result<Reply> {
        self.send(Some(who), &Method::GET, path, None, None)
    }

    /// Posts with a fresh key.
    ///
    /// # Errors
    /// The service does not answer.
    pub fn post(&self, who: &Session, path: &str, body: &Value) -> anyhow::Result<Reply> {
        self.send(Some(who), &Method::POST, path, Some(body), None)
    }

    /// Changes a version of a record, with a fresh key.
    ///
    /// # Errors
    /// The service does not answer.
    pub fn change(
        &self,
        who: &Session,
        (method, path): (Method, &str),
        version: i64,
        body: Option<&Value>,
    ) -> anyhow::Result<Reply> {
        self.send(Some(who), &method, path, body, Some(version))
    }

    /// Reads a file of whatever size.
    ///
    /// # Errors
    /// The service does not answer, refuses, or breaks off.
    pub fn download(
        &self,
        who: &Session,
        path: &str,
        into: &mut impl std::io::Write,
    ) -> anyhow::Result<u64> {
        let request = self.http.get(format!("{}{path}", self.base));
        let response = request.bearer_auth(&who.token).send()?;
        let mut response = response.error_for_status()?;
        Ok(response.copy_to(into)?)
    }

    fn send(
        &self,
        who: Option<&Session>,
        method: &Method,
        path: &str,
        body: Option<&Value>,
        version: Option<i64>,
    ) -> anyhow::Result<Reply> {
        // The same key each time, so that a request that was recorded is not recorded twice.
        let key = Uuid::new_v4().to_string();
        for _ in 0..AGAIN {
            let mut request = self
                .http
                .request(method.clone(), format!("{}{path}", self.base));
            if method != Method::GET {
                request = request.header("idempotency-key", &key);
            }
            if let Some(who) = who {
                request = request.bearer_auth(&who.token);
            }
            if let Some(version) = version {
                request = request.header("if-match", format!("\"{version}\""));
            }
            if let Some(body) = body {
                request = request.json(body);
            }
            let response = request.send().with_context(|| {
                format!(
                    "no answer from {}; is `lotwarden serve` running?",
                    self.base
                )
            })?;
            let status = response.status().as_u16();
            let wait = response.headers().get("retry-after");
            let wait = wait.and_then(|seconds| seconds.to_str().ok()?.parse().ok());
            if let (429 | 503, Some(seconds)) = (status, wait) {
                say(&format!("the service asks to wait {seconds} s"));
                sleep(Duration::from_secs(seconds));
                continue;
            }
            let bytes = response.bytes()?;
            let body = serde_json::from_slice(&bytes).unwrap_or(Value::Null);
            return Ok(Reply { status, body });
        }
        bail!("{} turned the same request away {AGAIN} times", self.base)
    }
}

impl Reply {
    /// The body of an answer that must have this status.
    ///
    /// # Errors
    /// It has another one; the error has the problem's words.
    pub fn expect(self, status: u16) -> anyhow::Result<Value> {
        if self.status == status {
            return Ok(self.body);
        }
        bail!(
            "answered {} instead of {status}: {}",
            self.status,
            self.body
        )
    }

    /// What the service said in one word: `done`, or `refused` with the problem's slug.
    pub fn word(&self) -> String {
        match self.status {
            200..=299 => "done".to_owned(),
            _ => format!("refused ({})", self.body["code"].as_str().unwrap_or("?")),
        }
    }

    /// The problem's own sentence, when it was refused.
    pub fn sentence(&self) -> Vec<String> {
        let detail = self.body["detail"].as_str();
        let detail = detail.or(self.body["title"].as_str());
        let refused = self.status >= 400;
        detail
            .filter(|_| refused)
            .map(str::to_owned)
            .into_iter()
            .collect()
    }
}

/// The text at a JSON Pointer (RFC 6901).
///
/// # Errors
/// There is none.
pub fn text(value: &Value, pointer: &str) -> anyhow::Result<String> {
    let found = value.pointer(pointer).and_then(Value::as_str);
    found
        .map(str::to_owned)
        .with_context(|| format!("an answer without {pointer}"))
}

/// The number at a JSON Pointer.
///
/// # Errors
/// There is none.
pub fn number(value: &Value, pointer: &str) -> anyhow::Result<i64> {
    let found = value.pointer(pointer).and_then(Value::as_i64);
    found.with_context(|| format!("an answer without {pointer}"))
}
