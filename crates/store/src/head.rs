//! What was acknowledged last, kept beside the log: `book.head`.
//!
//! The log's chain shows every change but one: that its end is gone. So the number and the hash of
//! the last entry are written down once more, outside the database, after each commit and before
//! the entry is called written. The file is one short sector, written over in place: no append
//! waits for the disk because of it. It is made to last before entries leave the write-ahead log,
//! and whenever the book comes to rest.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use axlewright_book::log::Sha;

use crate::{StoreError, files};

/// The file.
pub const HEAD_FILE: &str = "book.head";
/// How each of its lines begins.
const WORDS: &str = "axlewright head 1";
/// Digits of the check at the end of a line.
const CHECK: usize = 16;
/// More than this is not read.
const BYTES_MAX: u64 = 4096;

/// An entry by number and hash; `(0, NOTHING)` for a log that holds none yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    pub seq: u64,
    pub hash: Sha,
}

/// What stands in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Noted {
    /// There is none: a book from before there was one, or `book.sqlite` copied alone.
    Nothing,
    /// This; `whole` where both of its lines are.
    Head { head: Head, whole: bool },
    /// Nothing that can be read.
    Damaged { what: String },
}

/// What was acknowledged and is not here.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Loss {
    /// The log's end is gone.
    #[error(
        "entry {acknowledged} was acknowledged, and {}",
        match here { 0 => "none is here".to_owned(), here => format!("{here} are here") }
    )]
    End {
        /// The last that was acknowledged.
        acknowledged: u64,
        /// The last that is here.
        here: u64,
    },
    /// Another entry stands in the place of one that was acknowledged.
    #[error("entry {seq} is not the one that was acknowledged under this number")]
    Another {
        /// Its number.
        seq: u64,
    },
    /// Whether anything is gone from the end cannot be said.
    #[error(
        "`{HEAD_FILE}` is damaged ({what}): whether entries are missing at the end cannot be told"
    )]
    Unknown {
        /// What is wrong with the file.
        what: String,
    },
}

impl Head {
    /// What the file of a log without entries says.
    pub const NONE: Self = Self { seq: 0, hash: Sha::NOTHING };

    /// Writes the file of a book that is just being made.
    pub fn write(self, folder: &Path) -> Result<(), StoreError> {
        files::write_whole(&folder.join(HEAD_FILE), self.text().as_bytes(), folder)
    }

    fn line(self) -> String {
        let said = format!("{WORDS} {:020} {}", self.seq, self.hash);
        let check = Sha::of(said.as_bytes()).to_string();
        format!("{said} {}\n", &check[..CHECK])
    }

    /// Twice the same, so that one line damaged leaves the other.
    fn text(self) -> String {
        self.line().repeat(2)
    }

    fn read(line: &str) -> Option<Self> {
        let (said, check) = line.rsplit_once(' ')?;
        let sum = Sha::of(said.as_bytes()).to_string();
        let (seq, hash) = said.strip_prefix(WORDS)?.strip_prefix(' ')?.split_once(' ')?;
        let head = Self { seq: seq.parse().ok()?, hash: Sha::from_hex(hash)? };
        // Exactly as it is written, so that not even a blank may differ.
        (check == &sum[..CHECK] && head.line().trim_end() == line).then_some(head)
    }
}

/// Reads the file of a book's folder.
pub fn read(folder: &Path) -> Noted {
    let bytes = match files::read_at_most(&folder.join(HEAD_FILE), BYTES_MAX) {
        Ok(bytes) => bytes,
        Err(why) if why.kind() == io::ErrorKind::NotFound => return Noted::Nothing,
        Err(why) => return Noted::Damaged { what: why.kind().to_string() },
    };
    // By place, so that a line break that is damaged leaves the other line.
    let length = Head::NONE.line().len();
    let line = |bytes: &[u8]| Head::read(std::str::from_utf8(bytes).ok()?.strip_suffix('\n')?);
    let lines: Vec<Option<Head>> = bytes.chunks(length).map(line).collect();
    // Written over in one go: if only one line got so far, the later one holds.
    match lines.iter().flatten().max_by_key(|head| head.seq) {
        Some(head) => Noted::Head { head: *head, whole: lines == [Some(*head); 2] },
        None => Noted::Damaged { what: "neither of its two lines is whole".to_owned() },
    }
}

