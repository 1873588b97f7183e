//! Files that a screen gives out: where they go, and telling the person so.

use std::path::{Path, PathBuf};

use tauri::Webview;
use tauri::webview::DownloadEvent;

/// Keeps a file in the person's folder for downloads and says on the screen where it is.
pub fn keep(webview: Webview, event: DownloadEvent<'_>) -> bool {
    match event {
        DownloadEvent::Requested { destination, .. } => {
            if let (None, Some(home)) = (dirs::download_dir(), dirs::home_dir()) {
                // Where no such folder is named, the file would land wherever we were started.
                *destination = free(&home.join("Downloads"), destination);
            }
            match destination.parent().map(std::fs::create_dir_all) {
                Some(Err(fault)) => {
                    say(&webview, &format!("{} cannot be written: {fault}", destination.display()));
                    false
                }
                _ => true,
            }
        }
        DownloadEvent::Finished { path, success, .. } => {
            let text = match (success, path) {
                (true, Some(path)) => format!("Saved as {}", path.display()),
                (true, None) => "Saved in your folder for downloads".to_owned(),
                (false, _) => "The file could not be saved. Is there room on the disk?".to_owned(),
            };
            say(&webview, &text);
            true
        }
        _ => true,
    }
}

/// A path in `folder` for the file's name that overwrites nothing.
fn free(folder: &Path, file: &Path) -> PathBuf {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let ending = file.extension().unwrap_or_default().to_string_lossy();
    let ending = if ending.is_empty() { String::new() } else { format!(".{ending}") };
    let first = folder.join(format!("{stem}{ending}"));
    let numbered = (1..).map(|n| folder.join(format!("{stem} ({n}){ending}")));
    std::iter::once(first).chain(numbered).find(|path| !path.exists()).unwrap_or_default()
}

/// Shows a line at the foot of the page for a while; screen readers say it.
fn say(webview: &Webview, text: &str) {
    let Ok(text) = serde_json::to_string(text) else { return };
    // The page is our own; where it is gone by now, there is nobody to tell.
    let _ = webview.eval(SAY.replace("TEXT", &text));
}

const SAY: &str = r#"{
    const line = document.createElement("p");
    line.setAttribute("role", "status");
    line.dataset.testid = "saved-file";
    line.style.cssText = "position:fixed;left:16px;right:16px;bottom:16px;z-index:99;margin:0;"
        + "padding:14px 18px;border-radius:6px;background:#16323d;color:#fff;overflow-wrap:anywhere";
    document.body.append(line);
    line.textContent = TEXT;
    setTimeout(() => line.remove(), 10000);
}"#;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_of_the_same_name_is_never_overwritten() {
        let folder = std::env::temp_dir().join(format!("slotkeep-free-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let asked = Path::new("/elsewhere/labels.a4.pdf");
        assert_eq!(free(&folder, asked), folder.join("labels.a4.pdf"));
        std::fs::write(folder.join("labels.a4.pdf"), "first").unwrap();
        std::fs::write(folder.join("labels.a4 (1).pdf"), "second").unwrap();
        assert_eq!(free(&folder, asked), folder.join("labels.a4 (2).pdf"));
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
