//! The page of a whole-car restoration: 100 000 entries, 5 000 parts.
//!
//! `cargo bench -p axlewright --bench page`: every screen asked for 50 times a second over two
//! connections for some seconds, while an entry is written every second, which makes all screens
//! anew. Times count from the moment at which a request was due, so that one that waited for the
//! one before it is not flattered. Bytes are those of the page, its style and its script.
//!
//! `cargo bench -p axlewright --bench page -- crowd`: the owner's page and pairing while strangers
//! on the network hold 144 connections from three addresses and others try codes as fast as they
//! are answered. Linux only: elsewhere 127.0.0.2 is no address of this machine.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};

use axlewright::desk::DEMO_CAR;
use axlewright::desk::bench::Bench;
use axlewright::web::{Options, Running, Say, start};
use axlewright_book::log::{Body, Part, PartHappened, Reading};
use tokio::net::TcpSocket;
use tokio::runtime::Runtime;

const ENTRIES: u64 = 100_000;
const PARTS: u64 = 5_000;
const AT_ONCE: u64 = 10_000;
/// Fifty a second.
const EVERY: Duration = Duration::from_millis(20);
const SECONDS: usize = 6;
const SCREENS: [&str; 18] = [
    "/",
    "/order",
    "/step/bar-in-left",
    "/splines",
    "/readings",
    "/geometry/LR",
    "/joints",
    "/joints/hub-cover-left",
    "/wheels",
    "/wheels/forecast",
    "/parts",
    "/parts?q=box+49",
    "/car",
    "/marks",
    "/log",
    "/dossier",
    "/settings",
    "/why/free-angle.target?of=LR",
];

fn main() {
    if std::env::args().any(|word| word == "crowd") {
        return crowd();
    }
    let folder = tempfile::tempdir().unwrap();
    let bench = Bench::begin(&folder.path().join("book"), "Ann").unwrap();
    let begun = Instant::now();
    bench.write("Ann", Body::CarFile { text: DEMO_CAR.to_owned() }).unwrap();
    for first in (0..ENTRIES).step_by(AT_ONCE as usize) {
        bench.write_all("Ann", (first..first + AT_ONCE).map(body).collect()).unwrap();
    }
    println!("{ENTRIES} entries in {:.1} s\n", begun.elapsed().as_secs_f64());
    let options = Options { by: "Ann".to_owned(), ..Options::default() };
    let running = start(bench, options, Say::new(|_| ())).unwrap();
    let host = format!("127.0.0.1:{}", running.port());
    println!(
        "| screen | first ms | p50 ms | p99 ms | longest ms | kB |\n|---|---|---|---|---|---|"
    );
    for screen in SCREENS {
        one(&host, screen);
    }
    running.stop();
}

fn body(number: u64) -> Body {
    let part = format!("part-{}", number % PARTS);
    // Each part is tagged first, with a name, since the car file knows none of them.
    let is_new = number < PARTS;
    match number % 10 {
        kind if is_new || kind <= 5 => Body::Part(Part {
            name: is_new.then(|| format!("clip, box {number}")),
            part,
            happened: match number / PARTS % 3 {
                0 => PartHappened::Tagged,
                1 => PartHappened::Refinished,
                _ => PartHappened::Arrived,
            },
            side: None,
            verdict: None,
            due: None,
            in_spite: None,
            note: Some("zinc plated, box 7, second shelf".to_owned()),
        }),
        6..=8 => Body::Note { about: part, text: "cleaned, greased, put by".to_owned() },
        _ => Body::Reading(Reading {
            what: "trim".to_owned(),
            side: Some("left".to_owned()),
            value: format!("{} mm", 90 + number % 9),
            load: Some("empty, half a tank".to_owned()),
            ..Reading::default()
        }),
    }
}

