//! A damaged book, and what comes back of it.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use axlewright_book::log::{Body, Line};
use axlewright_store::{
    BOOK_FILE, Salvaged, Salvager, Store, StoreError, export, import, salvage, verify,
};

use crate::common::{Dice, draft, filled, holder, note, place, texts};
use crate::slow;

fn by() -> Salvager {
    Salvager { at: "2026-12-01T08:00:00Z".to_owned(), by: "J. Smith".to_owned() }
}

/// A book with short entries, photos, and one that fills many pages; how many there are.
fn book_of_all_sorts(book: &Path) -> usize {
    let mut store = filled(book, 150);
    let text = "a long car file; ".repeat(2_000);
    store.append(&[draft(Body::CarFile { text }), note("the last one")]).unwrap();
    152
}

/// Where a line begins in the file: its first bytes stand together. A page that was written anew
/// may hold an older copy in bytes that it no longer needs.
fn places_of(bytes: &[u8], line: &str) -> Vec<usize> {
    let start = &line.as_bytes()[..line.len().min(150)];
    let parts = bytes.windows(start.len()).enumerate();
    parts.filter(|(_, part)| *part == start).map(|(at, _)| at).collect()
}

/// Spoils a few of a line's letters, so that no single bit puts it right.
fn spoil(bytes: &mut [u8], line: &str, dice: &mut Dice) {
    for at in places_of(bytes, line) {
        for part in 0..3 {
            bytes[at + 10 + 40 * part + dice.below(30) as usize] ^= 1 + dice.below(255) as u8;
        }
    }
}

/// Every line but those named is in the new book letter for letter, and it is a whole book.
fn is_whole_but_for(new: &Path, lines: &[String], lost: &BTreeSet<u64>) -> Vec<String> {
    let found = verify(new).unwrap();
    let of_log = found.faults.iter().filter(|fault| !fault.is_of_a_photo()).count();
    assert_eq!((of_log, found.safe as usize), (0, lines.len()), "{:?}", found.faults);
    let kept = texts(&Store::read_only(new).unwrap());
    for (seq, (kept, was)) in (1..).zip(kept.iter().zip(lines)) {
        let is_lost = matches!(Line::read(kept).unwrap().entry().body, Body::Lost(_));
        assert_eq!(is_lost, lost.contains(&seq), "entry {seq}");
        assert!(is_lost || kept == was, "entry {seq}");
    }
    kept
}

