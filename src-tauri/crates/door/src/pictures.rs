//! Pictures that are pasted into a window or dropped on it, where its web view keeps them from the
//! page.

use crate::answer::Refused;
use crate::camera::waited;
use crate::router::Door;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use slotkeep_api::{Failure, FailureKind};
use std::sync::Arc;

/// Pictures that the person at the window hands over; each as the bytes of a file.
pub trait Pictures: Send + Sync {
    /// The one on the clipboard; none where something else or nothing lies there.
    ///
    /// Fails with a sentence when it cannot be read.
    fn copied(&self) -> Result<Option<Vec<u8>>, String>;

    /// The one that was dropped on the window last; it is given once.
    ///
    /// Fails with a sentence when its file cannot be read.
    fn dropped(&self) -> Result<Option<Vec<u8>>, String>;
}

/// The picture that was copied; no content where there is none, and where browsers hand pictures
/// to the page themselves.
pub(crate) async fn copied(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
) -> Result<Response, Refused> {
    handed(&door, &headers, |pictures| pictures.copied()).await
}

/// The picture that was dropped, likewise.
pub(crate) async fn dropped(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
) -> Result<Response, Refused> {
    handed(&door, &headers, |pictures| pictures.dropped()).await
}

async fn handed(
    door: &Door,
    headers: &HeaderMap,
    take: fn(&dyn Pictures) -> Result<Option<Vec<u8>>, String>,
) -> Result<Response, Refused> {
    door.gate.same_site(headers)?;
    door.gate.caller(&door.api, headers)?;
    let none = StatusCode::NO_CONTENT;
    let Some(pictures) = door.pictures.clone() else { return Ok(none.into_response()) };
    let picture = waited(move || take(pictures.as_ref())).await?;
    let picture = picture.map_err(|why| Failure::new(FailureKind::NotFound, why))?;
    let Some(picture) = picture else { return Ok(none.into_response()) };
    let head =
        [(header::CONTENT_TYPE, "application/octet-stream"), (header::CACHE_CONTROL, "no-store")];
    Ok((head, picture).into_response())
}
