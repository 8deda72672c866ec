//! A book into an archive.

use std::collections::BTreeMap;
use std::io::{self, Read, Write};
use std::path::Path;

use axlewright_book::log::Body;

use super::{LOG_NAME, PHOTOS_NAME, README, README_NAME};
use crate::photo::{self, PhotoFile, PhotoGone};
use crate::store::Lines;
use crate::{Loss, Store, StoreError};

/// What went into an archive.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Exported {
    /// How many entries.
    pub entries: u64,
    /// How many photos.
    pub photos: u64,
    /// Photos that entries name and that are not in the archive.
    pub missing: Vec<PhotoGone>,
    /// What was acknowledged and is not here, so not in the archive either.
    pub loss: Option<Loss>,
}

/// Writes a whole book as a tar archive. Needs no lock; writing may go on meanwhile.
///
/// # Errors
/// A damaged log, or what the system says; `out` may then hold a part of the archive.
pub fn export(store: &Store, out: impl Write) -> Result<Exported, StoreError> {
    // Everything below sees the log of one moment.
    let moment = store.db().unchecked_transaction().map_err(|why| store.refused(why))?;
    let scan = scan(store)?;
    let mut tar = tar::Builder::new(out);
    let failed = |why| failed(store.folder(), why);
    let mut add = |name: &str, size: u64, data: &mut dyn Read| {
        let mut header = header(size, scan.time);
        tar.append_data(&mut header, name, data)
    };
    add(README_NAME, README.len() as u64, &mut README.as_bytes()).map_err(failed)?;
    let mut log = LogText { lines: store.lines(), text: Vec::new(), at: 0, failure: None };
    let added = add(LOG_NAME, scan.bytes, &mut log);
    if let Some(why) = log.failure {
        return Err(why);
    }
    added.map_err(failed)?;
    let loss = store.loss().cloned();
    let mut done = Exported { entries: scan.entries, loss, ..Exported::default() };
    for (name, photo) in &scan.photos {
        match photo::find(store.folder(), photo) {
            Ok(bytes) => {
                let name = format!("{PHOTOS_NAME}/{name}");
                add(&name, bytes.len() as u64, &mut bytes.as_slice()).map_err(failed)?;
                done.photos += 1;
            }
            Err(gone) => done.missing.push(gone),
        }
    }
    tar.into_inner().and_then(|mut out| out.flush()).map_err(failed)?;
    // Only read; there is nothing to keep.
    moment.finish().map_err(|why| store.refused(why))?;
    Ok(done)
}

fn failed(folder: &Path, why: io::Error) -> StoreError {
    StoreError::system("export", folder, why)
}

/// What has to be known of a log before it is written out.
struct Scan {
    entries: u64,
    bytes: u64,
    time: u64,
    /// By name, so that they are in order and each is there once.
    photos: BTreeMap<String, PhotoFile>,
}

fn scan(store: &Store) -> Result<Scan, StoreError> {
    let mut scan = Scan { entries: 0, bytes: 0, time: 0, photos: BTreeMap::new() };
    for line in store.lines() {
        let line = line?;
        scan.bytes += line.text().len() as u64 + 1;
        let entry = line.entry();
        scan.entries = entry.seq;
        scan.time = unix_seconds(&entry.at);
        if let Body::Photo(said) = &entry.body
            && let Ok(photo) = PhotoFile::from_entry(said)
        {
            scan.photos.insert(photo.name(), photo);
        }
    }
    Ok(scan)
}

fn header(size: u64, time: u64) -> tar::Header {
    let mut header = tar::Header::new_ustar();
    header.set_entry_type(tar::EntryType::Regular);
    header.set_size(size);
    header.set_mode(0o644);
    header.set_mtime(time);
    header.set_uid(0);
    header.set_gid(0);
    header
}

/// The lines of a log as one stream.
struct LogText<'a> {
    lines: Lines<'a>,
    text: Vec<u8>,
    at: usize,
    failure: Option<StoreError>,
}

impl Read for LogText<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.at == self.text.len() {
            match self.lines.next() {
                None => return Ok(0),
                Some(Err(why)) => {
                    let said = io::Error::other(why.to_string());
                    self.failure = Some(why);
                    return Err(said);
                }
                Some(Ok(line)) => {
                    self.text.clear();
                    self.text.extend_from_slice(line.text().as_bytes());
                    self.text.push(b'\n');
                    self.at = 0;
                }
            }
        }
        let mut rest = &self.text[self.at..];
        let read = rest.read(into)?;
        self.at += read;
        Ok(read)
    }
}

/// Seconds since 1970 of a moment as the log writes it; 0 for what is none, or is before.
fn unix_seconds(at: &str) -> u64 {
    let number =
        |from: usize, to: usize| at.get(from..to).and_then(|part| part.parse::<u64>().ok());
    let all = || {
        let (year, month, day) = (number(0, 4)?, number(5, 7)?, number(8, 10)?);
        let (hour, minute, second) = (number(11, 13)?, number(14, 16)?, number(17, 19)?);
        // Years are counted from 1 March, so that the leap day is the last of its year.
        let (year, month) = if month < 3 {
            (year.checked_sub(1)?, month + 9)
        } else {
            (year, month.checked_sub(3)?)
        };
        let leap_days = year / 4 - year / 100 + year / 400;
        let of_year = (153 * month + 2) / 5 + day.checked_sub(1)?;
        // 1970-01-01 is day 719 468 in this count.
        let days = (365 * year + leap_days + of_year).checked_sub(719_468)?;
        Some(days * 86_400 + hour * 3_600 + minute * 60 + second)
    };
    all().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_become_seconds() {
        // 1970-01-01 by definition; 11 016 days to 2000-02-29: 30·365 + 7 leap days + 59.
        assert_eq!(unix_seconds("1970-01-01T00:00:00Z"), 0);
        assert_eq!(unix_seconds("2000-02-29T01:02:03.5Z"), 11_016 * 86_400 + 3_723);
        assert_eq!(unix_seconds("1969-12-31T00:00:00Z"), 0);
        assert_eq!(unix_seconds("no moment"), 0);
        assert_eq!(unix_seconds("2000-00-00T00:00:00Z"), 0);
    }
}
