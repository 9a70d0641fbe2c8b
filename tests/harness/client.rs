//! Requests as a caller sends them.

use reqwest::{Method, header::HeaderMap};
use serde_json::Value;
use uuid::Uuid;

/// A caller with or without an access token.
#[derive(Clone)]
pub struct Client {
    pub http: reqwest::Client,
    pub base: String,
    pub token: Option<String>,
    /// The person behind the token.
    pub person: Uuid,
}

/// An answer, read whole.
#[derive(Clone, Debug)]
pub struct Reply {
    pub status: u16,
    pub headers: HeaderMap,
    pub body: Vec<u8>,
}

impl Client {
    pub fn request(&self, method: Method, path: &str) -> Request {
        let request = self.http.request(method, format!("{}{path}", self.base));
        let request = match &self.token {
            Some(token) => request.bearer_auth(token),
            None => request,
        };
        Request(request)
    }

    pub async fn get(&self, path: &str) -> Reply {
        self.request(Method::GET, path).send().await
    }

    pub async fn delete(&self, path: &str) -> Reply {
        self.request(Method::DELETE, path).send().await
    }

    /// Posts with a fresh key.
    pub async fn post(&self, path: &str, body: &Value) -> Reply {
        self.request(Method::POST, path)
            .fresh_key()
            .json(body)
            .send()
            .await
    }

    /// Posts a change to a version, with a fresh key.
    pub async fn change(&self, path: &str, version: i64, body: &Value) -> Reply {
        let request = self.request(Method::POST, path).fresh_key();
        request.if_match(version).json(body).send().await
    }

    /// Puts a new state in the place of a version, with a fresh key.
    pub async fn put(&self, path: &str, version: i64, body: &Value) -> Reply {
        let request = self.request(Method::PUT, path).fresh_key();
        request.if_match(version).json(body).send().await
    }

    /// The same connection pool with another token.
    pub fn with_token(&self, token: &str) -> Self {
        Self {
            token: Some(token.to_owned()),
            ..self.clone()
        }
    }
}

/// A request on its way.
pub struct Request(reqwest::RequestBuilder);

impl Request {
    pub fn key(self, key: &str) -> Self {
        self.header("idempotency-key", key)
    }

    pub fn fresh_key(self) -> Self {
        self.key(&Uuid::new_v4().to_string())
    }

    pub fn if_match(self, version: i64) -> Self {
        self.header("if-match", &format!("\"{version}\""))
    }

    pub fn header(self, name: &str, value: &str) -> Self {
        Self(self.0.header(name, value))
    }

    pub fn json(self, body: &Value) -> Self {
        Self(self.0.json(body))
    }

    pub fn body(self, kind: &str, body: impl Into<reqwest::Body>) -> Self {
        Self(self.0.header("content-type", kind).body(body))
    }

    pub async fn send(self) -> Reply {
        self.try_send().await.expect("the service answers")
    }

    /// Sends to a service that may be gone.
    pub async fn try_send(self) -> Result<Reply, reqwest::Error> {
        let response = self.0.send().await?;
        let (status, headers) = (response.status().as_u16(), response.headers().clone());
        Ok(Reply {
            status,
            headers,
            body: response.bytes().await?.to_vec(),
        })
    }
}

impl Reply {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|_| panic!("not JSON: {}", self.text()))
    }

    /// The body of an answer that must have this status.
    #[track_caller]
    pub fn expect(&self, status: u16) -> Value {
        let reasons = || {
            if self.status >= 500 {
                super::log::complaints()
            } else {
                String::new()
            }
        };
        assert_eq!(self.status, status, "{}{}", self.text(), reasons());
        if self.body.is_empty() {
            Value::Null
        } else {
            self.json()
        }
    }

    /// The body of a refusal that must be this problem.
    #[track_caller]
    pub fn problem(&self, status: u16, code: &str) -> Value {
        let problem = self.expect(status);
        assert_eq!(
            self.header("content-type"),
            Some("application/problem+json"),
            "{problem}"
        );
        assert_eq!(problem["code"], code, "{problem}");
        problem
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .get(name)
            .map(|value| value.to_str().expect("an ASCII header"))
    }
}

/// The text of a member that must be there.
#[track_caller]
pub fn text(value: &Value, member: &str) -> String {
    let found = value[member].as_str();
    found
        .unwrap_or_else(|| panic!("no text {member:?} in {value}"))
        .to_owned()
}

/// The version of a record.
#[track_caller]
pub fn version(value: &Value) -> i64 {
    value["version"]
        .as_i64()
        .unwrap_or_else(|| panic!("no version in {value}"))
}
