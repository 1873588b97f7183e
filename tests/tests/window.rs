//! The real desktop window, driven as a person would: it needs a display, real or virtual.

use std::future::Future;
use std::net::{TcpListener, TcpStream};
use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

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

/// Waits for an element that can be seen and returns its text.
async fn text_of(client: &Client, css: &str) -> String {
    let found = client.wait().at_most(PATIENCE).for_element(Locator::Css(css)).await;
    let element = found.unwrap_or_else(|e| panic!("{css} did not appear: {e}"));
    element.text().await.unwrap_or_else(|e| panic!("{css} has no text: {e}"))
}

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
