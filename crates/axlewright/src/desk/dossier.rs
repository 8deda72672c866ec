//! The dossier of a car: its build sheet and everything its book has recorded, as one page.

use std::path::{Path, PathBuf};

use axlewright_book::log::Body;
use axlewright_setup::record::{PhotoRecord, Record};
use axlewright_sheets::{self as sheets, Picture};

use super::bench::{Bench, Refused, View};
use super::own;

/// Where the dossier of a car goes if nobody says otherwise: beside its file, or in its folder.
pub fn dossier_path(car: &Path) -> PathBuf {
    if car.is_dir() {
        return car.join("dossier.html");
    }
    let stem = car.file_stem().unwrap_or(car.as_os_str()).to_string_lossy().into_owned();
    car.with_file_name(format!("{stem}-dossier.html"))
}

/// The dossier as one self-contained page, of the car as `view` has it. Photos are in it as small
/// pictures; one that is missing or damaged is said to be.
///
/// # Errors
/// A damaged log, or what the system says.
pub fn dossier_html(bench: &Bench, view: &View) -> Result<String, Refused> {
    let head = bench.hash(view.seq())?;
    let found = view.with_order();
    let record = Record::of(view.state(), view.car(), &found, head);
    let mut picture = |photo: &PhotoRecord| {
        let entry = view.state().entry(photo.stamp.seq()?)?;
        let Body::Photo(named) = &entry.body else { return None };
        let bytes = bench.thumb(named).ok()?;
        Some(Picture { media: "image/jpeg".to_owned(), bytes })
    };
    Ok(own(sheets::dossier(&found, &record, &mut picture)))
}