/// One screen for some seconds.
fn one(host: &str, screen: &str) {
    let mut lines = [Line::to(host), Line::to(host)];
    let begun = Instant::now();
    let page = lines[0].get(screen);
    let first = begun.elapsed();
    let text = String::from_utf8_lossy(&page).into_owned();
    let assets = text.split('"').filter(|part| part.starts_with("/assets/"));
    let weight: usize = page.len() + assets.map(|asset| lines[0].get(asset).len()).sum::<usize>();
    let count = SECONDS * 50;
    let start = Instant::now();
    let mut took = Vec::with_capacity(count);
    for number in 0..count {
        let due = start + EVERY * u32::try_from(number).unwrap();
        if number % 50 == 25 {
            lines[1].note(host);
        }
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
        lines[0].get(screen);
        took.push(due.elapsed());
    }
    took.sort_unstable();
    let ms = |time: Duration| time.as_secs_f64() * 1e3;
    let [half, most, last] = [count / 2, count * 99 / 100, count - 1].map(|at| ms(took[at]));
    println!(
        "| `{screen}` | {:.1} | {half:.1} | {most:.1} | {last:.1} | {:.0} |",
        ms(first),
        weight as f64 / 1e3
    );
}

/// How long the crowd is there.
const CROWD: Duration = Duration::from_secs(30);
/// From so many addresses, each with so many connections that ask for nothing.
const STRANGERS: [u8; 3] = [3, 4, 5];
const IDLE_EACH: usize = 48;
/// So many connections of each try codes.
const GUESSERS: usize = 3;
/// Devices that pair meanwhile, each once.
const PAIRED: usize = 10;

/// A book of the demo's car alone, so that what is seen is the crowd and not the figures.
fn crowd() {
    let folder = tempfile::tempdir().unwrap();
    let bench = Bench::begin(&folder.path().join("book"), "Ann").unwrap();
    bench.write("Ann", Body::CarFile { text: DEMO_CAR.to_owned() }).unwrap();
    let options = Options { by: "Ann".to_owned(), lan: true, ..Options::default() };
    let said = std::sync::Arc::new(AtomicU64::new(0));
    let lines = std::sync::Arc::clone(&said);
    let say = Say::new(move |_| {
        lines.fetch_add(1, Ordering::Relaxed);
    });
    let running = start(bench, options, say).unwrap();
    let (over, tried) = (AtomicBool::new(false), AtomicU64::new(0));
    let mut owner = Line::to(&format!("127.0.0.1:{}", running.port()));
    owner.get("/");
    println!("| | p50 ms | p99 ms | longest ms |\n|---|---|---|---|");
    told("the owner's page, nobody else there", owned(&mut owner, CROWD / 3));
    std::thread::scope(|scope| {
        let (running, over, tried) = (&running, &over, &tried);
        for last in STRANGERS {
            scope.spawn(move || idle(running, last, over));
            for _ in 0..GUESSERS {
                scope.spawn(move || guess(running, last, over, tried));
            }
        }
        let paired = scope.spawn(|| pair(running));
        told("the owner's page, with the crowd", owned(&mut owner, CROWD));
        let (paired, took) = paired.join().unwrap();
        over.store(true, Ordering::Relaxed);
        told("a device that pairs, its form", took);
        println!("\n{paired} of {PAIRED} devices were let in at the first try");
    });
    let (tried, said) = (tried.into_inner(), said.load(Ordering::Relaxed));
    println!("{tried} wrong codes were answered; {said} lines were said meanwhile");
    running.stop();
}

fn told(what: &str, mut took: Vec<Duration>) {
    took.sort_unstable();
    let ms = |at: usize| took[at.min(took.len() - 1)].as_secs_f64() * 1e3;
    let (half, most) = (ms(took.len() / 2), ms(took.len() * 99 / 100));
    println!("| {what} | {half:.1} | {most:.1} | {:.1} |", ms(took.len()));
}

/// The owner's first screen, fifty times a second.
fn owned(owner: &mut Line, long: Duration) -> Vec<Duration> {
    let (start, mut took) = (Instant::now(), Vec::new());
    for number in 0.. {
        let due = start + EVERY * number;
        if start + long < due {
            break;
        }
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
        owner.get("/");
        took.push(due.elapsed());
    }
    took
}

/// Where other devices find the page.
fn elsewhere(running: &Running) -> String {
    format!("127.0.0.2:{}", running.port())
}

