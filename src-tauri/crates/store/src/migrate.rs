use crate::StoreFault;
use rusqlite::{Connection, OpenFlags};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Numbered steps from an empty file to the present form; never edited after release.
const STEPS: [&str; 5] = [
    include_str!("../../../../schemas/sql/0001_begin.sql"),
    include_str!("../../../../schemas/sql/0002_spares.sql"),
    include_str!("../../../../schemas/sql/0003_procedure.sql"),
    include_str!("../../../../schemas/sql/0004_audit.sql"),
    include_str!("../../../../schemas/sql/0005_photo_waiting.sql"),
];

/// The version that this program writes.
pub(crate) const KNOWN: u32 = STEPS.len() as u32;

/// Marks the file as ours (`application_id` of SQLite, the letters SLOT).
const APPLICATION_ID: u32 = 0x534C_4F54;

/// Looks at a file without opening it as a database, so that a refused one stays as it is.
///
/// Fails when the file is no store or was written by a newer program.
pub(crate) fn inspect(path: &Path) -> Result<(), StoreFault> {
    let mut header = [0u8; 100];
    let mut file = match File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(file_fault(path, error)),
    };
    let mut read = 0;
    while read < header.len() {
        match file.read(&mut header[read..]).map_err(|error| file_fault(path, error))? {
            0 => break,
            n => read += n,
        }
    }
    if read == 0 {
        return Ok(());
    }
    if read < 100 || &header[..16] != b"SQLite format 3\0" {
        return Err(StoreFault::Foreign { path: path.to_owned() });
    }
    let word = |at: usize| {
        u32::from_be_bytes([header[at], header[at + 1], header[at + 2], header[at + 3]])
    };
    // A file that only got as far as its first, empty page is ours to finish.
    let bare = (word(68), word(60)) == (0, 0) && word(28) > 1;
    if bare {
        return Err(StoreFault::Foreign { path: path.to_owned() });
    }
    judge(path, word(68), word(60))
}

fn judge(path: &Path, application_id: u32, version: u32) -> Result<(), StoreFault> {
    if application_id != APPLICATION_ID && (application_id, version) != (0, 0) {
        return Err(StoreFault::Foreign { path: path.to_owned() });
    }
    if version > KNOWN {
        return Err(StoreFault::Newer { path: path.to_owned(), found: version, known: KNOWN });
    }
    Ok(())
}

/// Brings an opened store to the present version, after copying an older one aside.
pub(crate) fn bring_forward(conn: &mut Connection, path: &Path) -> Result<(), StoreFault> {
    let pragma = |conn: &Connection, name| conn.pragma_query_value(None, name, |row| row.get(0));
    let application_id: u32 = pragma(conn, "application_id")?;
    let version: u32 = pragma(conn, "user_version")?;
    judge(path, application_id, version)?;
    if version == 0 {
        let tables: u32 =
            conn.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
        if tables > 0 {
            return Err(StoreFault::Foreign { path: path.to_owned() });
        }
    } else if version < KNOWN {
        copy_aside(conn, &aside(path, version))?;
    }
    for (number, step) in (1..).zip(STEPS).skip(version as usize) {
        let tx = conn.transaction()?;
        tx.execute_batch(step)?;
        tx.pragma_update(None, "user_version", number)?;
        tx.pragma_update(None, "application_id", APPLICATION_ID)?;
        tx.commit()?;
    }
    if (1..KNOWN).contains(&version) {
        let tx = conn.transaction()?;
        crate::rebuild::rebuild(&tx)?;
        tx.commit()?;
    }
    Ok(())
}

fn aside(path: &Path, version: u32) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".before-v{}", version + 1));
    path.with_file_name(name)
}

/// Copies a live store to a new file; an existing file is never overwritten.
pub(crate) fn copy_aside(conn: &Connection, to: &Path) -> Result<(), StoreFault> {
    if to.exists() {
        return Err(StoreFault::File {
            path: to.to_owned(),
            why: "exists already: choose another name or move it away".to_owned(),
        });
    }
    conn.execute("VACUUM INTO ?1", [to.to_string_lossy()])?;
    Ok(())
}

/// Opens a connection with the settings that every one of ours has.
pub(crate) fn connect(path: &Path, writes: bool) -> Result<Connection, StoreFault> {
    let mut flags = OpenFlags::SQLITE_OPEN_NO_MUTEX;
    flags |= if writes {
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE
    } else {
        OpenFlags::SQLITE_OPEN_READ_ONLY
    };
    let conn = Connection::open_with_flags(path, flags).map_err(|error| damage(path, error))?;
    conn.busy_timeout(std::time::Duration::from_secs(10))?;
    conn.set_prepared_statement_cache_capacity(256);
    if writes {
        conn.pragma_update(None, "journal_mode", "WAL").map_err(|error| damage(path, error))?;
        conn.pragma_update(None, "synchronous", "FULL")?;
        conn.pragma_update(None, "foreign_keys", true)?;
    }
    conn.pragma_update(None, "cache_size", -65_536)?;
    conn.pragma_update(None, "mmap_size", 1_073_741_824_i64)?;
    Ok(conn)
}

/// Tells a damaged or foreign file from other faults.
pub(crate) fn damage(path: &Path, error: rusqlite::Error) -> StoreFault {
    use rusqlite::ErrorCode::{
        CannotOpen, DatabaseCorrupt, NotADatabase, PermissionDenied, ReadOnly,
    };
    match error.sqlite_error_code() {
        Some(DatabaseCorrupt | NotADatabase) => {
            StoreFault::Damaged { path: path.to_owned(), why: error.to_string() }
        }
        Some(CannotOpen | PermissionDenied | ReadOnly) => StoreFault::File {
            path: path.to_owned(),
            why: format!("cannot be opened for writing ({error}): check the folder's rights"),
        },
        _ => StoreFault::Sql(error),
    }
}

pub(crate) fn file_fault(path: &Path, error: std::io::Error) -> StoreFault {
    StoreFault::File { path: path.to_owned(), why: error.to_string() }
}
