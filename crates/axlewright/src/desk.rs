//! Actions shared by every face of the program: read a car file from disk, say what follows
//! from it, write a sheet, start a folder for a new car, open a file for a person to look at.
//!
//! Rules for what is written: nothing foreign is ever overwritten. A sheet replaces only a file
//! that says in its last line that this program wrote it; a car file is never replaced at all.
//! Everything is written under another name first and renamed, so that a full disk leaves either
//! the old file or the new one. What is new is for its owner alone; a sheet that takes the place of
//! another lets in whom that one let in.

pub mod bench;
pub mod book;
pub mod clock;
mod demo;
mod dossier;
mod order;
pub mod photograph;
pub mod say;

use std::ffi::OsStr;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use axlewright_setup::{self as setup, Assessment, cautions};
use axlewright_sheets as sheets;

use axlewright_book::{CarFile, Problem, ProblemKind, Severity, starter};
use axlewright_store::StoreError;

pub use demo::{Demo, DemoBook, demo_book, write_demo};
pub use dossier::{dossier_html, dossier_path};
pub use order::{Ask, Asked, BENCH, OrderCall};

/// The largest car file that is read, in bytes. One written by hand has a few tens of thousands.
pub const CAR_FILE_BYTES_MAX: u64 = 4 * 1024 * 1024;

/// The car file of the invented demo car.
pub const DEMO_CAR: &str = include_str!("../../../examples/larch-1300/car.toml");

/// The name of the car file in a folder of its own.
pub const CAR_FILE_NAME: &str = "car.toml";

/// What the last line of a written sheet says, so that it may be replaced.
const OWN_MARK: &str = "<!-- written by axlewright; a new sheet replaces this file -->";

/// How much of a file's end is searched for [`OWN_MARK`], in bytes.
const OWN_MARK_WITHIN: u64 = 256;

/// One thing wrong with the input, wherever it was noticed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// False for a warning, which does not stop anything.
    pub is_error: bool,
    /// Line in the car file, counted from 1; `None` where it belongs to no single line.
    pub line: Option<u32>,
    /// Column in that line, in characters, counted from 1.
    pub column: Option<u32>,
    /// Where it is, in bytes of the text.
    pub span: Option<std::ops::Range<usize>>,
    /// What is wrong: one sentence, lower case, no full stop.
    pub what: String,
    /// What would be right, if that can be said.
    pub right: Option<String>,
}

/// What went wrong with a file or a folder.
#[derive(Debug)]
pub enum DeskError {
    /// It is not there.
    Missing(PathBuf),
    /// It is a folder, and neither a book nor one with a car file in it.
    Folder(PathBuf),
    /// It is larger than [`CAR_FILE_BYTES_MAX`].
    TooBig(PathBuf),
    /// It is not text in UTF-8.
    NotUtf8 {
        /// The file.
        path: PathBuf,
        /// The line with the first byte that is wrong.
        line: usize,
        /// True when it looks like UTF-16 instead.
        utf16: bool,
    },
    /// It is there and was not made by this program.
    Foreign(PathBuf),
    /// A table of that name is there, in a folder that may be another one.
    TableThere(PathBuf),
    /// The demo car's file is there, changed by somebody.
    ChangedDemo(PathBuf),
    /// The system refused to read it.
    Read(PathBuf, io::Error),
    /// The system refused to write it.
    Write(PathBuf, io::Error),
    /// A file that is no car file is not there.
    NoFile(PathBuf),
    /// A book.
    Book(StoreError),
}

impl From<StoreError> for DeskError {
    fn from(why: StoreError) -> Self {
        Self::Book(why)
    }
}

impl std::fmt::Display for DeskError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Missing(path) | Self::NoFile(path) => {
                write!(f, "there is no file `{}`", path.display())
            }
            Self::Book(why) => write!(f, "{why}"),
            Self::Folder(path) => {
                write!(f, "`{}` is a folder without {CAR_FILE_NAME}", path.display())
            }
            Self::TooBig(path) => {
                let limit = CAR_FILE_BYTES_MAX / (1024 * 1024);
                write!(f, "`{}` is larger than {limit} MiB; no car file is", path.display())
            }
            Self::NotUtf8 { path, line, utf16: false } => {
                write!(f, "`{}` is not UTF-8 text, first at line {line}", path.display())
            }
            Self::NotUtf8 { path, utf16: true, .. } => {
                write!(f, "`{}` is UTF-16 text, not UTF-8", path.display())
            }
            Self::Foreign(path) | Self::TableThere(path) => {
                write!(f, "`{}` is there already and is left alone", path.display())
            }
            Self::ChangedDemo(path) => {
                write!(f, "`{}` is no longer the demo car and is left alone", path.display())
            }
            Self::Read(path, why) => {
                write!(f, "cannot read `{}`: {}", path.display(), in_words(why))
            }
            Self::Write(path, why) => {
                write!(f, "cannot write `{}`: {}", path.display(), in_words(why))
            }
        }
    }
}

