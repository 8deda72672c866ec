//! A book is read by a program that shares nothing with this one: `reference/read_book.py`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use axlewright_book::log::{Body, Part, PartHappened};
use axlewright_store::{Store, export};

use crate::common::{draft, holder, note, photo_entry, place, reading, small_png, texts};

fn read(path: &Path) -> Output {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference/read_book.py");
    let mut python = Command::new("python3");
    python.arg(script).arg(path).output().expect("python3 is needed, its standard library alone")
}

fn part(name: &str) -> axlewright_store::Draft {
    draft(Body::Part(Part {
        part: name.to_owned(),
        happened: PartHappened::Tagged,
        side: None,
        verdict: None,
        due: None,
        in_spite: None,
        name: Some("a part — with \"quotes\"\u{2028}\\".to_owned()),
        note: None,
    }))
}

fn strike(seq: u64) -> axlewright_store::Draft {
    draft(Body::Strike { seq, why: "slip".to_owned() })
}

/// A book, its archive and its bare log, with what a reader should find.
fn written(folder: &Path, book: &Path) -> (Vec<PathBuf>, String) {
    let mut store = Store::create(book, &holder()).unwrap();
    let photo = store.add_photo(&small_png(1)).unwrap();
    // Three parts are named; the first strike takes one out, the second is taken back.
    let drafts = [
        part("plate-left"),
        part("plate-right"),
        part("bar-left"),
        part("plate-left"),
        note("größer\n\u{7f}\u{1F527}"),
        reading("35.2 deg"),
        photo_entry(&photo, "plate-left"),
        strike(3),
        strike(2),
        strike(9),
    ];
    let last = store.append(&drafts).unwrap().len();
    assert_eq!(last, 10);
    let lines = texts(&store);
    let hash = lines[9][lines[9].len() - 66..][..64].to_owned();
    let archive = folder.join("book.tar");
    export(&store, fs::File::create(&archive).unwrap()).unwrap();
    let log = folder.join("log.jsonl");
    fs::write(&log, lines.join("\n") + "\n").unwrap();
    let kinds = r#""kinds": {"note": 1, "part": 4, "photo": 1, "reading": 1, "strike": 3}"#;
    let said = format!(
        r#"{{"entries": 10, "last": "{hash}", {kinds}, "parts": 2, "struck": 2, "photos": "#
    );
    (vec![book.to_owned(), archive, log], said)
}

#[test]
fn another_program_reads_the_same_from_folder_archive_and_log() {
    let (folder, book) = place();
    let (paths, said) = written(folder.path(), &book);
    for (path, right) in paths.iter().zip([1, 1, 0]) {
        let out = read(path);
        let errors = String::from_utf8_lossy(&out.stderr);
        assert!(out.status.success(), "{}: {errors}", path.display());
        let photos = format!(r#"{{"named": 1, "right": {right}}}}}"#);
        assert_eq!(String::from_utf8(out.stdout).unwrap().trim_end(), format!("{said}{photos}"));
    }
}

#[test]
fn another_program_notices_the_same_damage() {
    let (folder, book) = place();
    let (paths, _) = written(folder.path(), &book);
    let log = fs::read_to_string(&paths[2]).unwrap();
    let lines: Vec<&str> = log.lines().collect();
    let rows = [
        (log.replacen("35.2", "35.3", 1), "line 6 was altered"),
        (lines[1..].join("\n") + "\n", "line 1 is entry 2"),
        ([&lines[..4], &lines[5..]].concat().join("\n") + "\n", "line 5 is entry 6"),
        (lines.join("\n"), "the last line does not end"),
    ];
    for (text, wanted) in rows {
        fs::write(&paths[2], text).unwrap();
        let out = read(&paths[2]);
        let errors = String::from_utf8_lossy(&out.stderr);
        assert!(!out.status.success() && errors.contains(wanted), "{wanted}: {errors}");
    }
}
