//! A camera of this computer, for a window whose pages cannot have one of their own.

use crate::answer::Refused;
use crate::router::Door;
use axum::Json;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::json;
use slotkeep_api::{Failure, FailureKind};
use std::sync::{Arc, Mutex, PoisonError};

/// The cameras that are connected to this computer.
pub trait Cameras: Send + Sync {
    /// Opens the first one that can be used, or says in a sentence why there is none.
    fn open(&self) -> Result<Box<dyn Camera>, String>;
}

/// An open camera; dropping it closes it.
pub trait Camera: Send {
    /// Waits for the next frame and gives it as a JPEG or PNG file.
    ///
    /// Fails with a sentence when none comes, e.g. because the camera was pulled.
    fn frame(&mut self) -> Result<Vec<u8>, String>;
}

/// The cameras and the one that is open; one window looks through it at a time.
pub(crate) struct Eye {
    cameras: Arc<dyn Cameras>,
    open: Mutex<Option<Box<dyn Camera>>>,
}

impl Eye {
    pub(crate) fn new(cameras: Arc<dyn Cameras>) -> Self {
        Self { cameras, open: Mutex::default() }
    }

    fn there(&self) -> Result<(), String> {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        if open.is_none() {
            *open = Some(self.cameras.open()?);
        }
        Ok(())
    }

    fn frame(&self) -> Result<Vec<u8>, String> {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let camera = open.as_mut().ok_or("the camera is not open: start it again")?;
        let frame = camera.frame();
        if frame.is_err() {
            *open = None;
        }
        frame
    }

    fn close(&self) {
        *self.open.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }
}

/// Opens the camera and says whether there is one.
pub(crate) async fn look(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
) -> Result<Response, Refused> {
    let Some(eye) = eye(&door, &headers)? else { return Ok(none()) };
    let there = waited(move || eye.there()).await?;
    let message = there.clone().err().unwrap_or_default();
    Ok(Json(json!({ "there": there.is_ok(), "message": message })).into_response())
}

/// The next frame.
pub(crate) async fn frame(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
) -> Result<Response, Refused> {
    let Some(eye) = eye(&door, &headers)? else { return Ok(none()) };
    let frame = waited(move || eye.frame()).await?;
    let frame = frame.map_err(|why| Failure::new(FailureKind::NotFound, why))?;
    let kind = if frame.starts_with(b"\x89PNG") { "image/png" } else { "image/jpeg" };
    let head = [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "no-store")];
    Ok((head, frame).into_response())
}

/// Lets go of the camera.
pub(crate) async fn close(
    State(door): State<Arc<Door>>,
    headers: HeaderMap,
) -> Result<Response, Refused> {
    let Some(eye) = eye(&door, &headers)? else { return Ok(none()) };
    waited(move || eye.close()).await?;
    Ok(StatusCode::NO_CONTENT.into_response())
}

/// The cameras of this door, for whoever is let in; none where pages ask their browser.
fn eye(door: &Door, headers: &HeaderMap) -> Result<Option<Arc<Eye>>, Failure> {
    door.gate.same_site(headers)?;
    door.gate.caller(&door.api, headers)?;
    Ok(door.eye.clone())
}

fn none() -> Response {
    StatusCode::NOT_FOUND.into_response()
}

/// Waits for a camera or a picture without holding up other requests.
pub(crate) async fn waited<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Failure> {
    let done = tokio::task::spawn_blocking(work).await;
    done.map_err(|error| {
        Failure::new(FailureKind::Broken, format!("this computer did not answer: {error}"))
    })
}
