//! Making, opening, writing, reading, backing up.

use std::fs;

use axlewright_book::log::{Body, Unread, Why};
use axlewright_store::{Store, StoreError, backup, verify};

use crate::common::{draft, filled, holder, note, photo_entry, place, small_png, texts};

#[test]
fn what_is_written_is_there_after_opening_again() {
    let (_folder, book) = place();
    let mut store = Store::create(&book, &holder()).unwrap();
    assert_eq!(store.last().unwrap(), 0);
    let one = store.append(&[note("one")]).unwrap();
    let more = store.append(&[note("two"), note("three")]).unwrap();
    assert_eq!(one.iter().chain(&more).map(|entry| entry.seq).collect::<Vec<_>>(), [1, 2, 3]);
    assert_eq!(store.append(&[]).unwrap(), []);
    drop(store);
    let mut store = Store::open(&book, &holder()).unwrap();
    let entries: Vec<_> = store.entries().map(Result::unwrap).collect();
    assert_eq!(entries, [one, more].concat());
    assert_eq!(store.append(&[note("four")]).unwrap()[0].seq, 4);
    assert!(verify(&book).unwrap().is_whole());
}

#[test]
fn entries_of_a_newer_kind_are_kept_as_they_are() {
    let (_folder, book) = place();
    let unread = Unread {
        kind: "smell".to_owned(),
        version: 3,
        body: r#"{"of": "oil"}"#.to_owned(),
        why: Why::UnknownKind,
    };
    let mut store = Store::create(&book, &holder()).unwrap();
    store.append(&[draft(Body::Unread(unread.clone()))]).unwrap();
    let entry = store.entries().next().unwrap().unwrap();
    assert_eq!(entry.body, Body::Unread(unread));
}

#[test]
fn a_second_writer_is_told_who_has_the_book_and_readers_are_let_in() {
    let (_folder, book) = place();
    let mut store = Store::create(&book, &holder()).unwrap();
    let refused = Store::open(&book, &holder()).unwrap_err();
    let said = refused.to_string();
    let pid = std::process::id();
    let who = format!(": process {pid}, J. Smith, since 2026-11-25T21:00:00Z");
    assert!(said.ends_with(&who), "{said}");
    assert!(refused.hint().contains("only look"));
    let reader = Store::read_only(&book).unwrap();
    store.append(&[note("seen by a reader that was there before")]).unwrap();
    assert_eq!(texts(&reader), texts(&store));
    drop(reader);
    drop(store);
    Store::open(&book, &holder()).unwrap();
}

#[test]
fn a_reader_writes_nothing() {
    let (_folder, book) = place();
    filled(&book, 3);
    let mut reader = Store::read_only(&book).unwrap();
    assert!(reader.is_reader());
    assert!(matches!(reader.append(&[note("")]), Err(StoreError::Reader { .. })));
    assert!(matches!(reader.add_photo(&small_png(1)), Err(StoreError::Reader { .. })));
}

#[test]
fn what_is_no_book_is_not_opened() {
    let (folder, book) = place();
    assert!(matches!(Store::open(&book, &holder()), Err(StoreError::Missing { .. })));
    assert!(matches!(Store::read_only(&book), Err(StoreError::Missing { .. })));
    assert!(matches!(verify(&book), Err(StoreError::Missing { .. })));
    fs::create_dir(&book).unwrap();
    fs::write(book.join("car.toml"), "format = 1\n").unwrap();
    assert!(matches!(Store::open(&book, &holder()), Err(StoreError::NotABook { .. })));
    assert!(matches!(verify(&book), Err(StoreError::NotABook { .. })));
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    assert!(matches!(Store::read_only(&file), Err(StoreError::NotABook { .. })));
    // A database of somebody else's.
    let other = folder.path().join("other");
    fs::create_dir(&other).unwrap();
    let db = rusqlite::Connection::open(other.join("book.sqlite")).unwrap();
    db.execute_batch("CREATE TABLE entry (a); PRAGMA user_version = 1;").unwrap();
    drop(db);
    assert!(matches!(Store::open(&other, &holder()), Err(StoreError::NotABook { .. })));
    fs::write(other.join("book.sqlite"), "not a database, but long enough to be one ".repeat(50))
        .unwrap();
    assert!(matches!(Store::open(&other, &holder()), Err(StoreError::NotABook { .. })));
}

#[test]
fn a_book_is_made_beside_a_car_file_and_never_over_a_book() {
    let (_folder, book) = place();
    fs::create_dir(&book).unwrap();
    fs::write(book.join("car.toml"), "format = 1\n").unwrap();
    let mut store = Store::create(&book, &holder()).unwrap();
    store.append(&[note("kept")]).unwrap();
    assert!(matches!(Store::create(&book, &holder()), Err(StoreError::Locked { .. })));
    drop(store);
    assert!(matches!(Store::create(&book, &holder()), Err(StoreError::Taken { .. })));
    assert_eq!(texts(&Store::read_only(&book).unwrap()).len(), 1);
    assert_eq!(fs::read_to_string(book.join("car.toml")).unwrap(), "format = 1\n");
}

