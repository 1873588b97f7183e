//! The window around the screens.

use std::process::ExitCode;
use std::sync::Arc;

use tauri::webview::{PermissionKind, PermissionResponse};
use tauri::{
    App, DragDropEvent, Url, WebviewUrl, WebviewWindow, WebviewWindowBuilder, WindowEvent,
};

use crate::downloads;
use crate::opened::Opened;
use crate::pictures::Handed;

/// Shows the screens of the open store, or the sentence that says why there is none.
///
/// Returns when the window is closed, with the store closed too.
pub fn show(opened: Result<Opened, String>) -> ExitCode {
    let (url, code) = match &opened {
        Ok(opened) => (opened.url().to_owned(), ExitCode::SUCCESS),
        Err(sentence) => {
            eprintln!("{sentence}");
            (failure_page(sentence), ExitCode::FAILURE)
        }
    };
    let handed = opened.as_ref().ok().map(|opened| opened.handed.clone());
    let app = tauri::Builder::default()
        .setup(move |app| open(app, &url, handed))
        .build(tauri::generate_context!());
    match app {
        Ok(app) => {
            app.run_return(|_, _| {});
        }
        Err(fault) => {
            eprintln!("The window cannot be opened: {fault}. Start with --serve to use a browser.");
            return ExitCode::FAILURE;
        }
    }
    if let Ok(opened) = opened {
        opened.close();
    }
    code
}

fn open(
    app: &mut App,
    url: &str,
    handed: Option<Arc<Handed>>,
) -> Result<(), Box<dyn std::error::Error>> {
    let first: Url = url.parse()?;
    let own = first.clone();
    let window = WebviewWindowBuilder::new(app, "main", WebviewUrl::External(first))
        .title("Slotkeep")
        .inner_size(1280.0, 860.0)
        .min_inner_size(360.0, 480.0)
        // Nothing but our own screens is ever shown in this window.
        .on_navigation(move |to| to.as_str() == own.as_str() || to.origin() == own.origin())
        .on_permission_request(|_, kind| match kind {
            // Labels are read with the camera.
            PermissionKind::Camera => PermissionResponse::Allow,
            _ => PermissionResponse::Default,
        })
        .on_download(downloads::keep);
    // WebKitGTK gives a page no files that are dropped on it; other web views do, unless the
    // window takes them.
    #[cfg(not(target_os = "linux"))]
    let window = window.disable_drag_drop_handler();
    let window = window.build()?;
    if let Some(handed) = handed {
        let page = window.clone();
        window.on_window_event(move |event| {
            if let WindowEvent::DragDrop(event) = event {
                dragged(&page, &handed, event);
            }
        });
    }
    Ok(())
}

/// Tells the page of a file that is held over the window or dropped on it.
fn dragged(page: &WebviewWindow, handed: &Handed, event: &DragDropEvent) {
    let name = match event {
        DragDropEvent::Enter { .. } => "picture-over",
        DragDropEvent::Leave => "picture-away",
        DragDropEvent::Drop { paths, .. } => {
            let Some(file) = paths.first() else { return };
            handed.keep(file.clone());
            "picture-dropped"
        }
        _ => return,
    };
    // A page that is being left hears nothing, which loses nothing.
    let _ = page.eval(format!("document.dispatchEvent(new Event({name:?}))"));
}

/// A page that holds the one sentence, as an address that needs no server.
fn failure_page(sentence: &str) -> String {
    let page = PAGE.replace("{sentence}", &escaped(sentence));
    let mut url = String::from("data:text/html;charset=utf-8,");
    for byte in page.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' => url.push(char::from(byte)),
            _ => url.push_str(&format!("%{byte:02X}")),
        }
    }
    url
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

const PAGE: &str = "<!doctype html><html lang=en><meta charset=utf-8><title>Slotkeep</title>
<style>
:root { color-scheme: light dark; font: 18px/1.5 system-ui, sans-serif }
main { max-width: 34em; margin: 12vh auto; padding: 0 1.5em; overflow-wrap: anywhere }
</style>
<main><h1>Slotkeep cannot start</h1>
<p id=sentence>{sentence}</p>
<p>Close this window, do what the sentence says, and start Slotkeep again.</p></main>";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_reaches_the_page_as_text() {
        let url: Url = failure_page("</p><script>x & \u{e4}").parse().expect("an address");
        let page = url.path().to_owned();
        assert!(!page.contains("script>"), "{page}");
        assert!(page.contains("%26lt%3Bscript%26gt%3Bx%20%26amp%3B%20%C3%A4"), "{page}");
    }
}
