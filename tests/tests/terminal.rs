//! The terminal program, run as people run it: tables and JSON, exit codes, and help.

use serde_json::{Value, json};
use slotkeep_tests::made_photos::{MadePlace, Scene};
use std::collections::BTreeSet;
use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;
use tempfile::TempDir;

/// The program, built once for all tests.
///
/// Another package's program has no path of its own in a test, and may be older than its source:
/// cargo itself is asked to build it and says where it lies, whatever target folder is set.
fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        let mut build = escargot::CargoBuild::new().manifest_path(root().join("Cargo.toml"));
        if !cfg!(debug_assertions) {
            build = build.release();
        }
        // Of the whole workspace: one package alone has other features and builds everything anew.
        let built = build.arg("--workspace").bin("slotkeep").run();
        built.expect("the terminal program must build").path().to_owned()
    })
}

/// A store of the sample site; tests that write work on a copy.
fn sample_store() -> &'static Path {
    static STORE: OnceLock<(TempDir, PathBuf)> = OnceLock::new();
    let (_, store) = STORE.get_or_init(|| {
        let folder = TempDir::new().expect("a temporary folder");
        let store = folder.path().join("sample.slotkeep");
        let done = slotkeep(&store, &["import", &text(&root().join("sample-site"))]);
        assert_eq!(code(&done), 0, "{}", err(&done));
        (folder, store)
    });
    store
}

fn slotkeep(store: &Path, words: &[&str]) -> Output {
    command(store, words).output().expect("the program starts")
}

fn command(store: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(program());
    command.args(words).env("SLOTKEEP_STORE", store).env("SLOTKEEP_PERSON", "Test person");
    command.env_remove("COLUMNS").env_remove("NO_COLOR").stdin(Stdio::null());
    command
}

/// Runs a command that must succeed, and reads the JSON that it prints.
fn asked(store: &Path, words: &[&str]) -> Value {
    let done = slotkeep(store, &[&["--json"], words].concat());
    assert_eq!(code(&done), 0, "{words:?}: {}", err(&done));
    serde_json::from_slice(&done.stdout).unwrap_or_else(|why| panic!("{words:?}: {why}"))
}

#[test]
fn the_help_is_the_documentation() {
    let store = Path::new("none");
    let help = |words: &[&str]| {
        let done = slotkeep(store, words);
        assert_eq!(code(&done), 0, "{}", err(&done));
        out(&done)
    };
    insta::assert_snapshot!("help", help(&["--help"]));
    insta::assert_snapshot!("help_battery_change", help(&["battery", "change", "--help"]));
    insta::assert_snapshot!("help_swap_start", help(&["swap", "start", "--help"]));
    insta::assert_snapshot!("help_labels", help(&["labels", "--help"]));
}

#[test]
fn every_command_of_the_table_has_a_help_of_its_own() {
    for command in api()["commands"].as_array().expect("a list of commands") {
        let name = command["name"].as_str().expect("a name").replace('_', "-");
        let (noun, verb) = name.split_once('.').expect("noun.verb");
        let done = slotkeep(Path::new("none"), &[noun, verb, "--help"]);
        assert_eq!(code(&done), 0, "{name}: {}", err(&done));
        let doc = command["doc"].as_str().expect("a doc line");
        assert!(out(&done).starts_with(doc), "{name} says:\n{}", out(&done));
    }
}

#[test]
fn every_field_that_a_command_takes_says_what_it_is() {
    let table = asked(Path::new("none"), &["schema"]);
    let mut silent = BTreeSet::new();
    for command in table["commands"].as_array().expect("commands") {
        let name = command["name"].as_str().expect("a name");
        silent_fields(&table, &command["input"], name, &mut silent);
    }
    assert!(silent.is_empty(), "these fields say nothing: {silent:?}");
}

