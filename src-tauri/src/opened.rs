//! An open store and the door that shows it.

use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use slotkeep_api::Api;
use slotkeep_door::{Computer, Ending, Running};
use slotkeep_store::{Store, StoreFault};
use tokio::runtime::Runtime;

use crate::Args;
use crate::camera::Connected;
use crate::pictures::Handed;

/// A store that this program holds open, served on the loopback address.
pub struct Opened {
    running: Running,
    /// The door for phones, where the owner asked for it.
    lan: Option<Running>,
    runtime: Runtime,
    /// Pictures that are pasted into the window or dropped on it.
    pub handed: Arc<Handed>,
    /// Held for as long as the program runs; the system lets go of it however the program ends.
    _hold: File,
}

impl Opened {
    /// Opens the store and its door.
    ///
    /// Fails with a sentence for the person at the screen; the store is then as it was.
    pub fn new(args: &Args) -> Result<Self, String> {
        let path = match &args.store {
            Some(path) => path.clone(),
            None => own_store()?,
        };
        let store = Store::open(&path).map_err(in_full)?;
        let hold = hold(&path)?;
        let runtime = Runtime::new().map_err(|e| format!("No work can be started: {e}."))?;
        let api = Arc::new(Api::new(store));
        let handed = Arc::new(Handed::default());
        let computer = Computer { cameras: Arc::new(Connected), pictures: handed.clone() };
        let running = runtime
            .block_on(slotkeep_door::serve_window(api.clone(), args.port, computer))
            .map_err(|fault| fault.to_string())?;
        let lan = match args.lan {
            false => None,
            true => Some(
                runtime
                    .block_on(slotkeep_door::serve_lan(api, args.lan_port, &beside(&path, "door")))
                    .map_err(|fault| fault.to_string())?,
            ),
        };
        Ok(Self { running, lan, runtime, handed, _hold: hold })
    }

    /// The address of the first screen, with the secret of this start in it.
    pub fn url(&self) -> &str {
        &self.running.open_url
    }

    /// The address for phones, where the door for them is open.
    pub fn lan_url(&self) -> Option<&str> {
        self.lan.as_ref().map(|running| running.open_url.as_str())
    }

    /// Says the addresses and serves until somebody ends the program.
    pub fn serve(self) {
        self.runtime.block_on(async {
            let ending = Ending::hear();
            if let Some(url) = self.lan_url() {
                println!("Phones on the local network reach {url}");
            }
            println!("Slotkeep serves its screens at {}", self.url());
            println!("Only this computer reaches that address. End with Ctrl+C.");
            ending.asked().await;
        });
        self.close();
    }

    /// Lets running requests finish, then closes the store.
    pub fn close(self) {
        self.runtime.block_on(async {
            self.running.stop().await;
            if let Some(lan) = self.lan {
                lan.stop().await;
            }
        });
    }
}

/// Adds what a person can do where the store's own sentence is the system's.
fn in_full(fault: StoreFault) -> String {
    match fault {
        StoreFault::File { .. } => format!(
            "{fault}. Check that the folder is there and yours to write in, or name another file."
        ),
        other => other.to_string(),
    }
}

/// The store of this person on this computer, for a start without arguments.
fn own_store() -> Result<PathBuf, String> {
    let folder = dirs::data_dir().ok_or("Name a store: slotkeep-app --store FILE.")?;
    Ok(folder.join("slotkeep").join("site.slotkeep"))
}

/// Takes the store for this window alone, by a lock on a file beside it.
///
/// Two windows would each show what the other does not know yet. The terminal program may work
/// beside a window: it reads afresh at every call.
fn hold(store: &Path) -> Result<File, String> {
    let path = beside(store, "window");
    let file = File::create(&path)
        .map_err(|e| format!("{} cannot be written: {e}. Is the folder yours?", path.display()))?;
    let asked = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(file),
            // A window that was just closed may still be finishing its last requests.
            Err(TryLockError::WouldBlock) if asked.elapsed() < CLOSING => {
                std::thread::sleep(Duration::from_millis(50));
            }
            Err(TryLockError::WouldBlock) => {
                return Err(format!(
                    "{} is already open in another window of Slotkeep. Go on there, or close it \
                     first.",
                    store.display()
                ));
            }
            Err(TryLockError::Error(e)) => {
                return Err(format!("{} cannot be locked: {e}.", path.display()));
            }
        }
    }
}

/// How long a window may take to close before its store counts as open.
const CLOSING: Duration = Duration::from_secs(3);

/// The name of the store with a word added: what belongs to it lies beside it.
fn beside(store: &Path, word: &str) -> PathBuf {
    let mut name = store.as_os_str().to_owned();
    name.push(format!("-{word}"));
    PathBuf::from(name)
}
