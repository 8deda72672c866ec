//! Killed, out of room, on a failing disk: what was acknowledged stays.
//!
//! This test program starts itself again as a writer (`a_writer_writes_what_it_acknowledges` with
//! its plan in the environment) and then kills it, or has its calls to the system refused by
//! `strace`. A killed process does not lose what the system has taken but not yet put on the disk;
//! a power cut would. That each commit and each photo waits for the disk before it is
//! acknowledged is read off the calls themselves.
#![cfg(target_os = "linux")]

mod power;
mod wal;

use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use crate::common::{self, Dice, draft, holder, note, photo_entry, place, small_png};
use crate::slow;
use axlewright_book::log::{Body, Sha};
use axlewright_store::{Store, StoreError, is_book, verify};

/// Lives ended at the desk and by `cargo xtask test`; `AXLEWRIGHT_KILLS` asks for more.
const KILLS: (u32, u32) = (30, 300);
/// A book serves so many lives, so that looking through it stays short.
const LIVES_PER_BOOK: u64 = 15;

const BOOK: &str = "AXLEWRIGHT_WRITER_BOOK";
const PLAN: &str = "AXLEWRIGHT_WRITER_PLAN";
const WRITER: &str = "faults::a_writer_writes_what_it_acknowledges";

/// Says that something is written. A reader that has gone is no fault of the writer.
fn acknowledge(seq: u64, text: &str) {
    let mut out = std::io::stdout().lock();
    let _ = out.write_all(format!("\nack {seq} {text}\n").as_bytes());
    let _ = out.flush();
}

fn open(book: &Path) -> Result<Store, StoreError> {
    match Store::create(book, &holder()) {
        Err(StoreError::Taken { .. }) => Store::open(book, &holder()),
        made => made,
    }
}

/// Three threads write to one book until they are killed: entries, and photos with theirs.
fn write_for_ever(book: &Path, rounds: u64) {
    let store = Mutex::new(open(book).unwrap());
    let start = store.lock().unwrap().last().unwrap();
    std::thread::scope(|scope| {
        for thread in 0..3_u64 {
            let store = &store;
            scope.spawn(move || {
                for round in 0..rounds {
                    let text = format!("{start}-{thread}-{round}");
                    let mut store = store.lock().unwrap();
                    let entries = if thread == 0 {
                        let bytes = small_png(start * 1_000 + round);
                        let photo = store.add_photo(&bytes).unwrap();
                        store.append(&[photo_entry(&photo, &text)]).unwrap()
                    } else {
                        store.append(&[note(&text)]).unwrap()
                    };
                    acknowledge(entries[0].seq, &text);
                }
            });
        }
    });
}

/// One of each thing that is written, each tried again once if it is refused. Nothing may panic.
fn write_in_turn(book: &Path) {
    let say = |what: &str, why: &StoreError| {
        let (why, hint) = (why.to_string(), why.hint());
        let mut out = std::io::stdout().lock();
        let _ = out.write_all(format!("\nrefused {what}: {why}; {hint}\n").as_bytes());
    };
    let twice = |what: &str, work: &mut dyn FnMut() -> Result<(), StoreError>| {
        for _ in 0..2 {
            match work() {
                Ok(()) => return,
                Err(why) => say(what, &why),
            }
        }
    };
    let mut store = None;
    twice("open", &mut || open(book).map(|opened| store = Some(opened)));
    let Some(mut store) = store else { return };
    for round in 0..3 {
        twice("entry", &mut || {
            let text = format!("note-{round}");
            let written = store.append(&[note(&text)])?;
            acknowledge(written[0].seq, &text);
            Ok(())
        });
        twice("photo", &mut || {
            let text = format!("photo-{round}");
            let photo = store.add_photo(&small_png(round))?;
            let written = store.append(&[photo_entry(&photo, &text)])?;
            acknowledge(written[0].seq, &text);
            Ok(())
        });
        twice("several", &mut || {
            let texts = [format!("one-{round}"), "long ".repeat(2_000).trim().replace(' ', "-")];
            let written = store.append(&texts.clone().map(|text| note(&text)))?;
            written.iter().zip(&texts).for_each(|(entry, text)| acknowledge(entry.seq, text));
            Ok(())
        });
    }
}