/// Adds the fields of an input that have no description, and those of what it is made of.
fn silent_fields(table: &Value, schema: &Value, of: &str, silent: &mut BTreeSet<String>) {
    if let Some(name) = schema["$ref"].as_str() {
        let name = name.trim_start_matches("#/$defs/");
        return silent_fields(table, &table["$defs"][name], name, silent);
    }
    for (field, schema) in schema["properties"].as_object().into_iter().flatten() {
        if schema["description"].as_str().is_none_or(|words| words.trim().is_empty()) {
            silent.insert(format!("{of}: {field}"));
        }
        silent_fields(table, schema, of, silent);
    }
    let parts = ["anyOf", "oneOf"].map(|several| schema[several].as_array());
    let parts = parts.into_iter().flatten().flatten();
    for part in parts.chain(schema.get("items")) {
        silent_fields(table, part, of, silent);
    }
}

#[test]
fn the_kept_table_of_commands_is_fresh() {
    let kept = fs::read_to_string(root().join("schemas/api.json")).unwrap_or_default();
    let done = slotkeep(Path::new("none"), &["schema"]);
    assert_eq!(code(&done), 0, "{}", err(&done));
    assert!(
        kept == out(&done),
        "schemas/api.json is not what the commands say now: run `cargo xtask generate`"
    );
}

#[test]
fn a_unit_is_found_and_shown_for_people_and_for_programs() {
    let store = sample_store();
    let cabinets = asked(store, &["place", "cabinets"]);
    let address = cabinets[0]["address"].as_str().expect("a cabinet");
    let cabinet = asked(store, &["place", "cabinet", address]);
    let unit = &cabinet["rails"][0]["items"]
        .as_array()
        .expect("a rail with items")
        .iter()
        .find_map(|item| Some(item["slot"]["unit"].as_object()?.clone()))
        .expect("a unit in the first rail");
    let label = unit["label_human"].as_str().expect("a label");

    let card = asked(store, &["unit", "card", label]);
    assert_eq!(card["unit"]["serial"], unit["serial"]);
    assert_eq!(card, asked(store, &["unit", "card", "--unit", label]));

    let shown = slotkeep(store, &["unit", "card", label]);
    assert_eq!(code(&shown), 0);
    for word in [label, address, unit["serial"].as_str().expect("a serial"), "History ("] {
        assert!(out(&shown).contains(word), "{word} is missing in\n{}", out(&shown));
    }
    assert!(!out(&shown).contains('\u{1b}'), "no colours outside a terminal");
}

#[test]
fn tables_fit_the_width_that_is_set() {
    let done = command(sample_store(), &["battery", "list"]).env("COLUMNS", "90").output();
    let done = done.expect("the program starts");
    let shown = out(&done);
    let lines: Vec<&str> =
        shown.lines().filter(|line| !line.starts_with("Not shown here")).collect();
    assert!(lines.len() > 3, "{shown}");
    assert!(lines.iter().all(|line| line.chars().count() <= 90), "{shown}");
}

#[test]
fn exit_codes_say_who_has_to_act() {
    let store = sample_store();
    let folder = TempDir::new().expect("a temporary folder");
    let foreign = folder.path().join("notes.txt");
    fs::write(&foreign, "these are only notes, not a register of anything\n").expect("a file");
    let absent = folder.path().join("absent.slotkeep");
    for (want, store, words) in [
        (0, store, &["site", "summary"][..]),
        (0, store, &["verify"]),
        (1, store, &["unit", "card", "no-such-unit"]),
        (1, store, &["place", "slot", "+K99.9.99"]),
        (1, &absent, &["site", "summary"]),
        (2, store, &["unit", "card"]),
        (2, store, &["unit", "fly"]),
        (2, store, &["search", "find", "x", "--limit", "many"]),
        (2, store, &["place", "rekey", "+K11.1.01", "--key", "BD"]),
        (2, store, &["label", "sheet", "--format", "no-such-format"]),
        (2, store, &["import", "no-such-folder"]),
        (3, &foreign, &["site", "summary"]),
    ] {
        let done = slotkeep(store, words);
        assert_eq!(code(&done), want, "{words:?}\n{}{}", out(&done), err(&done));
        assert_eq!(err(&done).is_empty(), want == 0, "{words:?}\n{}", err(&done));
    }
    assert!(!absent.exists(), "a question makes no store");
}

