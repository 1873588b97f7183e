//! What must stay absent from the project for its design to hold.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

/// Which of our packages each package may depend on. One that is not listed may use none.
const LAYERS: &[(&str, &[&str])] = &[
    ("slotkeep-domain", &[]),
    ("slotkeep-store", &["slotkeep-domain"]),
    ("slotkeep-optics", &["slotkeep-domain"]),
    ("slotkeep-paper", &["slotkeep-domain", "slotkeep-optics"]),
    ("slotkeep-api", &["slotkeep-domain", "slotkeep-store", "slotkeep-optics", "slotkeep-paper"]),
    ("slotkeep-door", &["slotkeep-api"]),
    ("slotkeep-cli", &["slotkeep-api", "slotkeep-store", "slotkeep-door"]),
    ("slotkeep-app", &["slotkeep-api", "slotkeep-store", "slotkeep-door"]),
    ("slotkeep-xtask", &[]),
    (
        "slotkeep-tests",
        &[
            "slotkeep-domain",
            "slotkeep-store",
            "slotkeep-optics",
            "slotkeep-paper",
            "slotkeep-api",
            "slotkeep-door",
            "slotkeep-xtask",
        ],
    ),
];

/// Crates that other programs could use: they return, and never print.
const LIBRARIES: &[&str] = &["domain", "store", "optics", "paper", "api", "door"];

/// What may stand at the top of the repository, beside hidden files.
const TOP_LEVEL: &[&str] = &[
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "sample-site",
    "schemas",
    "src-tauri",
    "tests",
    "ui",
];

/// Names that say nothing about what is inside.
const EMPTY_NAMES: &[&str] = &[
    "common",
    "core",
    "helper",
    "helpers",
    "manager",
    "managers",
    "misc",
    "service",
    "services",
    "shared",
    "util",
    "utilities",
    "utils",
];

const RUST_LINES_UNDER: usize = 500;
const COMPONENT_LINES_UNDER: usize = 300;

#[test]
fn each_package_uses_only_the_layers_below_it() {
    let mut wrong = Vec::new();
    for package in packages() {
        let name = text(&package["name"]);
        let Some((_, allowed)) = LAYERS.iter().find(|(layer, _)| *layer == name) else {
            wrong.push(format!("{name} is not in the table of layers"));
            continue;
        };
        for dependency in dependencies(&package) {
            if dependency.starts_with("slotkeep-") && !allowed.contains(&dependency.as_str()) {
                wrong.push(format!("{name} must not depend on {dependency}"));
            }
        }
    }
    none(wrong);
}

#[test]
fn only_the_store_knows_the_database() {
    let mut wrong = Vec::new();
    for package in packages() {
        let name = text(&package["name"]);
        if name != "slotkeep-store" && dependencies(&package).iter().any(|d| d == "rusqlite") {
            wrong.push(format!("{name} must not depend on rusqlite"));
        }
    }
    for file in rust_files(&[]) {
        let path = file.path.to_string_lossy().into_owned();
        if path.starts_with("src-tauri/crates/store/") || path == "tests/tests/tidy.rs" {
            continue;
        }
        wrong.extend(file.places(&file.code, &["rusqlite"]));
    }
    none(wrong);
}

#[test]
fn the_domain_has_no_clock_no_files_and_no_serialisation() {
    const ABSENT: &[&str] = &[
        "Utc::now",
        "Local::now",
        "SystemTime",
        "Instant",
        "std::fs",
        "std::net",
        "std::io",
        "std::env",
        "std::process",
        "now_v7",
        "new_v4",
        "serde",
    ];
    none(
        rust_files(&["src-tauri/crates/domain/src"])
            .iter()
            .flat_map(|file| file.places(&file.code, ABSENT))
            .collect(),
    );
}

#[test]
fn libraries_print_nothing() {
    const PRINTING: &[&str] = &["println!", "print!", "eprintln!", "eprint!", "dbg!"];
    let folders: Vec<String> =
        LIBRARIES.iter().map(|name| format!("src-tauri/crates/{name}/src")).collect();
    let folders: Vec<&str> = folders.iter().map(String::as_str).collect();
    none(rust_files(&folders).iter().flat_map(|file| file.places(&file.code, PRINTING)).collect());
}

#[test]
fn the_top_level_holds_only_what_it_should() {
    let mut wrong: Vec<String> = tracked()
        .iter()
        .filter_map(|path| path.iter().next().map(|first| first.to_string_lossy().into_owned()))
        .filter(|first| !first.starts_with('.') && !TOP_LEVEL.contains(&first.as_str()))
        .collect();
    wrong.dedup();
    none(wrong);
}

#[test]
fn files_stay_short_enough_to_read() {
    let mut wrong = Vec::new();
    for file in rust_files(&[]) {
        let lines = file.code.lines().count();
        if !is_test(&file.path) && lines >= RUST_LINES_UNDER {
            let path = file.path.display();
            wrong.push(format!("{path}: {lines} lines without tests, split it by its verbs"));
        }
    }
    for path in tracked() {
        if path.extension().is_some_and(|extension| extension == "svelte") {
            let lines = read(&path).lines().count();
            if lines >= COMPONENT_LINES_UNDER {
                wrong.push(format!("{}: {lines} lines, take parts out", path.display()));
            }
        }
    }
    none(wrong);
}

