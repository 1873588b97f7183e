//! The door: who is let in, and that the three shapes arrive.

use rustls::pki_types::ServerName;
use rustls::pki_types::pem::PemObject;
use serde_json::{Value, json};
use slotkeep_api::{Api, Caller, Payload, Reply};
use slotkeep_door::{
    Camera, Cameras, Computer, Picture, Pictures, Running, serve_lan, serve_loopback, serve_window,
};
use slotkeep_store::Store;
use slotkeep_tests::{files_of, noon, root};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::Arc;
use tokio::runtime::Runtime;

struct Open {
    folder: tempfile::TempDir,
    api: Arc<Api>,
    runtime: Runtime,
}

impl Open {
    fn sample() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let api = Arc::new(Api::new(Store::open(&folder.path().join("site.sqlite")).unwrap()));
        let open = Self { folder, api, runtime: Runtime::new().unwrap() };
        open.call("site.import", json!({ "files": files_of(&root().join("sample-site")) }));
        open
    }

    fn call(&self, name: &str, input: Value) -> Value {
        let caller = Caller::owner("owner", "bench");
        let payload = Payload::Json(input);
        match self.api.call(name, payload, &caller, noon(), &mut |_: &str, _, _| {}) {
            Ok(Reply::Json(value)) => value,
            other => panic!("{name}: {other:?}"),
        }
    }

    fn loopback(&self) -> (Running, String, String) {
        let running = self.runtime.block_on(serve_loopback(self.api.clone(), 0)).unwrap();
        let host = running.address.to_string();
        let secret = running.open_url.split_once("key=").unwrap().1.to_owned();
        (running, host, secret)
    }
}

/// Sends a request as it stands and returns status line, head and body.
fn send(stream: &mut (impl Read + Write), request: &str) -> (u16, String, String) {
    stream.write_all(request.as_bytes()).unwrap();
    let mut reply = Vec::new();
    // A peer that closes without a farewell has still said everything.
    let _ = stream.read_to_end(&mut reply);
    let reply = String::from_utf8_lossy(&reply).into_owned();
    let (head, body) = reply.split_once("\r\n\r\n").unwrap_or((&reply, ""));
    let status = head.split(' ').nth(1).and_then(|code| code.parse().ok()).unwrap_or(0);
    (status, head.to_owned(), body.to_owned())
}

fn request(method: &str, path: &str, host: &str, more: &[(&str, &str)], body: &str) -> String {
    let mut text = format!("{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n");
    for (name, value) in more {
        text.push_str(&format!("{name}: {value}\r\n"));
    }
    text.push_str(&format!("Content-Length: {}\r\n\r\n{body}", body.len()));
    text
}

fn plain(host: &str, request: &str) -> (u16, String, String) {
    send(&mut TcpStream::connect(host).unwrap(), request)
}

#[test]
fn loopback_lets_in_only_who_has_the_secret_of_this_start() {
    let open = Open::sample();
    let (_running, host, secret) = open.loopback();
    let port = host.rsplit(':').next().unwrap();
    let ask = |more: &[(&str, &str)]| {
        plain(&host, &request("POST", "/api/site.summary", &host, more, "{}")).0
    };
    let cookie = format!("slotkeep_{port}={secret}");
    let origin = format!("http://{host}");
    assert_eq!(ask(&[]), 401);
    assert_eq!(ask(&[("Cookie", &format!("slotkeep_{port}=guess"))]), 401);
    assert_eq!(ask(&[("Cookie", &cookie)]), 200);
    assert_eq!(ask(&[("Cookie", &cookie), ("Origin", &origin)]), 200);
    assert_eq!(ask(&[("Cookie", &cookie), ("Origin", "http://elsewhere.example")]), 403);
    let rebound =
        request("POST", "/api/site.summary", "evil.example", &[("Cookie", &cookie)], "{}");
    assert_eq!(plain(&host, &rebound).0, 403);

    let (status, head, _) =
        plain(&host, &request("GET", &format!("/open?key={secret}"), &host, &[], ""));
    assert_eq!(status, 303);
    assert!(head.contains("HttpOnly") && head.contains("SameSite=Strict"), "{head}");
    assert_eq!(plain(&host, &request("GET", "/open?key=guess", &host, &[], "")).0, 401);
}