#[test]
fn a_writer_writes_what_it_acknowledges() {
    let plan = std::env::var(PLAN).unwrap_or_default();
    if let Some(book) = std::env::var_os(BOOK) {
        match plan.as_str() {
            "in turn" => write_in_turn(Path::new(&book)),
            "read" => {
                let store = Store::read_only(Path::new(&book)).unwrap();
                store.entries().for_each(|entry| acknowledge(entry.unwrap().seq, "read"));
            }
            _ => write_for_ever(Path::new(&book), u64::MAX),
        }
        return;
    }
    let (_folder, book) = place();
    write_for_ever(&book, 3);
    write_in_turn(&book);
    let found = verify(&book).unwrap();
    // Three threads, three rounds; then three rounds of a note, a photo and two at once. The photos
    // are the same ones both times and lie there once.
    assert_eq!((found.safe, found.photos, found.is_whole()), (9 + 12, 3, true));
}

fn writer(book: &Path, plan: &str) -> (std::ffi::OsString, Vec<String>, [(String, String); 2]) {
    let program = std::env::current_exe().unwrap().into_os_string();
    let arguments = ["--exact", WRITER, "--nocapture", "--test-threads=1"].map(str::to_owned);
    let named =
        [(BOOK.to_owned(), book.to_str().unwrap().to_owned()), (PLAN.to_owned(), plan.to_owned())];
    (program, arguments.to_vec(), named)
}

/// What a writer has acknowledged: the number and the text of each entry.
type Acks = BTreeMap<u64, String>;

fn heard(line: &str, acks: &mut Acks) {
    let Some((seq, text)) = line.strip_prefix("ack ").and_then(|ack| ack.split_once(' ')) else {
        return;
    };
    let Ok(seq) = seq.parse() else { return };
    assert!(acks.insert(seq, text.to_owned()).is_none(), "entry {seq} acknowledged twice");
}

/// Everything acknowledged is in the book, the chain is whole, no photo is half there. How many
/// entries there are.
fn nothing_lost(book: &Path, acks: &Acks) -> u64 {
    let found = verify(book).unwrap();
    assert!(found.is_whole(), "{:?}", found.faults);
    // A photo that was not logged any more is whole all the same, or still a draft.
    for name in found.unlogged.iter().filter(|name| !name.contains(".incoming-")) {
        let sha = Sha::of(&std::fs::read(book.join("photos").join(name)).unwrap()).to_string();
        assert!(name.contains(&sha), "half a photo: {name}");
    }
    let store = Store::read_only(book).unwrap();
    let mut left = acks.clone();
    let mut last = 0;
    for entry in store.entries() {
        let entry = entry.unwrap();
        last = entry.seq;
        let said = match entry.body {
            Body::Note { text, .. } => text,
            Body::Photo(photo) => photo.of,
            other => panic!("{other:?}"),
        };
        if let Some(acknowledged) = left.remove(&entry.seq) {
            assert_eq!(acknowledged, said, "entry {}", entry.seq);
        }
    }
    assert!(left.is_empty(), "acknowledged and lost: {left:?}");
    assert_eq!(last, found.safe);
    last
}

/// Starts a writer and kills it: shortly after it started, or a little while after it has
/// acknowledged so many entries.
fn live_and_die(book: &Path, dice: &mut Dice, acks: &mut Acks) {
    let (program, arguments, named) = writer(book, "for ever");
    let mut child = Command::new(program)
        .args(arguments)
        .envs(named)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut out = BufReader::new(child.stdout.take().unwrap()).lines();
    // One in eight while it is still opening the book.
    let wanted = if dice.below(8) == 0 { 0 } else { 1 + dice.below(9) };
    let mut before = acks.len() as u64;
    let stop = before + wanted;
    while before < stop {
        let Some(Ok(line)) = out.next() else { break };
        heard(&line, acks);
        before = acks.len() as u64;
    }
    // Some moment between two of its steps.
    let turns = dice.below(if wanted == 0 { 10_000_000 } else { 1_000_000 });
    for turn in 0..turns {
        std::hint::black_box(turn);
    }
    child.kill().unwrap();
    let ended = child.wait().unwrap();
    // By our hand, and not of an error of its own.
    assert_eq!(ended.signal(), Some(9), "{ended}");
    // What it still said before it died counts too; a line cut off in the middle does not end.
    let mut rest: Vec<String> = out.map_while(Result::ok).collect();
    rest.pop_if(|line| line.starts_with("ack ") && line.split(' ').count() < 3);
    rest.iter().for_each(|line| heard(line, acks));
}