/// The file of a book that is open for writing.
#[derive(Debug)]
pub struct HeadFile {
    path: PathBuf,
    file: File,
    written: Head,
    /// Whether the disk has what was written last.
    lasts: bool,
}

impl HeadFile {
    /// Opens it, or makes it; it says `now` afterwards.
    pub fn open(folder: &Path, now: Head) -> Result<Self, StoreError> {
        let path = folder.join(HEAD_FILE);
        let refused = |why| StoreError::system("write", &path, why);
        let there = matches!(read(folder), Noted::Head { head, whole: true } if head == now);
        let open = || files::open_plain(&path, std::fs::OpenOptions::new().read(true).write(true));
        let mut made = false;
        let file = match open() {
            Ok(file) => file,
            Err(why) if why.kind() == io::ErrorKind::NotFound => {
                now.write(folder)?;
                made = true;
                open().map_err(refused)?
            }
            Err(why) => return Err(refused(why)),
        };
        let mut head = Self { path: path.clone(), file, written: now, lasts: there || made };
        if !head.lasts {
            head.put(now).map_err(refused)?;
        }
        Ok(head)
    }

    fn put(&mut self, head: Head) -> io::Result<()> {
        self.lasts = false;
        let text = head.text();
        write_at_start(&mut self.file, text.as_bytes())?;
        self.written = head;
        // Only a damaged file is longer.
        if self.file.metadata()?.len() != text.len() as u64 {
            self.file.set_len(text.len() as u64)?;
        }
        Ok(())
    }

    /// Says what is acknowledged now. The entry itself is on the disk already: a file that lags
    /// behind loses nothing, so the entry stays acknowledged, and the next write tries again.
    pub fn say(&mut self, head: Head) {
        let _ = self.put(head);
    }

    /// Makes it last.
    pub fn settle(&mut self, head: Head) -> Result<(), StoreError> {
        let done = |file: &mut Self| {
            // Taken away by somebody while the book was open.
            if fs::symlink_metadata(&file.path).is_err() {
                file.file = files::open_or_make(&file.path)?;
                file.put(head)?;
            }
            if file.written != head {
                file.put(head)?;
            }
            if !file.lasts {
                file.file.sync_all()?;
                file.lasts = true;
            }
            Ok(())
        };
        done(self).map_err(|why| StoreError::system("write", &self.path, why))
    }
}

/// In one call where the system has one.
#[cfg(unix)]
fn write_at_start(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    std::os::unix::fs::FileExt::write_all_at(file, bytes, 0)
}

#[cfg(not(unix))]
fn write_at_start(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    use std::io::{Seek, Write};
    file.rewind()?;
    file.write_all(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn head(seq: u64) -> Head {
        Head { seq, hash: Sha::of(&seq.to_le_bytes()) }
    }

    #[test]
    fn what_is_written_is_read_and_every_flipped_bit_leaves_it_or_shows() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(HEAD_FILE);
        assert_eq!(read(folder.path()), Noted::Nothing);
        let mut file = HeadFile::open(folder.path(), head(7)).unwrap();
        assert_eq!(read(folder.path()), Noted::Head { head: head(7), whole: true });
        file.say(head(8));
        assert_eq!(read(folder.path()), Noted::Head { head: head(8), whole: true });
        let good = std::fs::read(&path).unwrap();
        for at in 0..good.len() {
            for bit in 0..8 {
                let mut bytes = good.clone();
                bytes[at] ^= 1 << bit;
                std::fs::write(&path, &bytes).unwrap();
                let found = read(folder.path());
                assert_eq!(found, Noted::Head { head: head(8), whole: false }, "{at}, {bit}");
            }
        }
        for bad in [&b""[..], b"\n\n", &good[..40], &[0; 240]] {
            std::fs::write(&path, bad).unwrap();
            assert!(matches!(read(folder.path()), Noted::Damaged { .. }), "{bad:?}");
        }
        // Opening makes it whole again.
        std::fs::write(&path, [0; 999]).unwrap();
        HeadFile::open(folder.path(), head(9)).unwrap();
        assert_eq!(read(folder.path()), Noted::Head { head: head(9), whole: true });
    }
}
