//! Photos: looked at once, freed of everything but the picture, kept under their own hash.

mod strip;
mod words;

use std::fs;
use std::io::{self, Cursor, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use axlewright_book::log::{Photo, Sha};
use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};

use crate::{StoreError, files};

/// The folder of the photos in a book.
pub const FOLDER: &str = "photos";
/// The folder of the small pictures.
pub const THUMBS: &str = "thumbs";

pub use axlewright_book::log::{PHOTO_BYTES_MAX, PHOTO_PIXELS_MAX};

/// The longer side of a small picture, in pixels.
pub const THUMB_SIDE_MAX: u32 = 480;
/// Looking at a photo may take so much memory, the decoder's own included.
const DECODE_BYTES_MAX: u64 = 400_000_000;
/// What it takes for each pixel, as measured (`tests/it/memory.rs`), rounded up: a picture coded in
/// passes is held as a whole in its coded form, one with transparency is decoded twice.
const fn bytes_a_pixel(media: Media, has_alpha: bool) -> u64 {
    match (media, has_alpha) {
        (Media::Jpeg | Media::Png, _) | (Media::Webp, false) => 8,
        (Media::Webp, true) => 12,
    }
}
/// The longest side that is tried: what a JPEG can say.
const SIDE_MAX: u32 = 65_535;
const THUMB_QUALITY: u8 = 78;
/// A small picture of ours is never larger.
const THUMB_BYTES_MAX: u64 = 2 * 1024 * 1024;

/// What kind of file a photo is, going by its content.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Media {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
    /// WebP.
    Webp,
}

impl Media {
    const ALL: [Self; 3] = [Self::Jpeg, Self::Png, Self::Webp];

    /// As an entry spells it: its media type.
    pub fn word(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Webp => "image/webp",
        }
    }

    /// From its media type.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|media| media.word() == word)
    }

    /// The ending of its file's name.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
            Self::Webp => "webp",
        }
    }

    /// From the first bytes of a file.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        match bytes {
            [0xFF, 0xD8, 0xFF, ..] => Some(Self::Jpeg),
            [0x89, b'P', b'N', b'G', b'\r', b'\n', 0x1A, b'\n', ..] => Some(Self::Png),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(Self::Webp),
            _ => None,
        }
    }

    fn format(self) -> ImageFormat {
        match self {
            Self::Jpeg => ImageFormat::Jpeg,
            Self::Png => ImageFormat::Png,
            Self::Webp => ImageFormat::WebP,
        }
    }
}

/// Why a photo is not taken in.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Too many bytes.
    #[error("the photo has {bytes} bytes; {PHOTO_BYTES_MAX} are allowed")]
    TooBig {
        /// Its length.
        bytes: u64,
    },
    /// Too many pixels.
    #[error("the photo has {width} × {height} pixels; {PHOTO_PIXELS_MAX} in all are allowed")]
    TooManyPixels {
        /// Across.
        width: u32,
        /// Down.
        height: u32,
    },
    /// Decoding it would take too much memory.
    #[error("the photo takes {bytes} bytes to decode; {DECODE_BYTES_MAX} are allowed")]
    TooDeep {
        /// How much it would take.
        bytes: u64,
    },
    /// Not a photo.
    #[error("this is neither JPEG, PNG nor WebP")]
    NotAPhoto,
    /// A moving picture.
    #[error("this is a moving picture")]
    Moving,
    /// It ends in the middle.
    #[error("the photo ends in the middle")]
    Cut,
    /// It cannot be decoded.
    #[error("the photo cannot be decoded: {what}")]
    Damaged {
        /// What the decoder said.
        what: String,
    },
    /// An entry does not name a photo as it should.
    #[error("the entry does not name a photo: {what}")]
    Named {
        /// What is wrong.
        what: &'static str,
    },
}

impl PhotoError {
    /// What would be right.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::TooBig { .. } | Self::TooManyPixels { .. } | Self::TooDeep { .. } => {
                "take it at a lower resolution, or save it smaller"
            }
            Self::NotAPhoto => {
                "send a JPEG, PNG or WebP; some phones have to be told to take JPEG photos"
            }
            Self::Moving => "send a single picture",
            Self::Cut => "send it again; it did not arrive whole",
            Self::Damaged { .. } => "open it in a picture program, save it as JPEG and send that",
            Self::Named { .. } => "name the photo as it came back when it was taken in",
        }
    }
}

