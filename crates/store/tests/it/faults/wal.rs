//! The write-ahead file of a writer that was killed: bits flipped, the end cut off, gone. Whatever
//! is missing then is noticed, and nobody makes it worse.

use std::fs;

use axlewright_store::{BOOK_FILE, Fault, Loss, Store, StoreError, export, verify};

use super::{Acks, live_and_die};
use crate::common::{Dice, filled, holder, note, place};
use crate::slow;

/// Damages at the desk and by `cargo xtask test`; `AXLEWRIGHT_COPIES` asks for more.
const DAMAGES: (u32, u32) = (40, 400);
/// A killed writer's book serves for so many of them.
const PER_BOOK: u64 = 40;

/// One damage to the file's bytes; nothing leaves none of them.
fn damage(bytes: &mut Vec<u8>, dice: &mut Dice) -> bool {
    let length = bytes.len() as u64;
    match dice.below(8) {
        0 => return false,
        1 => bytes.truncate(dice.below(length) as usize),
        2 => bytes.truncate((dice.below(length / 4096 + 1) * 4096) as usize),
        _ => {
            for _ in 0..=dice.below(3) {
                let at = dice.below(length) as usize;
                bytes[at] ^= 1 << dice.below(8);
            }
        }
    }
    true
}

#[test]
fn a_damaged_write_ahead_file_is_never_overlooked() {
    let asked = std::env::var("AXLEWRIGHT_COPIES").ok().and_then(|copies| copies.parse().ok());
    let damages: u64 = asked.unwrap_or(u64::from(slow::cases(DAMAGES.0, DAMAGES.1)));
    let mut dice = Dice(41);
    let (mut told, mut harmless) = (0, 0);
    while told + harmless < damages {
        let (_folder, book) = place();
        filled(&book, 10);
        let mut acks = Acks::new();
        while acks.len() < 3 {
            live_and_die(&book, &mut dice, &mut acks);
        }
        let wal = book.join(format!("{BOOK_FILE}-wal"));
        let good = fs::read(&wal).unwrap();
        assert!(!good.is_empty(), "a killed writer leaves its write-ahead file");
        let last = acks.keys().max().copied().unwrap();
        for _ in 0..PER_BOOK {
            let mut bytes = good.clone();
            if damage(&mut bytes, &mut dice) {
                fs::write(&wal, &bytes).unwrap();
            } else {
                fs::remove_file(&wal).unwrap();
            }
            let _ = fs::remove_file(book.join(format!("{BOOK_FILE}-shm")));
            let found = verify(&book).unwrap();
            if last <= found.safe {
                harmless += 1;
                continue;
            }
            told += 1;
            let said = found.faults.iter().any(|fault| {
                matches!(fault, Fault::Lost(Loss::End { acknowledged, here })
                    if last <= *acknowledged && *here == found.safe)
            });
            assert!(said, "{} of {last} entries and no word of it: {:?}", found.safe, found.faults);
            // Whoever opens it to write is told too, and the file is left as it is for a salvage.
            let before = fs::read(&wal).ok().filter(|bytes| !bytes.is_empty());
            let refused = Store::open(&book, &holder()).unwrap_err();
            assert!(matches!(refused, StoreError::Lost { .. }), "{refused}");
            assert_eq!(fs::read(&wal).ok().filter(|bytes| !bytes.is_empty()), before);
            let reader = Store::read_only(&book).unwrap();
            assert!(export(&reader, std::io::sink()).unwrap().loss.is_some());
        }
    }
    println!("{told} damages that took entries away, all told; {harmless} took none; 0 overlooked");
    assert!(damages / 3 < told, "{told}");
}

#[test]
fn a_book_that_came_to_rest_is_one_file() {
    let (folder, book) = place();
    let mut store = filled(&book, 30);
    let names = || {
        let names = fs::read_dir(&book).unwrap().map(|entry| entry.unwrap().file_name());
        let mut names: Vec<String> = names.map(|name| name.into_string().unwrap()).collect();
        names.sort();
        names
    };
    // While it is open, after a moment of quiet.
    store.append(&[note("and then quiet")]).unwrap();
    let wal = book.join(format!("{BOOK_FILE}-wal"));
    assert!(0 < fs::metadata(&wal).unwrap().len());
    store.settle().unwrap();
    assert_eq!(fs::metadata(&wal).unwrap().len(), 0);
    let alone = folder.path().join("alone");
    fs::create_dir(&alone).unwrap();
    fs::copy(book.join(BOOK_FILE), alone.join(BOOK_FILE)).unwrap();
    assert_eq!(Store::read_only(&alone).unwrap().last().unwrap(), 31);
    // And closed, even though somebody has looked at it meanwhile and goes on looking.
    let reader = Store::read_only(&book).unwrap();
    assert_eq!(reader.last().unwrap(), 31);
    store.append(&[note("the last one")]).unwrap();
    drop(store);
    assert_eq!(fs::metadata(&wal).unwrap().len(), 0);
    assert_eq!(reader.entries().count(), 32);
    drop(reader);
    Store::open(&book, &holder()).unwrap();
    assert_eq!(names(), ["book.head", "book.lock", "book.sqlite", "photos", "thumbs"]);
}

#[test]
fn a_reader_in_the_middle_of_the_log_puts_rest_off_and_loses_nothing() {
    let (_folder, book) = place();
    let mut store = filled(&book, 300);
    let reader = Store::read_only(&book).unwrap();
    // In the middle of a select, which holds on to the log of its moment.
    let db = rusqlite::Connection::open(book.join(BOOK_FILE)).unwrap();
    let mut select = db.prepare("SELECT line FROM entry").unwrap();
    let mut rows = select.query([]).unwrap();
    rows.next().unwrap();
    store.append(&[note("meanwhile")]).unwrap();
    store.settle().unwrap();
    drop(store);
    assert_eq!(reader.last().unwrap(), 301);
    drop(rows);
    drop(select);
    drop(db);
    assert_eq!(Store::open(&book, &holder()).unwrap().last().unwrap(), 301);
    assert!(verify(&book).unwrap().is_whole());
}
