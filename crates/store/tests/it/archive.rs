//! Out into one file and in again.

use std::fs;

use axlewright_book::log::{Body, Line, Sha, seal};
use axlewright_store::{ArchiveFault, Store, StoreError, export, import, import_retold, verify};
use proptest::prelude::*;
use proptest::test_runner::Config;

use crate::common::{corpus, draft, filled, holder, photo_entry, place, reading, small_png, texts};
use crate::parts;

fn exported(store: &Store) -> Vec<u8> {
    let mut out = Vec::new();
    export(store, &mut out).unwrap();
    out
}

/// Every file of an archive, by name.
fn files(archive: &[u8]) -> Vec<(String, Vec<u8>)> {
    let mut archive = tar::Archive::new(archive);
    let files = archive.entries().unwrap().map(|entry| {
        let mut entry = entry.unwrap();
        let name = entry.path().unwrap().to_string_lossy().into_owned();
        let mut bytes = Vec::new();
        std::io::Read::read_to_end(&mut entry, &mut bytes).unwrap();
        (name, bytes)
    });
    files.collect()
}

type Part = (String, Vec<u8>, tar::EntryType);

fn packed(parts: &[Part]) -> Vec<u8> {
    let mut out = tar::Builder::new(Vec::new());
    for (name, bytes, kind) in parts {
        let mut header = tar::Header::new_ustar();
        // Written by hand: the library itself refuses names that climb out.
        header.as_mut_bytes()[..name.len()].copy_from_slice(name.as_bytes());
        header.set_entry_type(*kind);
        header.set_size(bytes.len() as u64);
        header.set_mode(0o644);
        header.set_cksum();
        out.append(&header, bytes.as_slice()).unwrap();
    }
    out.into_inner().unwrap()
}

fn parts(archive: &[u8]) -> Vec<Part> {
    let plain = |(name, bytes)| (name, bytes, tar::EntryType::Regular);
    files(archive).into_iter().map(plain).collect()
}

#[test]
fn what_comes_in_is_what_went_out() {
    let (folder, book) = place();
    let store = filled(&book, 45);
    let archive = exported(&store);
    assert_eq!(archive, exported(&Store::read_only(&book).unwrap()), "not the same twice");
    let names: Vec<String> = files(&archive).into_iter().map(|(name, _)| name).collect();
    assert_eq!(names[..2], ["README.txt", "log.jsonl"]);
    assert_eq!(names.len(), 5);
    let again = folder.path().join("again");
    let done = import(archive.as_slice(), &again).unwrap();
    assert_eq!((done.entries, done.photos, done.missing.len()), (45, 3, 0));
    assert!(verify(&again).unwrap().is_whole());
    let second = Store::open(&again, &holder()).unwrap();
    assert_eq!(texts(&second), texts(&store));
    assert_eq!(exported(&second), archive);
    assert!(matches!(import(archive.as_slice(), &again), Err(StoreError::Taken { .. })));
}

#[test]
fn an_empty_book_goes_out_and_in() {
    let (folder, book) = place();
    let store = Store::create(&book, &holder()).unwrap();
    let again = folder.path().join("again");
    assert_eq!(import(exported(&store).as_slice(), &again).unwrap().entries, 0);
    assert!(verify(&again).unwrap().is_whole());
}

#[test]
fn a_missing_photo_does_not_hold_the_rest_back() {
    let (folder, book) = place();
    let store = filled(&book, 45);
    let gone = fs::read_dir(book.join("photos")).unwrap().next().unwrap().unwrap().path();
    fs::remove_dir_all(gone).unwrap();
    let mut out = Vec::new();
    let done = export(&store, &mut out).unwrap();
    assert_eq!((done.entries, done.photos, done.missing.len()), (45, 2, 1));
    let came = import(out.as_slice(), &folder.path().join("again")).unwrap();
    assert_eq!(came.missing, done.missing);
}