/// A connection from 127.0.0.`last` to another address of this machine than its own browser uses.
fn stranger(running: &Running, last: u8) -> Option<Line> {
    let runtime = Runtime::new().unwrap();
    let to: SocketAddr = elsewhere(running).parse().unwrap();
    let stream = runtime.block_on(async {
        let socket = TcpSocket::new_v4()?;
        socket.bind(SocketAddr::from(([127, 0, 0, last], 0)))?;
        socket.connect(to).await?.into_std()
    });
    let stream = stream.ok()?;
    stream.set_nonblocking(false).ok()?;
    stream.set_nodelay(true).ok()?;
    stream.set_read_timeout(Some(Duration::from_secs(20))).ok()?;
    Some(Line { to: BufReader::new(stream), host: to.to_string() })
}

/// Connections that ask for nothing, and come again before they are sent away for it.
fn idle(running: &Running, last: u8, over: &AtomicBool) {
    while !over.load(Ordering::Relaxed) {
        let mut held: Vec<Line> = (0..IDLE_EACH).filter_map(|_| stranger(running, last)).collect();
        for line in &mut held {
            let _ = line.to.get_mut().write_all(b"GET / HTTP/1.1\r\nHost: 127");
        }
        std::thread::sleep(Duration::from_secs(3));
    }
}

/// Codes that are wrong, one after the other.
fn guess(running: &Running, last: u8, over: &AtomicBool, tried: &AtomicU64) {
    while !over.load(Ordering::Relaxed) {
        let Some(mut line) = stranger(running, last) else { continue };
        while !over.load(Ordering::Relaxed) && line.pair("WRONGONE").is_some() {
            tried.fetch_add(1, Ordering::Relaxed);
        }
    }
}

/// Devices that come to pair, from an address of their own, each with the code of the moment; how
/// many were let in at once, and how long each form took.
fn pair(running: &Running) -> (usize, Vec<Duration>) {
    let (mut let_in, mut took) = (0, Vec::new());
    for _ in 0..PAIRED {
        std::thread::sleep(CROWD / (PAIRED as u32 + 1));
        let code = running.pairing_code().unwrap();
        let begun = Instant::now();
        let answer = stranger(running, 9).and_then(|mut line| line.pair(&code));
        took.push(begun.elapsed());
        let_in += usize::from(answer == Some(303));
    }
    (let_in, took)
}

/// A connection that stays.
struct Line {
    to: BufReader<TcpStream>,
    host: String,
}

impl Line {
    fn to(host: &str) -> Self {
        let stream = TcpStream::connect(host).unwrap();
        stream.set_nodelay(true).unwrap();
        Self { to: BufReader::new(stream), host: host.to_owned() }
    }

    fn get(&mut self, path: &str) -> Vec<u8> {
        let ask = format!("GET {path} HTTP/1.1\r\nHost: {}\r\n\r\n", self.host);
        let (status, body) = self.ask(ask.as_bytes());
        assert_eq!(status, 200, "{path}");
        body
    }

    fn note(&mut self, host: &str) {
        let form = "about=bench&text=one+more";
        let ask = format!(
            "POST /log HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nContent-Type: \
             application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}",
            form.len()
        );
        assert_eq!(self.ask(ask.as_bytes()).0, 303);
    }

    /// The status of the answer to a code; nothing where the connection was ended.
    fn pair(&mut self, code: &str) -> Option<u16> {
        let (host, form) = (&self.host, format!("code={code}"));
        let ask = format!(
            "POST /pair HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nContent-Type: \
             application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}",
            form.len()
        );
        self.answer(ask.as_bytes()).ok().map(|(status, _)| status).filter(|status| 0 < *status)
    }

    fn ask(&mut self, bytes: &[u8]) -> (u16, Vec<u8>) {
        self.answer(bytes).unwrap()
    }

    fn answer(&mut self, bytes: &[u8]) -> std::io::Result<(u16, Vec<u8>)> {
        self.to.get_mut().write_all(bytes)?;
        let (mut status, mut length) = (0, 0);
        for number in 0.. {
            let mut line = String::new();
            self.to.read_line(&mut line)?;
            let line = line.trim();
            if line.is_empty() {
                break;
            }
            if number == 0 {
                status = line.split(' ').nth(1).unwrap().parse().unwrap();
            }
            if let Some((name, value)) = line.split_once(':')
                && name.eq_ignore_ascii_case("content-length")
            {
                length = value.trim().parse().unwrap();
            }
        }
        let mut body = vec![0; length];
        self.to.read_exact(&mut body)?;
        Ok((status, body))
    }
}
