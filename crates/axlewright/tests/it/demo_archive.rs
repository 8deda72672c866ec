//! The archive of the demo's book: what the chore makes, and a whole book.

use axlewright_book::log::{Body, Photo};
use axlewright_store::{Store, import, verify};

#[path = "../../examples/demo_book/pictures.rs"]
mod pictures;
#[path = "../../examples/demo_book/story.rs"]
mod story;

const COMMITTED: &[u8] = include_bytes!("../../../../examples/larch-1300/book.tar");

/// The entries of an archive that is a whole book. Another machine may draw a pixel otherwise, so a
/// photo is told by what it shows.
fn told(archive: &[u8]) -> Vec<(String, Body)> {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let came = import(archive, &book).unwrap();
    assert!(came.missing.is_empty() && 10 < came.photos && 100 < came.entries, "{came:?}");
    let found = verify(&book).unwrap();
    assert_eq!((found.faults.len(), found.safe), (0, came.entries));
    let store = Store::read_only(&book).unwrap();
    let plain = |body| match body {
        Body::Photo(Photo { of, when, note, .. }) => {
            Body::Photo(Photo { of, when, note, ..Photo::default() })
        }
        other => other,
    };
    store.entries().map(|entry| entry.unwrap()).map(|entry| (entry.at, plain(entry.body))).collect()
}

#[test]
fn the_archive_is_what_the_chore_makes_and_a_whole_book() {
    let made = story::archive().unwrap();
    assert!(told(&made) == told(COMMITTED), "`cargo xtask demo-book` makes it anew");
    assert!(COMMITTED.len() < 300_000, "{} bytes", COMMITTED.len());
}
