//! The page on the bench: as a function, and over a real socket, byte by byte, where doors, slow
//! connections and what is heard meanwhile are looked at.

mod doors;
mod live;
mod refused;
mod screens;

use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use axlewright::desk::DEMO_CAR;
use axlewright::desk::bench::Bench;
use axlewright::web::{Options, Running, Say, start};
use axlewright_book::log::Body;
use axum::Router;
use axum::http::Request;
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tower::ServiceExt;

/// A book with the demo car in it, and its page.
pub struct Page {
    pub host: String,
    way: Way,
    said: Arc<Mutex<Vec<String>>>,
    _folder: TempDir,
}

enum Way {
    Function { app: Router, runtime: Runtime },
    Socket(Running),
}

/// What came back.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| {
            let (its, value) = line.split_once(':')?;
            its.eq_ignore_ascii_case(name).then(|| value.trim())
        })
    }

    #[track_caller]
    pub fn is(self, status: u16) -> Self {
        assert_eq!(self.status, status, "{}\n{}", self.head, self.text());
        self
    }

    /// A refusal: a plain sentence on a page of ours, and nothing of the inside.
    #[track_caller]
    pub fn says(self, status: u16, words: &str) -> Self {
        let answer = self.is(status);
        let text = answer.text();
        assert!(text.contains(words), "no `{words}` in:\n{text}");
        let folder = std::env::temp_dir().display().to_string();
        for inside in ["panicked", "src/", ".rs", "Error {", "sqlite", folder.as_str()] {
            assert!(!text.contains(inside), "`{inside}` in:\n{text}");
        }
        answer
    }
}

impl Page {
    /// The page as a function, at an address where nothing listens.
    pub fn open() -> Self {
        let (folder, bench) = begun();
        Self::function(folder, bench)
    }

    fn function(folder: TempDir, bench: Bench) -> Self {
        let local = SocketAddr::from(([127, 0, 0, 1], 4711));
        let app = axlewright::web::app(bench, "Ann".to_owned(), local);
        let way = Way::Function { app, runtime: Runtime::new().unwrap() };
        Self { host: local.to_string(), way, said: Arc::default(), _folder: folder }
    }

    /// The page behind a socket; on the local network, too, if asked for.
    pub fn served(lan: bool) -> Self {
        Self::with(Options { lan, ..Options::default() })
    }

    /// The page behind a socket, in any way that can be asked for.
    pub fn with(options: Options) -> Self {
        let (folder, bench) = begun();
        let options = Options { by: "Ann".to_owned(), ..options };
        let said = Arc::new(Mutex::new(Vec::new()));
        let lines = Arc::clone(&said);
        let say = Say::new(move |line| lines.lock().unwrap().push(line.to_owned()));
        let running = start(bench, options, say).unwrap();
        let host = format!("127.0.0.1:{}", running.port());
        Self { host, way: Way::Socket(running), said, _folder: folder }
    }

    /// What was said where the program was started.
    pub fn said(&self) -> Vec<String> {
        self.said.lock().unwrap().clone()
    }

    pub fn port(&self) -> u16 {
        self.host.rsplit(':').next().unwrap().parse().unwrap()
    }

    /// The server behind the socket.
    #[track_caller]
    pub fn running(&self) -> &Running {
        let Way::Socket(running) = &self.way else { panic!("this page has no socket") };
        running
    }

    /// Ends what is served.
    pub fn stop(self) {
        if let Way::Socket(running) = self.way {
            running.stop();
        }
    }

    /// The page of a book that stands elsewhere, as a function.
    pub fn of(bench: Bench) -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self::function(folder, bench)
    }

    pub fn connect(&self) -> TcpStream {
        connect(&self.host)
    }

    pub fn send(&self, bytes: &[u8]) -> Answer {
        let Way::Function { app, runtime } = &self.way else {
            let mut stream = self.connect();
            // Whoever is refused early may find the door closed while still talking.
            let _ = stream.write_all(bytes);
            return answer(&mut stream);
        };
        runtime.block_on(async {
            let got = app.clone().oneshot(request(bytes)).await.unwrap();
            let (head, body) = got.into_parts();
            let body = axum::body::to_bytes(body, usize::MAX).await.unwrap().to_vec();
            let lines = head.headers.iter().map(|(name, value)| {
                format!("{name}: {}", String::from_utf8_lossy(value.as_bytes()))
            });
            let fields = lines.collect::<Vec<_>>().join("\r\n");
            Answer { status: head.status.as_u16(), head: fields, body }
        })
    }

    pub fn get(&self, path: &str) -> Answer {
        let host = &self.host;
        self.send(
            format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").as_bytes(),
        )
    }

    /// A form as our own page sends it.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let origin = format!("Origin: http://{}\r\n", self.host);
        self.post_with(path, &form(fields), &origin)
    }

    /// A form with other headers.
    pub fn post_with(&self, path: &str, body: &str, headers: &str) -> Answer {
        let (host, length) = (&self.host, body.len());
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Type: \
             application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n{headers}\r\n{body}"
        );
        self.send(head.as_bytes())
    }

    /// The number of the last entry, as every screen carries it.
    pub fn seq(&self) -> u64 {
        let page = self.get("/all").is(200).text();
        let at = page.split("data-seq=\"").nth(1).unwrap();
        at.split('"').next().unwrap().parse().unwrap()
    }

    /// Runs something and asserts that nothing was written by it.
    #[track_caller]
    pub fn writes_nothing<T>(&self, act: impl FnOnce(&Self) -> T) -> T {
        let before = self.seq();
        let out = act(self);
        assert_eq!(self.seq(), before);
        out
    }
}

/// A folder with a book in it, begun with the demo's car file.
fn begun() -> (TempDir, Bench) {
    let folder = tempfile::tempdir().unwrap();
    let bench = Bench::begin(&folder.path().join("book"), "Ann").unwrap();
    bench.write("Ann", Body::CarFile { text: DEMO_CAR.to_owned() }).unwrap();
    (folder, bench)
}

/// The request that these bytes are.
fn request(bytes: &[u8]) -> Request<axum::body::Body> {
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n").unwrap();
    let head = std::str::from_utf8(&bytes[..end]).unwrap();
    let mut lines = head.split("\r\n");
    let mut first = lines.next().unwrap().split(' ');
    let request = Request::builder().method(first.next().unwrap()).uri(first.next().unwrap());
    let fields = lines.map(|line| line.split_once(": ").unwrap());
    let request = fields.fold(request, |request, (name, value)| request.header(name, value));
    request.body(bytes[end + 4..].to_vec().into()).unwrap()
}

pub fn connect(host: &str) -> TcpStream {
    let stream = TcpStream::connect(host).unwrap();
    // Nothing here is about time; a test that hangs is to end all the same.
    stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
    stream
}

pub fn form(fields: &[(&str, &str)]) -> String {
    let escaped =
        |text: &str| -> String { text.bytes().map(|byte| format!("%{byte:02X}")).collect() };
    let pairs: Vec<String> =
        fields.iter().map(|(name, value)| format!("{name}={}", escaped(value))).collect();
    pairs.join("&")
}

/// Reads one answer to its end.
pub fn answer(stream: &mut TcpStream) -> Answer {
    let mut bytes = Vec::new();
    // A door closed hard after the answer is no fault of the answer.
    let _ = stream.read_to_end(&mut bytes);
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n").unwrap_or(bytes.len());
    let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
    let body = bytes.get(end + 4..).unwrap_or_default().to_vec();
    let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0);
    Answer { status, head, body }
}