impl std::error::Error for DeskError {}

impl DeskError {
    /// What would be right.
    pub fn hint(&self) -> String {
        match self {
            Self::Missing(_) => {
                "check the name, or start a car file with `axlewright new FOLDER`".into()
            }
            Self::Folder(_) => {
                "name the car file itself, the folder it lies in, or a book's folder".into()
            }
            Self::TooBig(_) => {
                "name the car file itself; pictures and scans do not go in it".into()
            }
            Self::NoFile(_) => "check the name".into(),
            Self::Book(why) => why.hint().to_string(),
            Self::NotUtf8 { .. } => "save it as UTF-8 in the editor it was written with".into(),
            Self::Foreign(_) => {
                "choose another name, or move that file away if it is not needed".into()
            }
            Self::TableThere(_) => {
                "give the tables another folder with `--out`, or move that file away if it is not \
                 needed"
                    .into()
            }
            Self::ChangedDemo(path) => format!(
                "make its sheet with `axlewright sheet {}`, or give the demo another folder with \
                 `--out`",
                path.display()
            ),
            Self::Read(_, why) if why.kind() == io::ErrorKind::PermissionDenied => {
                "ask for the right to read it, or copy it to a folder of your own".into()
            }
            Self::Read(..) => "check that the disk or the stick is still there".into(),
            Self::Write(_, why) => match why.kind() {
                io::ErrorKind::NotFound => "make the folder first, or choose another".into(),
                io::ErrorKind::StorageFull => "make room on the disk, or choose another".into(),
                _ => "choose a folder in which you may write, with `--out`".into(),
            },
        }
    }
}

/// The system's own message without its number, which helps nobody in a garage.
fn in_words(why: &io::Error) -> String {
    let text = why.to_string();
    let plain = text.split(" (os error").next().unwrap_or(&text).to_owned();
    plain
        .chars()
        .next()
        .map_or(plain.clone(), |first| first.to_lowercase().chain(plain.chars().skip(1)).collect())
}

/// What follows from a car, and all that is wrong with it.
pub fn assess(car: &CarFile, problems: &[Problem]) -> (Assessment, Vec<Fault>) {
    let assessment = setup::assess(car);
    let mut faults: Vec<Fault> = problems.iter().map(Fault::from).collect();
    faults.extend(assessment.problems.iter().map(|what| Fault::of_the_whole(what)));
    (assessment, faults)
}

impl From<&Problem> for Fault {
    fn from(problem: &Problem) -> Self {
        let right = Some(problem.right.clone()).filter(|right| !right.is_empty());
        let of_the_log = matches!(
            problem.kind,
            ProblemKind::EntryNotCounted { .. } | ProblemKind::EntryOfNothing { .. }
        );
        if of_the_log {
            let is_error = problem.severity == Severity::Error;
            return Self { is_error, right, ..Self::of_the_whole(&problem.what) };
        }
        Self {
            is_error: problem.severity == Severity::Error,
            line: Some(problem.line),
            column: Some(problem.column),
            span: Some(problem.span.clone()),
            what: problem.what.clone(),
            right,
        }
    }
}

impl Fault {
    /// Something wrong that belongs to no single line.
    pub fn of_the_whole(what: &str) -> Self {
        let what = what.to_owned();
        Self { is_error: true, line: None, column: None, span: None, what, right: None }
    }
}

/// Reads the text of a car file; a byte order mark, as some editors write it, is taken off.
///
/// # Errors
/// Missing, a folder, too big, not UTF-8, or refused by the system.
pub fn read_car_file(path: &Path) -> Result<String, DeskError> {
    let refused = |why: io::Error| match why.kind() {
        io::ErrorKind::NotFound => DeskError::Missing(path.to_owned()),
        _ => DeskError::Read(path.to_owned(), why),
    };
    if fs::metadata(path).map_err(refused)?.is_dir() {
        return Err(DeskError::Folder(path.to_owned()));
    }
    let file = File::open(path).map_err(refused)?;
    let mut bytes = Vec::new();
    // One byte over the limit is enough to know; a file's stated size may be wrong (pipes).
    file.take(CAR_FILE_BYTES_MAX + 1).read_to_end(&mut bytes).map_err(refused)?;
    if CAR_FILE_BYTES_MAX < bytes.len() as u64 {
        return Err(DeskError::TooBig(path.to_owned()));
    }
    let utf16 = bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]);
    let text = String::from_utf8(bytes).map_err(|broken| {
        let good = broken.utf8_error().valid_up_to();
        let before = broken.as_bytes().iter().take(good);
        let line = 1 + before.filter(|byte| **byte == b'\n').count();
        DeskError::NotUtf8 { path: path.to_owned(), line, utf16 }
    })?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}