#[test]
fn a_record_lands_in_the_journal_once() {
    let folder = TempDir::new().expect("a temporary folder");
    let store = copy_of_sample(&folder);
    let before = asked(&store, &["site", "summary"])["entries"].as_i64().expect("a number");
    let id = "019b0000-0000-7000-8000-000000000001";
    let words = ["journal", "note", "+K11", "--text", "door seal is worn", "--id", id];
    let first = asked(&store, &words);
    let again = asked(&store, &words);
    assert_eq!((&first["repeated"], &again["repeated"]), (&json!(false), &json!(true)));
    let newest = &asked(&store, &["journal", "list", "--limit", "1"])[0];
    assert_eq!(newest["seq"].as_i64(), Some(before + 1));
    assert_eq!(newest["id"], id);
    assert_eq!(newest["person"], "Test person");
    assert!(newest["device"].as_str().is_some_and(|device| device.starts_with("terminal on ")));
}

#[test]
fn a_folder_imported_again_changes_nothing() {
    let folder = TempDir::new().expect("a temporary folder");
    let store = copy_of_sample(&folder);
    let again = asked(&store, &["import", &text(&root().join("sample-site"))]);
    assert_eq!(again["entries"], 0, "{again}");
    assert!(again["unchanged"].as_u64().is_some_and(|rows| rows > 400), "{again}");
}

#[test]
fn every_bad_row_is_shown_with_its_place() {
    let folder = TempDir::new().expect("a temporary folder");
    let site = folder.path().join("site");
    fs::create_dir(&site).expect("a folder");
    for file in fs::read_dir(root().join("sample-site")).expect("the sample site") {
        let path = file.expect("a file").path();
        fs::copy(&path, site.join(path.file_name().expect("a name"))).expect("a copy");
    }
    fs::write(site.join("stores.csv"), "code,title\nST1,Main store\nST1,Twice\n").expect("a file");
    let areas = "code,title\n,Nameless\n";
    fs::write(site.join("areas.csv"), areas).expect("a file");
    let store = folder.path().join("new.slotkeep");
    let done = slotkeep(&store, &["import", &text(&site)]);
    assert_eq!(code(&done), 2, "{}", err(&done));
    let said = err(&done);
    let head = said.lines().nth(1).unwrap_or_default();
    for word in ["file", "line", "column", "stands there", "expected"] {
        assert!(head.contains(word), "{said}");
    }
    let row = |file: &str, line: &str| {
        said.lines().any(|row| row.split_whitespace().take(2).eq([file, line]))
    };
    assert!(row("areas.csv", "2") && row("stores.csv", "3"), "{said}");
    assert_eq!(asked(&store, &["site", "summary"])["empty"], true, "nothing was imported");
}

#[test]
fn labels_are_printed_and_never_over_another_file() {
    let folder = TempDir::new().expect("a temporary folder");
    let pdf = folder.path().join("cabinet.pdf");
    let path = text(&pdf);
    let words = ["labels", "--cabinet", "+K11", "--kind", "unit", "--out", &path];
    let done = slotkeep(sample_store(), &words);
    assert_eq!(code(&done), 0, "{}", err(&done));
    assert!(fs::read(&pdf).expect("the PDF").starts_with(b"%PDF-"));

    fs::write(&pdf, "mine").expect("a file");
    let refused = slotkeep(sample_store(), &words);
    assert_eq!(code(&refused), 1);
    assert!(err(&refused).contains("--force"), "{}", err(&refused));
    assert_eq!(fs::read(&pdf).expect("the file"), b"mine");
    let forced = slotkeep(sample_store(), &[&words[..], &["--force"]].concat());
    assert_eq!(code(&forced), 0, "{}", err(&forced));
    assert!(fs::read(&pdf).expect("the PDF").starts_with(b"%PDF-"));
}

