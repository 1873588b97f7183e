//! The file on the disk: what is refused, what is never changed, what is noticed.

use chrono::{DateTime, Utc};
use rusqlite::Connection;
use slotkeep_domain::journal::{Body, Entry, Noted};
use slotkeep_domain::key::KeyScheme;
use slotkeep_domain::place::Area;
use slotkeep_store::{Store, StoreFault};
use std::path::{Path, PathBuf};
use uuid::Uuid;

fn new_store() -> (tempfile::TempDir, PathBuf, Store) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.sqlite");
    let store = Store::open(&path).unwrap();
    (folder, path, store)
}

fn at(ms: i64) -> DateTime<Utc> {
    DateTime::from_timestamp_millis(1_764_000_000_000 + ms).unwrap()
}

fn entry(number: u128, body: Body) -> Entry {
    Entry {
        id: Uuid::from_u128(number),
        at: at(number as i64),
        person: "tester".to_owned(),
        device: "bench".to_owned(),
        corrects: None,
        source: None,
        body,
    }
}

fn area(code: &str) -> Body {
    Body::AreaSet(Area { code: code.to_owned(), title: format!("Area {code}") })
}

fn note(text: &str) -> Body {
    Body::Noted(Noted { subject: "A1".to_owned(), text: text.to_owned() })
}

fn record(store: &Store, entry: &Entry) -> Result<bool, StoreFault> {
    store.write(|writer| Ok(writer.record(entry)?.repeated))
}

fn some_history(store: &Store) {
    record(store, &entry(1, area("A1"))).unwrap();
    record(store, &entry(2, note("first"))).unwrap();
    record(store, &entry(3, area("A2"))).unwrap();
}

/// Closes the store, so that everything is in the one file, and opens it bare.
fn bare(store: Store, path: &Path) -> Connection {
    drop(store);
    Connection::open(path).unwrap()
}

#[test]
fn a_store_of_a_newer_program_is_refused_and_stays_byte_identical() {
    let (_folder, path, store) = new_store();
    some_history(&store);
    bare(store, &path).pragma_update(None, "user_version", 99).unwrap();
    let before = std::fs::read(&path).unwrap();
    let fault = Store::open(&path).err().unwrap();
    assert!(matches!(fault, StoreFault::Newer { found: 99, .. }), "{fault}");
    assert!(fault.to_string().contains("newer Slotkeep"), "{fault}");
    assert!(std::fs::read(&path).unwrap() == before);
}

#[test]
fn what_is_no_store_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let text = folder.path().join("notes.txt");
    std::fs::write(&text, "x".repeat(500)).unwrap();
    let other = folder.path().join("other.sqlite");
    Connection::open(&other).unwrap().execute_batch("CREATE TABLE t (a)").unwrap();
    for path in [&text, &other] {
        let before = std::fs::read(path).unwrap();
        let fault = Store::open(path).err().unwrap();
        assert!(matches!(fault, StoreFault::Foreign { .. }), "{fault}");
        assert!(std::fs::read(path).unwrap() == before, "{fault}");
    }
}

#[test]
fn damage_is_reported_and_not_repaired() {
    let (_folder, path, store) = new_store();
    some_history(&store);
    drop(bare(store, &path));
    let mut bytes = std::fs::read(&path).unwrap();
    for byte in &mut bytes[100..4096] {
        *byte = 0x5A;
    }
    std::fs::write(&path, &bytes).unwrap();
    let fault = match Store::open(&path) {
        Err(fault) => fault,
        Ok(store) => store.verify(&mut |_, _| {}).map(|v| assert!(!v.is_clean())).err().unwrap(),
    };
    assert!(!fault.to_string().is_empty());
    assert!(std::fs::read(&path).unwrap() == bytes);
}

#[test]
fn the_journal_only_grows() {
    let (_folder, path, store) = new_store();
    some_history(&store);
    let conn = bare(store, &path);
    for sql in ["UPDATE entry SET person = 'x'", "DELETE FROM entry"] {
        let error = conn.execute_batch(sql).unwrap_err().to_string();
        assert!(error.contains("append-only"), "{error}");
    }
}

