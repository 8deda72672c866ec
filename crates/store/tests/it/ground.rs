//! The ground moves under an open book: what is gone, or another one, is noticed before anything
//! is called written.

use std::fs;
use std::path::Path;

use axlewright_store::{
    BOOK_FILE, Checked, GroundPart, LastBackup, Loss, PhotoGone, Store, StoreError, backup,
    check_backup, verify,
};

use crate::common::{filled, holder, note, photo_entry, place, small_png, texts};

/// What is done to an open book, and what is then said to be gone or another one.
type Row = (&'static str, fn(&Path), GroundPart, bool);

fn elsewhere(book: &Path) -> std::path::PathBuf {
    book.with_file_name("elsewhere")
}

const ROWS: [Row; 7] = [
    ("deleted", |book| fs::remove_dir_all(book).unwrap(), GroundPart::Folder, true),
    ("moved", |book| fs::rename(book, elsewhere(book)).unwrap(), GroundPart::Folder, true),
    (
        "restored over",
        |book| {
            fs::rename(book, elsewhere(book)).unwrap();
            crate::old::copy(&elsewhere(book), book);
        },
        GroundPart::Folder,
        false,
    ),
    (
        "database deleted",
        |book| fs::remove_file(book.join(BOOK_FILE)).unwrap(),
        GroundPart::Database,
        true,
    ),
    (
        "database replaced",
        |book| {
            fs::copy(book.join(BOOK_FILE), book.join("copy")).unwrap();
            fs::rename(book.join("copy"), book.join(BOOK_FILE)).unwrap();
        },
        GroundPart::Database,
        false,
    ),
    (
        "lock deleted",
        |book| fs::remove_file(book.join("book.lock")).unwrap(),
        GroundPart::Lock,
        true,
    ),
    (
        "lock replaced",
        |book| {
            fs::write(book.join("copy"), "").unwrap();
            fs::rename(book.join("copy"), book.join("book.lock")).unwrap();
        },
        GroundPart::Lock,
        false,
    ),
];

#[test]
fn nothing_is_written_to_a_book_that_is_not_where_it_was() {
    for (name, act, wanted, is_gone) in ROWS {
        let (_folder, book) = place();
        let mut store = filled(&book, 3);
        store.append(&[note("before")]).unwrap();
        act(&book);
        let refused = store.append(&[note("after")]).unwrap_err();
        let said = refused.to_string();
        assert!(
            matches!(refused, StoreError::Moved { part, gone, .. }
                if (part, gone) == (wanted, is_gone)),
            "{name}: {said}"
        );
        assert!(said.contains("is not where it was opened"), "{said}");
        assert!(refused.hint().contains("nothing more is written until then"));
        assert!(matches!(store.add_photo(&small_png(9)), Err(StoreError::Moved { .. })), "{name}");
        assert!(store.ground().unwrap().stands().is_err() && store.settle().is_err());
        assert!(!book.join("photos").join(".incoming-").exists());
        // Deleted, there is nothing: not even an empty tree for photos was made anew.
        assert!(name != "deleted" || !book.exists());
    }
}

#[test]
fn put_back_it_is_written_to_again() {
    let (_folder, book) = place();
    let mut store = filled(&book, 3);
    fs::rename(&book, elsewhere(&book)).unwrap();
    assert!(store.append(&[note("no")]).is_err());
    fs::rename(elsewhere(&book), &book).unwrap();
    assert_eq!(store.append(&[note("yes")]).unwrap()[0].seq, 4);
    drop(store);
    assert!(verify(&book).unwrap().is_whole());
}

#[test]
fn without_its_write_ahead_file_an_entry_goes_straight_into_the_book() {
    let (_folder, book) = place();
    let mut store = filled(&book, 3);
    store.append(&[note("waits")]).unwrap();
    fs::remove_file(book.join(format!("{BOOK_FILE}-wal"))).unwrap();
    store.append(&[note("does not")]).unwrap();
    // As a killed process leaves it.
    let alone = book.with_file_name("alone");
    fs::create_dir(&alone).unwrap();
    fs::copy(book.join(BOOK_FILE), alone.join(BOOK_FILE)).unwrap();
    assert_eq!(Store::read_only(&alone).unwrap().last().unwrap(), 5);
}

/// Changes a database behind the store's back.
fn by_hand(book: &Path, sql: &str) {
    rusqlite::Connection::open(book.join(BOOK_FILE)).unwrap().execute_batch(sql).unwrap();
}

#[test]
fn a_database_that_would_swallow_entries_is_not_written_to() {
    let rows = [
        (
            "CREATE TRIGGER swallow BEFORE INSERT ON entry BEGIN SELECT RAISE(IGNORE); END",
            "the trigger `swallow` in it is not as in a book",
        ),
        ("DROP TRIGGER entry_stays", "the trigger `entry_stays` is missing in it"),
        ("ALTER TABLE about ADD COLUMN more TEXT", "the table `about` in it is not as in a book"),
        ("CREATE TABLE other (a)", "the table `other` in it is not as in a book"),
        ("DROP INDEX entry_once", "the index `entry_once` is missing in it"),
    ];
    for (sql, wanted) in rows {
        let (_folder, book) = place();
        let lines = texts(&filled(&book, 3));
        by_hand(&book, sql);
        let refused = Store::open(&book, &holder()).unwrap_err().to_string();
        assert!(refused.contains(wanted), "{refused}");
        let found = verify(&book).unwrap();
        assert!(found.faults.iter().any(|fault| fault.to_string().contains(wanted)), "{found:?}");
        assert_eq!((found.safe, texts(&Store::read_only(&book).unwrap())), (3, lines));
    }
    // What others do to a database and what harms nobody.
    let (_folder, book) = place();
    drop(filled(&book, 3));
    by_hand(&book, "ANALYZE");
    Store::open(&book, &holder()).unwrap();
    // And planted while the book is open: the row that does not come is missed.
    let mut store = Store::open(&book, &holder()).unwrap();
    by_hand(&book, "CREATE TRIGGER s BEFORE INSERT ON entry BEGIN SELECT RAISE(IGNORE); END");
    let refused = store.append(&[note("swallowed")]).unwrap_err();
    assert!(refused.to_string().contains("was to become one row and became 0"), "{refused}");
    assert_eq!(store.last().unwrap(), 3);
}

#[cfg(unix)]
#[test]
fn links_and_pipes_in_a_book_are_not_followed() {
    use std::os::unix::fs::symlink;
    let (folder, book) = place();
    let mut store = filled(&book, 2);
    let photo = store.add_photo(&small_png(3)).unwrap();
    let path = book.join(photo.path());
    store.append(&[photo_entry(&photo, "mark")]).unwrap();
    drop(store);
    let victim = folder.path().join("victim");
    fs::write(&victim, "precious").unwrap();
    // A pipe in a photo's place: whoever opened it would wait for ever.
    fs::remove_file(&path).unwrap();
    assert!(std::process::Command::new("mkfifo").arg(&path).status().unwrap().success());
    let found = verify(&book).unwrap();
    assert!(found.faults[0].to_string().contains("it is a link, or no plain file"), "{found:?}");
    fs::remove_file(&path).unwrap();
    for name in ["book.lock", "book.head", BOOK_FILE] {
        let at = book.join(name);
        let was = fs::read(&at).ok();
        let _ = fs::remove_file(&at);
        symlink(&victim, &at).unwrap();
        assert!(Store::open(&book, &holder()).is_err(), "{name}");
        assert_eq!(fs::read_to_string(&victim).unwrap(), "precious", "{name}");
        fs::remove_file(&at).unwrap();
        was.iter().for_each(|was| fs::write(&at, was).unwrap());
    }
    // A folder for photos that leads elsewhere takes none in.
    let store = Store::open(&book, &holder()).unwrap();
    fs::remove_dir_all(book.join("photos")).unwrap();
    symlink(folder.path(), book.join("photos")).unwrap();
    assert!(store.add_photo(&small_png(4)).is_err());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn a_backup_is_put_back_and_compared() {
    let (folder, book) = place();
    let mut store = filled(&book, 45);
    let copy = folder.path().join("copy");
    backup(&store, &copy).unwrap();
    store.append(&[note("later")]).unwrap();
    let right = Checked { entries: 45, of: 46, photos: 3, ..Checked::default() };
    assert_eq!(check_backup(&store, &copy).unwrap(), right);
    // Other entries than the book's, from the fortieth on.
    let other = folder.path().join("other");
    let mut grown = Store::open(&copy, &holder()).unwrap();
    grown.append(&[note("of its own")]).unwrap();
    backup(&grown, &other).unwrap();
    drop(grown);
    assert_eq!(check_backup(&store, &other).unwrap().differs, Some(46));
    let photos = crate::book::walk(&copy.join("photos"));
    fs::write(&photos[0], "rust").unwrap();
    let found = check_backup(&store, &copy).unwrap();
    assert!(matches!(found.missing[..], [PhotoGone::Altered { .. }]), "{found:?}");
    by_hand(&other, "DROP TRIGGER entry_remains; DELETE FROM entry WHERE 44 < seq");
    assert!(check_backup(&store, &other).is_err(), "a backup that cannot be opened again");
}

#[test]
fn the_last_backup_is_noted() {
    let (folder, book) = place();
    let store = filled(&book, 5);
    let copy = folder.path().join("a\ncopy");
    backup(&store, &copy).unwrap();
    assert_eq!(LastBackup::read(&book), None);
    let note = LastBackup::of(&book, &copy, "2026-11-25T21:00:00Z", 5);
    assert!(note.same_disk && note.to.ends_with("a?copy"), "{note:?}");
    note.write(&book).unwrap();
    assert_eq!(LastBackup::read(&book), Some(note));
    fs::write(book.join("book.backup"), "axlewright backup 2\n").unwrap();
    assert_eq!(LastBackup::read(&book), None);
}

#[test]
fn what_book_head_says_is_held_against_the_log() {
    let (_folder, book) = place();
    let mut store = filled(&book, 5);
    let early = fs::read(book.join("book.head")).unwrap();
    store.append(&[note("six")]).unwrap();
    drop(store);
    // Behind the log: the process was killed in between. Nothing is wrong.
    fs::write(book.join("book.head"), &early).unwrap();
    assert!(verify(&book).unwrap().is_whole());
    drop(Store::open(&book, &holder()).unwrap());
    assert_eq!(verify(&book).unwrap().acknowledged, Some(6));
    // Of another book.
    let (_other, foreign) = place();
    let mut store = Store::create(&foreign, &holder()).unwrap();
    store.append(&[note("another"), note("book")]).unwrap();
    drop(store);
    fs::copy(foreign.join("book.head"), book.join("book.head")).unwrap();
    let refused = Store::open(&book, &holder()).unwrap_err().to_string();
    assert!(refused.contains("entry 2 is not the one that was acknowledged"), "{refused}");
    // Damaged beyond reading: told, made anew, and no reason to lock anybody out.
    fs::write(book.join("book.head"), "rust").unwrap();
    assert!(!verify(&book).unwrap().is_whole());
    let store = Store::open(&book, &holder()).unwrap();
    assert!(matches!(store.loss(), Some(Loss::Unknown { .. })));
    drop(store);
    assert!(verify(&book).unwrap().is_whole());
    // One of its two lines.
    let mut bytes = fs::read(book.join("book.head")).unwrap();
    bytes[30] ^= 1;
    fs::write(book.join("book.head"), bytes).unwrap();
    assert_eq!(verify(&book).unwrap().faults.len(), 1);
    // Gone: as in a book from before there was one.
    fs::remove_file(book.join("book.head")).unwrap();
    let found = verify(&book).unwrap();
    assert!(found.is_whole() && found.acknowledged.is_none(), "{found:?}");
    drop(Store::open(&book, &holder()).unwrap());
    assert_eq!(verify(&book).unwrap().acknowledged, Some(6));
}