#[test]
fn a_newer_book_says_what_reads_it() {
    let (_folder, book) = place();
    filled(&book, 2);
    let db = rusqlite::Connection::open(book.join("book.sqlite")).unwrap();
    db.execute_batch("UPDATE about SET value = 'axlewright 7.2' WHERE name = 'needs'").unwrap();
    db.pragma_update(None, "user_version", 9).unwrap();
    drop(db);
    let opened = [Store::open(&book, &holder()).map(|_| ()), Store::read_only(&book).map(|_| ())];
    for refused in opened.into_iter().chain([verify(&book).map(|_| ())]) {
        match refused {
            Err(StoreError::Newer { found: 9, needs: Some(needs), .. }) => {
                assert_eq!(needs, "axlewright 7.2");
            }
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn nothing_in_the_log_can_be_changed_even_by_hand() {
    let (_folder, book) = place();
    filled(&book, 3);
    let db = rusqlite::Connection::open(book.join("book.sqlite")).unwrap();
    for sql in ["UPDATE entry SET line = ''", "DELETE FROM entry WHERE seq = 2"] {
        let refused = db.execute_batch(sql).unwrap_err().to_string();
        assert!(refused.contains("the log only grows"), "{refused}");
    }
}

#[test]
fn an_entry_that_would_not_come_back_is_refused_whole() {
    let (_folder, book) = place();
    let mut store = filled(&book, 2);
    let mut bad = note("");
    bad.at = "yesterday".to_owned();
    assert!(matches!(store.append(&[note("good"), bad]), Err(StoreError::Entry(_))));
    // Nothing of it is there, and the next number is the one that follows.
    assert_eq!(store.append(&[note("good")]).unwrap()[0].seq, 3);
    assert!(verify(&book).unwrap().is_whole());
}

#[test]
fn a_photo_has_to_be_there_before_it_is_named() {
    let (_folder, book) = place();
    let mut store = filled(&book, 2);
    let photo = store.add_photo(&small_png(7)).unwrap();
    let path = book.join(photo.path());
    store.append(&[photo_entry(&photo, "mark")]).unwrap();
    fs::remove_file(&path).unwrap();
    let refused = store.append(&[photo_entry(&photo, "mark")]).unwrap_err();
    assert!(matches!(refused, StoreError::NoPhoto { .. }), "{refused}");
}

#[test]
fn a_backup_made_while_writing_is_a_book_of_one_moment() {
    let (folder, book) = place();
    let mut store = filled(&book, 45);
    let before = texts(&store);
    let to = folder.path().join("away").join("copy");
    let reader = Store::read_only(&book).unwrap();
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| {
            for number in 0..40 {
                store.append(&[note(&format!("meanwhile {number}"))]).unwrap();
            }
        });
        let done = backup(&reader, &to).unwrap();
        assert_eq!((done.photos, done.missing.len()), (3, 0));
        writer.join().unwrap();
    });
    let names = |folder: &std::path::Path| {
        let entries = fs::read_dir(folder).unwrap();
        let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let mut names: Vec<String> = names.collect();
        names.sort();
        names
    };
    assert_eq!(names(&to), ["book.head", "book.sqlite", "photos"]);
    let copy = Store::open(&to, &holder()).unwrap();
    let copied = texts(&copy);
    assert!(before.len() <= copied.len());
    assert_eq!(copied, texts(&store)[..copied.len()]);
    let found = verify(&to).unwrap();
    assert!(found.is_whole() && found.photos == 3, "{found:?}");
    assert!(matches!(backup(&store, &to), Err(StoreError::Taken { .. })));
    assert_eq!(names(to.parent().unwrap()), ["copy"]);
}

#[test]
fn a_backup_tells_which_photos_it_could_not_take() {
    let (folder, book) = place();
    let store = filled(&book, 45);
    let photos: Vec<_> = walk(&book.join("photos"));
    fs::remove_file(&photos[0]).unwrap();
    fs::write(&photos[1], "something else").unwrap();
    let done = backup(&store, &folder.path().join("copy")).unwrap();
    assert_eq!((done.entries, done.photos, done.missing.len()), (45, 1, 2));
}

pub fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let mut found: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .flat_map(|entry| fs::read_dir(entry.unwrap().path()).unwrap())
        .map(|entry| entry.unwrap().path())
        .collect();
    found.sort();
    found
}
