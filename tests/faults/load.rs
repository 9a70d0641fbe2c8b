//! Scans under way while something fails, and the account of them afterwards.

use crate::harness::client::text;
use crate::harness::labels::{Label, fresh_gtin};
use crate::harness::suite::add_location;
use crate::harness::{Client, Instance, Reply};
use reqwest::Method;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// Callers at once.
const CALLERS: usize = 8;

/// A scan on its way: its key, case and body.
#[derive(Clone, Debug)]
pub struct Sent {
    key: String,
    case: String,
    body: Value,
}

/// Everything that was sent to one instance and what came of it.
#[derive(Clone)]
pub struct Load {
    caller: Client,
    cases: Vec<String>,
    gtin: String,
    count: Arc<AtomicU32>,
    stop: Arc<AtomicBool>,
    account: Arc<Mutex<Account>>,
}

#[derive(Default)]
struct Account {
    /// Answers by key.
    acknowledged: BTreeMap<String, Value>,
    /// What got no answer, or none that says it was kept.
    open: Vec<Sent>,
}

impl Load {
    pub async fn on(instance: &Instance) -> Self {
        let caller = instance.sign_in().await;
        let room = add_location(&caller, "Procedure room 2", "room").await;
        let gtin = fresh_gtin();
        let mut cases = Vec::new();
        for number in 0..3 {
            let body = json!({
                "patient": {"record_number": format!("MRN-{number}"), "name": "Example, Robin"},
                "procedure": "Vein closure, left leg", "location_id": room,
                "practitioner_id": caller.person, "scheduled_for": "2026-03-11T08:30:00Z",
            });
            cases.push(text(
                &caller.post("/v1/cases", &body).await.expect(201),
                "id",
            ));
        }
        Self {
            caller,
            cases,
            gtin,
            count: Arc::default(),
            stop: Arc::default(),
            account: Arc::default(),
        }
    }

    /// The same account at a service that was started again.
    pub fn at(&mut self, instance: &Instance) {
        self.caller.base = instance.base.clone();
    }

    fn next(&self) -> Sent {
        let number = self.count.fetch_add(1, Ordering::Relaxed);
        // Every fifth is of a lot that was never met, which takes another way through the recorder.
        let label = Label::of(&self.gtin)
            .expiry("401231")
            .lot(&format!("L{}", number / 5));
        let case = self.cases[number as usize % self.cases.len()].clone();
        Sent {
            key: Uuid::new_v4().to_string(),
            case,
            body: json!({"text": label.text(), "another_piece": true}),
        }
    }

    async fn send(&self, sent: &Sent) -> Result<Reply, reqwest::Error> {
        let path = format!("/v1/cases/{}/scans", sent.case);
        self.caller
            .request(Method::POST, &path)
            .key(&sent.key)
            .json(&sent.body)
            .try_send()
            .await
    }

    /// Starts callers that scan until they are stopped or refused.
    pub fn start(&self) -> Vec<actix_web::rt::task::JoinHandle<()>> {
        self.stop.store(false, Ordering::SeqCst);
        (0..CALLERS)
            .map(|_| actix_web::rt::spawn(self.clone().scan_on()))
            .collect()
    }

    async fn scan_on(self) {
        while !self.stop.load(Ordering::SeqCst) {
            let sent = self.next();
            if !self.settle(sent).await {
                break;
            }
        }
    }

    /// Sends once; an answer that is no acknowledgement must be 503 with a problem.
    async fn settle(&self, sent: Sent) -> bool {
        let reply = self.send(&sent).await;
        let mut account = self.account.lock().expect("no caller panicked");
        match reply {
            Ok(reply) if reply.status == 201 => {
                account.acknowledged.insert(sent.key, reply.json());
                true
            }
            Ok(reply) => {
                assert_eq!(reply.status, 503, "{}", reply.text());
                assert!(
                    matches!(reply.json()["code"].as_str(), Some("unavailable" | "busy")),
                    "{}",
                    reply.text()
                );
                assert!(reply.header("retry-after").is_some());
                account.open.push(sent);
                false
            }
            Err(_) => {
                account.open.push(sent);
                false
            }
        }
    }

    pub async fn stop(&self, callers: Vec<actix_web::rt::task::JoinHandle<()>>) {
        self.stop.store(true, Ordering::SeqCst);
        for caller in callers {
            caller.await.expect("a caller ended in order");
        }
    }

    /// Sends every open request again with its key until each is acknowledged.
    pub async fn retry(&self) {
        let until = Instant::now() + Duration::from_secs(60);
        loop {
            let open = std::mem::take(&mut self.account.lock().expect("no caller panicked").open);
            if open.is_empty() {
                return;
            }
            assert!(
                Instant::now() < until,
                "{} requests are not acknowledged after a minute",
                open.len()
            );
            for sent in open {
                if !self.settle(sent).await {
                    actix_web::rt::time::sleep(Duration::from_millis(200)).await;
                }
            }
        }
    }

    pub fn acknowledged(&self) -> usize {
        self.account
            .lock()
            .expect("no caller panicked")
            .acknowledged
            .len()
    }

    /// Everything acknowledged must be there once, nothing else, and the ledger must verify.
    pub async fn check(&self, instance: &Instance) {
        let account = self
            .account
            .lock()
            .expect("no caller panicked")
            .acknowledged
            .clone();
        let mut there = Vec::new();
        for case in &self.cases {
            there.extend(self.all(&format!("/v1/cases/{case}/scans?limit=200")).await);
        }
        let found: BTreeSet<String> = there.iter().map(|scan| text(scan, "id")).collect();
        let expected: BTreeSet<String> = account.values().map(|scan| text(scan, "id")).collect();
        let lost: Vec<_> = expected.difference(&found).collect();
        assert!(
            lost.is_empty(),
            "{} acknowledged scans are lost",
            lost.len()
        );
        assert_eq!(
            there.len(),
            account.len(),
            "a request is on record twice, or one that was given up"
        );
        let entries = self.all("/v1/ledger/entries?limit=200").await;
        for scan in account.values() {
            let position = scan["entry"]["position"].as_u64().expect("a position") as usize;
            assert_eq!(
                entries[position]["hash"], scan["entry"]["hash"],
                "the entry of an acknowledged scan is another"
            );
        }
        let verified = instance.run(&["ledger", "verify", "--json"], "");
        let verified: Value = serde_json::from_str(&verified).expect("JSON");
        assert_eq!(verified["fits"], true, "{verified}");
        assert_eq!(verified["size"], entries.len());
    }

    async fn all(&self, path: &str) -> Vec<Value> {
        let mut all = Vec::new();
        let mut page = self.caller.get(path).await.expect(200);
        loop {
            all.extend(page["items"].as_array().expect("items").iter().cloned());
            let Some(next) = page["next"].as_str() else {
                return all;
            };
            page = self
                .caller
                .get(&format!("{path}&cursor={next}"))
                .await
                .expect(200);
        }
    }
}
