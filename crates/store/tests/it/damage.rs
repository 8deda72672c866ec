//! Damaged books: what is said of them, and what is still taken for good.

use std::fs;
use std::path::Path;

use axlewright_store::{BOOK_FILE, Fault, PhotoGone, Store, StoreError, verify};

use crate::common::{Dice, filled, holder, photo_entry, place, small_png, texts};
use crate::slow;

/// Damaged copies tried at the desk and by `cargo xtask test`; `AXLEWRIGHT_COPIES` asks for more.
const COPIES: (u32, u32) = (40, 400);

/// Changes rows behind the store's back.
fn by_hand(book: &Path, sql: &str) {
    let db = rusqlite::Connection::open(book.join(BOOK_FILE)).unwrap();
    db.execute_batch("DROP TRIGGER entry_stays; DROP TRIGGER entry_remains;").unwrap();
    db.execute_batch(sql).unwrap();
}

#[test]
fn each_kind_of_damage_is_named_with_what_is_safe() {
    let rows: &[(&str, u64, &[&str])] = &[
        (
            "UPDATE entry SET line = replace(line, 'entry 7', 'entry 8') WHERE seq = 7",
            6,
            &["row 7 of the log: entry 7 was altered"],
        ),
        (
            "DELETE FROM entry WHERE seq = 7",
            6,
            &["row 8 of the log: entry 7 was expected here, not 8"],
        ),
        ("UPDATE entry SET line = 'rust' WHERE seq = 1", 0, &["row 1 of the log: at byte 0"]),
        (
            "UPDATE entry SET kind = 'part' WHERE seq = 9",
            45,
            &["row 9 of the log: its kind is not"],
        ),
        (
            "UPDATE entry SET seq = 1000 WHERE seq = 45",
            44,
            &["row 1000 of the log: its number is not that of its line"],
        ),
        (
            "UPDATE entry SET line = (SELECT line FROM entry WHERE seq = 8) WHERE seq = 9",
            8,
            &["row 9 of the log: entry 9 was expected here, not 8", "its number"],
        ),
    ];
    for (sql, safe, wanted) in rows {
        let (_folder, book) = place();
        let before = texts(&filled(&book, 45));
        by_hand(&book, sql);
        let found = verify(&book).unwrap();
        let said: Vec<String> = found.faults.iter().map(Fault::to_string).collect();
        assert_eq!(found.safe, *safe, "{sql}: {said:?}");
        for wanted in *wanted {
            assert!(said.iter().any(|said| said.contains(wanted)), "{wanted}: {said:?}");
        }
        // Whoever reads it gets what is safe and then the error, never what is not.
        let reader = Store::read_only(&book).unwrap();
        let read: Vec<_> = reader.lines().collect();
        let good = read.iter().map_while(|line| line.as_ref().ok()).count();
        assert!(good as u64 <= safe + 1, "{sql}");
        let good = read.iter().flatten().take(*safe as usize).map(|line| line.text());
        assert!(good.eq(before.iter().take(*safe as usize).map(String::as_str)), "{sql}");
    }
}

#[test]
fn photos_missing_altered_and_unlogged_are_told_apart() {
    let (_folder, book) = place();
    let mut store = filled(&book, 2);
    let photos: Vec<_> =
        (0..4).map(|number| store.add_photo(&small_png(number)).unwrap()).collect();
    for photo in &photos[..3] {
        store.append(&[photo_entry(photo, "mark")]).unwrap();
    }
    fs::remove_file(book.join(photos[0].path())).unwrap();
    fs::write(book.join(photos[1].path()), "rust").unwrap();
    let found = verify(&book).unwrap();
    let (missing, altered) = (photos[0].name(), photos[1].name());
    let missing = Fault::Photo { seq: 3, gone: PhotoGone::Missing { name: missing } };
    let altered = Fault::Photo { seq: 4, gone: PhotoGone::Altered { name: altered } };
    assert!(found.faults.contains(&missing) && found.faults.contains(&altered), "{found:?}");
    assert_eq!((found.faults.len(), found.photos, found.safe), (2, 1, 5));
    assert_eq!(found.unlogged, [photos[3].name()]);
}

#[test]
fn nothing_is_written_after_a_damaged_end() {
    let (_folder, book) = place();
    filled(&book, 44);
    by_hand(&book, "UPDATE entry SET line = replace(line, 'entry 44', 'entry 54') WHERE seq = 44");
    let refused = Store::open(&book, &holder()).unwrap_err();
    assert!(matches!(refused, StoreError::Line { seq: 44, .. }), "{refused}");
    assert!(refused.hint().contains("verify"));
    assert_eq!(verify(&book).unwrap().safe, 43);
}

#[test]
fn bits_flipped_and_ends_cut_off_are_noticed_and_nothing_wrong_is_called_safe() {
    let (_folder, book) = place();
    let store = filled(&book, 60);
    let lines = texts(&store);
    drop(store);
    let good = fs::read(book.join(BOOK_FILE)).unwrap();
    let mut dice = Dice(2026);
    let (mut noticed, mut refused, mut harmless, mut part_safe) = (0, 0, 0, 0);
    let copies = std::env::var("AXLEWRIGHT_COPIES").ok().and_then(|n| n.parse().ok());
    let copies = copies.unwrap_or(u64::from(slow::cases(COPIES.0, COPIES.1)));
    for number in 0..copies {
        let mut bytes = good.clone();
        match number % 4 {
            0 => bytes.truncate(dice.below(good.len() as u64) as usize),
            1 => {
                let page = (dice.below(good.len() as u64 / 4096) * 4096) as usize;
                bytes[page..page + 4096].fill(dice.below(256) as u8);
            }
            _ => {
                for _ in 0..=dice.below(8) {
                    let at = dice.below(good.len() as u64) as usize;
                    bytes[at] ^= 1 << dice.below(8);
                }
            }
        }
        fs::write(book.join(BOOK_FILE), &bytes).unwrap();
        let Ok(found) = verify(&book) else {
            refused += 1;
            continue;
        };
        // What is called safe is what was written, letter by letter.
        let safe = found.safe as usize;
        if let Ok(reader) = Store::read_only(&book) {
            let read = reader.lines().map_while(Result::ok);
            let read: Vec<String> = read.map(|line| line.text().to_owned()).collect();
            assert_eq!(read[..], lines[..read.len()], "copy {number}");
            assert!(safe <= read.len() || !found.is_whole(), "copy {number}: {found:?}");
        }
        if found.is_whole() {
            harmless += 1;
            assert_eq!(safe, lines.len(), "copy {number}: {found:?}");
        } else {
            noticed += 1;
            part_safe += u64::from(0 < safe);
        }
        // Nor does opening it for writing do worse than say no.
        if number % 8 == 0 {
            let _ = Store::open(&book, &holder()).map(|_| ());
        }
        for left in ["-wal", "-shm"] {
            let _ = fs::remove_file(book.join(format!("{BOOK_FILE}{left}")));
        }
    }
    println!(
        "{noticed} damaged books told, {part_safe} of them with a safe beginning, {refused} \
         refused outright, {harmless} without effect"
    );
    assert!(5 * copies / 8 < noticed && 0 < harmless, "{noticed} {harmless}");
}
