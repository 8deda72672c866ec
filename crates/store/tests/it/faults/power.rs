//! The power goes: what the disk holds then is only what it was told to make last, and some of the
//! rest, torn.
//!
//! One run of the writer is recorded call by call, with every byte. A cut after any of the calls
//! leaves of each file what its last `fsync` made last, and of each name what the last `fsync` of
//! its folder did; of everything after that, nothing, or any of the sectors by chance.

use std::collections::BTreeMap;
use std::path::Path;

use axlewright_store::is_book;

use super::{Acks, heard, nothing_lost, traced};
use crate::common::{Dice, place};
use crate::slow;

/// Cuts at the desk and by `cargo xtask test`; `AXLEWRIGHT_CUTS` asks for more.
const CUTS: (u32, u32) = (40, 300);
/// What a disk writes whole or not at all, in bytes.
const SECTOR: usize = 512;
const CALLS: &str = "openat,write,pwrite64,ftruncate,fsync,fdatasync,rename,unlink";

/// One call, with its paths as they are and its bytes as they were.
#[derive(Debug)]
enum Call {
    Make(String),
    Write(String, Option<usize>, Vec<u8>),
    Cut(String, usize),
    Sync(String),
    Rename(String, String),
    Remove(String),
    Said(String),
}

/// `\x2f\x74` and so on, as bytes.
fn bytes(hex: &str) -> Vec<u8> {
    let pairs = hex.split("\\x").skip(1);
    pairs.map(|pair| u8::from_str_radix(&pair[..2], 16).unwrap()).collect()
}

fn text(hex: &str) -> String {
    String::from_utf8_lossy(&bytes(hex)).into_owned()
}

/// One line of the record; nothing for a call that failed or only read.
fn call(line: &str) -> Option<Call> {
    let (_, rest) = line.split_once(' ')?;
    let (name, rest) = rest.trim_start().split_once('(')?;
    if rest.contains(" = -1 ") {
        return None;
    }
    let open = rest.split_once('<').and_then(|(_, rest)| rest.split_once('>'));
    let open = open.map(|(path, _)| text(path)).unwrap_or_default();
    let quoted: Vec<&str> = rest.split('"').skip(1).step_by(2).collect();
    // The numbers between the data, or the file, and the end.
    let numbers: Vec<usize> = {
        let behind = rest.rsplit_once(['"', '>']).map_or("", |(_, behind)| behind);
        let inside = behind.split(')').next().unwrap_or_default();
        inside.split(',').filter_map(|number| number.trim().parse().ok()).collect()
    };
    Some(match name {
        "openat" if rest.contains("O_CREAT") => Call::Make(text(quoted[0])),
        "write" if open.starts_with("pipe:") => Call::Said(text(quoted[0])),
        "write" => Call::Write(open, None, bytes(quoted[0])),
        "pwrite64" => Call::Write(open, Some(numbers[1]), bytes(quoted[0])),
        "ftruncate" => Call::Cut(open, numbers[0]),
        "fsync" | "fdatasync" => Call::Sync(open),
        "rename" => Call::Rename(text(quoted[0]), text(quoted[1])),
        "unlink" => Call::Remove(text(quoted[0])),
        _ => return None,
    })
}

/// A file: what is in it, what the disk is sure to hold of it, and what was done to it since.
#[derive(Debug, Clone, Default)]
struct Kept {
    now: Vec<u8>,
    lasting: Vec<u8>,
    since: Vec<(usize, Vec<u8>)>,
}

impl Kept {
    fn write(&mut self, at: usize, bytes: &[u8]) {
        self.now.resize(self.now.len().max(at + bytes.len()), 0);
        self.now[at..at + bytes.len()].copy_from_slice(bytes);
        // Sector by sector: any of them may get there without the others.
        let (mut at, mut rest) = (at, bytes);
        while !rest.is_empty() {
            let (sector, after) = rest.split_at(rest.len().min(SECTOR - at % SECTOR));
            self.since.push((at, sector.to_vec()));
            (at, rest) = (at + sector.len(), after);
        }
    }

    /// As the disk holds it, with each of the sectors since then at the word of `reaches`.
    fn after_the_cut(&self, mut reaches: impl FnMut() -> bool) -> Vec<u8> {
        let mut bytes = self.lasting.clone();
        for (at, sector) in self.since.iter().filter(|_| reaches()) {
            bytes.resize(bytes.len().max(at + sector.len()), 0);
            bytes[*at..at + sector.len()].copy_from_slice(sector);
        }
        bytes
    }
}

/// All files, by number, under their names: as they are, and as the disk is sure to have them.
#[derive(Debug, Default)]
struct Disk {
    files: Vec<Kept>,
    names: BTreeMap<String, usize>,
    lasting: BTreeMap<String, usize>,
}

