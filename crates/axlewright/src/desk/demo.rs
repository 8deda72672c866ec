//! The invented demo car: its file, its sheet, and a book with half the job in it.

mod pictures;
mod story;

use std::fs;
use std::path::{Path, PathBuf};

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

/// Opens the demo's book for writing; makes it where there is none. The same every time, to the
/// last hash: the moments in it are those of the story.
///
/// # Errors
/// A book that is open elsewhere or damaged, or what the system says.
pub fn demo_book(folder: &Path) -> Result<DemoBook, Refused> {
    if axlewright_store::is_book(folder) {
        let bench = Bench::own(folder, story::OWNER)?;
        // One that was stopped before its first entry is filled now.
        if bench.look().seq() != 0 {
            return Ok(DemoBook { bench, is_new: false });
        }
        story::tell(&bench)?;
        return Ok(DemoBook { bench, is_new: true });
    }
    let bench = Bench::begin(folder, story::OWNER)?;
    story::tell(&bench)?;
    Ok(DemoBook { bench, is_new: true })
}
