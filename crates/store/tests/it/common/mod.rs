//! Books and photos for the tests.
#![allow(dead_code, reason = "each test program uses some of it")]

use std::io::Cursor;
use std::path::{Path, PathBuf};

use axlewright_book::log::{Body, Reading};
use axlewright_store::{Draft, Holder, PhotoFile, Store};
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use tempfile::TempDir;

/// Numbers that look like chance and are the same every time (SplitMix64).
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    pub fn below(&mut self, limit: u64) -> u64 {
        self.next() % limit
    }
}

pub fn holder() -> Holder {
    Holder { by: "J. Smith".to_owned(), since: "2026-11-25T21:00:00Z".to_owned() }
}

pub fn draft(body: Body) -> Draft {
    let (at, by) = ("2026-11-25T21:00:00Z".to_owned(), "J. Smith".to_owned());
    Draft { at, by, body }
}

pub fn note(text: &str) -> Draft {
    draft(Body::Note { about: String::new(), text: text.to_owned() })
}

pub fn reading(value: &str) -> Draft {
    draft(Body::Reading(Reading {
        what: "plate angle".to_owned(),
        side: Some("left".to_owned()),
        value: value.to_owned(),
        ..Reading::default()
    }))
}

pub fn photo_entry(photo: &PhotoFile, of: &str) -> Draft {
    draft(Body::Photo(photo.entry(of)))
}

/// A small picture, another one for each number.
pub fn picture(number: u64, width: u32, height: u32) -> RgbImage {
    let mut dice = Dice(number);
    RgbImage::from_fn(width, height, |_, _| {
        let mixed = dice.next().to_le_bytes();
        Rgb([mixed[0], mixed[1], mixed[2]])
    })
}

pub fn encoded(picture: RgbImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    DynamicImage::ImageRgb8(picture).write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

pub fn small_png(number: u64) -> Vec<u8> {
    encoded(picture(number, 4, 3), ImageFormat::Png)
}

/// A folder that goes away, and the name of a book in it.
pub fn place() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    (folder, book)
}

/// A book with so many entries, a few of them photos.
pub fn filled(book: &Path, entries: u64) -> Store {
    let mut store = Store::create(book, &holder()).unwrap();
    let mut drafts = Vec::new();
    for number in 1..=entries {
        drafts.push(match number % 20 {
            3 => {
                let photo = store.add_photo(&small_png(number)).unwrap();
                photo_entry(&photo, "left rear eccentric")
            }
            5 => reading(&format!("{number}.50 deg")),
            _ => note(&format!("entry {number} \"é\"\n")),
        });
    }
    store.append(&drafts).unwrap();
    store
}

pub fn texts(store: &Store) -> Vec<String> {
    store.lines().map(|line| line.unwrap().text().to_owned()).collect()
}

/// The inputs that a fuzz target begins with, and those that once were a finding: names and bytes.
pub fn corpus(name: &str) -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(name);
    let files = std::fs::read_dir(folder).unwrap().map(|file| file.unwrap().path());
    let name = |path: &Path| path.file_name().unwrap().to_string_lossy().into_owned();
    files.map(|path| (name(&path), std::fs::read(&path).unwrap())).collect()
}
