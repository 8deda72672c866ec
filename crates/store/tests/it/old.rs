//! Books of every format that was ever released open for ever.
//!
//! `tests/old/format-N` holds one each. A new format gets its book from the program that first
//! wrote it: `AXLEWRIGHT_KEEP_BOOK=FOLDER cargo test -p axlewright-store --test it an_old_book`.

use std::fs;
use std::path::{Path, PathBuf};

use axlewright_book::log::Sha;
use axlewright_store::{FORMAT, Store, verify};

use crate::common::{filled, holder, note, place, reading, texts};

pub fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &to);
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
}

#[test]
fn an_old_book_opens() {
    let form = Sha::of(b"a form");
    if let Some(keep) = std::env::var_os("AXLEWRIGHT_KEEP_BOOK") {
        let mut store = filled(&PathBuf::from(keep), 24);
        store.append_once(&[reading("25.50 deg")], Some(form)).unwrap();
    }
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join("old");
    for format in 1..=FORMAT {
        let (_folder, book) = place();
        copy(&old.join(format!("format-{format}")), &book);
        let wanted = fs::read_to_string(old.join(format!("format-{format}.jsonl"))).unwrap();
        let reader = Store::read_only(&book).unwrap();
        assert_eq!(texts(&reader), wanted.lines().collect::<Vec<_>>(), "format {format}");
        drop(reader);
        let found = verify(&book).unwrap();
        assert!(found.is_whole() && found.photos == 2, "{found:?}");
        let mut store = Store::open(&book, &holder()).unwrap();
        // Which form an entry came from is written down since the second format.
        assert_eq!(store.written_as(form).unwrap(), if format == 1 { vec![] } else { vec![25] });
        assert_eq!(store.append(&[note("goes on")]).unwrap()[0].seq, 26);
    }
}
