//! One car opened for work: a car file, or a book with everything that was done.
//!
//! A [`Bench`] is what the command line and the page stand at. [`Bench::look`] gives a [`View`]:
//! the car as it was at one entry of the log, with what follows from it. A view never changes and
//! costs nothing to take; a figure in it is computed when somebody first asks, or by whoever wrote
//! the entry that changed it, never while another waits for a view.
//!
//! ```text
//!   write ─→ check ─→ log on disk ─→ fold ─→ new view, figures of before ─→ told to everybody
//!                                              └─ figures anew, if the entry touches them ─→ told
//! ```

mod refused;
#[cfg(test)]
mod tests;
mod view;

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use axlewright_book::log::{Body, Entry, Photo, Sha, State, check, fold};
use axlewright_store::{Draft, Holder, PhotoFile, Prepared, Store, StoreError, is_book};
use tokio::sync::broadcast;

use super::{CAR_FILE_NAME, DeskError, clock, read_car_file};
use view::{Touches, touches};

pub use refused::Refused;
pub use view::View;

/// One car, opened. Shared between threads behind an [`Arc`].
#[derive(Debug)]
pub struct Bench {
    path: PathBuf,
    now: RwLock<Arc<View>>,
    told: broadcast::Sender<u64>,
    /// The book, for whoever opened it for writing. Whoever holds it is the only one to move the
    /// log on.
    pen: Option<Mutex<Store>>,
    /// The book again, so that looking at a photo does not wait for the pen.
    album: Option<Mutex<Store>>,
    /// Held while new figures are computed, so that they are computed once.
    figuring: Mutex<()>,
}

/// An entry that was written; it is on the disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    /// Its number in the log.
    pub seq: u64,
}

/// What a photo shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PhotoOf {
    /// A mark, part, step or joint by its id, or free words.
    pub of: String,
    /// `before` or `after`, for a pair.
    pub when: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// Changes that may be told before somebody slow has heard the first; who has missed some looks
/// again.
const TOLD_AHEAD: usize = 256;