#[test]
#[expect(clippy::too_many_lines, reason = "one table of archives, a row for each")]
fn nothing_but_a_book_comes_in() {
    use ArchiveFault as Fault;
    use tar::EntryType as Type;
    let (folder, book) = place();
    let store = filled(&book, 45);
    let good = parts(&exported(&store));
    let to = folder.path().join("again");
    let mut tried = 0;
    let mut check = |what: &str, bytes: &[u8], is: &dyn Fn(&Fault) -> bool| {
        tried += 1;
        match import(bytes, &to) {
            Err(StoreError::Archive(fault)) => assert!(is(&fault), "{what}: {fault:?}"),
            other => panic!("{what}: {other:?}"),
        }
        // Neither the book nor anything half-made is left.
        let left: Vec<_> =
            fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().path()).collect();
        assert_eq!(left, std::slice::from_ref(&book), "{what}");
    };
    let with = |part: Part| {
        let mut parts = good.clone();
        parts.push(part);
        packed(&parts)
    };
    let changed = |at: usize, change: &dyn Fn(&mut Part)| {
        let mut parts = good.clone();
        change(&mut parts[at]);
        packed(&parts)
    };
    let names = [
        "../evil",
        "/etc/evil",
        "photos/../../evil",
        "photos/ab",
        "photos/ab/cd.jpg",
        "book.sqlite",
        "photos\\ab",
        "photos/ab/../x.jpg",
        "LOG.JSONL",
    ];
    for name in names {
        let bytes = with((name.to_owned(), b"x".to_vec(), Type::Regular));
        check(name, &bytes, &|fault| matches!(fault, Fault::Name { .. }));
    }
    for kind in [Type::Symlink, Type::Link, Type::Fifo, Type::Char, Type::GNULongName] {
        let bytes = with(("photos/ab".to_owned(), Vec::new(), kind));
        check("no file", &bytes, &|fault| matches!(fault, Fault::NotAFile { .. }));
    }
    let unlogged = format!("photos/ab/ab{}.png", "0".repeat(62));
    let bytes = with((unlogged, b"x".to_vec(), Type::Regular));
    check("unlogged", &bytes, &|fault| matches!(fault, Fault::PhotoUnlogged { .. }));
    check("twice", &with(good[1].clone()), &|fault| matches!(fault, Fault::Twice { .. }));
    check("photo twice", &with(good[3].clone()), &|fault| matches!(fault, Fault::Twice { .. }));
    let mut early = good.clone();
    early.swap(1, 2);
    check("early", &packed(&early), &|fault| matches!(fault, Fault::BeforeLog { .. }));
    check("no log", &packed(&good[..1]), &|fault| *fault == Fault::NoLog);
    check("nothing", &[], &|fault| *fault == Fault::NoLog);
    check("no tar", &[7; 2000], &|fault| *fault == Fault::NoArchive);
    let photo = changed(2, &|part| part.1[20] ^= 1);
    check("photo", &photo, &|fault| matches!(fault, Fault::PhotoAltered { .. }));
    let line = changed(1, &|part| part.1[100] ^= 1);
    check("line", &line, &|fault| matches!(fault, Fault::Line { line: 1, .. }));
    let text = changed(1, &|part| part.1[100] = 0xFF);
    check("text", &text, &|fault| matches!(fault, Fault::NotText { line: 1 }));
    let cut = changed(1, &|part| part.1.truncate(part.1.len() - 1));
    check("cut line", &cut, &|fault| matches!(fault, Fault::Broken { .. }));
    let gap = changed(1, &|part| {
        let text = String::from_utf8(part.1.clone()).unwrap();
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        part.1 = [&lines[..7], &lines[8..]].concat().concat().into_bytes();
    });
    check("gap", &gap, &|fault| matches!(fault, Fault::Line { line: 8, .. }));
    let whole = packed(&good);
    let half = &whole[..whole.len() / 2];
    check("half", half, &|fault| matches!(fault, Fault::Broken { .. }));
    let readme = changed(0, &|part| part.1.resize(70_000, b'x'));
    check("big", &readme, &|fault| matches!(fault, Fault::TooBig { .. }));
    assert!(25 < tried, "{tried}");
}

#[test]
fn archives_that_were_packed_again_by_other_programs_come_in() {
    use tar::EntryType as Type;
    let (folder, book) = place();
    let good = parts(&exported(&filled(&book, 45)));
    let mut again: Vec<Part> = vec![("./".to_owned(), Vec::new(), Type::Directory)];
    for (name, bytes, kind) in good {
        if let Some((folder, _)) = name.rsplit_once('/') {
            again.push((format!("./{folder}/"), Vec::new(), Type::Directory));
        }
        let times = b"30 mtime=1795640400.123456789\n".to_vec();
        again.push(("PaxHeaders/x".to_owned(), times, Type::XHeader));
        again.push((format!("./{name}"), bytes, kind));
    }
    let done = import(packed(&again).as_slice(), &folder.path().join("again")).unwrap();
    assert_eq!((done.entries, done.photos), (45, 3));
}

/// Any entry that can be written: a text, a quantity, a photo out of a few.
fn any_entry() -> impl Strategy<Value = (u8, String, String)> {
    (0_u8..4, any::<String>(), any::<String>())
}