/// A photo that lies in the book.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct PhotoFile {
    /// The hash of the file, and its name.
    pub sha: Sha,
    /// What kind of file it is.
    pub media: Media,
    /// Its length.
    pub bytes: u64,
    /// Pixels across, upright.
    pub width: u32,
    /// Pixels down, upright.
    pub height: u32,
}

impl PhotoFile {
    /// What an entry says of it.
    pub fn entry(&self, of: &str) -> Photo {
        Photo {
            sha256: self.sha.to_string(),
            media: self.media.word().to_owned(),
            bytes: self.bytes,
            width: self.width,
            height: self.height,
            of: of.to_owned(),
            when: None,
            note: None,
        }
    }

    /// The photo that an entry names.
    ///
    /// # Errors
    /// A hash or a media type that is none.
    pub fn from_entry(said: &Photo) -> Result<Self, PhotoError> {
        let named = |what| PhotoError::Named { what };
        let sha = Sha::from_hex(&said.sha256)
            .ok_or(named("its hash is not 64 lower-case hexadecimal digits"))?;
        let media = Media::from_word(&said.media)
            .ok_or(named("its media type is not image/jpeg, image/png or image/webp"))?;
        let (bytes, width, height) = (said.bytes, said.width, said.height);
        Ok(Self { sha, media, bytes, width, height })
    }

    /// Its name under `photos`: `ab/ab….jpg`.
    pub fn name(&self) -> String {
        let sha = self.sha.to_string();
        format!("{}/{sha}.{}", &sha[..2], self.media.ending())
    }

    /// Its file, from the book's folder.
    pub fn path(&self) -> PathBuf {
        Path::new(FOLDER).join(self.name())
    }

    fn thumb_path(&self) -> PathBuf {
        let sha = self.sha.to_string();
        Path::new(THUMBS).join(&sha[..2]).join(format!("{sha}.jpg"))
    }
}

/// A photo that may be taken in: checked, and as it will be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prepared {
    file: PhotoFile,
    bytes: Vec<u8>,
    thumb: Vec<u8>,
}

impl Prepared {
    /// Checks a photo and makes it ready: by its content and not by its name, within the limits,
    /// decoded once, and with everything that is not the picture taken out — where and when it was
    /// taken, with what, by whom. Which way up it is stays, and what measuring needs of the lens.
    ///
    /// # Errors
    /// Why it is not taken in.
    pub fn of(bytes: &[u8]) -> Result<Self, PhotoError> {
        let length = bytes.len() as u64;
        if PHOTO_BYTES_MAX < length {
            return Err(PhotoError::TooBig { bytes: length });
        }
        let media = Media::of(bytes).ok_or(PhotoError::NotAPhoto)?;
        // The file is walked through from end to end before a decoder sees any of it: a length that
        // is a lie would have memory asked for that nobody has.
        let walked = strip::bare(bytes, media, None)?;
        let bare = match words::that_stay(walked.exif.as_deref()) {
            None => walked.bytes,
            words => strip::bare(bytes, media, words.as_deref())?.bytes,
        };
        // What is decoded is what is kept, so that a slip in taking out would show here.
        let picture = guarded(|| decode(&bare, media))?;
        let file = PhotoFile {
            sha: Sha::of(&bare),
            media,
            bytes: bare.len() as u64,
            width: picture.width,
            height: picture.height,
        };
        Ok(Self { file, bytes: bare, thumb: picture.thumb })
    }

    /// What it will be in the book.
    pub fn file(&self) -> &PhotoFile {
        &self.file
    }

    /// The bytes that are kept.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
}

/// A photo as grey pixels, upright, with what its camera wrote beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GreyPhoto {
    /// Pixels across, upright.
    pub width: u32,
    /// Pixels down, upright.
    pub height: u32,
    /// One byte a pixel, row after row.
    pub grey: Vec<u8>,
    /// The camera's words, as a TIFF block (EXIF), if there are any.
    pub exif: Option<Vec<u8>>,
}

