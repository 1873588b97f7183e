use crate::answer::{Refused, reply};
use crate::camera::{self, Eye};
use crate::gate::Gate;
use crate::live::{News, progress};
use crate::pictures::{self, Pictures};
use crate::screens;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::{HeaderMap, HeaderValue, Request, StatusCode, Uri, header};
use axum::middleware::map_request;
use axum::response::sse::{KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use chrono::Utc;
use serde::Deserialize;
use slotkeep_api::{Api, Caller, Failure, FailureKind, Payload, Takes};
use std::convert::Infallible;
use std::sync::Arc;
use tokio::sync::broadcast;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::BroadcastStream;
use tower_http::compression::CompressionLayer;

/// The largest body that is taken in: a photo of a phone, or a site's files.
const MAX_BODY_BYTES: usize = 256 << 20;

pub(crate) struct Door {
    pub api: Arc<Api>,
    pub gate: Gate,
    pub news: broadcast::Sender<News>,
    /// The authority's certificate, for phones that are to trust it.
    pub authority: Option<String>,
    /// The camera of this computer, where its window reads it through this door.
    pub eye: Option<Arc<Eye>>,
    /// Pictures handed to the window, likewise.
    pub pictures: Option<Arc<dyn Pictures>>,
}

/// The three shapes (call, bytes, changes) and the screens.
pub(crate) fn router(door: Arc<Door>) -> Router {
    Router::new()
        .route("/api/changes", get(changes))
        .route("/api/{name}", post(call))
        .route("/camera", get(camera::look))
        .route("/camera/frame", get(camera::frame))
        .route("/camera/close", post(camera::close))
        .route("/pictures/copied", get(pictures::copied))
        .route("/pictures/dropped", get(pictures::dropped))
        .route("/calendar/{file}", get(calendar))
        .route("/open", get(open))
        .route("/enter", post(enter))
        .route("/authority.crt", get(authority))
        .fallback(screen)
        .layer(DefaultBodyLimit::max(MAX_BODY_BYTES))
        .layer(CompressionLayer::new())
        .layer(map_request(with_host))
        .with_state(door)
}

/// HTTP/2, which browsers speak over TLS, names the host in the request's address alone.
async fn with_host<B>(mut request: Request<B>) -> Request<B> {
    let named = request.uri().authority().map(|host| HeaderValue::from_str(host.as_str()));
    if let Some(Ok(host)) = named {
        request.headers_mut().entry(header::HOST).or_insert(host);
    }
    request
}

async fn call(
    State(door): State<Arc<Door>>,
    Path(name): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Result<Response, Refused> {
    door.gate.same_site(&headers)?;
    let answered = tokio::task::spawn_blocking(move || {
        let caller = door.gate.caller(&door.api, &headers)?;
        answer(&door, &name, &caller, body)
    });
    answered.await.map_err(|error| {
        Refused(Failure::new(FailureKind::Broken, format!("the command failed: {error}")))
    })?
}

fn answer(door: &Door, name: &str, caller: &Caller, body: Bytes) -> Result<Response, Refused> {
    let takes = door.api.command(name).map_or(Takes::Json, |command| command.takes);
    let payload = match takes {
        Takes::Bytes => Payload::Bytes(body.to_vec()),
        Takes::Json if body.is_empty() => Payload::Json(serde_json::Value::Null),
        Takes::Json => Payload::Json(
            serde_json::from_slice(&body)
                .map_err(|error| Failure::bad_input(format!("this is no JSON: {error}")))?,
        ),
    };
    let mut hear = progress(&door.news);
    Ok(reply(door.api.call(name, payload, caller, Utc::now(), &mut hear)?))
}

async fn changes(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
) -> Result<impl IntoResponse, Refused> {
    door.gate.same_site(&headers)?;
    door.gate.caller(&door.api, &headers)?;
    let news = BroadcastStream::new(door.news.subscribe())
        // A listener that fell behind asks again at the next event anyway.
        .filter_map(|news| news.ok().map(|news| Ok::<_, Infallible>(news.event())));
    Ok(Sse::new(news).keep_alive(KeepAlive::default()))
}

#[derive(Deserialize)]
struct Key {
    key: String,
}

/// Opens the screens for whoever has the secret of this start.
async fn open(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
    Query(Key { key }): Query<Key>,
) -> Result<Response, Refused> {
    door.gate.same_site(&headers)?;
    door.gate.caller_showing(&door.api, &key)?;
    let headers =
        [(header::SET_COOKIE, cookie(&door.gate, &key)), (header::LOCATION, "/".to_owned())];
    Ok((StatusCode::SEE_OTHER, headers).into_response())
}

#[derive(Deserialize)]
struct Pass {
    pass: String,
}

/// Lets a device in that shows its pass.
async fn enter(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
    Json(Pass { pass }): Json<Pass>,
) -> Result<Response, Refused> {
    door.gate.same_site(&headers)?;
    let pass = pass.trim().to_uppercase();
    if let Err(failure) = door.gate.caller_showing(&door.api, &pass) {
        // Guessing is slow as well as hopeless.
        tokio::time::sleep(std::time::Duration::from_millis(500)).await;
        return Err(failure.into());
    }
    let headers = [(header::SET_COOKIE, cookie(&door.gate, &pass))];
    Ok((StatusCode::NO_CONTENT, headers).into_response())
}

fn cookie(gate: &Gate, value: &str) -> String {
    let name = gate.cookie();
    match gate {
        Gate::Loopback { .. } => format!("{name}={value}; Path=/; HttpOnly; SameSite=Strict"),
        Gate::Lan => {
            format!("{name}={value}; Path=/; HttpOnly; Secure; SameSite=Lax; Max-Age=31536000")
        }
    }
}

/// The calendar of visits, for programs that ask for it again and again and can show no cookie:
/// the pass stands in the address and opens nothing else.
async fn calendar(
    State(door): State<Arc<Door>>,
    Path(file): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Refused> {
    door.gate.same_site(&headers)?;
    let pass = file.strip_suffix(".ics").unwrap_or(&file).to_uppercase();
    let asked = tokio::task::spawn_blocking(move || door.api.calendar(&pass, Utc::now()));
    let found = asked.await.map_err(|error| {
        Refused(Failure::new(FailureKind::Broken, format!("the calendar failed: {error}")))
    })??;
    let Some(file) = found else {
        // Guessing is slow as well as hopeless.
        tokio::time::sleep(std::time::Duration::from_millis(500)).await;
        return Err(Refused(Failure::not_found(
            "no calendar has this address: it was withdrawn or mistyped; make a new one",
        )));
    };
    let headers =
        [(header::CONTENT_TYPE, file.content_type), (header::CACHE_CONTROL, "private, no-cache")];
    Ok((headers, file.bytes).into_response())
}

async fn authority(State(door): State<Arc<Door>>) -> Response {
    match &door.authority {
        Some(pem) => {
            ([(header::CONTENT_TYPE, "application/x-x509-ca-cert")], pem.clone()).into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

async fn screen(uri: Uri) -> Response {
    screens::file(uri.path())
}
