//! Sending what waits.

use futures_util::StreamExt;
use lotwarden_domain::access::{Grant, act};
use lotwarden_domain::outbox::{Networks, WebhookAddress};
use lotwarden_store::facilities::{self, Facility};
use lotwarden_store::outbox::{Due, RecordAttempt, RemindTasks, due, sign};
use lotwarden_store::{RecordError, Recorder, Rendered, Request, StoreError};
use reqwest::redirect::Policy;
use std::net::SocketAddr;
use std::time::Duration;
use tokio::time::Instant;
use uuid::Uuid;

/// Messages that one round sends to one webhook at most.
const MOST_EACH: i64 = 50;
/// Webhooks that are sent to at once.
const AT_ONCE: usize = 64;
/// How long a receiver has, from the look-up of its name to its answer.
const PATIENCE: Duration = Duration::from_secs(15);
/// The operator whom the ledger names for what the service does by itself.
const SERVICE: &str = "service";

/// Tells of tasks and sends what waits, once for each webhook of each facility.
///
/// Webhooks are sent to side by side. One that does not answer takes one message's patience, and
/// what else waits for it is left for the next round.
///
/// # Errors
/// The store does not answer; what was sent until then is on record.
pub async fn round(recorder: &Recorder, opened: &Networks) -> Result<(), StoreError> {
    let mut queues = Vec::new();
    for facility in facilities::list(recorder.database()).await? {
        remind(recorder, facility.id).await;
        match waiting(recorder, &facility).await {
            Ok(found) => queues.extend(found.into_iter().map(|queue| (facility.id, queue))),
            // The other facilities' messages go out all the same.
            Err(error) => tracing::error!(%error, "what waits for webhooks was not read"),
        }
    }
    futures_util::stream::iter(queues)
        .for_each_concurrent(AT_ONCE, |(facility, queue)| {
            send(recorder, facility, queue, opened)
        })
        .await;
    Ok(())
}

/// What waits in a facility, each webhook's messages for themselves.
async fn waiting(recorder: &Recorder, facility: &Facility) -> Result<Vec<Vec<Due>>, StoreError> {
    let key = facility.key(recorder.master())?;
    let now = recorder.clock().now();
    let mut reading = recorder.database().reading(facility.id).await?;
    let mut queues: Vec<Vec<Due>> = Vec::new();
    for due in due(&mut reading, &key, now, MOST_EACH).await? {
        let last = queues.last_mut();
        let own = last.filter(|queue| {
            queue
                .iter()
                .all(|one| one.message.webhook == due.message.webhook)
        });
        match own {
            Some(queue) => queue.push(due),
            None => queues.push(vec![due]),
        }
    }
    Ok(queues)
}

/// Sends to one webhook, one message after the other, for as long as one may take.
async fn send(recorder: &Recorder, facility: Uuid, queue: Vec<Due>, opened: &Networks) {
    let begun = Instant::now();
    for due in queue {
        if begun.elapsed() >= PATIENCE {
            break;
        }
        let seconds = recorder.clock().now().as_second();
        let came = tokio::time::timeout(PATIENCE, post(&due, seconds, opened)).await;
        let came = came.unwrap_or_else(|_| Err("no answer in time".to_owned()));
        record(recorder, facility, &due, came).await;
    }
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
    match recorded.await {
        // Refused: another process sent it too, or its webhook ended meanwhile.
        Ok(_) | Err(RecordError::Refused(_)) => {}
        // It waits on and is sent once more; its id is the same.
        Err(error) => tracing::error!(%error, "an attempt was not recorded"),
    }
}

/// Posts a message; the status when the receiver took it, else what went wrong.
async fn post(due: &Due, seconds: i64, opened: &Networks) -> Result<String, String> {
    let address = WebhookAddress::read(&due.address).map_err(|fault| fault.to_string())?;
    let (host, port) = address.host();
    let found = tokio::net::lookup_host((host.as_str(), port)).await;
    let found: Vec<SocketAddr> = found.map_err(|_| "the name leads nowhere")?.collect();
    if found.is_empty() || !found.iter().all(|one| opened.may_reach(one.ip())) {
        return Err("the name leads to an address that no message is sent to".to_owned());
    }
    let id = due.message.id.to_string();
    let signature = sign(&due.secret, &id, seconds, &due.message.body);
    let signature = signature.ok_or("it could not be signed")?;
    // Connected is what was looked at, without a second look-up, and no answer leads elsewhere.
    let client = reqwest::Client::builder()
        .redirect(Policy::none())
        .no_proxy()
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
        Err(error) if error.is_connect() => return Err("no connection".to_owned()),
        Err(_) => return Err("the exchange broke off".to_owned()),
    };
    if status.is_success() {
        Ok(status.as_u16().to_string())
    } else {
        Err(status.as_u16().to_string())
    }
}