#[test]
fn everything_else_comes_back_from_under_one_to_twenty_damaged_lines_and_photos() {
    let mut dice = Dice(300);
    let rounds = [1, 20].into_iter().chain(2..20_u64);
    for round in rounds.take(slow::cases(2, 20) as usize) {
        let (folder, book) = place();
        let count = book_of_all_sorts(&book);
        let lines = texts(&Store::read_only(&book).unwrap());
        let photos: Vec<_> = crate::book::walk(&book.join("photos"));
        let mut bytes = fs::read(book.join(BOOK_FILE)).unwrap();
        let mut lost = BTreeSet::new();
        while (lost.len() as u64) < round {
            let seq = 1 + dice.below(count as u64);
            if lost.insert(seq) {
                spoil(&mut bytes, &lines[seq as usize - 1], &mut dice);
            }
        }
        fs::write(book.join(BOOK_FILE), &bytes).unwrap();
        let spoilt = (round as usize).min(photos.len());
        for (number, photo) in photos.iter().take(spoilt).enumerate() {
            match number % 2 {
                0 => fs::remove_file(photo).unwrap(),
                _ => fs::write(photo, "rust").unwrap(),
            }
        }
        let new = folder.path().join("new");
        let done = salvage(&book, &new, &by()).unwrap();
        let kept = is_whole_but_for(&new, &lines, &lost);
        let named: BTreeSet<u64> = done.lost.iter().map(|(seq, _)| *seq).collect();
        assert_eq!((&named, done.whole as usize), (&lost, count - lost.len()));
        // A photo whose entry is lost is not named any more.
        let still = lines
            .iter()
            .zip(1..)
            .filter(|(line, seq)| line.contains(r#""kind":"photo""#) && !lost.contains(seq));
        assert_eq!(done.photos as usize + done.missing.len(), still.count());
        assert!(
            done.missing.len() <= spoilt
                && photos.len() <= done.photos as usize + spoilt + lost.len()
        );
        // It goes on as any book, and out and in again letter for letter.
        let mut store = Store::open(&new, &holder()).unwrap();
        assert_eq!(store.append(&[note("goes on")]).unwrap()[0].seq as usize, count + 1);
        let mut archive = Vec::new();
        export(&store, &mut archive).unwrap();
        import(archive.as_slice(), &folder.path().join("again")).unwrap();
        let again = texts(&Store::read_only(&folder.path().join("again")).unwrap());
        assert_eq!(again[..count], kept);
        assert_eq!(again, texts(&store));
    }
}

#[test]
fn one_flipped_bit_is_put_right_wherever_it_is_in_a_line() {
    let mut dice = Dice(5);
    for _ in 0..12 {
        let (folder, book) = place();
        let lines = texts(&filled(&book, 40));
        let mut bytes = fs::read(book.join(BOOK_FILE)).unwrap();
        let line = &lines[dice.below(40) as usize];
        let (at, bit) = (dice.below(line.len() as u64) as usize, dice.below(8));
        places_of(&bytes, line).iter().for_each(|place| bytes[place + at] ^= 1 << bit);
        fs::write(book.join(BOOK_FILE), &bytes).unwrap();
        assert!(!verify(&book).unwrap().is_whole());
        let new = folder.path().join("new");
        let done = salvage(&book, &new, &by()).unwrap();
        assert_eq!((done.lost.len(), done.mended.len(), done.whole), (0, 1, 40), "{done:?}");
        is_whole_but_for(&new, &lines, &BTreeSet::new());
    }
}

#[test]
fn pages_and_bits_anywhere_cost_no_more_than_what_stood_there() {
    let mut dice = Dice(77);
    let (mut kept, mut all) = (0, 0);
    for _ in 0..slow::cases(3, 8) {
        let (folder, book) = place();
        let count = book_of_all_sorts(&book);
        let lines = texts(&Store::read_only(&book).unwrap());
        let mut bytes = fs::read(book.join(BOOK_FILE)).unwrap();
        // The first page, with all that SQLite needs to know where the table is, and another.
        let page = dice.below(bytes.len() as u64 / 4096) as usize;
        bytes[..100].fill(0);
        bytes[page * 4096..(page + 1) * 4096].fill(dice.below(256) as u8);
        fs::write(book.join(BOOK_FILE), &bytes).unwrap();
        let new = folder.path().join("new");
        let done: Salvaged = salvage(&book, &new, &by()).unwrap();
        let lost: BTreeSet<u64> = done.lost.iter().map(|(seq, _)| *seq).collect();
        is_whole_but_for(&new, &lines, &lost);
        (kept, all) = (kept + done.whole, all + count as u64);
        // What fits on one page, and a long entry that runs through it.
        assert!(lost.len() <= 4096 / 250 + 1, "{} of {count} were lost", lost.len());
    }
    println!("{kept} of {all} entries came back from under a spoilt page each");
}

#[test]
fn what_waits_in_a_damaged_write_ahead_file_comes_back_too() {
    let (folder, book) = place();
    let mut store = filled(&book, 5);
    store.settle().unwrap();
    for number in 6..=60 {
        store.append(&[note(&format!("entry {number}"))]).unwrap();
    }
    let lines = texts(&store);
    // As a killed process leaves it.
    let killed = folder.path().join("killed");
    fs::create_dir(&killed).unwrap();
    for name in ["book.sqlite", "book.sqlite-wal", "book.head"] {
        fs::copy(book.join(name), killed.join(name)).unwrap();
    }
    crate::old::copy(&book.join("photos"), &killed.join("photos"));
    drop(store);
    let wal = killed.join(format!("{BOOK_FILE}-wal"));
    let mut bytes = fs::read(&wal).unwrap();
    bytes[40] ^= 1;
    fs::write(&wal, &bytes).unwrap();
    let found = verify(&killed).unwrap();
    assert!(found.safe == 5 && found.acknowledged == Some(60), "{found:?}");
    let new = folder.path().join("new");
    let done = salvage(&killed, &new, &by()).unwrap();
    assert_eq!((done.whole, done.lost.len()), (60, 0), "{done:?}");
    is_whole_but_for(&new, &lines, &BTreeSet::new());
    // Without it, the numbers of what was acknowledged stay taken, and the last hash stands.
    fs::remove_file(&wal).unwrap();
    let new = folder.path().join("less");
    let done = salvage(&killed, &new, &by()).unwrap();
    assert_eq!((done.entries, done.whole + done.lost.len() as u64), (60, 60));
    let store = Store::read_only(&new).unwrap();
    let last = Line::read(&lines[59]).unwrap().hash();
    assert_eq!(store.hash(60).unwrap(), Some(last));
}

#[test]
fn of_two_lines_the_one_that_the_next_entry_follows_is_right() {
    let (folder, book) = place();
    let lines = texts(&filled(&book, 20));
    let other = folder.path().join("other");
    let mut store = Store::create(&other, &holder()).unwrap();
    for _ in 0..7 {
        store.append(&[note("something else")]).unwrap();
    }
    let foreign = texts(&store)[6].clone();
    let db = rusqlite::Connection::open(book.join(BOOK_FILE)).unwrap();
    db.execute_batch("DROP TRIGGER entry_stays").unwrap();
    db.execute("UPDATE entry SET line = ?1 WHERE seq = 7", [&foreign]).unwrap();
    // Nothing of the line that was there is left behind.
    db.execute_batch("VACUUM").unwrap();
    drop(db);
    let new = folder.path().join("new");
    let done = salvage(&book, &new, &by()).unwrap();
    assert_eq!(done.lost.len(), 1);
    let kept = is_whole_but_for(&new, &lines, &BTreeSet::from([7]));
    let line = Line::read(&kept[6]).unwrap();
    let Body::Lost(lost) = &line.entry().body else { panic!() };
    assert!(lost.what.starts_with("another line") && lost.left.as_deref() == Some(&*foreign));
}

#[test]
fn what_cannot_be_salvaged_is_refused_and_leaves_nothing() {
    let (folder, book) = place();
    let new = folder.path().join("new");
    let refused = |from: &Path| salvage(from, &new, &by()).unwrap_err();
    assert!(matches!(refused(&book), StoreError::Missing { .. }));
    let store = filled(&book, 20);
    assert!(matches!(refused(&book), StoreError::Locked { holder: Some(_), .. }));
    assert!(matches!(salvage(&book, &book.join("in"), &by()), Err(StoreError::Inside { .. })));
    drop(store);
    fs::write(book.join(BOOK_FILE), "no book at all").unwrap();
    assert!(matches!(refused(&book), StoreError::Corrupt { .. }));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}