#[test]
fn names_say_what_is_inside() {
    let mut wrong = Vec::new();
    for path in tracked() {
        for part in path.iter() {
            let part = part.to_string_lossy();
            let stem = part.split('.').next().unwrap_or_default();
            if EMPTY_NAMES.contains(&stem) {
                wrong.push(format!("{}: \"{stem}\" says nothing", path.display()));
            }
        }
    }
    for file in rust_files(&[]) {
        for (number, line) in file.whole.lines().enumerate() {
            let declared = line.trim_start().trim_start_matches("pub ").strip_prefix("mod ");
            let name = declared.unwrap_or_default().trim_end_matches([';', '{', ' ']);
            if EMPTY_NAMES.contains(&name) {
                let path = file.path.display();
                wrong.push(format!("{path}:{}: \"{name}\" says nothing", number + 1));
            }
        }
    }
    none(wrong);
}

#[test]
fn nothing_is_tied_to_one_machine_or_registry() {
    // Written in halves, so that this file passes its own test.
    let absent = [
        ["/ho", "me/"],
        ["/ro", "ot/"],
        ["/wo", "rk/"],
        ["/Us", "ers/"],
        ["\\Us", "ers\\"],
        ["crates", ".io"],
        ["npm", "js."],
        ["py", "pi."],
        ["deb", "ian.org"],
    ]
    .map(|halves| halves.concat());
    let absent: Vec<&str> = absent.iter().map(String::as_str).collect();
    let mut wrong = Vec::new();
    for path in tracked() {
        let name = path.file_name().unwrap_or_default();
        if name == "Cargo.lock" || name == "package-lock.json" {
            continue;
        }
        // Pictures and databases hold no text that a person wrote for us.
        let Ok(whole) = fs::read_to_string(root().join(&path)) else { continue };
        let file = Source { path, code: String::new(), whole };
        wrong.extend(file.places(&file.whole, &absent));
    }
    none(wrong);
}

/// A Rust file, and what of it is code: no comments, and nothing from the tests' module on.
struct Source {
    path: PathBuf,
    code: String,
    whole: String,
}

impl Source {
    fn read(path: PathBuf) -> Self {
        let whole = read(&path);
        let code = match whole.find("#[cfg(test)]\nmod ") {
            Some(tests) => &whole[..tests],
            None => &whole,
        };
        let code = code.lines().map(without_comment).collect::<Vec<_>>().join("\n");
        Self { path, code, whole }
    }

    /// Lists each line of `text` that holds one of `words`, as `file:line: word`.
    fn places(&self, text: &str, words: &[&str]) -> Vec<String> {
        let mut places = Vec::new();
        for (number, line) in text.lines().enumerate() {
            for word in words.iter().filter(|word| line.contains(*word)) {
                places.push(format!("{}:{}: {word}", self.path.display(), number + 1));
            }
        }
        places
    }
}

/// Drops a comment that has the line to itself; one after code may hide a word, and does not.
fn without_comment(line: &str) -> &str {
    if line.trim_start().starts_with("//") { "" } else { line }
}

/// Rust files that lie under one of the folders, or all where none is named.
fn rust_files(folders: &[&str]) -> Vec<Source> {
    let files: Vec<Source> = tracked()
        .into_iter()
        .filter(|path| path.extension().is_some_and(|extension| extension == "rs"))
        .filter(|path| folders.is_empty() || folders.iter().any(|f| path.starts_with(f)))
        .map(Source::read)
        .collect();
    assert!(!files.is_empty(), "no Rust file under {folders:?}: has a folder moved?");
    files
}

fn is_test(path: &Path) -> bool {
    path.iter().any(|part| part == "tests" || part == "benches" || part == "tests.rs")
}

/// Files that git holds, or would hold with the next commit, and that are there.
fn tracked() -> Vec<PathBuf> {
    let output = Command::new("git")
        .args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"])
        .current_dir(root())
        .output()
        .expect("git must be installed to list the project's files");
    assert!(output.status.success(), "git: {}", String::from_utf8_lossy(&output.stderr));
    let listed = String::from_utf8(output.stdout).expect("file names are UTF-8");
    let paths: Vec<PathBuf> = listed
        .split('\0')
        .map(PathBuf::from)
        .filter(|path| !path.as_os_str().is_empty() && root().join(path).is_file())
        .collect();
    assert!(!paths.is_empty(), "git lists no file: is this a clone?");
    paths
}

fn packages() -> Vec<Value> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--no-deps", "--offline", "--format-version", "1"])
        .current_dir(root())
        .output()
        .expect("cargo runs this test");
    assert!(output.status.success(), "cargo: {}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).expect("cargo prints JSON");
    metadata["packages"].as_array().expect("a list of packages").clone()
}

/// Every dependency counts, whether for building, for tests or for the program itself.
fn dependencies(package: &Value) -> Vec<String> {
    package["dependencies"].as_array().into_iter().flatten().map(|d| text(&d["name"])).collect()
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

fn read(path: &Path) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn none(wrong: Vec<String>) {
    assert!(wrong.is_empty(), "\n{}\n", wrong.join("\n"));
}
