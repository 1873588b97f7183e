//! How fast a large plant is: 100,000 units and a million entries.
//!
//! Each figure is printed beside a peer measured in the same run on the same machine, with their
//! ratio: times alone say as much about the machine as about the program. `SLOTKEEP_BENCH_UNITS`
//! makes the plant smaller for a quick look.

use serde_json::{Value, json};
use slotkeep_api::site_files::{SiteFile, parse};
use slotkeep_api::{Api, Caller, Payload};
use slotkeep_store::{EntryFilter, Store};
use slotkeep_xtask::make_site::{Size, files};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// The allocator of the programs.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    let units = std::env::var("SLOTKEEP_BENCH_UNITS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(100_000_usize);
    let folder = tempfile::tempdir().expect("a folder for the plant");
    let path = folder.path().join("site.sqlite");
    println!("machine: {}", machine());

    let made = files(&Size::units(units, units * 85 / 10), 7);
    let site = |with_history: bool| -> Value {
        let wanted = made.iter().filter(|(name, _)| with_history || *name != "history.csv");
        wanted.map(|(name, text)| json!({ "name": name, "text": text })).collect()
    };
    let bare = Api::new(Store::open(&folder.path().join("bare.sqlite")).expect("a new store"));
    import("import without history", units, &Arc::new(bare), &site(false));
    let api = Arc::new(Api::new(Store::open(&path).expect("a new store")));
    let (entries, importing) = import("import", units, &api, &site(true));
    floor(&api, entries, importing, &folder.path().join("floor.sqlite"));

    let (verdict, verifying) = timed(|| api.store().verify(&mut |_, _| {}).expect("verify"));
    assert!(verdict.is_clean(), "{verdict:?}");
    let (_, reading) = timed(|| peer_read(&api));
    print_rate("verify, entries", verdict.entries, verifying, "reading the journal alone", reading);

    through_the_door(&api);
    searches(&api);
}

/// Imports a site, and says how fast beside reading and checking its files alone.
fn import(what: &str, units: usize, api: &Arc<Api>, site: &Value) -> (u64, Duration) {
    let (report, importing) = timed(|| call(api, "site.import", json!({ "files": site.clone() })));
    let entries = report["entries"].as_u64().expect("a count");
    let (_, plain) = timed(|| peer_import(site.as_array().expect("files")));
    let what = format!("{what}, entries");
    print_rate(&what, entries, importing, "reading and checking its files", plain);
    println!("  {:.0} units/s of {units} units", units as f64 / importing.as_secs_f64());
    (entries, importing)
}

/// How long the database alone takes to write the finished store, rows and indexes that it has
/// already: no import can be faster.
fn floor(api: &Arc<Api>, entries: u64, importing: Duration, path: &Path) {
    let (_, copying) = timed(|| api.store().back_up(path).expect("a copy"));
    println!(
        "  {:.1} times the database copying the finished store ({:.1} s, {:.0} entries/s)",
        importing.as_secs_f64() / copying.as_secs_f64(),
        copying.as_secs_f64(),
        entries as f64 / copying.as_secs_f64()
    );
}

fn through_the_door(api: &Arc<Api>) {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let running = runtime.block_on(slotkeep_door::serve_loopback(api.clone(), 0)).expect("a door");
    let (_, secret) = running.open_url.split_once("key=").expect("the secret of this start");
    let mut line = Line::open(&running.address.to_string(), secret);
    let labels = some_labels(api);
    let card = median(&labels, |label| {
        let reply = line.post("unit.card", &json!({ "unit": label }));
        assert!(reply.contains(label.as_str()), "{reply}");
    });
    let bare = median(&labels, |_| {
        let reply = line.post("label.formats", &json!({}));
        assert!(reply.starts_with('['), "{reply}");
    });
    print_median("label to unit card through the door", card, "a list without the store", bare);
    runtime.block_on(running.stop());
}

fn searches(api: &Arc<Api>) {
    let labels = some_labels(api);
    let typed: Vec<String> = labels.iter().map(|label| label[..5].to_owned()).collect();
    let indexed = median(&typed, |text| {
        let found = call(api, "search.find", json!({ "text": text }));
        assert!(!found.as_array().expect("a list").is_empty());
    });
    let scanned = median(&typed[..typed.len().min(5)], |text| {
        let found = api.store().read(|r| {
            let units = r.units()?;
            let found = units.iter().filter(|unit| unit.label.as_str().starts_with(text)).count();
            Ok::<_, slotkeep_store::StoreFault>(found)
        });
        assert!(found.expect("a count") > 0);
    });
    print_median("a prefix typed in search", indexed, "one look at every unit", scanned);
}

/// Labels of units all over the plant.
fn some_labels(api: &Arc<Api>) -> Vec<String> {
    api.store()
        .read(|r| {
            let units = r.units()?;
            let step = (units.len() / 200).max(1);
            let some = units.iter().step_by(step).map(|unit| unit.label.to_string());
            Ok::<_, slotkeep_store::StoreFault>(some.collect())
        })
        .expect("labels")
}

