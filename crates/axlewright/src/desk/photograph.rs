//! A picture file as something to measure by: grey pixels, tags, and what its camera wrote.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use axlewright_quantity::Length;
use axlewright_sight::find::{FindError, find, is_mirrored};
use axlewright_sight::grey::Grey;
use axlewright_sight::shot::{LensKnown, Shot};
use axlewright_store::{GreyPhoto, PHOTO_BYTES_MAX, PhotoError};
use exif::{Exif, In, Reader, Tag, Value};

use super::DeskError;

/// Why a picture cannot be measured by.
#[derive(Debug, thiserror::Error)]
pub enum PhotographError {
    /// The file.
    #[error(transparent)]
    File(#[from] DeskError),
    /// The picture.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// The tag finder.
    #[error(transparent)]
    Find(#[from] FindError),
}

impl PhotographError {
    /// What would be right.
    pub fn hint(&self) -> String {
        match self {
            Self::File(why) => why.hint(),
            Self::Photo(why) => why.hint().to_owned(),
            Self::Find(why) => why.hint().to_owned(),
        }
    }
}

/// A picture with the tags in it.
#[derive(Debug, Clone)]
pub struct Photograph {
    /// Its pixels, upright.
    pub grey: Grey,
    /// What is measured by.
    pub shot: Shot,
}

/// Reads a picture file, no more of it than a photo may have.
///
/// # Errors
/// The file, or that it is no photo.
pub fn read_photograph(path: &Path) -> Result<Photograph, PhotographError> {
    let refused = |why| DeskError::Read(path.to_owned(), why);
    let file = File::open(path).map_err(|why| match why.kind() {
        std::io::ErrorKind::NotFound => DeskError::NoFile(path.to_owned()),
        _ => refused(why),
    })?;
    let mut bytes = Vec::new();
    file.take(PHOTO_BYTES_MAX + 1).read_to_end(&mut bytes).map_err(refused)?;
    photograph(&bytes)
}

/// A picture from its bytes: decoded, its tags found, its lens looked up.
///
/// # Errors
/// That it is no photo, or that the finder does not start.
pub fn photograph(bytes: &[u8]) -> Result<Photograph, PhotographError> {
    let photo = GreyPhoto::of(bytes)?;
    let lens = photo.exif.map_or(LensKnown::Unknown, lens);
    let nothing = || PhotoError::Damaged { what: "it has no pixels".to_owned() };
    let grey = Grey::new(photo.width, photo.height, photo.grey).ok_or_else(nothing)?;
    let seen = find(&grey)?;
    let mirrored = seen.is_empty() && is_mirrored(&grey)?;
    let shot = Shot { width: grey.width(), height: grey.height(), lens, seen, mirrored };
    Ok(Photograph { grey, shot })
}

/// The equivalent focal length in a camera's words. With digital zoom it is not known whether it
/// counts the zoom or not, so nothing is.
fn lens(words: Vec<u8>) -> LensKnown {
    // A hostile block of words is one more way of saying nothing.
    let read = std::panic::catch_unwind(|| Reader::new().read_raw(words).ok());
    let Some(exif) = read.ok().flatten() else { return LensKnown::Unknown };
    let zoomed = number(&exif, Tag::DigitalZoomRatio).is_some_and(|zoom| 1.01 < zoom);
    match number(&exif, Tag::FocalLengthIn35mmFilm) {
        Some(mm) if (8.0..=800.0).contains(&mm) && !zoomed => LensKnown::Equivalent(Length::mm(mm)),
        _ => LensKnown::Unknown,
    }
}

fn number(exif: &Exif, tag: Tag) -> Option<f64> {
    let field = exif.get_field(tag, In::PRIMARY)?;
    let number = match &field.value {
        Value::Short(values) => f64::from(*values.first()?),
        Value::Long(values) => f64::from(*values.first()?),
        Value::Rational(values) => values.first()?.to_f64(),
        _ => return None,
    };
    number.is_finite().then_some(number)
}