fn above(path: &str) -> &str {
    path.rsplit_once('/').map_or("", |(above, _)| above)
}

impl Disk {
    fn file(&mut self, path: &str) -> &mut Kept {
        let next = self.files.len();
        let number = *self.names.entry(path.to_owned()).or_insert(next);
        if number == next {
            self.files.push(Kept::default());
        }
        &mut self.files[number]
    }

    fn follow(&mut self, call: &Call) {
        match call {
            Call::Make(path) => {
                self.file(path);
            }
            Call::Write(path, at, bytes) => {
                let file = self.file(path);
                let at = at.unwrap_or(file.now.len());
                file.write(at, bytes);
            }
            Call::Cut(path, length) => {
                let file = self.file(path);
                file.now.resize(*length, 0);
                // Shorter at once, which is the worse case for whoever counts on the rest.
                file.lasting.truncate(*length);
                file.since.retain(|(at, _)| at < length);
            }
            Call::Sync(path) if self.names.contains_key(path) => {
                let file = self.file(path);
                (file.lasting, file.since) = (file.now.clone(), Vec::new());
            }
            Call::Sync(folder) => {
                let inside = |path: &&String| above(path) == folder;
                self.lasting.retain(|path, _| !inside(&path));
                let there = self.names.iter().filter(|(path, _)| inside(path));
                self.lasting.extend(there.map(|(path, number)| (path.clone(), *number)));
            }
            Call::Rename(from, to) => {
                if let Some(number) = self.names.remove(from) {
                    self.names.insert(to.clone(), number);
                }
            }
            Call::Remove(path) => self.names.retain(|name, _| name != path),
            Call::Said(_) => {}
        }
    }

    /// Puts down what a cut leaves of everything under `book`.
    fn put(&self, book: &str, to: &Path, dice: &mut Dice) {
        // One in three leaves nothing that was not made to last, one all names, one a part.
        let (names, chance) = match dice.below(3) {
            0 => (&self.lasting, 0),
            1 => (&self.lasting, 1 + dice.below(7)),
            _ => (&self.names, dice.below(9)),
        };
        for (path, number) in names {
            let Some(inside) = path.strip_prefix(book) else { continue };
            if inside.ends_with("-shm") || inside.ends_with(".lock") {
                continue;
            }
            let file = &self.files[*number];
            let path = to.join(inside.trim_start_matches('/'));
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            let bytes = file.after_the_cut(|| dice.below(8) < chance);
            std::fs::write(path, bytes).unwrap();
        }
    }
}

fn one_run() -> (Vec<Call>, String) {
    let (folder, book) = place();
    let trace = folder.path().join("trace");
    let options = ["-y", "-xx", "-s", "1000000", "-o", trace.to_str().unwrap(), "-e"];
    let options: Vec<String> = options.map(str::to_owned).into();
    let (out, acks) = traced(&[options, vec![format!("trace={CALLS}")]].concat(), &book);
    assert!(out.status.success() && acks.len() == 12, "{out:?}");
    let record = std::fs::read_to_string(&trace).unwrap();
    (record.lines().filter_map(call).collect(), book.to_str().unwrap().to_owned())
}

#[test]
fn a_power_cut_at_any_moment_takes_nothing_that_was_acknowledged() {
    let asked = std::env::var("AXLEWRIGHT_CUTS").ok().and_then(|cuts| cuts.parse().ok());
    let cuts: u64 = asked.unwrap_or(u64::from(slow::cases(CUTS.0, CUTS.1)));
    let (calls, book) = one_run();
    let (mut dice, mut acknowledged, mut books) = (Dice(7), 0, 0);
    // Each call is cut after once or more, so that no place is left out.
    let mut after: Vec<usize> =
        (0..cuts).map(|cut| cut as usize * calls.len() / cuts as usize).collect();
    after.dedup();
    let each = cuts.div_ceil(after.len() as u64);
    let (mut disk, mut acks, mut next) = (Disk::default(), Acks::new(), 0);
    for (number, call) in calls.iter().enumerate() {
        disk.follow(call);
        if let Call::Said(words) = call {
            words.lines().for_each(|line| heard(line, &mut acks));
        }
        if after.get(next) != Some(&number) {
            continue;
        }
        next += 1;
        for _ in 0..each {
            let (_folder, left) = place();
            disk.put(&book, &left, &mut dice);
            if is_book(&left) {
                nothing_lost(&left, &acks);
                books += 1;
            } else {
                assert!(acks.is_empty(), "{acks:?} acknowledged, and no book after {call:?}");
            }
            acknowledged += acks.len();
        }
    }
    let cuts = each * after.len() as u64;
    println!("{cuts} cuts, {books} books, {acknowledged} acknowledgements looked for, 0 lost");
    assert!(0 < books && 12 == acks.len());
}
