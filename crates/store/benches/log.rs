//! A whole-car restoration: 100 000 entries, 5 000 parts, 20 000 photos named.
//!
//! `cargo bench -p axlewright-store --bench log [-- FOLDER]`: opening and folding the book in a
//! process of its own (time and most memory held), and one durable entry after another beside plain
//! SQLite that writes the same rows with the same settings, turn by turn, on the same disk. FOLDER
//! says on which.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use axlewright_book::log::{
    Body, Entry, Part, PartHappened, Photo, Reading, Sha, Step, StepHappened, fold, seal,
};
use axlewright_store::{Draft, Holder, Store, backup, export, import, verify};
use rusqlite::{Connection, params};

const ENTRIES: u64 = 100_000;
const PARTS: u64 = 5_000;
const APPENDS: usize = 400;
const OPENINGS: usize = 5;
const CAR: &str = include_str!("../../../examples/larch-1300/car.toml");

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    match words.as_slice() {
        [open, book] if open == "open" => return open_and_fold(Path::new(book)),
        [append, book] if append == "append" => return append_and_fold(Path::new(book)),
        _ => {}
    }
    let top = words.first().map_or_else(std::env::temp_dir, PathBuf::from);
    let folder = top.join(format!("axlewright-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let book = folder.join("book");
    make(&book);
    println!("| what | ms | of it on the processor | most memory MB |\n|---|---|---|---|");
    for what in ["open", "append"] {
        for _ in 0..OPENINGS {
            let program = std::env::current_exe().unwrap();
            let out = Command::new(program).arg(what).arg(&book).output().unwrap();
            print!("{}", String::from_utf8_lossy(&out.stdout));
            assert!(out.status.success(), "{out:?}");
        }
    }
    whole(&book, &folder);
    appends(&folder);
    std::fs::remove_dir_all(&folder).unwrap();
}

fn holder() -> Holder {
    Holder { by: "bench".to_owned(), since: "2026-11-25T21:00:00Z".to_owned() }
}

fn body(number: u64) -> Body {
    let part = format!("part-{}", number % PARTS);
    match number % 10 {
        _ if number == 1 => Body::CarFile { text: CAR.to_owned() },
        0..=3 => Body::Part(Part {
            part: part.clone(),
            happened: match number / PARTS % 4 {
                0 => PartHappened::Tagged,
                1 => PartHappened::Inspected,
                2 => PartHappened::Refinished,
                _ => PartHappened::Arrived,
            },
            side: None,
            verdict: (number / PARTS % 4 == 1).then(|| "good".to_owned()),
            due: None,
            in_spite: None,
            name: Some(format!("bolt {part}")),
            note: Some("zinc plated, box 7, second shelf".to_owned()),
        }),
        4 | 5 => Body::Photo(Photo {
            sha256: Sha::of(&number.to_le_bytes()).to_string(),
            media: "image/jpeg".to_owned(),
            bytes: 3_000_000,
            width: 4_032,
            height: 3_024,
            of: part,
            when: Some("before".to_owned()),
            note: None,
        }),
        6 => Body::Reading(Reading {
            what: "plate angle".to_owned(),
            side: Some(if number.is_multiple_of(4) { "left" } else { "right" }.to_owned()),
            value: format!("{}.{} deg", 30 + number % 7, number % 10),
            gauge: Some("digital level".to_owned()),
            ..Reading::default()
        }),
        7 => Body::Step(Step {
            step: "fit-bar-left".to_owned(),
            happened: StepHappened::Started,
            minutes: None,
            found: None,
            in_spite: None,
            note: Some("again, the bush was not in line".to_owned()),
        }),
        _ => Body::Note { about: part, text: format!("thought number {number} about this part") },
    }
}

fn draft(number: u64) -> Draft {
    let (hour, minute, second) = (number / 3_600 % 24, number / 60 % 60, number % 60);
    let at = format!("2026-11-{:02}T{hour:02}:{minute:02}:{second:02}Z", 1 + number / 4_000 % 28);
    Draft { at, by: "J. Smith".to_owned(), body: body(number) }
}

/// The book comes in as an archive, so that 20 000 photos need not be on the disk.
fn make(book: &Path) {
    let mut log = String::new();
    let mut last = Sha::NOTHING;
    for seq in 1..=ENTRIES {
        let Draft { at, by, body } = draft(seq);
        let line = seal(&Entry { seq, at, by, body }, last).unwrap();
        last = line.hash();
        log.push_str(line.text());
        log.push('\n');
    }
    let mut tar = tar::Builder::new(Vec::new());
    let mut header = tar::Header::new_ustar();
    header.set_size(log.len() as u64);
    tar.append_data(&mut header, "log.jsonl", log.as_bytes()).unwrap();
    let archive = tar.into_inner().unwrap();
    let start = Instant::now();
    import(archive.as_slice(), book).unwrap();
    let megabytes = log.len() / 1_000_000;
    println!("import of {ENTRIES} entries, {megabytes} MB: {} ms", start.elapsed().as_millis());
}

/// The most memory this process has held, in MB, as Linux counts it.
fn most_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kilobytes = line.and_then(|line| line.trim().split(' ').next()?.parse::<u64>().ok());
    kilobytes.map_or_else(|| "?".to_owned(), |kilobytes| (kilobytes / 1_000).to_string())
}