#[test]
fn killed_at_any_moment_it_loses_nothing_it_acknowledged() {
    let asked = std::env::var("AXLEWRIGHT_KILLS").ok().and_then(|kills| kills.parse().ok());
    let kills = asked.unwrap_or(u64::from(slow::cases(KILLS.0, KILLS.1)));
    let (done, acknowledged, more) = (AtomicU64::new(0), AtomicU64::new(0), AtomicU64::new(0));
    std::thread::scope(|scope| {
        for lane in 0..4_u64 {
            let (done, acknowledged, more) = (&done, &acknowledged, &more);
            scope.spawn(move || {
                let mut dice = Dice(lane);
                while done.load(Ordering::Relaxed) < kills {
                    let (_folder, book) = place();
                    let mut acks = Acks::new();
                    let mut entries = 0;
                    for _ in 0..LIVES_PER_BOOK {
                        live_and_die(&book, &mut dice, &mut acks);
                        if is_book(&book) {
                            entries = nothing_lost(&book, &acks);
                        } else {
                            assert!(acks.is_empty());
                        }
                        done.fetch_add(1, Ordering::Relaxed);
                    }
                    acknowledged.fetch_add(acks.len() as u64, Ordering::Relaxed);
                    more.fetch_add(entries - acks.len() as u64, Ordering::Relaxed);
                }
            });
        }
    });
    let [done, acknowledged, more] = [done, acknowledged, more].map(AtomicU64::into_inner);
    println!(
        "{done} kills, {acknowledged} entries acknowledged, 0 lost; {more} more written whole and \
         not yet acknowledged"
    );
    assert!(kills <= done && kills < acknowledged);
}

/// The calls by which something is made, written, made to last or given its name.
const CALLS: &str = "openat,write,pwrite64,ftruncate,fsync,fdatasync,rename,mkdir,unlink";

fn traced(options: &[String], book: &Path) -> (std::process::Output, Acks) {
    traced_plan("in turn", options, book)
}

fn traced_plan(plan: &str, options: &[String], book: &Path) -> (std::process::Output, Acks) {
    let (program, arguments, named) = writer(book, plan);
    let out = Command::new("strace")
        .args(["-f", "--seccomp-bpf", "-qq"])
        .args(options)
        .arg("--")
        .arg(program)
        .args(arguments)
        .envs(named)
        .output()
        .expect("strace is needed; `cargo xtask test` installs it on Debian");
    let mut acks = Acks::new();
    String::from_utf8_lossy(&out.stdout).lines().for_each(|line| heard(line, &mut acks));
    (out, acks)
}

/// The calls of one run in which nothing is refused: each as the thread, its name and the rest of
/// the line; and the name of the book in them.
fn calls_of_one_run() -> (Vec<[String; 3]>, String) {
    let (folder, book) = place();
    let trace = folder.path().join("trace");
    let options = ["-y", "-o", trace.to_str().unwrap(), "-e", &format!("trace={CALLS}")];
    let (out, acks) = traced(&options.map(str::to_owned), &book);
    assert!(out.status.success() && acks.len() == 12, "{out:?}");
    let text = std::fs::read_to_string(&trace).unwrap();
    let calls = text.lines().filter_map(|line| {
        let (thread, rest) = line.split_once(' ')?;
        let (call, rest) = rest.trim_start().split_once('(')?;
        Some([thread, call, rest].map(str::to_owned))
    });
    (calls.collect(), book.to_str().unwrap().to_owned())
}

/// Every call that touches the book, as its name and its place among the calls of that name.
fn calls_on_the_book() -> Vec<(String, usize)> {
    let mut seen: BTreeMap<(String, String), usize> = BTreeMap::new();
    let mut found = Vec::new();
    let (calls, book) = calls_of_one_run();
    for [thread, call, rest] in calls {
        // `strace` counts the calls of each thread by themselves.
        let count = seen.entry((thread, call.clone())).or_default();
        *count += 1;
        let reading = call == "openat" && rest.contains("O_RDONLY");
        if rest.contains(&book) && !reading {
            found.push((call, *count));
        }
    }
    found
}

