//! `GET /v1/ledger/parcels/{position}`

use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::problem::{ApiError, Refusals};
use actix_web::http::header::CONTENT_DISPOSITION;
use actix_web::web::{Bytes, Data, Path};
use actix_web::{HttpResponse, get};
use futures_util::stream::unfold;
use lotwarden_domain::Causes;
use lotwarden_domain::access::act;
use lotwarden_store::facilities::Facility;
use lotwarden_store::ledger::{ShowParcel, ShowParcelRefusal, write_parcel};
use lotwarden_store::sealing::Key;
use lotwarden_store::{Rendered, Request};
use std::io;
use tokio::sync::mpsc;

/// Pieces of a parcel, a few megabytes each, that wait for a slow reader at most.
const WAITING: usize = 2;

impl From<ShowParcelRefusal> for ApiError {
    fn from(refusal: ShowParcelRefusal) -> Self {
        match refusal {
            ShowParcelRefusal::NoSuchParcel => ApiError::no_such("parcel"),
        }
    }
}

/// Fetches an exported parcel: one text file, checked with `lotwarden-verify parcel FILE`. It is the
/// same file each time, but for values erased since. Each fetch is a ledger entry.
#[utoipa::path(
    operation_id = "show_parcel", tag = "ledger",
    params(("position" = u64, Path, description = "The position of its export entry.")),
    responses(
        (status = 200, description = "The parcel.", body = String, content_type = "text/plain"),
        Refusals,
    ),
)]
#[get("/v1/ledger/parcels/{position}")]
pub(super) async fn show_parcel(
    allowed: Allowed<act::ShowParcel>,
    app: Data<App>,
    position: Path<u64>,
) -> Result<HttpResponse, ApiError> {
    let position = position.into_inner();
    let (facility, key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = ShowParcel { position };
    let nothing = |_: &_, _| Rendered {
        status: 204,
        body: Vec::new(),
        etag: None,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, Request::default(), operation, nothing);
    recorded.await?;
    let (sender, receiver) = mpsc::channel(WAITING);
    actix_web::rt::spawn(send(app, facility, key, position, sender));
    let pieces = unfold(receiver, |mut receiver| async {
        receiver.recv().await.map(|piece| (piece, receiver))
    });
    let name = format!("attachment; filename=\"lotwarden-parcel-{position}.txt\"");
    Ok(HttpResponse::Ok()
        .content_type("text/plain; charset=utf-8")
        .insert_header((CONTENT_DISPOSITION, name))
        .streaming(pieces))
}

/// Writes the parcel into the channel; a failure ends the answer short, which its reader notices.
async fn send(
    app: Data<App>,
    facility: Facility,
    key: Key,
    position: u64,
    sender: mpsc::Sender<io::Result<Bytes>>,
) {
    let deliver = async |piece: Vec<u8>| {
        let sent = sender.send(Ok(Bytes::from(piece))).await;
        sent.map_err(|_| io::Error::from(io::ErrorKind::BrokenPipe))
    };
    let written = write_parcel(app.database(), &facility, &key, position, deliver, |_| ());
    if let Err(error) = written.await {
        tracing::warn!(
            error = %Causes(&error),
            "a parcel was not delivered whole"
        );
        let _ = sender.send(Err(io::Error::other("not whole"))).await;
    }
}