/// Where the sheet of a car goes if nobody says otherwise: beside its file, or in its folder.
pub fn sheet_path(car: &Path) -> PathBuf {
    if car.is_dir() {
        return sheet_path(&car.join(CAR_FILE_NAME));
    }
    let stem = car.file_stem().unwrap_or(car.as_os_str()).to_string_lossy().into_owned();
    car.with_file_name(format!("{stem}-sheet.html"))
}

/// The build sheet as one self-contained page.
pub fn sheet_html(assessment: &Assessment) -> String {
    own(sheets::build_sheet(assessment))
}

/// What a kept page may do when it is opened from a disk: show its own drawings and pictures in its
/// own style, and nothing else.
const KEPT_POLICY: &str = "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src \
    'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'\">";

/// A page with the mark by which it is known as ours, so that it may be replaced.
pub fn own(html: String) -> String {
    let mut html = html.replacen("<head>", &format!("<head>{KEPT_POLICY}"), 1);
    if !html.ends_with('\n') {
        html.push('\n');
    }
    html.push_str(OWN_MARK);
    html.push('\n');
    html
}

/// Writes a manual page, in place of none but such a page; its folder is made if need be.
///
/// # Errors
/// As [`write_sheet`].
pub fn write_manual(roff: &str, path: &Path) -> Result<(), DeskError> {
    if let Some(folder) = path.parent() {
        make_folder(folder)?;
    }
    // A comment there: nobody sees it on the page.
    write_sheet(&format!("{}\n.\\\" {OWN_MARK}\n", roff.trim_end()), path)
}

/// Writes a page made by [`sheet_html`] or [`dossier_html`], in place of none but such a page.
///
/// # Errors
/// [`DeskError::Foreign`] when something else stands there; otherwise what the system says.
pub fn write_sheet(html: &str, path: &Path) -> Result<(), DeskError> {
    may_replace(path)?;
    write_whole(path, html.as_bytes(), Replace::Yes)
}

/// Whether a page may be written there.
fn may_replace(path: &Path) -> Result<(), DeskError> {
    match fs::symlink_metadata(path) {
        Err(_) => Ok(()),
        Ok(found) if found.is_dir() => {
            let why = io::Error::new(io::ErrorKind::IsADirectory, "it is a folder");
            Err(DeskError::Write(path.to_owned(), why))
        }
        Ok(_) if is_own(path) => Ok(()),
        Ok(_) => Err(DeskError::Foreign(path.to_owned())),
    }
}

/// Writes a file that must not be there yet.
///
/// # Errors
/// [`DeskError::Foreign`] when something stands there; otherwise what the system says.
pub fn write_new(text: &str, path: &Path) -> Result<(), DeskError> {
    write_whole(path, text.as_bytes(), Replace::No)
}

/// Makes a folder for a new car with the commented starter file in it; returns the file's path.
///
/// # Errors
/// [`DeskError::Foreign`] when it holds a car file already; otherwise what the system says.
pub fn start_car(folder: &Path) -> Result<PathBuf, DeskError> {
    let beware = [cautions::WORK, cautions::ON_STANDS, cautions::MEASURING];
    start_car_with(folder, &starter(&beware.map(|caution| caution.words())))
}

/// The same with a text of its own.
///
/// # Errors
/// As [`start_car`].
pub fn start_car_with(folder: &Path, text: &str) -> Result<PathBuf, DeskError> {
    let path = folder.join(CAR_FILE_NAME);
    if fs::symlink_metadata(&path).is_ok() {
        return Err(DeskError::Foreign(path));
    }
    make_folder(folder)?;
    write_new(text, &path)?;
    Ok(path)
}

fn make_folder(folder: &Path) -> Result<(), DeskError> {
    let mut maker = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut maker, 0o700);
    let made = maker.recursive(true).create(folder);
    made.map_err(|why| DeskError::Write(folder.to_owned(), why))
}