/// Files and folders with something in them that a power cut would take away.
#[derive(Default)]
struct Unsafe {
    names: BTreeSet<String>,
    synced: usize,
}

impl Unsafe {
    /// Follows one call. Small pictures, the lock and what SQLite makes anew need not last.
    fn follow(&mut self, call: &str, rest: &str) {
        const NEED_NOT_LAST: [&str; 5] = ["/thumbs", "book.lock", "book.head", "-shm", "-journal"];
        let need = |name: &str| !NEED_NOT_LAST.iter().any(|word| name.contains(word));
        let above = |name: &str| name.rsplit_once('/').map_or("", |(above, _)| above).to_owned();
        // The path behind a descriptor, `7</a/b>`, and paths in quotes.
        let open = rest.split_once('<').and_then(|(_, rest)| rest.split_once('>'));
        let open = open.map_or("", |(name, _)| name);
        let quoted: Vec<&str> = rest.split('"').skip(1).step_by(2).collect();
        let failed = rest.contains(" = -1 ");
        match call {
            "write" | "pwrite64" | "ftruncate" if need(open) && !failed => {
                self.names.insert(open.to_owned());
            }
            "fsync" | "fdatasync" if !failed => {
                self.synced += usize::from(self.names.remove(open));
            }
            "mkdir" if need(quoted[0]) && !failed => {
                self.names.insert(above(quoted[0]));
            }
            "openat" if rest.contains("O_CREAT") && need(quoted[0]) && !failed => {
                let name = quoted[0].rsplit('/').next().unwrap_or_default();
                let under_its_own = quoted[0].contains("/photos/") && !name.starts_with('.');
                assert!(!under_its_own, "a photo written straight under its name: {rest}");
                // A draft's own name need not last.
                if !name.starts_with('.') {
                    self.names.insert(above(quoted[0]));
                }
            }
            "rename" if need(quoted[1]) && !failed => {
                let half = self.names.contains(quoted[0]);
                assert!(!half, "given its name before it was on the disk: {rest}");
                self.names.insert(above(quoted[1]));
            }
            _ => {}
        }
    }
}

#[test]
fn everything_is_on_the_disk_before_it_is_acknowledged_or_named() {
    let (calls, book) = calls_of_one_run();
    let (mut left, mut acks, mut photos) = (Unsafe::default(), 0, 0);
    // The folder around it too: the book's own name stands there.
    let around = book.trim_end_matches("/book");
    for [_, call, rest] in &calls {
        if call == "write" && rest.contains(r#""\nack "#) {
            acks += 1;
            assert!(left.names.is_empty(), "acknowledged before {:?} was safe", left.names);
        } else if rest.contains(around) {
            photos += usize::from(call == "rename" && rest.contains("/photos/"));
            left.follow(call, rest);
            // An entry goes into the log only after the photo that it names.
            let of_photos = |name: &&String| name.contains("/photos");
            if call == "pwrite64" && rest.contains("book.sqlite-wal") {
                let half: Vec<&String> = left.names.iter().filter(of_photos).collect();
                assert!(half.is_empty(), "logged before {half:?} was safe");
            }
        }
    }
    // Nine transactions, three of them with a photo, which waits for itself and its folder.
    assert_eq!((acks, photos), (12, 3));
    assert!(9 + 2 * 3 <= left.synced, "{} times something was made to last", left.synced);
}

