use crate::migrate;
use crate::{Reader, StoreFault, Verdict, Writer};
use rusqlite::config::DbConfig;
use rusqlite::{Connection, TransactionBehavior};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The name by which SQLite makes a store that is in no file.
const IN_MEMORY: &str = ":memory:";

/// How many idle reading connections are kept.
const IDLE_READERS: usize = 8;

/// An open store: one writing connection and a pool of reading ones.
pub struct Store {
    path: PathBuf,
    readers: Mutex<Vec<Connection>>,
    // Closed after the readers: only a writing connection can put the write-ahead log back into
    // the file, so that a closed store is one file that may be copied or renamed.
    writer: Mutex<Connection>,
    /// Says to other programs that the store is open; closed last. A store in memory has none.
    held: Option<Held>,
}

impl Drop for Store {
    /// Leaves the write-ahead log where it is while another program has the store open.
    ///
    /// SQLite tells that by locks which a process loses when anything in it, a file dialogue
    /// say, opens and closes the store's file. It would then take away the log that the other
    /// program writes to, and all that was recorded there. The lock on a file beside the store
    /// is not lost that way.
    fn drop(&mut self) {
        lock(&self.readers).clear();
        if !self.held.as_mut().is_none_or(Held::is_last) {
            let kept = DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE;
            let _ = lock(&self.writer).set_db_config(kept, true);
        }
    }
}

impl Store {
    /// Opens a store, makes an empty one where there is no file, and brings an older one forward
    /// after copying it aside.
    ///
    /// Fails when the file is no store, is damaged, cannot be written, or was written by a newer
    /// program; such a file is left as it is.
    pub fn open(path: &Path) -> Result<Self, StoreFault> {
        migrate::inspect(path)?;
        if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
            std::fs::create_dir_all(folder).map_err(|error| migrate::file_fault(folder, error))?;
        }
        let held = (path != Path::new(IN_MEMORY)).then(|| Held::take(path)).transpose()?;
        let mut writer = migrate::connect(path, true)?;
        migrate::bring_forward(&mut writer, path).map_err(|fault| match fault {
            StoreFault::Sql(error) => migrate::damage(path, error),
            other => other,
        })?;
        Ok(Self {
            path: path.to_owned(),
            writer: Mutex::new(writer),
            readers: Mutex::new(Vec::new()),
            held,
        })
    }

    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Asks questions of one consistent state of the store.
    ///
    /// Fails as the questions do.
    pub fn read<T, F>(&self, ask: impl FnOnce(&Reader<'_>) -> Result<T, F>) -> Result<T, F>
    where
        F: From<StoreFault>,
    {
        let idle = lock(&self.readers).pop();
        let mut conn = match idle {
            Some(conn) => conn,
            None => migrate::connect(&self.path, false)?,
        };
        let answer = {
            let tx = conn.transaction().map_err(StoreFault::from)?;
            let reader = Reader::new(&tx);
            let answer = ask(&reader);
            // A rule that met a fault saw nothing there, and its answer would say so.
            reader.fault()?;
            answer?
        };
        let mut readers = lock(&self.readers);
        if readers.len() < IDLE_READERS {
            readers.push(conn);
        }
        Ok(answer)
    }

    /// Records entries in one transaction: all of them, or none when anything fails.
    pub fn write<T, F>(&self, record: impl FnOnce(&mut Writer<'_>) -> Result<T, F>) -> Result<T, F>
    where
        F: From<StoreFault>,
    {
        let mut conn = lock(&self.writer);
        let tx = conn
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(StoreFault::from)?;
        let answer = record(&mut Writer::new(&tx)?)?;
        tx.commit().map_err(StoreFault::from)?;
        Ok(answer)
    }

    /// Checks the chain, rebuilds every derived table from the journal and compares.
    ///
    /// `progress` hears how many entries of how many are done.
    pub fn verify(&self, progress: &mut dyn FnMut(u64, u64)) -> Result<Verdict, StoreFault> {
        let (one, two) = self.two_of_one_state()?;
        crate::verify::verify(&one, two, progress)
    }

    /// Two reading connections that see the same state, so that two threads can look at it.
    fn two_of_one_state(&self) -> Result<(Connection, Connection), StoreFault> {
        let begun = || -> Result<_, StoreFault> {
            let conn = migrate::connect(&self.path, false)?;
            conn.execute_batch("BEGIN")?;
            let head = Reader::new(&conn).head()?;
            Ok((conn, head))
        };
        // Nobody in this program writes meanwhile; another one may, between the two.
        let _held = lock(&self.writer);
        loop {
            let ((one, head), (two, same)) = (begun()?, begun()?);
            if head == same {
                return Ok((one, two));
            }
        }
    }

    /// Copies the live store to a new file.
    ///
    /// Fails when that file exists.
    pub fn back_up(&self, to: &Path) -> Result<(), StoreFault> {
        migrate::copy_aside(&lock(&self.writer), to)
    }

    /// Makes a store at `to` from a backup.
    ///
    /// Fails when the backup is no readable store, or when `to` exists: nothing is overwritten.
    pub fn restore(from: &Path, to: &Path) -> Result<Self, StoreFault> {
        if !from.exists() {
            return Err(StoreFault::File {
                path: from.to_owned(),
                why: "is not there: name a file made by `slotkeep backup`".to_owned(),
            });
        }
        migrate::inspect(from)?;
        let conn = migrate::connect(from, false)?;
        migrate::copy_aside(&conn, to).map_err(|fault| match fault {
            StoreFault::Sql(error) => migrate::damage(from, error),
            other => other,
        })?;
        Self::open(to)
    }
}

/// A shared lock on a file beside the store, `NAME-open`, that goes with the last who holds it.
struct Held {
    path: PathBuf,
    file: File,
    last: bool,
}

impl Held {
    /// Takes the lock; waits while the last other program that had the store open closes it.
    fn take(store: &Path) -> Result<Self, StoreFault> {
        let mut path = store.as_os_str().to_owned();
        path.push("-open");
        let path = PathBuf::from(path);
        loop {
            let file = locked(&path).map_err(|error| migrate::file_fault(&path, error))?;
            // Else it was taken away while we waited for it, and others would lock a new one.
            if is_there(&file, &path) {
                return Ok(Self { path, file, last: false });
            }
        }
    }

    /// Whether nobody else has the store open; then nobody comes in before this is dropped.
    fn is_last(&mut self) -> bool {
        self.last = self.file.unlock().is_ok() && self.file.try_lock().is_ok();
        self.last
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        if (self.last || self.is_last()) && cfg!(unix) {
            let _ = std::fs::remove_file(&self.path);
        }
    }
}

fn locked(path: &Path) -> std::io::Result<File> {
    let file = File::options().create(true).truncate(false).write(true).open(path)?;
    file.lock_shared()?;
    Ok(file)
}

#[cfg(unix)]
fn is_there(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), path.metadata()) {
        (Ok(ours), Ok(there)) => (ours.dev(), ours.ino()) == (there.dev(), there.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_there(_: &File, _: &Path) -> bool {
    true
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // A thread that panicked left its transaction rolled back, so the connection is sound.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
