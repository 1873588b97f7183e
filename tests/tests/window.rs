//! The real desktop window, driven as a person would: it needs a display, real or virtual.

use std::future::Future;
use std::net::{TcpListener, TcpStream};
use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use fantoccini::elements::Element;
use fantoccini::wd::Capabilities;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::json;

/// How long the window may take to show what was asked for, on a machine that is busy.
const PATIENCE: Duration = Duration::from_secs(30);

#[tokio::test]
async fn a_file_that_is_no_store_is_named_in_the_window_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("notes.txt");
    std::fs::write(&store, "no store at all\n").unwrap();
    in_window("no-store", &store, |client| async move {
        let sentence = text_of(&client, "#sentence").await;
        assert!(sentence.contains("notes.txt") && sentence.contains("not a"), "{sentence}");
    })
    .await;
    assert_eq!(std::fs::read(&store).unwrap(), b"no store at all\n");
}

#[tokio::test]
async fn an_empty_store_takes_in_a_site_and_leads_from_a_cabinet_to_a_unit() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("site.slotkeep");
    in_window("unit", &store, |client| async move {
        take_in_sample(&client).await;
        press(&client, "[data-testid=nav-cabinets]").await;
        press(&client, "[data-testid=cabinet-row]").await;
        seen(&client, "[data-testid=cabinet-picture]").await;
        let slots = client.find_all(Locator::Css("[data-testid=cabinet-picture] [data-slot]"));
        assert!(slots.await.unwrap().len() > 20, "the cabinet's slots are drawn");
        settle(&client).await;
        picture(&client, "cabinet").await;
        press(&client, "[data-testid=slot-row]").await;
        let card = text_of(&client, "[data-testid=unit-card]").await;
        assert!(card.contains("MP-"), "the card names the model: {card}");
        settle(&client).await;
    })
    .await;
    let kept = slotkeep_store::Store::open(&store).expect("the window left a whole store");
    let verdict = kept.verify(&mut |_, _| {}).expect("the store can be checked");
    assert!(verdict.is_clean(), "the store that the window left differs from its journal");
}

#[tokio::test]
async fn a_sheet_is_saved_where_the_person_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("site.slotkeep");
    in_window("saved", &store, |client| async move {
        take_in_sample(&client).await;
        press(&client, "[data-testid=nav-batteries]").await;
        press(&client, "[data-testid=view-plan]").await;
        // The plan pushes the button down when it comes; a press before that goes astray.
        seen(&client, "[data-testid=plan-message]").await;
        settle(&client).await;
        press(&client, "[data-testid=work-list]").await;
        let said = text_of(&client, "[data-testid=saved-file]").await;
        let path = said.strip_prefix("Saved as ").unwrap_or_else(|| panic!("{said}"));
        let pdf = std::fs::read(path).unwrap_or_else(|e| panic!("{path}: {e}"));
        std::fs::remove_file(path).expect("the test leaves no file behind");
        assert!(pdf.starts_with(b"%PDF-"), "the work list is a PDF");
    })
    .await;
}

/// The web view gives its pages no pictures from the clipboard; the program does.
#[tokio::test]
async fn a_picture_that_was_copied_is_pasted_and_read() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("site.slotkeep");
    in_window("pasted", &store, |client| async move {
        take_in_sample(&client).await;
        seen(&client, "[data-testid=nav-batteries]").await;
        // A label of no register: it is read, and said to be unknown.
        let label = slotkeep_tests::made_photos::label(3);
        let symbol = slotkeep_optics::symbol(label.as_str(), slotkeep_optics::Level::H).unwrap();
        let side = (symbol.size + 8) * 6;
        let pixel = |at: usize| {
            let (x, y) = (at % side / 6, at / side / 6);
            let inside = (4..symbol.size + 4).contains(&x) && (4..symbol.size + 4).contains(&y);
            let value = if inside && symbol.is_dark(x - 4, y - 4) { 0 } else { 255 };
            [value, value, value, 255]
        };
        let bytes: Vec<u8> = (0..side * side).flat_map(pixel).collect();
        let mut clipboard = arboard::Clipboard::new().expect("the display has a clipboard");
        let picture = arboard::ImageData { width: side, height: side, bytes: bytes.into() };
        clipboard.set_image(picture).unwrap();
        let page = found(&client, "body").await;
        page.send_keys("\u{E009}v").await.expect("Ctrl+V can be pressed");
        let codes = text_of(&client, "[data-testid=photo-found]").await;
        assert!(codes.contains(&label.human()), "{codes}");
    })
    .await;
}

#[tokio::test]
async fn a_store_is_open_in_one_window_only() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("site.slotkeep");
    in_window("first-of-two", &store, |client| async move {
        seen(&client, "[data-testid=empty-store]").await;
        let second = Command::new(program("slotkeep-app"))
            .args(["--serve", "--store"])
            .arg(folder.path().join("site.slotkeep"))
            .output()
            .expect("the program starts");
        let said = String::from_utf8_lossy(&second.stderr);
        assert!(!second.status.success() && said.contains("already open"), "{said}");
    })
    .await;
}

/// Fills an empty store through its first screen.
async fn take_in_sample(client: &Client) {
    seen(client, "[data-testid=empty-store]").await;
    let files = found(client, "[data-testid=choose-files]").await;
    files.send_keys(&sample_files().join("\n")).await.expect("files can be chosen");
    press(client, "[data-testid=take-in]").await;
}

