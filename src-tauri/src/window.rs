//! The window around the screens.

use std::process::ExitCode;

use tauri::webview::{PermissionKind, PermissionResponse};
use tauri::{App, Url, WebviewUrl, WebviewWindowBuilder};

use crate::downloads;
use crate::opened::Opened;

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
    let app = tauri::Builder::default()
        .setup(move |app| open(app, &url))
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

fn open(app: &mut App, url: &str) -> Result<(), Box<dyn std::error::Error>> {
    let first: Url = url.parse()?;
    let own = first.clone();
    WebviewWindowBuilder::new(app, "main", WebviewUrl::External(first))
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
        // Else the window would keep pictures that are dropped on it from the page.
        .disable_drag_drop_handler()
        .on_download(downloads::keep)
        .build()?;
    Ok(())
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
