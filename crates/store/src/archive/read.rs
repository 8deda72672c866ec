//! An archive into a new book. Nothing in it is believed.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, BufRead, BufReader, Read};
use std::path::Path;

use axlewright_book::log::line::LINE_BYTES_MAX;
use axlewright_book::log::{Body, Entry, Line, LineError, Sha, seal};
use rusqlite::Connection;

use super::{ARCHIVE_BYTES_MAX, LOG_NAME, PHOTOS_NAME, README_NAME};
use crate::backup::put;
use crate::error::ArchiveFault;
use crate::files::DraftFolder;
use crate::head::Head;
use crate::photo::{Media, PHOTO_BYTES_MAX, PhotoFile, PhotoGone};
use crate::store::{BOOK_FILE, insert};
use crate::{StoreError, schema};

/// What came out of an archive.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Imported {
    /// How many entries.
    pub entries: u64,
    /// How many photos.
    pub photos: u64,
    /// Photos that entries name and that were not in the archive.
    pub missing: Vec<PhotoGone>,
}

/// The readme and what other programs put between files.
const SMALL_BYTES_MAX: u64 = 64 * 1024;

/// Makes a new book from an archive, in a folder that must not be there yet. Every line and its
/// place in the chain is checked, every photo compared with its hash.
///
/// # Errors
/// Something stands there already, the archive is not one of a book, or what the system says. Then
/// there is no folder of that name.
pub fn import(from: impl Read, to: &Path) -> Result<Imported, StoreError> {
    import_retold(from, to, &|_| None)
}

/// As [`import`], with some entries told otherwise: what `retell` gives stands in place of an
/// entry's body, and that entry and those after it are sealed anew.
///
/// # Errors
/// As [`import`].
pub fn import_retold(
    from: impl Read,
    to: &Path,
    retell: &dyn Fn(&Body) -> Option<Body>,
) -> Result<Imported, StoreError> {
    let draft = DraftFolder::beside(to)?;
    let done = unpack(from, draft.path(), retell)?;
    draft.finish()?;
    Ok(done)
}

fn fault(fault: ArchiveFault) -> StoreError {
    StoreError::Archive(fault)
}

fn broken(why: &io::Error) -> StoreError {
    // The reader's own words would name bytes and show the file's text.
    let what = match why.kind() {
        io::ErrorKind::UnexpectedEof => "it ends in the middle".to_owned(),
        io::ErrorKind::InvalidData | io::ErrorKind::InvalidInput | io::ErrorKind::Other => {
            "something in the middle of it is damaged".to_owned()
        }
        kind => kind.to_string(),
    };
    fault(ArchiveFault::Broken { what })
}

/// Why no next piece was found in it: one that has not even a first is something else.
fn unread(is_first: bool, why: &io::Error) -> StoreError {
    match why.kind() {
        io::ErrorKind::InvalidData | io::ErrorKind::Other if is_first => {
            fault(ArchiveFault::NoArchive)
        }
        _ => broken(why),
    }
}

fn unpack(
    from: impl Read,
    draft: &Path,
    retell: &dyn Fn(&Body) -> Option<Body>,
) -> Result<Imported, StoreError> {
    let mut archive = tar::Archive::new(from);
    // Raw: extensions are ours to refuse or pass over, none is followed.
    let entries = archive.entries().map_err(|why| broken(&why))?.raw(true);
    let mut done = Imported::default();
    // The photos the log names, each with whether it came.
    let mut photos: Option<BTreeMap<String, (PhotoFile, bool)>> = None;
    let mut readme = false;
    let mut is_first = true;
    for entry in entries {
        let mut entry = entry.map_err(|why| unread(is_first, &why))?;
        is_first = false;
        let name = name_of(&entry.path_bytes());
        let bytes = entry.header().entry_size().map_err(|why| broken(&why))?;
        let at_most = |most: u64| {
            let name = name.clone();
            if bytes <= most {
                Ok(())
            } else {
                Err(fault(ArchiveFault::TooBig { name, bytes, most }))
            }
        };
        let kind = entry.header().entry_type();
        if kind.is_pax_local_extensions() || kind.is_pax_global_extensions() {
            // Other programs put finer times and owners there; names are taken from the head.
            at_most(SMALL_BYTES_MAX)?;
            continue;
        }
        if kind.is_dir() && is_photo_folder(&name) {
            continue;
        }
        if !kind.is_file() {
            return Err(fault(ArchiveFault::NotAFile { name }));
        }
        let twice = || fault(ArchiveFault::Twice { name: name.clone() });
        if name == README_NAME {
            at_most(SMALL_BYTES_MAX)?;
            if std::mem::replace(&mut readme, true) {
                return Err(twice());
            }
        } else if name == LOG_NAME {
            at_most(ARCHIVE_BYTES_MAX)?;
            if photos.is_some() {
                return Err(twice());
            }
            let (count, named) = unpack_log(&mut entry, draft, retell)?;
            done.entries = count;
            photos = Some(named);
        } else if let Some(inside) = photo_name(&name) {
            at_most(PHOTO_BYTES_MAX)?;
            let before = || fault(ArchiveFault::BeforeLog { name: name.clone() });
            let named = photos.as_mut().ok_or_else(before)?;
            let unlogged = || fault(ArchiveFault::PhotoUnlogged { name: name.clone() });
            let (photo, came) = named.get_mut(inside).ok_or_else(unlogged)?;
            if std::mem::replace(came, true) {
                return Err(twice());
            }
            unpack_photo(&mut entry, photo, &name, draft)?;
            done.photos += 1;
        } else {
            return Err(fault(ArchiveFault::Name { name }));
        }
    }
    let photos = photos.ok_or_else(|| fault(ArchiveFault::NoLog))?;
    let missing = photos.into_iter().filter(|(_, (_, came))| !came);
    done.missing = missing.map(|(name, _)| PhotoGone::Missing { name }).collect();
    Ok(done)
}

