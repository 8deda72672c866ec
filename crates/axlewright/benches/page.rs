//! The page of a whole-car restoration: 100 000 entries, 5 000 parts.
//!
//! `cargo bench -p axlewright --bench page`: every screen asked for 50 times a second over two
//! connections for some seconds, while an entry is written every second, which makes all screens
//! anew. Times count from the moment at which a request was due, so that one that waited for the
//! one before it is not flattered. Bytes are those of the page, its style and its script.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use axlewright::desk::DEMO_CAR;
use axlewright::desk::bench::Bench;
use axlewright::web::{Options, Say, start};
use axlewright_book::log::{Body, Part, PartHappened, Reading};

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

    fn ask(&mut self, bytes: &[u8]) -> (u16, Vec<u8>) {
        self.to.get_mut().write_all(bytes).unwrap();
        let (mut status, mut length) = (0, 0);
        for number in 0.. {
            let mut line = String::new();
            self.to.read_line(&mut line).unwrap();
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
        self.to.read_exact(&mut body).unwrap();
        (status, body)
    }
}