/// True when the file's end says that this program wrote it.
fn is_own(path: &Path) -> bool {
    let read_tail = || -> io::Result<Vec<u8>> {
        use std::io::{Seek, SeekFrom};
        let mut file = File::open(path)?;
        let length = file.metadata()?.len();
        file.seek(SeekFrom::Start(length.saturating_sub(OWN_MARK_WITHIN)))?;
        let mut tail = Vec::new();
        file.take(OWN_MARK_WITHIN).read_to_end(&mut tail)?;
        Ok(tail)
    };
    let is_file = fs::symlink_metadata(path).is_ok_and(|found| found.is_file());
    is_file && read_tail().is_ok_and(|tail| String::from_utf8_lossy(&tail).contains(OWN_MARK))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Replace {
    Yes,
    No,
}

/// Writes under a name of its own first, so that nobody ever sees half a file.
fn write_whole(path: &Path, bytes: &[u8], replace: Replace) -> Result<(), DeskError> {
    write_by(path, replace, |file| {
        file.write_all(bytes).map_err(|why| DeskError::Write(path.to_owned(), why))
    })
}

/// Writes a file that must not be there yet, piece by piece.
fn write_streamed<T>(
    path: &Path,
    fill: impl FnOnce(&mut dyn Write) -> Result<T, DeskError>,
) -> Result<T, DeskError> {
    if fs::symlink_metadata(path).is_ok() {
        return Err(DeskError::Foreign(path.to_owned()));
    }
    write_by(path, Replace::No, |file| {
        let mut out = io::BufWriter::new(file);
        let filled = fill(&mut out)?;
        out.flush().map_err(|why| DeskError::Write(path.to_owned(), why))?;
        Ok(filled)
    })
}

fn write_by<T>(
    path: &Path,
    replace: Replace,
    fill: impl FnOnce(&mut File) -> Result<T, DeskError>,
) -> Result<T, DeskError> {
    let refused = |why: io::Error| match why.kind() {
        io::ErrorKind::AlreadyExists => DeskError::Foreign(path.to_owned()),
        _ => DeskError::Write(path.to_owned(), why),
    };
    let Some(name) = path.file_name() else {
        let why = io::Error::new(io::ErrorKind::InvalidInput, "it names no file");
        return Err(DeskError::Write(path.to_owned(), why));
    };
    sweep(path, name);
    let draft_name = format!("{}{}{PART}", before_the_number(name), std::process::id());
    let draft = path.with_file_name(draft_name);
    let written = open_own(&draft).map_err(refused).and_then(|mut file| {
        // Held for as long as it is filled; where no lock can be had, it is only not swept up.
        let _ = file.try_lock();
        let filled = fill(&mut file)?;
        file.sync_all().map_err(refused)?;
        put_in_place(&draft, path, replace).map_err(refused)?;
        Ok(filled)
    });
    // Gone already after a rename; left over after a link or a failure.
    let _ = fs::remove_file(&draft);
    written
}

/// How the name of a file ends that is not yet what it is to become.
const PART: &str = ".part";

fn before_the_number(name: &OsStr) -> String {
    format!(".{}.", name.to_string_lossy())
}

/// Makes a file that nobody but the owner reads: it may hold a whole book.
fn open_own(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

/// Removes what killed programs left of the same file: its name with a number, and unlocked.
fn sweep(path: &Path, name: &OsStr) {
    let begins = before_the_number(name);
    let is_left = |entry: &fs::DirEntry| {
        let name = entry.file_name().to_string_lossy().into_owned();
        let number = name.strip_prefix(&begins).and_then(|rest| rest.strip_suffix(PART));
        let is_number = number.is_some_and(|number| number.parse::<u32>().is_ok());
        is_number && entry.file_type().is_ok_and(|kind| kind.is_file())
    };
    let folder = path.parent().filter(|folder| *folder != Path::new(""));
    let entries = fs::read_dir(folder.unwrap_or(Path::new("."))).into_iter().flatten().flatten();
    for entry in entries.filter(is_left) {
        let unlocked = File::open(entry.path()).and_then(|file| Ok(file.try_lock_shared()?));
        if unlocked.is_ok() {
            // Left over again if it cannot be removed.
            let _ = fs::remove_file(entry.path());
        }
    }
}

fn put_in_place(draft: &Path, path: &Path, replace: Replace) -> io::Result<()> {
    match replace {
        Replace::Yes => {
            // Whoever was let in to read the old one reads the new one.
            if let Ok(old) = fs::metadata(path) {
                fs::set_permissions(draft, old.permissions())?;
            }
            fs::rename(draft, path)
        }
        // A hard link fails if the name is taken meanwhile; renaming would not.
        Replace::No => fs::hard_link(draft, path).or_else(|why| match why.kind() {
            io::ErrorKind::AlreadyExists => Err(why),
            // Sticks formatted without hard links: the small race is the lesser evil.
            _ if fs::symlink_metadata(path).is_err() => fs::rename(draft, path),
            _ => Err(io::ErrorKind::AlreadyExists.into()),
        }),
    }
}

/// True when a desktop is there to open a file on.
pub fn has_desktop() -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    cfg!(any(target_os = "macos", windows)) || set("DISPLAY") || set("WAYLAND_DISPLAY")
}

/// Asks the desktop to open a file; true when it took the request. Not waited for.
pub fn open_on_desktop(path: &Path) -> bool {
    let mut opener = if cfg!(target_os = "macos") {
        Command::new("open")
    } else if cfg!(windows) {
        Command::new("explorer")
    } else {
        Command::new("xdg-open")
    };
    let quiet = opener.arg(path).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    quiet.spawn().is_ok()
}
