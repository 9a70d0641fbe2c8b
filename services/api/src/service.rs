//! The service itself: health, metrics, its description, the documented problems, and running it.

use crate::app::App;
use crate::http::{defaults, middleware};
use crate::problem::{ApiError, catalogue};
use actix_web::middleware::{Compress, from_fn};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, HttpServer, get};
use lotwarden_domain::Causes;
use serde::Serialize;
use std::net::TcpListener;
use std::time::Duration;
use utoipa::ToSchema;
use utoipa_actix_web::AppExt;
use utoipa_actix_web::service_config::ServiceConfig;
use utoipa_swagger_ui::SwaggerUi;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(livez)
        .service(readyz)
        .service(metrics)
        .service(openapi)
        .service(list_problems)
        .service(show_problem);
}

/// A check's result.
#[derive(Debug, Serialize, ToSchema)]
pub struct Health {
    /// `pass`.
    #[schema(example = "pass")]
    status: &'static str,
}

/// Says that the process runs.
#[utoipa::path(operation_id = "livez", tag = "service", security(()),
    responses((status = 200, description = "It runs.", body = Health)))]
#[get("/livez")]
async fn livez() -> HttpResponse {
    HttpResponse::Ok().json(Health { status: "pass" })
}

/// Says whether requests can be served: the database answers.
#[utoipa::path(operation_id = "readyz", tag = "service", security(()),
    responses((status = 200, description = "Ready.", body = Health), crate::problem::Refusals))]
#[get("/readyz")]
async fn readyz(app: Data<App>) -> Result<HttpResponse, ApiError> {
    app.database().ping().await?;
    Ok(HttpResponse::Ok().json(Health { status: "pass" }))
}

/// The process's counters, in the Prometheus text format.
#[utoipa::path(operation_id = "metrics", tag = "service", security(()),
    responses((status = 200, description = "Counters.", body = String, content_type = "text/plain")))]
#[get("/metrics")]
async fn metrics(app: Data<App>) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/plain; version=0.0.4")
        .body(app.metrics.render())
}

/// This description.
#[utoipa::path(operation_id = "openapi", tag = "service", security(()),
    responses((status = 200, description = "OpenAPI 3.1.", body = serde_json::Value)))]
#[get("/openapi.json")]
async fn openapi(description: Data<utoipa::openapi::OpenApi>) -> HttpResponse {
    HttpResponse::Ok().json(description.get_ref())
}

/// A kind of problem, documented.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProblemKind {
    /// The permanent slug.
    code: &'static str,
    /// The HTTP status.
    status: u16,
    /// What it is.
    title: &'static str,
    /// What a caller can do.
    advice: &'static str,
}

impl From<&'static catalogue::Catalogued> for ProblemKind {
    fn from(problem: &'static catalogue::Catalogued) -> Self {
        let catalogue::Catalogued {
            status,
            code,
            title,
            advice,
        } = *problem;
        Self {
            code,
            status,
            title,
            advice,
        }
    }
}

/// Every kind of problem.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProblemKinds {
    /// The kinds, by status.
    items: Vec<ProblemKind>,
}

/// Lists every kind of problem with what to do about it.
#[utoipa::path(operation_id = "list_problems", tag = "service", security(()),
    responses((status = 200, description = "The kinds.", body = ProblemKinds)))]
#[get("/problems")]
async fn list_problems() -> HttpResponse {
    let items = catalogue::PROBLEMS
        .iter()
        .map(|problem| ProblemKind::from(*problem))
        .collect();
    HttpResponse::Ok().json(ProblemKinds { items })
}

/// Documents one kind of problem: where a problem's `type` points.
#[utoipa::path(operation_id = "show_problem", tag = "service", security(()),
    params(("code" = String, Path, description = "The slug.", example = "stale")),
    responses((status = 200, description = "The kind.", body = ProblemKind), crate::problem::Refusals))]
#[get("/problems/{code}")]
async fn show_problem(code: Path<String>) -> Result<HttpResponse, ApiError> {
    let mut found = catalogue::PROBLEMS
        .iter()
        .filter(|problem| problem.code == *code);
    let problem = found.next().ok_or_else(|| ApiError::no_such("problem"))?;
    Ok(HttpResponse::Ok().json(ProblemKind::from(*problem)))
}

/// Serves until the process is told to stop; then requests under way have `drain` to finish. With
/// `tls` nothing but TLS is understood.
///
/// # Errors
/// When the listener cannot be used or the server fails.
pub async fn serve(
    app: Data<App>,
    listener: TcpListener,
    workers: usize,
    drain: Duration,
    tls: Option<rustls::ServerConfig>,
) -> std::io::Result<()> {
    let description = Data::new(crate::openapi::describe());
    let addresses = Data::new(defaults::Addresses::of(&description));
    let kept_up = app.clone();
    let server = HttpServer::new(move || {
        let docs =
            SwaggerUi::new("/docs/{_:.*}").config(utoipa_swagger_ui::Config::from("/openapi.json"));
        actix_web::App::new()
            .app_data(app.clone())
            .app_data(description.clone())
            .app_data(addresses.clone())
            .app_data(defaults::paths())
            .app_data(defaults::queries())
            .into_utoipa_app()
            .configure(crate::routes::routes)
            .into_app()
            .service(actix_web::web::redirect("/docs", "/docs/"))
            .service(docs)
            .configure(crate::pages::routes)
            .default_service(actix_web::web::to(defaults::nothing_here))
            .wrap(from_fn(middleware::around))
            .wrap(Compress::default())
    })
    .workers(workers)
    .shutdown_timeout(drain.as_secs());
    let server = match tls {
        Some(tls) => server.listen_rustls_0_23(listener, tls)?,
        None => server.listen(listener)?,
    };
    let served = server.run();
    let upkeep = async {
        loop {
            kept_up.throttle.forget_quiet();
            let ended = kept_up.ended.keep_up(&kept_up.recorder).await;
            let taken = kept_up.emergencies.keep_up(&kept_up.recorder).await;
            if let Err(error) = ended.and(taken) {
                tracing::warn!(error = %Causes(&error), "sessions and access of other processes are not known");
            }
            // Without it every sample of a histogram stays in memory until somebody scrapes.
            kept_up.metrics.run_upkeep();
            tokio::time::sleep(Duration::from_secs(10)).await;
        }
    };
    tokio::select! {
        ended = served => ended,
        () = upkeep => Ok(()),
    }
}