impl GreyPhoto {
    /// Decodes a photo that is measured, not kept: within the same limits as one that is taken in.
    ///
    /// # Errors
    /// Why it is refused, as [`Prepared::of`].
    pub fn of(bytes: &[u8]) -> Result<Self, PhotoError> {
        let length = bytes.len() as u64;
        if PHOTO_BYTES_MAX < length {
            return Err(PhotoError::TooBig { bytes: length });
        }
        let media = Media::of(bytes).ok_or(PhotoError::NotAPhoto)?;
        // Walked through before a decoder sees it, as one that is taken in.
        let strip::Bare { bytes, exif } = strip::bare(bytes, media, None)?;
        let turned = exif.as_deref().and_then(Orientation::from_exif_chunk);
        let turned = turned.unwrap_or(Orientation::NoTransforms);
        guarded(|| {
            let decoder = decoder(&bytes, media)?;
            let image = DynamicImage::from_decoder(decoder).map_err(|why| damaged(&why))?;
            let mut image = DynamicImage::ImageLuma8(image.into_luma8());
            image.apply_orientation(turned);
            let (width, height) = (image.width(), image.height());
            Ok(Self { width, height, grey: image.into_bytes(), exif })
        })
    }
}

/// A decoder that stumbles over a hostile file is one more way of not being a photo.
fn guarded<T>(work: impl FnOnce() -> Result<T, PhotoError>) -> Result<T, PhotoError> {
    catch_unwind(AssertUnwindSafe(work))
        .unwrap_or_else(|_| Err(PhotoError::Damaged { what: "the decoder gave up".to_owned() }))
}

fn damaged(why: &image::ImageError) -> PhotoError {
    PhotoError::Damaged { what: why.to_string() }
}

/// A decoder that has seen the head of the file, with its limits set and its size checked.
fn decoder(bytes: &[u8], media: Media) -> Result<impl ImageDecoder, PhotoError> {
    let mut reader = ImageReader::with_format(Cursor::new(bytes), media.format());
    let mut limits = Limits::default();
    limits.max_image_width = Some(SIDE_MAX);
    limits.max_image_height = Some(SIDE_MAX);
    limits.max_alloc = Some(DECODE_BYTES_MAX);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(|why| damaged(&why))?;
    let (width, height) = decoder.dimensions();
    if PHOTO_PIXELS_MAX < u64::from(width) * u64::from(height) {
        return Err(PhotoError::TooManyPixels { width, height });
    }
    let has_alpha = decoder.color_type().has_alpha();
    let pixels = u64::from(width) * u64::from(height);
    let bytes = decoder.total_bytes().max(pixels * bytes_a_pixel(media, has_alpha));
    if DECODE_BYTES_MAX < bytes {
        return Err(PhotoError::TooDeep { bytes });
    }
    Ok(decoder)
}

/// What is left of a decoded photo.
struct Picture {
    width: u32,
    height: u32,
    thumb: Vec<u8>,
}

fn decode(bytes: &[u8], media: Media) -> Result<Picture, PhotoError> {
    let mut decoder = decoder(bytes, media)?;
    let turned = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let (width, height) = decoder.dimensions();
    let image = DynamicImage::from_decoder(decoder).map_err(|why| damaged(&why))?;
    let small = width <= THUMB_SIDE_MAX && height <= THUMB_SIDE_MAX;
    // A small picture is turned, not the large one.
    let mut thumb = if small { image } else { image.thumbnail(THUMB_SIDE_MAX, THUMB_SIDE_MAX) };
    thumb.apply_orientation(turned);
    let mut jpeg = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut jpeg, THUMB_QUALITY);
    thumb.to_rgb8().write_with_encoder(encoder).map_err(|why| damaged(&why))?;
    // 5 to 8 lie on their side.
    let (width, height) = if turned.to_exif() < 5 { (width, height) } else { (height, width) };
    Ok(Picture { width, height, thumb: jpeg })
}