#[test]
fn each_photo_gets_its_own_answer() {
    let folder = TempDir::new().expect("a temporary folder");
    let photo = folder.path().join("label.png");
    let lines = asked(sample_store(), &["label", "list", "--cabinet", "+K11", "--kinds", "unit"]);
    draw(&lines[0], &photo);
    let broken = folder.path().join("broken.png");
    fs::write(&broken, "no picture at all").expect("a file");
    let absent = folder.path().join("absent.png");
    let photos = [text(&photo), text(&broken), text(&absent)];
    let words: Vec<&str> =
        std::iter::once("read").chain(photos.iter().map(String::as_str)).collect();

    let done = slotkeep(sample_store(), &words);
    assert_eq!(code(&done), 2, "{}", err(&done));
    let human = lines[0]["label_human"].as_str().expect("a label");
    assert!(out(&done).contains(human), "{}", out(&done));
    assert!(
        err(&done).contains("broken.png") && err(&done).contains("absent.png"),
        "{}",
        err(&done)
    );

    let alone = asked(sample_store(), &words[..2]);
    let found = &alone[0]["reading"]["found"][0];
    assert_eq!(found["thing"]["label"], lines[0]["label"]);
    assert_eq!(found["corners"].as_array().map(Vec::len), Some(4));
}

#[test]
fn a_store_is_copied_and_made_from_the_copy() {
    let folder = TempDir::new().expect("a temporary folder");
    let copy = folder.path().join("copy.slotkeep");
    let made = folder.path().join("made.slotkeep");
    let done = slotkeep(sample_store(), &["backup", &text(&copy)]);
    assert_eq!(code(&done), 0, "{}", err(&done));
    let twice = slotkeep(sample_store(), &["backup", &text(&copy)]);
    assert_eq!(code(&twice), 1, "{}", err(&twice));
    let done = slotkeep(Path::new("none"), &["restore", &text(&copy), "--to", &text(&made)]);
    assert_eq!(code(&done), 0, "{}", err(&done));
    let verdict = asked(&made, &["verify"]);
    assert_eq!(verdict["clean"], true);
    assert_eq!(verdict["head"], asked(sample_store(), &["verify"])["head"]);
}

