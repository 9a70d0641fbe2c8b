//! Sending what waits.

use futures_util::StreamExt;
use lotwarden_domain::access::{Grant, act};
use lotwarden_domain::outbox::{WebhookAddress, may_be_reached};
use lotwarden_store::outbox::{Due, RecordAttempt, RemindTasks, due, sign};
use lotwarden_store::{RecordError, Recorder, Rendered, Request, StoreError, facilities};
use reqwest::redirect::Policy;
use std::net::SocketAddr;
use std::time::Duration;
use uuid::Uuid;

/// Messages that one round sends, and how many of them at once.
const MOST: i64 = 100;
const AT_ONCE: usize = 8;
/// How long a receiver has.
const PATIENCE: Duration = Duration::from_secs(15);
/// The operator whom the ledger names for what the service does by itself.
const SERVICE: &str = "service";

/// Tells of tasks and sends what waits, once for each facility.
///
/// # Errors
/// The store does not answer; what was sent until then is on record.
pub async fn round(recorder: &Recorder, local_allowed: bool) -> Result<(), StoreError> {
    for facility in facilities::list(recorder.database()).await? {
        remind(recorder, facility.id).await;
        let key = facility.key(recorder.master())?;
        let now = recorder.clock().now();
        let mut reading = recorder.database().reading(facility.id).await?;
        let waiting = due(&mut reading, &key, now, MOST).await?;
        drop(reading);
        futures_util::stream::iter(waiting)
            .for_each_concurrent(AT_ONCE, |due| async move {
                let came = post(&due, now.as_second(), local_allowed).await;
                record(recorder, facility.id, &due, came).await;
            })
            .await;
    }
    Ok(())
}

async fn remind(recorder: &Recorder, facility: Uuid) {
    let grant: Grant<act::RemindTasks> = Grant::to_operator(SERVICE, facility);
    let told = recorder.record(&grant, Request::default(), RemindTasks, |_, _| nothing());
    match told.await {
        Ok(_) | Err(RecordError::Refused(_)) => {}
        Err(error) => tracing::error!(%error, "tasks were not told of"),
    }
}

fn nothing() -> Rendered {
    Rendered {
        status: 200,
        body: Vec::new(),
        etag: None,
    }
}

async fn record(recorder: &Recorder, facility: Uuid, due: &Due, came: Result<String, String>) {
    let operation = RecordAttempt {
        id: due.message.id,
        version: due.message.version,
        taken: came.is_ok(),
        answer: came.unwrap_or_else(|problem| problem),
    };
    let grant: Grant<act::ResendMessage> = Grant::to_operator(SERVICE, facility);
    let recorded = recorder.record(&grant, Request::default(), operation, |_, _| nothing());
    if let Err(error) = recorded.await {
        // It waits on and is sent once more; its id is the same.
        tracing::error!(%error, "an attempt was not recorded");
    }
}

/// Posts a message; the status when the receiver took it, else what went wrong.
async fn post(due: &Due, seconds: i64, local_allowed: bool) -> Result<String, String> {
    let address = WebhookAddress::read(&due.address).map_err(|fault| fault.to_string())?;
    if address.is_local() && !local_allowed {
        return Err("the settings allow no address on this machine".to_owned());
    }
    let (host, port) = address.host();
    let found = tokio::net::lookup_host((host.as_str(), port)).await;
    let found: Vec<SocketAddr> = found.map_err(|_| "the name leads nowhere")?.collect();
    let local = address.is_local();
    if found.is_empty() || !found.iter().all(|one| may_be_reached(one.ip(), local)) {
        return Err("the name leads to an address that no message is sent to".to_owned());
    }
    let id = due.message.id.to_string();
    let signature = sign(&due.secret, &id, seconds, &due.message.body);
    let signature = signature.ok_or("it could not be signed")?;
    // Connected is what was looked at, without a second look-up, and no answer leads elsewhere.
    let client = reqwest::Client::builder()
        .redirect(Policy::none())
        .no_proxy()
        .timeout(PATIENCE)
        .resolve_to_addrs(&host, &found)
        .build()
        .map_err(|_| "no client could be made")?;
    let sent = client
        .post(address.as_str())
        .header("content-type", "application/json")
        .header("webhook-id", &id)
        .header("webhook-timestamp", seconds.to_string())
        .header("webhook-signature", signature)
        .body(due.message.body.clone())
        .send();
    let status = match sent.await {
        Ok(answer) => answer.status(),
        Err(error) if error.is_timeout() => return Err("no answer in time".to_owned()),
        Err(error) if error.is_connect() => return Err("no connection".to_owned()),
        Err(_) => return Err("the exchange broke off".to_owned()),
    };
    if status.is_success() {
        Ok(status.as_u16().to_string())
    } else {
        Err(status.as_u16().to_string())
    }
}