#[test]
fn whatever_call_the_disk_refuses_nothing_acknowledged_is_lost() {
    if slow::skipped() {
        return;
    }
    let calls = calls_on_the_book();
    for wanted in ["write", "pwrite64", "rename", "openat", "mkdir"] {
        assert!(calls.iter().any(|(call, _)| call == wanted), "no {wanted} among {calls:?}");
    }
    assert!(calls.iter().filter(|(call, _)| call.starts_with('f')).count() > 12, "{calls:?}");
    let mut cases = Vec::new();
    for (call, count) in &calls {
        // A failing disk refuses one call; a full one refuses this one and all that follow.
        cases.push(format!("{call}:error=EIO:when={count}"));
        if matches!(call.as_str(), "write" | "pwrite64" | "openat" | "mkdir") {
            cases.push(format!("{call}:error=ENOSPC:when={count}+"));
        }
    }
    let next = AtomicU64::new(0);
    let totals = [const { AtomicU64::new(0) }; 3];
    std::thread::scope(|scope| {
        for _ in 0..3 {
            scope.spawn(|| {
                while let Some(case) = cases.get(next.fetch_add(1, Ordering::Relaxed) as usize) {
                    let counts = refused_once(case);
                    for (total, count) in totals.iter().zip(counts) {
                        total.fetch_add(count, Ordering::Relaxed);
                    }
                }
            });
        }
    });
    let [acknowledged, told, books] = totals.map(AtomicU64::into_inner);
    println!(
        "{} refusals injected, {told} times the writer was told, {acknowledged} entries \
         acknowledged, 0 lost; {books} books open again",
        cases.len()
    );
    assert!(cases.len() as u64 / 3 < told, "hardly a refusal was noticed");
}

/// One run with one refusal: how many entries were acknowledged, whether the writer was told, and
/// whether there is a book.
fn refused_once(case: &str) -> [u64; 3] {
    let (folder, book) = place();
    let null = folder.path().join("trace").to_str().unwrap().to_owned();
    let call = case.split(':').next().unwrap_or_default();
    let options = ["-o", &null, "-e", &format!("trace={call}"), "-e", &format!("inject={case}")];
    let (out, acks) = traced(&options.map(str::to_owned), &book);
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(!said.contains("panicked"), "{case}: {said}");
    let errors = String::from_utf8_lossy(&out.stderr);
    assert!(!errors.contains("panicked at crates"), "{case}: {errors}");
    let injected = std::fs::read_to_string(&null).unwrap_or_default();
    assert!(injected.contains("(INJECTED)"), "{case} did not happen");
    let refusals: Vec<&str> = said.lines().filter(|line| line.starts_with("refused ")).collect();
    for refusal in &refusals {
        // A sentence with the place and a hint.
        assert!(refusal.contains('`') && refusal.contains("; "), "{case}: {refusal}");
        if case.contains("ENOSPC") && !case.starts_with("openat") {
            // The database's small index file grows in a way of its own, and then says less.
            let said = refusal.contains("no room is left") || refusal.contains("disk I/O error");
            assert!(
                said && refusal.contains("room") | refusal.contains("full"),
                "{case}: {refusal}"
            );
        }
    }
    if !is_book(&book) {
        assert!(acks.is_empty(), "{case}: acknowledged, and no book");
        return [0, 1.min(refusals.len() as u64), 0];
    }
    nothing_lost(&book, &acks);
    let mut store = Store::open(&book, &holder()).unwrap_or_else(|why| panic!("{case}: {why}"));
    store.append(&[draft(Body::Note { about: String::new(), text: "on".to_owned() })]).unwrap();
    drop(store);
    assert!(verify(&book).unwrap().is_whole(), "{case}");
    [acks.len() as u64, 1.min(refusals.len() as u64), 1]
}

/// Refuses to open some of a book's files as a disk does that may only be read.
fn cannot_be_written(book: &Path, files: &[&str]) -> Vec<String> {
    let mut options = vec!["-o".to_owned(), "/dev/null".to_owned()];
    for file in files {
        options.extend(["-P".to_owned(), book.join(file).to_str().unwrap().to_owned()]);
    }
    let inject = ["-e", "trace=openat", "-e", "inject=openat:error=EROFS"];
    options.extend(inject.map(str::to_owned));
    options
}

#[test]
fn a_disk_that_may_only_be_read_is_told_and_read() {
    let (_folder, book) = place();
    common::filled(&book, 25);
    let (out, acks) = traced(&cannot_be_written(&book, &["book.lock"]), &book);
    let said = String::from_utf8_lossy(&out.stdout);
    assert!(said.contains("book.lock` may not be written; ask for the right to write"), "{said}");
    assert!(acks.is_empty());
    let beside = ["book.sqlite-wal", "book.sqlite-shm", "book.lock"];
    let (out, acks) = traced_plan("read", &cannot_be_written(&book, &beside), &book);
    assert_eq!(acks.len(), 25, "{out:?}");
    let found = verify(&book).unwrap();
    assert!(found.is_whole() && found.safe == 25, "{found:?}");
}
