//! Any archive at all becomes a whole book or nothing, without a panic.
//!
//! The input is a row of parts, as `parts.rs` says.

#![no_main]

#[path = "../parts.rs"]
mod parts;

use axlewright_store::{Store, export, import, verify};
use libfuzzer_sys::fuzz_target;
use parts::archive;

fuzz_target!(|bytes: &[u8]| {
    // In memory where there is such a place: the disk is not what is looked at here.
    let top = std::path::Path::new("/dev/shm");
    let top = if top.is_dir() { top.to_owned() } else { std::env::temp_dir() };
    let folder = top.join(format!("axlewright-fuzz-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder to work in");
    let book = folder.join("book");
    match import(archive(bytes).as_slice(), &book) {
        Err(why) => {
            assert!(!why.to_string().is_empty() && !book.exists());
            assert_eq!(std::fs::read_dir(&folder).expect("the folder is there").count(), 0);
        }
        Ok(done) => {
            let found = verify(&book).expect("it is there");
            assert_eq!(found.safe, done.entries);
            let store = Store::read_only(&book).expect("it is there");
            export(&store, std::io::sink()).expect("it goes out again");
        }
    }
    let _ = std::fs::remove_dir_all(&folder);
});