/// The files of the sample site, as a person would choose them.
fn sample_files() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../sample-site");
    let folder = folder.canonicalize().expect("the sample site is in the clone");
    let entries = std::fs::read_dir(&folder).expect("the sample site can be listed");
    let paths = entries.flatten().map(|entry| entry.path());
    paths
        .filter(|path| path.extension().is_some_and(|e| e == "csv" || e == "json"))
        .map(|path| path.to_string_lossy().into_owned())
        .collect()
}

/// Opens the window on `store`, walks through it, leaves a picture of its end in
/// `target/window/`, and closes window and driver whether the walk failed or not.
async fn in_window<W, F>(name: &str, store: &Path, walk: W)
where
    W: FnOnce(Client) -> F,
    F: Future<Output = ()> + Send + 'static,
{
    let driver = Driver::start();
    let client = driver.open(store).await;
    // A task of its own, so that a failed assertion comes back here instead of leaving at once.
    let walked = tokio::spawn(walk(client.clone())).await;
    picture(&client, name).await;
    client.close().await.expect("the window closes");
    drop(driver);
    if let Err(failed) = walked {
        resume_unwind(failed.into_panic());
    }
}

/// Waits until the page holds an element.
async fn found(client: &Client, css: &str) -> Element {
    let found = client.wait().at_most(PATIENCE).for_element(Locator::Css(css)).await;
    found.unwrap_or_else(|e| panic!("{css} did not appear: {e}"))
}

/// Waits until an element can be seen.
///
/// Screens are drawn anew when answers come, so each try looks the element up again.
async fn seen(client: &Client, css: &str) -> Element {
    let started = Instant::now();
    loop {
        let element = found(client, css).await;
        if element.is_displayed().await.unwrap_or(false) {
            return element;
        }
        assert!(started.elapsed() < PATIENCE, "{css} is there but cannot be seen");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

/// Presses the first element of that kind as soon as it takes the press.
async fn press(client: &Client, css: &str) {
    let started = Instant::now();
    loop {
        match seen(client, css).await.click().await {
            Ok(()) => return,
            Err(e) => assert!(started.elapsed() < PATIENCE, "{css} cannot be pressed: {e}"),
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

async fn text_of(client: &Client, css: &str) -> String {
    let element = seen(client, css).await;
    element.text().await.unwrap_or_else(|e| panic!("{css} has no text: {e}"))
}

/// Waits until the window has drawn what the page now holds: a picture may lag behind.
async fn settle(client: &Client) {
    let drawn = "const done = arguments[0];
        requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(1), 100)));";
    client.execute_async(drawn, Vec::new()).await.expect("the page draws");
}

/// Saves what the window shows now, for a person to look at.
async fn picture(client: &Client, name: &str) {
    let folder = built().join("../window");
    std::fs::create_dir_all(&folder).expect("the folder for pictures can be made");
    let png = client.screenshot().await.expect("the window can be pictured");
    std::fs::write(folder.join(format!("{name}.png")), png).expect("a picture can be written");
}

/// The folder with the programs of this build, beside which this test lies.
fn built() -> PathBuf {
    let test = std::env::current_exe().expect("this test has a path");
    test.ancestors().nth(2).expect("tests lie in deps/ of the build").to_path_buf()
}

fn program(name: &str) -> PathBuf {
    let path = built().join(format!("{name}{}", std::env::consts::EXE_SUFFIX));
    assert!(path.exists(), "{name} is not built: run `cargo build --workspace` first");
    path
}

/// The program that carries out what the test asks of the window.
struct Driver {
    process: Child,
    port: u16,
}

impl Driver {
    /// Starts the driver on a free port and waits until it answers.
    fn start() -> Self {
        let port = TcpListener::bind("127.0.0.1:0").and_then(|l| l.local_addr()).unwrap().port();
        let process = Command::new("WebKitWebDriver")
            .arg(format!("--port={port}"))
            // Without it the window never lets itself be driven.
            .env("TAURI_WEBVIEW_AUTOMATION", "true")
            .stdin(Stdio::null())
            .spawn()
            .expect("WebKitWebDriver starts: `cargo xtask setup` installs it");
        let driver = Self { process, port };
        let started = Instant::now();
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(started.elapsed() < PATIENCE, "WebKitWebDriver does not answer");
            std::thread::sleep(Duration::from_millis(20));
        }
        driver
    }

    async fn open(&self, store: &Path) -> Client {
        let options = json!({ "binary": program("slotkeep-app"), "args": ["--store", store] });
        let mut wanted = Capabilities::new();
        wanted.insert("webkitgtk:browserOptions".to_owned(), options);
        ClientBuilder::new(HttpConnector::new())
            .capabilities(wanted)
            .connect(&format!("http://127.0.0.1:{}", self.port))
            .await
            .expect("the window opens")
    }
}

impl Drop for Driver {
    /// Asks the driver to end, so that it takes a window that is still open with it.
    fn drop(&mut self) {
        let _ = Command::new("kill").arg(self.process.id().to_string()).status();
        let asked = Instant::now();
        while let Ok(None) = self.process.try_wait() {
            if asked.elapsed() > PATIENCE {
                let _ = self.process.kill();
            }
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}