fn call(api: &Arc<Api>, name: &str, input: Value) -> Value {
    let caller = Caller::owner("bench", "bench");
    let now = chrono::DateTime::parse_from_rfc3339("2026-11-25T12:00:00Z").expect("a time");
    let reply =
        api.call(name, Payload::Json(input), &caller, now.to_utc(), &mut |_: &str, _, _| {});
    match reply {
        Ok(slotkeep_api::Reply::Json(value)) => value,
        other => panic!("{name}: {other:?}"),
    }
}

/// One HTTP/1.1 connection that stays open, as a screen's does.
struct Line {
    stream: TcpStream,
    host: String,
    cookie: String,
}

impl Line {
    fn open(address: &str, secret: &str) -> Self {
        let stream = TcpStream::connect(address).expect("the door is open");
        stream.set_nodelay(true).expect("no delay");
        let port = address.rsplit(':').next().unwrap_or_default();
        let cookie = format!("slotkeep_{port}={secret}");
        Self { stream, host: address.to_owned(), cookie }
    }

    fn post(&mut self, name: &str, input: &Value) -> String {
        let body = input.to_string();
        let head = format!(
            "POST /api/{name} HTTP/1.1\r\nHost: {}\r\nCookie: {}\r\nContent-Length: {}\r\n\
             Content-Type: application/json\r\n\r\n",
            self.host,
            self.cookie,
            body.len()
        );
        self.stream.write_all((head + &body).as_bytes()).expect("sent");
        let mut reply = Vec::new();
        let mut buffer = [0; 65_536];
        loop {
            let read = self.stream.read(&mut buffer).expect("a reply");
            assert!(read > 0, "the door closed the line");
            reply.extend_from_slice(&buffer[..read]);
            if let Some(body) = whole(&reply) {
                return body;
            }
        }
    }
}

/// The body of a reply, once all of it is there.
fn whole(reply: &[u8]) -> Option<String> {
    let text = std::str::from_utf8(reply).ok()?;
    let (head, body) = text.split_once("\r\n\r\n")?;
    let length = head.lines().find_map(|line| {
        let (name, value) = line.split_once(": ")?;
        name.eq_ignore_ascii_case("content-length").then(|| value.parse::<usize>().ok())?
    })?;
    (body.len() >= length).then(|| body.to_owned())
}

/// The peer of the import: its files read and checked, and nothing recorded.
fn peer_import(site: &[Value]) {
    let text = |value: &Value| value.as_str().expect("a text").to_owned();
    let files: Vec<SiteFile> = site
        .iter()
        .map(|file| SiteFile { name: text(&file["name"]), bytes: text(&file["text"]).into_bytes() })
        .collect();
    let today = chrono::NaiveDate::from_ymd_opt(2026, 11, 25).expect("a day");
    assert!(parse(&files, today).is_ok());
}

/// The peer of verify: reading every entry once, page by page.
fn peer_read(api: &Arc<Api>) {
    let mut before_seq = None;
    loop {
        let filter = EntryFilter { before_seq, limit: 10_000, ..EntryFilter::default() };
        let page = api.store().read(|r| r.entries(&filter)).expect("a page");
        match page.last() {
            Some(last) => before_seq = Some(last.seq),
            None => return,
        }
    }
}

fn timed<T>(work: impl FnOnce() -> T) -> (T, Duration) {
    let start = Instant::now();
    let done = work();
    (done, start.elapsed())
}

fn median<T>(over: &[T], mut work: impl FnMut(&T)) -> Duration {
    let mut times: Vec<Duration> = over.iter().map(|item| timed(|| work(item)).1).collect();
    times.sort_unstable();
    times[times.len() / 2]
}

fn print_rate(what: &str, count: u64, took: Duration, peer: &str, peer_took: Duration) {
    println!(
        "{what}: {count} in {:.1} s, {:.0}/s; {:.1} times {peer} ({:.2} s)",
        took.as_secs_f64(),
        count as f64 / took.as_secs_f64(),
        took.as_secs_f64() / peer_took.as_secs_f64(),
        peer_took.as_secs_f64()
    );
}

fn print_median(what: &str, took: Duration, peer: &str, peer_took: Duration) {
    println!(
        "{what}: median {:.2} ms; {:.2} times {peer} ({:.2} ms)",
        took.as_secs_f64() * 1e3,
        took.as_secs_f64() / peer_took.as_secs_f64(),
        peer_took.as_secs_f64() * 1e3
    );
}

fn machine() -> String {
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let model = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = model.lines().find_map(|line| line.strip_prefix("model name"));
    let model = model.map(|text| text.trim_start_matches([' ', '\t', ':'])).unwrap_or("unknown");
    format!("{model}, {cores} cores, {}", std::env::consts::OS)
}