#[test]
fn formulas_are_listed_and_computed_without_a_store() {
    let none = Path::new("none");
    let list = asked(none, &["calc", "--list"]);
    let list = list.as_array().expect("a list");
    assert!(list.len() >= 10 && list.iter().all(|one| one["fields"].is_array()));
    let shown = slotkeep(none, &["calc", "--list", "check-character"]);
    assert!(out(&shown).starts_with("check-character: "), "{}", out(&shown));

    let unknown = slotkeep(none, &["calc", "no-such-formula"]);
    assert_eq!(code(&unknown), 1, "{}", err(&unknown));
    let bad = slotkeep(none, &["calc", "check-character", "{\"nothing\": 1}"]);
    assert_eq!(code(&bad), 2, "{}", err(&bad));
    let garbled = slotkeep(none, &["calc", "check-character", "{"]);
    assert_eq!(code(&garbled), 2, "{}", err(&garbled));
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let mut child = command(sample_store(), &["schema"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    drop(child.stdout.take());
    let mut said = String::new();
    child.stderr.take().expect("a pipe").read_to_string(&mut said).expect("text");
    assert_eq!(child.wait().expect("an end").code(), Some(0), "{said}");
    assert_eq!(said, "");
}

/// The first rail of +K11 as it stands, but one label is missing; then recorded, and shown again.
#[test]
fn a_rail_is_audited_from_files() {
    let folder = TempDir::new().expect("a folder");
    let store = folder.path().join("copy.slotkeep");
    fs::copy(sample_store(), &store).expect("copied");
    let drawing = asked(&store, &["place", "cabinet", "+K11"]);
    let items = drawing["rails"][0]["items"].as_array().expect("items").iter();
    let slots = items.filter(|item| !item["slot"].is_null()).enumerate();
    let places: Vec<MadePlace> = slots
        .map(|(at, item)| MadePlace {
            x_mm: item["x_mm"].as_f64().expect("mm"),
            width_mm: item["width_mm"].as_f64().expect("mm"),
            body: true,
            label: item["slot"]["unit"]["label"].as_str().filter(|_| at != 8).map(str::to_owned),
        })
        .collect();
    let mut scene = Scene::frame(3, 3.0, 500);
    (scene.width, scene.height) = (3300, 480);
    let photo = folder.path().join("rail.jpg");
    fs::write(&photo, scene.draw_rail(&places).jpeg).expect("written");

    let look = slotkeep(&store, &["audit", &text(&photo)]);
    assert_eq!(code(&look), 1, "{}", err(&look));
    let said = out(&look);
    assert!(said.contains("15 as registered, 1 without a label"), "{said}");
    assert!(said.contains("+K11.1.09") && !said.contains("+K11.1.08 "), "{said}");
    let record = ["--json", "audit", &text(&photo), "--rail", "+K11.1", "--record", "--keep"];
    let recorded = slotkeep(&store, &record);
    assert_eq!(code(&recorded), 1, "{}", err(&recorded));
    let recorded: Value = serde_json::from_slice(&recorded.stdout).expect("JSON");
    assert_eq!(recorded["photos"].as_array().map(Vec::len), Some(1));
    let id = recorded["audit"].as_str().expect("an audit");
    asked(&store, &["audit", "settle", "--slot", "+K11.1.09", "--audit", id, "--how", "stands"]);
    assert_eq!(asked(&store, &["audit", "show", "+K11.1"])["counts"]["open"], 0);

    let none = folder.path().join("none.jpg");
    fs::write(&none, "no picture").expect("written");
    let refused = slotkeep(&store, &["audit", &text(&none)]);
    assert_eq!(code(&refused), 2);
    assert!(err(&refused).contains("none.jpg") && err(&refused).contains("choose a JPEG"));
}

#[test]
fn a_photo_may_come_from_standard_input() {
    let mut child = command(sample_store(), &["read", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // The program may refuse before all is written.
    let _ = child.stdin.take().expect("a pipe").write_all(b"no picture");
    let done = child.wait_with_output().expect("an end");
    assert_eq!(code(&done), 2, "{}", err(&done));
}

/// SQLite's own locks are lost when anything in a process opens and closes the store's file, as a
/// file dialogue does. What is recorded afterwards must stay, whoever else looks at the store.
#[test]
fn a_look_beside_an_open_store_takes_nothing_away() {
    let folder = tempfile::tempdir().unwrap();
    let path = copy_of_sample(&folder);
    let store = slotkeep_store::Store::open(&path).unwrap();
    let api = slotkeep_api::Api::new(store);
    let caller = slotkeep_api::Caller::owner("owner", "window");
    let note = |text: &str| {
        let input = serde_json::json!({ "subject": "+K11.1.14", "text": text });
        let input = slotkeep_api::Payload::Json(input);
        let now = chrono::Utc::now();
        api.call("journal.note", input, &caller, now, &mut |_: &str, _, _| {}).unwrap();
    };
    note("before");
    drop(std::fs::File::open(&path).unwrap());
    asked(&path, &["journal", "list"]);
    note("after");
    let listed = asked(&path, &["journal", "list"]).to_string();
    assert!(listed.contains("after"), "another program sees it at once");
    drop(api);
    let listed = asked(&path, &["journal", "list"]).to_string();
    assert!(listed.contains("before") && listed.contains("after"), "and it stays");
}

/// The signal of service managers: the store must be closed, one file with nothing beside it.
#[cfg(unix)]
#[test]
fn a_served_store_is_closed_when_the_system_ends_the_program() {
    let folder = tempfile::tempdir().unwrap();
    let store = copy_of_sample(&folder);
    let mut serving =
        command(&store, &["--json", "serve"]).stdout(std::process::Stdio::piped()).spawn().unwrap();
    let mut said = String::new();
    let mut lines = std::io::BufReader::new(serving.stdout.take().unwrap());
    while !said.contains("http://") {
        assert!(std::io::BufRead::read_line(&mut lines, &mut said).unwrap() > 0, "{said}");
    }
    let id = serving.id().to_string();
    assert!(Command::new("kill").args(["-TERM", &id]).status().unwrap().success());
    assert!(serving.wait().unwrap().success());
    assert!(!store.with_extension("sqlite-wal").exists(), "the log was put back into the store");
}

#[test]
fn shells_complete_the_words_of_the_table() {
    for shell in ["bash", "zsh", "fish"] {
        let done = slotkeep(Path::new("none"), &["completion", shell]);
        assert_eq!(code(&done), 0, "{}", err(&done));
        for word in ["battery", "set-aside", "try-only"] {
            assert!(out(&done).contains(word), "{shell}: {word}");
        }
    }
}

/// Draws the symbol of a label line, ten px a module, with its quiet zone.
fn draw(line: &Value, to: &Path) {
    let side = line["modules"].as_u64().expect("a size") as u32;
    let symbol = line["symbol"].as_str().expect("a symbol").as_bytes();
    let picture = image::GrayImage::from_fn((side + 8) * 10, (side + 8) * 10, |x, y| {
        let module = (x / 10).checked_sub(4).zip((y / 10).checked_sub(4));
        let inside = module.filter(|(column, row)| *column < side && *row < side);
        let dark = inside.is_some_and(|(c, r)| symbol.get((r * side + c) as usize) == Some(&b'1'));
        image::Luma([if dark { 0 } else { 255 }])
    });
    picture.save(to).expect("a picture");
}

fn copy_of_sample(folder: &TempDir) -> PathBuf {
    let store = folder.path().join("copy.slotkeep");
    fs::copy(sample_store(), &store).expect("a closed store is one file");
    store
}

/// The table of commands as the program prints it.
fn api() -> Value {
    asked(Path::new("none"), &["schema"])
}

fn code(done: &Output) -> i32 {
    done.status.code().expect("it ended by itself")
}

fn out(done: &Output) -> String {
    String::from_utf8_lossy(&done.stdout).into_owned()
}

fn err(done: &Output) -> String {
    String::from_utf8_lossy(&done.stderr).into_owned()
}

fn text(path: &Path) -> String {
    path.to_str().expect("a path in UTF-8").to_owned()
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

#[test]
fn a_line_up_fails_on_a_stop_and_says_what_to_do() {
    let stopped = slotkeep(sample_store(), &["lineup", "+K13.2"]);
    assert_eq!(code(&stopped), 1, "{}", err(&stopped));
    let said = out(&stopped);
    assert!(said.starts_with("+K13.2: "), "{said}");
    assert!(said.contains("both have address 5") && !said.contains("pass"), "{said}");
    let all = out(&slotkeep(sample_store(), &["lineup", "+K13.2", "--all"]));
    assert!(all.contains("pass") && all.len() > said.len(), "{all}");
    let reply = asked(sample_store(), &["lineup", "check", "+K13.2"]);
    assert_eq!(reply["stops"].as_u64().map(|stops| stops > 0), Some(true), "{reply}");
    let kept = asked(sample_store(), &["lineup", "rules"]);
    assert!(kept.as_array().is_some_and(|rules| rules.len() > 15), "{kept}");
    let absent = slotkeep(sample_store(), &["lineup", "+K99"]);
    assert_eq!(code(&absent), 1);
    assert!(err(&absent).contains("+K99"), "{}", err(&absent));
}
