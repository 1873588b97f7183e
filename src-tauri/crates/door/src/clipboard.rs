//! The clipboard of this computer, for a window whose pages are given no pictures from it.

use crate::answer::Refused;
use crate::camera::waited;
use crate::router::Door;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use slotkeep_api::{Failure, FailureKind};
use std::sync::Arc;

/// What lies on the clipboard of this computer.
pub trait Clipboard: Send + Sync {
    /// Gives the picture that was copied, as the bytes of a file; none where something else or
    /// nothing lies there.
    ///
    /// Fails with a sentence when the system does not let the clipboard be read.
    fn picture(&self) -> Result<Option<Vec<u8>>, String>;
}

/// The picture that was copied; no content where there is none, and where this door has no clipboard.
pub(crate) async fn picture(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
) -> Result<Response, Refused> {
    door.gate.same_site(&headers)?;
    door.gate.caller(&door.api, &headers)?;
    let none = StatusCode::NO_CONTENT;
    // Browsers hand pictures to the page, so doors for them have no clipboard.
    let Some(clipboard) = door.clipboard.clone() else { return Ok(none.into_response()) };
    let picture = waited(move || clipboard.picture()).await?;
    let picture = picture.map_err(|why| Failure::new(FailureKind::NotFound, why))?;
    let Some(picture) = picture else { return Ok(none.into_response()) };
    let head =
        [(header::CONTENT_TYPE, "application/octet-stream"), (header::CACHE_CONTROL, "no-store")];
    Ok((head, picture).into_response())
}
