//! The invented demo car: its file, its sheet, and a book with half the job in it.

use std::fs;
use std::path::{Path, PathBuf};

use axlewright_book::log::Body;
use axlewright_setup::Assessment;

use super::bench::{Bench, Refused};
use super::{
    CAR_FILE_NAME, DEMO_CAR, DeskError, Fault, make_folder, may_replace, sheet_html, sheet_path,
    write_new, write_sheet,
};

/// What [`write_demo`] wrote.
#[derive(Debug)]
pub struct Demo {
    /// The car file.
    pub car: PathBuf,
    /// The sheet made from it.
    pub sheet: PathBuf,
    /// The book with half the job in it.
    pub book: PathBuf,
    /// What follows from the car file.
    pub assessment: Assessment,
    /// What is wrong with it: nothing, as long as the program and its example agree.
    pub faults: Vec<Fault>,
}

/// Writes the demo car, its build sheet and its book into a folder. A book that is there already is
/// left as it is.
///
/// # Errors
/// [`DeskError::ChangedDemo`] when the folder holds another car file, [`DeskError::Foreign`] for a
/// foreign page; a book that is open elsewhere; otherwise what the system says.
pub fn write_demo(folder: &Path) -> Result<Demo, Refused> {
    make_folder(folder)?;
    let car = folder.join(CAR_FILE_NAME);
    match fs::symlink_metadata(&car) {
        Err(_) => write_new(DEMO_CAR, &car)?,
        Ok(_) if fs::read(&car).is_ok_and(|there| there == DEMO_CAR.as_bytes()) => {}
        Ok(_) => return Err(DeskError::ChangedDemo(car).into()),
    }
    let view = Bench::open(&car)?.look();
    let sheet = sheet_path(&car);
    may_replace(&sheet)?;
    let book = folder.join(DEMO_BOOK_NAME);
    // Each takes half a second, and somebody waits for both.
    let html = std::thread::scope(|scope| {
        let html = scope.spawn(|| sheet_html(&view.with_order()));
        demo_book(&book)?;
        Ok::<_, Refused>(html.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)))
    })?;
    write_sheet(&html, &sheet)?;
    let (assessment, faults) = (view.assessment().clone(), view.faults().to_vec());
    Ok(Demo { car, sheet, book, assessment, faults })
}

/// The name of the demo's book in the folder of the demo.
pub const DEMO_BOOK_NAME: &str = "book";

/// A demo book, and whether it was made just now.
#[derive(Debug)]
pub struct DemoBook {
    /// Open for writing.
    pub bench: Bench,
    /// False where there was a book already; it is left as it is.
    pub is_new: bool,
}

/// The story in the book: an invented car, taken apart, measured, and half put together. Made by
/// `cargo xtask demo-book`, without the car file.
const STORY: &[u8] = include_bytes!("../../../../examples/larch-1300/book.tar");
/// Who writes it.
const OWNER: &str = "owner";

/// Opens the demo's book for writing; makes it where there is none. The same every time, to the
/// last hash: the moments in it are those of the story.
///
/// # Errors
/// A book that is open elsewhere or damaged, or what the system says.
pub fn demo_book(folder: &Path) -> Result<DemoBook, Refused> {
    let is_new = !axlewright_store::is_book(folder);
    if is_new {
        axlewright_store::import_retold(STORY, folder, &|body| match body {
            Body::CarFile { .. } => Some(Body::CarFile { text: car_before_readings() }),
            _ => None,
        })?;
    }
    Ok(DemoBook { bench: Bench::own(folder, OWNER)?, is_new })
}

/// The car file of the demo as it was before anything was read on the bench: without readings and
/// without rounds.
fn car_before_readings() -> String {
    let is_later = |rows: &&str| {
        rows.lines().any(|line| line.trim() == "[[reading]]" || line.trim() == "[[round]]")
    };
    let kept: Vec<&str> = DEMO_CAR.split("\n\n").filter(|rows| !is_later(rows)).collect();
    let mut text = kept.join("\n\n").trim_end().to_owned();
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use axlewright_book::log::{BEFORE_STRIP_DOWN, State, check, import_of};
    use axlewright_book::{CarFile, read};
    use axlewright_setup::record::Figured;

    #[test]
    fn the_car_file_of_the_story_is_the_demo_without_what_came_later() {
        let (whole, _) = read(DEMO_CAR);
        let (car, problems) = read(&car_before_readings());
        assert_eq!(problems, []);
        assert!(!whole.readings.is_empty() && !whole.rounds.is_empty());
        assert!(car.readings.is_empty() && car.rounds.is_empty());
        let counts = |car: &CarFile| {
            [car.specs.len(), car.parts.len(), car.steps.len(), car.joints.len(), car.stands.len()]
        };
        assert_eq!(counts(&car), counts(&whole));
    }

    /// The archive is older than the car file: each of its entries has to fit the car of today, as
    /// if it were written now.
    #[test]
    fn the_story_fits_the_demos_car_file() {
        let folder = tempfile::tempdir().unwrap();
        let bench = demo_book(&folder.path().join("book")).unwrap().bench;
        let view = bench.look();
        let all = view.state();
        assert_eq!(all.unfolded().count(), 0);
        let mut state = State::default();
        for entry in all.entries() {
            check(&state, &entry.body, &Figured)
                .unwrap_or_else(|why| panic!("entry {}: {why}", entry.seq));
            state.after(std::sync::Arc::clone(entry));
        }
        assert!(100 < all.entries().len());
        // The first fit of the story is what the car file has as read.
        let told: Vec<&Body> = all.entries().iter().map(|entry| &entry.body).collect();
        for body in import_of(&read(DEMO_CAR).0) {
            let Body::Reading(reading) = &body else { continue };
            if !["plate angle", "sill level"].contains(&reading.what.as_str()) {
                continue;
            }
            let is_told = told.iter().any(|told| match told {
                Body::Reading(told) => told == reading,
                Body::Attempt(told) => told.reading == *reading,
                _ => false,
            });
            assert!(is_told, "{reading:?} is not in the story; `cargo xtask demo-book` makes it");
            assert_ne!(reading.stage.as_deref(), Some(BEFORE_STRIP_DOWN));
        }
    }
}