/// A lock whose holder panicked guards values that are only ever put in whole.
fn locked<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Bench {
    /// Opens a car to look at: its file, the folder with its file in it, or a book. Nobody is kept
    /// from writing to the book meanwhile, and what is written then is not seen.
    ///
    /// # Errors
    /// Only for the file or book as such; what is wrong *in* it is in [`View::faults`].
    pub fn open(path: &Path) -> Result<Self, DeskError> {
        if is_book(path) {
            return Self::open_book(path);
        }
        let inside = path.join(CAR_FILE_NAME);
        let file = if inside.is_file() { inside } else { path.to_owned() };
        let text = read_car_file(&file)?;
        let (at, by) = (String::new(), String::new());
        let state = fold([Entry { seq: 1, at, by, body: Body::CarFile { text } }]);
        Ok(Self::with(path, View::new(file.display().to_string(), 0, state), None, None))
    }

    /// Opens a book to look at, as [`Self::open`] does.
    ///
    /// # Errors
    /// No book, a newer or damaged one, or what the system says.
    pub fn open_book(book: &Path) -> Result<Self, DeskError> {
        let album = Store::read_only(book)?;
        let view = view_of(book, &album)?;
        Ok(Self::with(book, view, None, Some(album)))
    }

    /// Opens a book to write in. One process at a time may; another one is told which.
    ///
    /// # Errors
    /// No book, one that is open elsewhere, a damaged one, or what the system says.
    pub fn own(book: &Path, by: &str) -> Result<Self, DeskError> {
        let pen = Store::open(book, &holder(by))?;
        let view = view_of(book, &pen)?;
        Ok(Self::with(book, view, Some(pen), Some(Store::read_only(book)?)))
    }

    /// Makes a new book and opens it to write in.
    ///
    /// # Errors
    /// A book that is there already, or what the system says.
    pub fn begin(book: &Path, by: &str) -> Result<Self, DeskError> {
        let pen = Store::create(book, &holder(by))?;
        let view = view_of(book, &pen)?;
        Ok(Self::with(book, view, Some(pen), Some(Store::read_only(book)?)))
    }

    fn with(path: &Path, view: View, pen: Option<Store>, album: Option<Store>) -> Self {
        let (told, _) = broadcast::channel(TOLD_AHEAD);
        Self {
            path: path.to_owned(),
            now: RwLock::new(Arc::new(view)),
            told,
            pen: pen.map(Mutex::new),
            album: album.map(Mutex::new),
            figuring: Mutex::new(()),
        }
    }

    /// What was opened, as it was named.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether it is a book.
    pub const fn is_book(&self) -> bool {
        self.album.is_some()
    }

    /// Whether it is a book that was opened for writing.
    pub const fn may_write(&self) -> bool {
        self.pen.is_some()
    }

    /// The car as it is now.
    pub fn look(&self) -> Arc<View> {
        self.now.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Writes an entry. When this comes back it is on the disk, and the next look shows it and
    /// what follows from it.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn write(&self, by: &str, body: Body) -> Result<Written, Refused> {
        let seqs = self.write_all(by, vec![body])?;
        // One body was given, so one entry was written.
        Ok(Written { seq: seqs.last().copied().unwrap_or_default() })
    }

    /// Writes several entries, all of them or none, and gives their numbers.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn write_all(&self, by: &str, bodies: Vec<Body>) -> Result<Vec<u64>, Refused> {
        let at = clock::now();
        let draft = |body| Draft { at: at.clone(), by: by.to_owned(), body };
        self.write_drafts(&bodies.into_iter().map(draft).collect::<Vec<Draft>>())
    }

    /// Writes entries whose moment and hand are said, all of them or none.
    pub(super) fn write_drafts(&self, drafts: &[Draft]) -> Result<Vec<u64>, Refused> {
        let mut pen = self.pen()?;
        let before = self.look();
        let mut state = before.state().clone();
        let mut touched = Touches::Nothing;
        for Draft { at, by, body } in drafts {
            check(&state, body).map_err(Refused::Body)?;
            touched = touched.max(touches(body, &state));
            let (at, by, seq) = (at.clone(), by.clone(), state.last_seq() + 1);
            state.after(Entry { seq, at, by, body: body.clone() });
        }
        let written = pen.append(drafts)?;
        let seqs: Vec<u64> = written.iter().map(|entry| entry.seq).collect();
        if written.last().is_some_and(|last| last.seq != state.last_seq()) {
            // The store counts otherwise than we do: believe what is on the disk.
            state = state_of(&pen)?;
        }
        let seq = state.last_seq();
        // The log is moved on only here, pen in hand; the figures may have been made anew since.
        self.show(|now| now.after(name_of(&self.path, &state), state, touched));
        // Others may write while the figures are computed.
        drop(pen);
        self.tell(seq);
        self.refigure();
        Ok(seqs)
    }

    /// Takes a photo into the book and writes its entry.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn photo(&self, by: &str, bytes: &[u8], of: PhotoOf) -> Result<Written, Refused> {
        let body = self.put_photo(bytes, of)?;
        self.write(by, body)
    }

    /// Takes a photo in and gives the entry that is to name it.
    pub(super) fn put_photo(&self, bytes: &[u8], of: PhotoOf) -> Result<Body, Refused> {
        // Decoding is the slow part and is done before anybody has to wait.
        let prepared = Prepared::of(bytes).map_err(StoreError::Photo)?;
        let said = prepared.file().entry(of.of.trim());
        let body = Body::Photo(Photo { when: of.when, note: of.note, ..said });
        check(self.look().state(), &body).map_err(Refused::Body)?;
        self.pen()?.put_photo(&prepared)?;
        Ok(body)
    }

    /// Strikes an entry out: it stays in the log and counts no more. Striking the strike brings
    /// it back.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn strike(&self, by: &str, seq: u64, why: &str) -> Result<Written, Refused> {
        self.write(by, Body::Strike { seq, why: why.to_owned() })
    }

    /// The bytes of a photo that an entry names, compared with its hash.
    ///
    /// # Errors
    /// Not there, altered, or what the system says.
    pub fn photo_bytes(&self, photo: &Photo) -> Result<Vec<u8>, Refused> {
        let file = PhotoFile::from_entry(photo).map_err(StoreError::Photo)?;
        Ok(locked(self.album()?).photo(&file)?)
    }

    /// A small JPEG of a photo that an entry names.
    ///
    /// # Errors
    /// As [`Self::photo_bytes`].
    pub fn thumb(&self, photo: &Photo) -> Result<Vec<u8>, Refused> {
        let file = PhotoFile::from_entry(photo).map_err(StoreError::Photo)?;
        Ok(locked(self.album()?).thumb(&file)?)
    }

    /// The hash of an entry's line, which seals the log up to it; nothing for a bare car file.
    ///
    /// # Errors
    /// A damaged book, or what the system says.
    pub fn hash(&self, seq: u64) -> Result<Option<Sha>, Refused> {
        match &self.album {
            Some(album) => Ok(locked(album).hash(seq)?),
            None => Ok(None),
        }
    }

    /// Tells of every change from now on: the number of the last entry. Told once for an entry,
    /// and once more where figures follow from it, after they are there.
    pub fn subscribe(&self) -> broadcast::Receiver<u64> {
        self.told.subscribe()
    }

    fn pen(&self) -> Result<MutexGuard<'_, Store>, Refused> {
        match (&self.pen, self.is_book()) {
            (Some(pen), _) => Ok(locked(pen)),
            (None, true) => Err(StoreError::Reader { path: self.path.clone() }.into()),
            (None, false) => Err(Refused::NotABook(self.path.clone())),
        }
    }

    fn album(&self) -> Result<&Mutex<Store>, Refused> {
        self.album.as_ref().ok_or_else(|| Refused::NotABook(self.path.clone()))
    }

    /// Figures for the newest view, unless somebody has made them meanwhile.
    fn refigure(&self) {
        if self.look().is_fresh() {
            return;
        }
        let _one = locked(&self.figuring);
        let view = self.look();
        if !view.is_fresh() {
            let figured = view.refigured();
            self.show(|now| now.with_figures_of(&figured));
            self.tell(view.seq());
        }
    }

    /// Puts the next view in place of the present one.
    fn show(&self, next: impl FnOnce(&View) -> View) {
        let mut now = self.now.write().unwrap_or_else(PoisonError::into_inner);
        *now = Arc::new(next(&now));
    }

    fn tell(&self, seq: u64) {
        // Nobody may be listening.
        let _ = self.told.send(seq);
    }
}

fn holder(by: &str) -> Holder {
    Holder { by: by.to_owned(), since: clock::now() }
}

fn state_of(store: &Store) -> Result<State, StoreError> {
    let mut stopped = None;
    let state = fold(store.entries().map_while(|entry| match entry {
        Ok(entry) => Some(entry),
        Err(why) => {
            stopped = Some(why);
            None
        }
    }));
    stopped.map_or(Ok(state), Err)
}

fn view_of(path: &Path, store: &Store) -> Result<View, StoreError> {
    let state = state_of(store)?;
    Ok(View::new(name_of(path, &state), state.last_seq(), state))
}

/// `larch, car file of entry 12`.
fn name_of(path: &Path, state: &State) -> String {
    match state.facts().car_files.last() {
        Some(seq) => format!("{}, car file of entry {seq}", path.display()),
        None => format!("{}, which holds no car file", path.display()),
    }
}