/// Milliseconds this process has been on a processor, as Linux counts them: in hundredths of a
/// second on every usual build of it.
fn busy() -> u64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // Behind the program's name in brackets; the 12th and 13th from there.
    let rest = stat.rsplit(')').next().unwrap_or_default().split_whitespace();
    rest.skip(11).take(2).filter_map(|ticks| ticks.parse::<u64>().ok()).sum::<u64>() * 10
}

fn open_and_fold(book: &Path) {
    let start = Instant::now();
    let store = Store::open(book, &holder()).unwrap();
    let opened = start.elapsed();
    let state = fold(store.entries().map(Result::unwrap));
    let all = start.elapsed();
    assert_eq!(state.last_seq(), store.last().unwrap());
    let (all, busy) = (milliseconds(all), busy());
    println!("| open alone | {:.1} | | |", milliseconds(opened));
    println!("| open, check every line, fold | {all:.0} | {busy} | {} |", most_memory());
}

/// What a bench computer does all day: the state held, entry after entry.
fn append_and_fold(book: &Path) {
    let mut store = Store::open(book, &holder()).unwrap();
    let mut state = fold(store.entries().map(Result::unwrap));
    let mut times = Vec::new();
    for number in 0..50 {
        let start = Instant::now();
        for entry in store.append(&[draft(7 + 10 * number)]).unwrap() {
            state.after(entry);
        }
        times.push(start.elapsed());
    }
    let median = milliseconds(median(&mut times));
    println!("| one more entry, durable and folded | {median:.2} | | {} |", most_memory());
}

fn whole(book: &Path, folder: &Path) {
    let store = Store::read_only(book).unwrap();
    let timed = |what: &str, work: &mut dyn FnMut()| {
        let start = Instant::now();
        work();
        println!("| {what} | {:.0} | | |", milliseconds(start.elapsed()));
    };
    timed("verify", &mut || assert!(ENTRIES <= verify(book).unwrap().safe));
    timed("export", &mut || {
        assert!(ENTRIES <= export(&store, std::io::sink()).unwrap().entries);
    });
    timed("backup", &mut || {
        assert!(ENTRIES <= backup(&store, &folder.join("copy")).unwrap().entries);
    });
}

fn milliseconds(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

fn median(times: &mut [Duration]) -> Duration {
    times.sort();
    times[times.len() / 2]
}

/// One entry after the other, each waiting for the disk; the same rows into a bare table, in turn.
fn appends(folder: &Path) {
    let mut store = Store::create(&folder.join("new"), &holder()).unwrap();
    let bare = Connection::open(folder.join("bare.sqlite")).unwrap();
    bare.pragma_update(None, "journal_mode", "WAL").unwrap();
    bare.pragma_update(None, "synchronous", "FULL").unwrap();
    bare.execute_batch("CREATE TABLE entry (seq INTEGER PRIMARY KEY, kind TEXT, line TEXT)")
        .unwrap();
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    let mut last = Sha::NOTHING;
    for number in 0..APPENDS as u64 {
        let draft = draft(7 + 10 * number);
        let Draft { at, by, body } = draft.clone();
        let line = seal(&Entry { seq: number + 1, at, by, body }, last).unwrap();
        last = line.hash();
        let start = Instant::now();
        let mut insert = bare.prepare_cached("INSERT INTO entry VALUES (?1, ?2, ?3)").unwrap();
        insert.execute(params![number as i64 + 1, line.entry().body.kind(), line.text()]).unwrap();
        theirs.push(start.elapsed());
        let start = Instant::now();
        store.append(&[draft]).unwrap();
        ours.push(start.elapsed());
    }
    let (ours, theirs) = (milliseconds(median(&mut ours)), milliseconds(median(&mut theirs)));
    let times = ours / theirs;
    println!("\n| one entry, durable, median of {APPENDS} | ms |\n|---|---|");
    println!(
        "| plain SQLite | {theirs:.3} |\n| ours | {ours:.3} |\n| ours by theirs | {times:.2} |"
    );
}