/// A name as it stands in the archive; `./` before it is what some programs write.
fn name_of(bytes: &[u8]) -> String {
    let name = String::from_utf8_lossy(bytes).into_owned();
    name.strip_prefix("./").map(str::to_owned).unwrap_or(name)
}

fn is_photo_folder(name: &str) -> bool {
    let name = name.trim_end_matches('/');
    let two_digits = |inner: &str| {
        inner.len() == 2 && inner.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
    };
    name.is_empty()
        || name == "."
        || name == PHOTOS_NAME
        || name
            .strip_prefix(PHOTOS_NAME)
            .and_then(|name| name.strip_prefix('/'))
            .is_some_and(two_digits)
}

/// `ab/ab….jpg` of `photos/ab/ab….jpg`, for exactly such a name and no other.
fn photo_name(name: &str) -> Option<&str> {
    let inside = name.strip_prefix(PHOTOS_NAME)?.strip_prefix('/')?;
    let (folder, file) = inside.split_once('/')?;
    let (hash, ending) = file.split_once('.')?;
    let sha = Sha::from_hex(hash)?;
    let known = [Media::Jpeg, Media::Png, Media::Webp].iter().any(|media| media.ending() == ending);
    (known && sha.to_string().starts_with(folder) && folder.len() == 2).then_some(inside)
}

type Named = BTreeMap<String, (PhotoFile, bool)>;

/// The log into a database, line by line, byte for byte unless it is told otherwise.
fn unpack_log(
    log: impl Read,
    draft: &Path,
    retell: &dyn Fn(&Body) -> Option<Body>,
) -> Result<(u64, Named), StoreError> {
    let file = draft.join(BOOK_FILE);
    let db = schema::make(&file, &file)?;
    let refused = |why| StoreError::database(&file, why);
    let write = db.unchecked_transaction().map_err(refused)?;
    let (head, named) = copy_lines(log, (&write, &file), retell)?;
    write.commit().map_err(refused)?;
    db.close().map_err(|(_, why)| refused(why))?;
    let last = fs::File::open(&file).and_then(|file| file.sync_all());
    last.map_err(|why| StoreError::system("write", &file, why))?;
    head.write(draft)?;
    Ok((head.seq, named))
}

fn copy_lines(
    log: impl Read,
    (db, file): (&Connection, &Path),
    retell: &dyn Fn(&Body) -> Option<Body>,
) -> Result<(Head, Named), StoreError> {
    let mut log = BufReader::new(log);
    let mut named = Named::new();
    let mut last = (0, Sha::NOTHING);
    let mut head = Head { seq: 0, hash: Sha::NOTHING };
    let mut bytes = Vec::new();
    for number in 1.. {
        let wrong = |why| fault(ArchiveFault::Line { line: number, why });
        bytes.clear();
        let most = LINE_BYTES_MAX as u64 + 1;
        let read = (&mut log).take(most).read_until(b'\n', &mut bytes);
        if read.map_err(|why| broken(&why))? == 0 {
            break;
        }
        if bytes.pop_if(|end| *end == b'\n').is_none() {
            let what = format!("line {number} of `{LOG_NAME}` does not end");
            return Err(fault(ArchiveFault::Broken { what }));
        }
        let text = std::str::from_utf8(&bytes)
            .map_err(|_| fault(ArchiveFault::NotText { line: number }))?;
        let line = Line::read(text).map_err(wrong)?;
        line.follows_on(last).map_err(wrong)?;
        last = (line.entry().seq, line.link());
        let line = retold(line, head.hash, retell).map_err(wrong)?;
        insert(db, &line, None, file)?;
        head = Head { seq: last.0, hash: line.link() };
        if let Body::Photo(said) = &line.entry().body
            && let Ok(photo) = PhotoFile::from_entry(said)
        {
            named.insert(photo.name(), (photo, false));
        }
    }
    Ok((head, named))
}

/// The line as it stands; or sealed to the one before, where this entry or one before it is told
/// otherwise.
fn retold(
    line: Line,
    before: Sha,
    retell: &dyn Fn(&Body) -> Option<Body>,
) -> Result<Line, LineError> {
    match retell(&line.entry().body) {
        Some(body) => seal(&Entry { body, ..line.into_entry() }, before),
        None if line.before() == before => Ok(line),
        None => seal(line.entry(), before),
    }
}

fn unpack_photo(
    entry: &mut impl Read,
    photo: &PhotoFile,
    name: &str,
    draft: &Path,
) -> Result<(), StoreError> {
    let mut bytes = Vec::new();
    let mut limited = entry.take(PHOTO_BYTES_MAX + 1);
    limited.read_to_end(&mut bytes).map_err(|why| broken(&why))?;
    let right = Sha::of(&bytes) == photo.sha
        && bytes.len() as u64 == photo.bytes
        && Media::of(&bytes) == Some(photo.media);
    if !right {
        return Err(fault(ArchiveFault::PhotoAltered { name: name.to_owned() }));
    }
    put(draft, photo, &bytes)
}