#[test]
fn sending_an_entry_twice_changes_nothing_and_an_id_stands_for_one_entry() {
    let (_folder, _path, store) = new_store();
    let first = entry(1, area("A1"));
    assert!(!record(&store, &first).unwrap());
    assert!(record(&store, &first).unwrap());
    let fault = record(&store, &entry(1, area("A2"))).unwrap_err();
    assert!(matches!(fault, StoreFault::IdTaken(_)), "{fault}");
    assert_eq!(store.read(|r| r.head()).unwrap().0, 1);
}

#[test]
fn a_refused_entry_leaves_nothing_behind() {
    let (_folder, _path, store) = new_store();
    let outcome: Result<(), StoreFault> = store.write(|writer| {
        writer.record(&entry(1, area("A1")))?;
        let scheme = KeyScheme {
            name: "std".to_owned(),
            title: String::new(),
            keys: 0,
            letters: String::new(),
            intrinsically_safe: false,
        };
        writer.record(&entry(2, Body::KeySchemeSet(scheme)))?;
        Ok(())
    });
    assert!(matches!(outcome, Err(StoreFault::Refused(_))));
    assert_eq!(store.read(|r| r.head()).unwrap().0, 0);
    assert!(store.read(|r| r.areas()).unwrap().is_empty());
}

#[test]
fn verify_notices_every_kind_of_tampering() {
    for (what, sql) in [
        ("its hash does not follow", "UPDATE entry SET body = replace(body, 'first', 'last')"),
        ("its hash does not follow", "UPDATE entry SET person = 'somebody else' WHERE seq = 2"),
        ("an entry before it is missing", "DELETE FROM entry WHERE seq = 2"),
        (
            "differs from what the journal gives",
            "UPDATE area SET record = replace(record, 'Area A1', 'B')",
        ),
        ("the journal knows no such record", "INSERT INTO area VALUES ('A9', '{}')"),
        ("records are missing", "DELETE FROM area WHERE key = 'A2'"),
        ("names", "DELETE FROM subject WHERE seq = 1"),
    ] {
        let (_folder, path, store) = new_store();
        some_history(&store);
        assert!(store.verify(&mut |_, _| {}).unwrap().is_clean());
        let conn = bare(store, &path);
        conn.execute_batch(
            "DROP TRIGGER entry_is_never_changed; DROP TRIGGER entry_is_never_deleted",
        )
        .unwrap();
        conn.execute_batch(sql).unwrap();
        drop(conn);
        let verdict = Store::open(&path).unwrap().verify(&mut |_, _| {}).unwrap();
        let said = verdict.differences.iter().any(|difference| difference.what.contains(what));
        assert!(said, "{sql}: {verdict:?}");
    }
}

#[test]
fn a_backup_of_a_store_in_use_is_a_store_and_nothing_is_overwritten() {
    let (folder, path, store) = new_store();
    some_history(&store);
    let copy = folder.path().join("copy.sqlite");
    store.back_up(&copy).unwrap();
    assert!(store.back_up(&copy).is_err());
    assert!(Store::restore(&copy, &path).is_err());
    let back = folder.path().join("back.sqlite");
    let restored = Store::restore(&copy, &back).unwrap();
    let ours = store.verify(&mut |_, _| {}).unwrap();
    assert_eq!(restored.verify(&mut |_, _| {}).unwrap(), ours);
    assert!(ours.is_clean());
}

#[test]
fn a_closed_store_is_one_file() {
    let (folder, path, store) = new_store();
    some_history(&store);
    assert_eq!(store.read(|r| r.areas()).unwrap().len(), 2);
    drop(store);
    let files: Vec<_> =
        std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(files, [path.file_name().unwrap()]);
}

#[test]
fn readers_see_one_state_while_a_writer_writes() {
    let (_folder, _path, store) = new_store();
    some_history(&store);
    let counts = store.read(|r| {
        let before = r.head()?.0;
        record(&store, &entry(9, note("meanwhile")))?;
        Ok::<_, StoreFault>((before, r.head()?.0))
    });
    assert_eq!(counts.unwrap(), (3, 3));
    assert_eq!(store.read(|r| r.head()).unwrap().0, 4);
}
