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

/// The bytes of a picture's file, if there is one, or the sentence that says why it cannot be read.
pub type Picture = Result<Option<Vec<u8>>, String>;

/// Pictures that the person at the window hands over.
pub trait Pictures: Send + Sync {
    /// The one on the clipboard; none where something else or nothing lies there.
    fn copied(&self) -> Picture;

    /// The one that was dropped on the window last; it is given once.
    fn dropped(&self) -> Picture;
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
    take: fn(&dyn Pictures) -> Picture,
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