/// The usual number of cases is for what takes microseconds; this writes to the disk.
fn cases() -> Config {
    let asked = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse::<u32>().ok());
    Config {
        failure_persistence: None,
        ..Config::with_cases(asked.map_or(16, |n| (n / 100).max(16)))
    }
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn import_of_export_is_the_same_book(said in prop::collection::vec(any_entry(), 0..12)) {
        let (folder, book) = place();
        let mut store = Store::create(&book, &holder()).unwrap();
        let mut drafts = Vec::new();
        for (kind, one, two) in said {
            let mut next = match kind {
                0 => draft(Body::Note { about: one, text: two.clone() }),
                1 => reading(&one),
                2 => draft(Body::CarFile { text: one }),
                _ => {
                    let photo = store.add_photo(&small_png(one.len() as u64 % 3)).unwrap();
                    photo_entry(&photo, &one)
                }
            };
            next.by = two;
            drafts.push(next);
        }
        store.append(&drafts).unwrap();
        let archive = exported(&store);
        let again = folder.path().join("again");
        import(archive.as_slice(), &again).unwrap();
        let second = Store::open(&again, &holder()).unwrap();
        prop_assert_eq!(texts(&second), texts(&store));
        prop_assert_eq!(exported(&second), archive);
    }

    #[test]
    fn broken_archives_never_panic(at in any::<u64>(), bit in 0_u8..8, cut in any::<u64>()) {
        let (folder, book) = place();
        let mut bytes = exported(&filled(&book, 4));
        let length = bytes.len() as u64;
        bytes[(at % length) as usize] ^= 1 << bit;
        bytes.truncate((cut % (3 * length)).max(1) as usize);
        let to = folder.path().join("again");
        if import(bytes.as_slice(), &to).is_ok() {
            prop_assert!(verify(&to).unwrap().is_whole());
        } else {
            prop_assert!(!to.exists());
        }
    }
}

#[test]
fn the_log_in_the_archive_is_the_log() {
    let (_folder, book) = place();
    let store = filled(&book, 45);
    let log = files(&exported(&store)).swap_remove(1).1;
    let mut last: Option<Line> = None;
    for text in std::str::from_utf8(&log).unwrap().lines() {
        let line = Line::read(text).unwrap();
        line.follows(last.as_ref()).unwrap();
        let before = last.as_ref().map_or(Sha::NOTHING, Line::hash);
        assert_eq!(seal(line.entry(), before).unwrap(), line);
        last = Some(line);
    }
    assert_eq!(last.unwrap().entry().seq, 45);
}

#[test]
fn a_book_told_otherwise_is_sealed_anew_and_whole() {
    let (folder, book) = place();
    let store = filled(&book, 12);
    let mut archive = Vec::new();
    export(&store, &mut archive).unwrap();
    let old = texts(&store);
    let fifth = store.entries().nth(4).unwrap().unwrap();
    let other = Body::Note { about: String::new(), text: "told otherwise".to_owned() };
    let retell = |body: &Body| (*body == fifth.body).then(|| other.clone());
    let to = folder.path().join("told");
    import_retold(archive.as_slice(), &to, &retell).unwrap();
    let told = Store::read_only(&to).unwrap();
    let new = texts(&told);
    assert_eq!((new.len(), &new[..4]), (old.len(), &old[..4]));
    assert!(new[4..].iter().zip(&old[4..]).all(|(new, old)| new != old), "the chain goes on");
    let entries = |store: &Store| store.entries().map(Result::unwrap).collect::<Vec<_>>();
    let wanted = entries(&store).into_iter().map(|mut entry| {
        entry.body = retell(&entry.body).unwrap_or(entry.body);
        entry
    });
    assert_eq!(entries(&told), wanted.collect::<Vec<_>>());
    assert_eq!((verify(&to).unwrap().faults.len(), verify(&to).unwrap().safe), (0, 12));
}

#[test]
fn what_the_fuzzer_begins_with_becomes_a_whole_book_or_nothing() {
    let (mut taken, mut refused) = (Vec::new(), Vec::new());
    for (name, bytes) in corpus("import_corpus") {
        let (folder, book) = place();
        match import(parts::archive(&bytes).as_slice(), &book) {
            Err(_) => {
                assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "{name}");
                refused.push(name);
            }
            Ok(done) => {
                assert_eq!(verify(&book).unwrap().safe, done.entries, "{name}");
                export(&Store::read_only(&book).unwrap(), std::io::sink()).unwrap();
                taken.push(name);
            }
        }
    }
    // A name that is none of a book's, a photo before the log that names it, lines without a seal.
    refused.sort();
    assert_eq!(refused, ["foreign-name", "photo-before-log", "raw-log"]);
    assert!(refused.len() < taken.len(), "{taken:?}");
}