/// Writes a photo and its small picture into a book's folder.
pub fn put(folder: &Path, photo: &Prepared) -> Result<PhotoFile, StoreError> {
    let file = photo.file.clone();
    let path = folder.join(file.path());
    let photos = folder.join(FOLDER);
    files::make_inside(folder, &files::above(Path::new(&file.path())))
        .map_err(|why| StoreError::system("make", &files::above(&path), why))?;
    // The same photo again is no second file, but one that was damaged is made good.
    match files::read_at_most(&path, PHOTO_BYTES_MAX) {
        Ok(there) if there == photo.bytes => {
            // Whoever wrote it may have been stopped before its name was made to last.
            let last = fs::File::open(&path).and_then(|there| there.sync_all());
            last.and_then(|()| files::sync_folder(&files::above(&path)))
                .map_err(|why| StoreError::system("write", &path, why))?;
        }
        _ => files::write_whole(&path, &photo.bytes, &photos)?,
    }
    // Made anew when it is asked for and not there, so it is no reason to refuse a photo.
    let _ = put_thumb(folder, &file, &photo.thumb);
    Ok(file)
}

fn put_thumb(folder: &Path, file: &PhotoFile, thumb: &[u8]) -> io::Result<()> {
    let path = folder.join(file.thumb_path());
    files::make_inside(folder, &files::above(Path::new(&file.thumb_path())))?;
    // Whole or not there, but it need not last: no waiting for the disk.
    let draft = files::draft_in(&folder.join(THUMBS));
    let written = files::make_file(&draft)
        .and_then(|mut made| made.write_all(thumb))
        .and_then(|()| fs::rename(&draft, &path));
    if written.is_err() {
        let _ = fs::remove_file(&draft);
    }
    written
}

/// A photo that an entry names and that cannot be handed on.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoGone {
    /// It is not there.
    #[error("the photo `{name}` is missing")]
    Missing {
        /// Its name under `photos`.
        name: String,
    },
    /// It is not what it was.
    #[error("the photo `{name}` was altered")]
    Altered {
        /// Its name under `photos`.
        name: String,
    },
    /// The disk does not give it.
    #[error("the photo `{name}` cannot be read: {what}")]
    Unread {
        /// Its name under `photos`.
        name: String,
        /// What the system said.
        what: String,
    },
}

impl PhotoGone {
    /// Its name under `photos`.
    pub fn name(&self) -> &str {
        match self {
            Self::Missing { name } | Self::Altered { name } | Self::Unread { name, .. } => name,
        }
    }
}

/// A photo's bytes for a copy, or why it is not in it. One that a failing disk does not give is no
/// reason to leave out the others.
pub fn find(folder: &Path, photo: &PhotoFile) -> Result<Vec<u8>, PhotoGone> {
    let name = photo.name();
    match read(folder, photo) {
        Ok(bytes) if bytes.len() as u64 == photo.bytes => Ok(bytes),
        Ok(_) | Err(StoreError::Corrupt { .. }) => Err(PhotoGone::Altered { name }),
        Err(StoreError::NoPhoto { .. }) => Err(PhotoGone::Missing { name }),
        Err(StoreError::System { why, .. }) => {
            Err(PhotoGone::Unread { name, what: crate::error::in_words(&why) })
        }
        Err(why) => Err(PhotoGone::Unread { name, what: why.to_string() }),
    }
}

/// A photo's bytes, compared with its hash.
pub fn read(folder: &Path, photo: &PhotoFile) -> Result<Vec<u8>, StoreError> {
    let path = folder.join(photo.path());
    let bytes = files::read_at_most(&path, PHOTO_BYTES_MAX).map_err(|why| match why.kind() {
        io::ErrorKind::NotFound => {
            StoreError::NoPhoto { path: folder.to_owned(), name: photo.name() }
        }
        _ => StoreError::system("read", &path, why),
    })?;
    if Sha::of(&bytes) != photo.sha {
        let what = "it is no longer the photo that was taken in".to_owned();
        return Err(StoreError::Corrupt { path, what });
    }
    Ok(bytes)
}

/// The small picture of a photo.
pub fn thumb(folder: &Path, photo: &PhotoFile) -> Result<Vec<u8>, StoreError> {
    let there = files::read_at_most(&folder.join(photo.thumb_path()), THUMB_BYTES_MAX);
    match there {
        Ok(thumb) if Media::of(&thumb) == Some(Media::Jpeg) => return Ok(thumb),
        _ => {}
    }
    let bytes = read(folder, photo)?;
    let thumb = guarded(|| decode(&bytes, photo.media))?.thumb;
    // Not kept where nothing can be written; it is made again next time.
    let _ = put_thumb(folder, photo, &thumb);
    Ok(thumb)
}