#[test]
fn files_photos_and_failures_arrive_as_what_they_are() {
    let open = Open::sample();
    let (_running, host, secret) = open.loopback();
    let cookie = format!("slotkeep_{}={secret}", host.rsplit(':').next().unwrap());
    let post = |name: &str, body: &str| {
        let path = format!("/api/{name}");
        plain(&host, &request("POST", &path, &host, &[("Cookie", &cookie)], body))
    };
    let (status, head, body) = post("label.sheet", r#"{"labels":{"cabinet":"+K11"}}"#);
    assert_eq!(status, 200, "{body}");
    assert!(head.contains("application/pdf") && body.starts_with("%PDF"), "{head}");
    let (status, _, body) = post("label.read_photo", "this is no photo");
    assert_eq!(status, 400);
    assert!(body.contains("no image"), "{body}");
    assert_eq!(post("no.such", "{}").0, 404);
    assert_eq!(post("unit.card", "{").0, 400);
    let (status, _, body) = post("unit.card", r#"{"unit":"nothing"}"#);
    let failure: Value = serde_json::from_str(&body).unwrap();
    assert_eq!((status, &failure["kind"]), (404, &json!("not_found")));
}

#[test]
fn what_is_recorded_is_heard_of_at_once() {
    let open = Open::sample();
    let (_running, host, secret) = open.loopback();
    let cookie = format!("slotkeep_{}={secret}", host.rsplit(':').next().unwrap());
    let mut stream = TcpStream::connect(&host).unwrap();
    let hear = request("GET", "/api/changes", &host, &[("Cookie", &cookie)], "");
    stream.write_all(hear.as_bytes()).unwrap();
    let mut heard = String::new();
    let mut buffer = [0; 4096];
    while !heard.contains("text/event-stream") {
        let read = stream.read(&mut buffer).unwrap();
        heard.push_str(&String::from_utf8_lossy(&buffer[..read]));
    }
    open.call("journal.note", json!({ "subject": "+K11", "text": "seal torn" }));
    while !heard.contains("journal.note") {
        let read = stream.read(&mut buffer).unwrap();
        assert!(read > 0, "{heard}");
        heard.push_str(&String::from_utf8_lossy(&buffer[..read]));
    }
    assert!(heard.contains("+K11"), "{heard}");
}

#[test]
fn a_phone_enters_by_its_pass_over_https_until_it_is_withdrawn() {
    let open = Open::sample();
    let folder = open.folder.path().join("door");
    let running = open.runtime.block_on(serve_lan(open.api.clone(), 0, &folder)).unwrap();
    let port = running.address.port();
    let authority = folder.join("authority.crt");
    let phone = |request: &str| https(port, &authority, request);
    let host = format!("localhost:{port}");

    open.call("people.set", json!({ "name": "night shift", "roles": ["technician"] }));
    let invite = open.call("device.invite", json!({ "person": "night shift", "title": "phone 1" }));
    let pass = invite["pass"].as_str().unwrap();
    let enter = |pass: &str| {
        phone(&request(
            "POST",
            "/enter",
            &host,
            &[("Content-Type", "application/json")],
            &json!({ "pass": pass }).to_string(),
        ))
    };
    assert_eq!(enter("AAAAA-AAAAA-AAAAA-AAAAA").0, 401);
    let (status, head, _) = enter(&pass.to_lowercase());
    assert_eq!(status, 204, "{head}");
    assert!(head.contains("Secure") && head.contains("HttpOnly"), "{head}");
    let cookie = format!("slotkeep_device={pass}");
    let ask = |name: &str, body: &str| {
        phone(&request("POST", &format!("/api/{name}"), &host, &[("Cookie", &cookie)], body))
    };
    let (status, _, body) = ask("site.summary", "{}");
    let summary: Value = serde_json::from_str(&body).unwrap();
    assert_eq!((status, &summary["person"]), (200, &json!("night shift")));
    assert_eq!(ask("people.set", r#"{"name":"x","roles":["owner"]}"#).0, 403);
    open.call("device.withdraw", json!({ "device": invite["device"], "reason": "lost" }));
    assert_eq!(ask("site.summary", "{}").0, 401);
}

#[test]
fn a_calendar_is_read_by_its_address_which_opens_nothing_else() {
    let open = Open::sample();
    let folder = open.folder.path().join("door");
    let running = open.runtime.block_on(serve_lan(open.api.clone(), 0, &folder)).unwrap();
    let port = running.address.port();
    let authority = folder.join("authority.crt");
    let host = format!("localhost:{port}");
    let get = |path: &str| https(port, &authority, &request("GET", path, &host, &[], ""));

    let made = open.call("battery.calendar_address", json!({}));
    let path = made["path"].as_str().unwrap();
    let (status, head, body) = get(path);
    assert_eq!(status, 200, "{body}");
    assert!(head.contains("text/calendar"), "{head}");
    assert!(body.contains("BEGIN:VEVENT") && body.contains("REFRESH-INTERVAL"), "{body}");
    assert_eq!(get("/calendar/aaaaa-aaaaa-aaaaa-aaaaa.ics").0, 404);
    let pass = path.trim_start_matches("/calendar/").trim_end_matches(".ics").to_uppercase();
    let enter = request(
        "POST",
        "/enter",
        &host,
        &[("Content-Type", "application/json")],
        &json!({ "pass": pass }).to_string(),
    );
    assert_eq!(https(port, &authority, &enter).0, 401, "it is no pass of a device");
    let cookie = format!("slotkeep_device={pass}");
    let ask = request("POST", "/api/site.summary", &host, &[("Cookie", &cookie)], "{}");
    assert_eq!(https(port, &authority, &ask).0, 401);

    let devices = open.call("device.list", json!({}));
    assert_eq!(devices[0]["calendar_only"], json!(true));
    open.call("device.withdraw", json!({ "device": made["device"], "reason": "shared too far" }));
    assert_eq!(get(path).0, 404);
    // The pass of a phone is no address of a calendar.
    let invite = open.call("people.set", json!({ "name": "shift", "roles": ["technician"] }));
    assert!(!invite.is_null());
    let invite = open.call("device.invite", json!({ "person": "shift", "title": "phone" }));
    let phone = invite["pass"].as_str().unwrap().to_lowercase();
    assert_eq!(get(&format!("/calendar/{phone}.ics")).0, 404);
}

/// Sends a request over TLS, trusting only the authority of the door.
fn https(port: u16, authority: &std::path::Path, request: &str) -> (u16, String, String) {
    let _ = rustls::crypto::ring::default_provider().install_default();
    let mut roots = rustls::RootCertStore::empty();
    roots.add(rustls::pki_types::CertificateDer::from_pem_file(authority).unwrap()).unwrap();
    let config =
        rustls::ClientConfig::builder().with_root_certificates(roots).with_no_client_auth();
    let name = ServerName::try_from("localhost").unwrap();
    let connection = rustls::ClientConnection::new(Arc::new(config), name).unwrap();
    let stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    send(&mut rustls::StreamOwned::new(connection, stream), request)
}

/// A camera that shows one picture after another and is pulled at the end.
struct Film(Vec<Vec<u8>>);

impl Camera for Film {
    fn frame(&mut self) -> Result<Vec<u8>, String> {
        self.0.pop().ok_or_else(|| "the camera was pulled".to_owned())
    }
}

struct Connected(Vec<Vec<u8>>);

impl Cameras for Connected {
    fn open(&self) -> Result<Box<dyn Camera>, String> {
        match self.0.is_empty() {
            true => Err("no camera is connected".to_owned()),
            false => Ok(Box::new(Film(self.0.clone()))),
        }
    }
}

struct Handed(Picture);

impl Pictures for Handed {
    fn copied(&self) -> Picture {
        self.0.clone()
    }

    fn dropped(&self) -> Picture {
        self.0.clone()
    }
}

fn computer(frames: Vec<Vec<u8>>, handed: Picture) -> Computer {
    Computer { cameras: Arc::new(Connected(frames)), pictures: Arc::new(Handed(handed)) }
}

#[test]
fn a_window_gets_the_picture_that_was_handed_over_and_a_stranger_does_not() {
    let cases = [
        (Ok(Some(b"\x89PNG rail".to_vec())), 200, "PNG rail"),
        (Ok(None), 204, ""),
        (Err("rail.jpg cannot be read".to_owned()), 404, "rail.jpg cannot be read"),
    ];
    for (handed, expected, word) in cases {
        let open = Open::sample();
        let serving = serve_window(open.api.clone(), 0, computer(Vec::new(), handed));
        let running = open.runtime.block_on(serving).unwrap();
        let host = running.address.to_string();
        let secret = running.open_url.split_once("key=").unwrap().1;
        let cookie = format!("slotkeep_{}={secret}", running.address.port());
        for path in ["/pictures/copied", "/pictures/dropped"] {
            let ask = |head: &[(&str, &str)]| plain(&host, &request("GET", path, &host, head, ""));
            let (status, _, body) = ask(&[("Cookie", &cookie)]);
            assert!(status == expected && body.contains(word), "{status}: {body}");
            assert_eq!(ask(&[]).0, 401);
            assert_eq!(ask(&[("Cookie", &cookie), ("Origin", "http://elsewhere.example")]).0, 403);
        }
    }
    let open = Open::sample();
    let (_running, host, secret) = open.loopback();
    let cookie = format!("slotkeep_{}={secret}", host.rsplit(':').next().unwrap());
    let head = [("Cookie", cookie.as_str())];
    let asked = plain(&host, &request("GET", "/pictures/copied", &host, &head, ""));
    assert_eq!(asked.0, 204, "a browser hands pictures to the page itself");
}

#[test]
fn a_window_sees_the_camera_of_its_computer_through_the_door() {
    let open = Open::sample();
    let frames = vec![b"\x89PNG second".to_vec(), b"\xff\xd8 first".to_vec()];
    let serving = serve_window(open.api.clone(), 0, computer(frames, Ok(None)));
    let running = open.runtime.block_on(serving).unwrap();
    let host = running.address.to_string();
    let secret = running.open_url.split_once("key=").unwrap().1;
    let cookie = format!("slotkeep_{}={secret}", running.address.port());
    let ask = |method: &str, path: &str| {
        plain(&host, &request(method, path, &host, &[("Cookie", &cookie)], ""))
    };
    assert_eq!(ask("GET", "/camera/frame").0, 404, "it is not open yet");
    assert!(ask("GET", "/camera").2.contains(r#""there":true"#));
    let (status, head, body) = ask("GET", "/camera/frame");
    assert!(status == 200 && head.contains("image/jpeg") && body.contains("first"), "{head}");
    assert!(ask("GET", "/camera/frame").1.contains("image/png"));
    let (status, _, said) = ask("GET", "/camera/frame");
    assert!(status == 404 && said.contains("was pulled"), "{said}");
    assert_eq!(ask("GET", "/camera/frame").0, 404, "it has to be opened again");
    assert!(ask("GET", "/camera").2.contains(r#""there":true"#));
    assert_eq!(ask("POST", "/camera/close").0, 204);
    let stranger = plain(&host, &request("GET", "/camera/frame", &host, &[], ""));
    assert_eq!(stranger.0, 401, "the camera is for whoever is let in");
}

#[test]
fn without_a_camera_the_window_is_told_and_other_doors_have_none() {
    let open = Open::sample();
    let none = computer(Vec::new(), Ok(None));
    let running = open.runtime.block_on(serve_window(open.api.clone(), 0, none)).unwrap();
    let host = running.address.to_string();
    let secret = running.open_url.split_once("key=").unwrap().1;
    let cookie = format!("slotkeep_{}={secret}", running.address.port());
    let (status, _, said) =
        plain(&host, &request("GET", "/camera", &host, &[("Cookie", &cookie)], ""));
    assert!(status == 200 && said.contains("no camera is connected"), "{said}");

    let (_running, host, secret) = open.loopback();
    let cookie = format!("slotkeep_{}={secret}", host.rsplit(':').next().unwrap());
    let asked = plain(&host, &request("GET", "/camera", &host, &[("Cookie", &cookie)], ""));
    assert_eq!(asked.0, 404, "pages of a browser ask the browser");
}
