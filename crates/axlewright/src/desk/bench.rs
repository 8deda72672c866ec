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

use axlewright_book::log::{
    Body, Entry, Photo, Refusal, Sha, State, check, completed, fold, is_moment,
};
use axlewright_setup::record::Figured;
use axlewright_store::{Draft, Ground, Holder, PhotoFile, Prepared, Store, StoreError, is_book};
use tokio::sync::broadcast;

use super::{CAR_FILE_NAME, DEMO_CAR, DeskError, clock, read_car_file};
use view::{Touches, touches};

pub use refused::Refused;
pub use view::View;

/// One car, opened. Shared between threads behind an [`Arc`].
#[derive(Debug)]
pub struct Bench {
    path: PathBuf,
    now: RwLock<Arc<View>>,
    told: broadcast::Sender<u64>,
    /// The book again, so that looking at a photo does not wait for the pen. Before the pen, and so
    /// given up before it: whoever closes a book last is to be able to bring it to rest.
    album: Option<Mutex<Store>>,
    /// The book, for whoever opened it for writing. Whoever holds it is the only one to move the
    /// log on.
    pen: Option<Mutex<Store>>,
    /// Where the book was opened for writing.
    ground: Option<Ground>,
    /// Why the book is only looked at, or not all of it is seen.
    trouble: Option<StoreError>,
    /// Held while new figures are computed, so that they are computed once.
    figuring: Mutex<()>,
}

/// Who writes, and from which form: one that comes a second time is known again and not written a
/// second time, whatever happened in between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hand<'a> {
    /// The name that stands under the entry.
    pub by: &'a str,
    /// The form, by the hash of everything in it; nothing where there is none.
    pub once: Option<Sha>,
}

impl<'a> From<&'a str> for Hand<'a> {
    fn from(by: &'a str) -> Self {
        Self { by, once: None }
    }
}

impl<'a> From<&'a String> for Hand<'a> {
    fn from(by: &'a String) -> Self {
        by.as_str().into()
    }
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
        let mut bench = Self::look_at(book)?;
        bench.trouble.take().map_or(Ok(bench), |why| Err(why.into()))
    }

    /// Opens a book to look at what of it is whole: the entries up to the first that is not, or
    /// all of them where the end is missing. [`Self::trouble`] says so.
    ///
    /// # Errors
    /// No book, a newer one, one of which nothing can be read, or what the system says.
    pub fn look_at(book: &Path) -> Result<Self, DeskError> {
        let album = Store::read_only(book)?;
        let (state, damage) = state_up_to_damage(&album);
        let lost = album.loss().cloned();
        let lost = lost.map(|loss| StoreError::Lost { path: book.to_owned(), loss });
        let view = View::new(name_of(book, &state), state.last_seq(), state);
        let mut bench = Self::with(book, view, None, Some(album));
        bench.trouble = damage.or(lost);
        Ok(bench)
    }

    /// Opens a book to write in or, where that cannot be, to look at what of it is whole.
    ///
    /// # Errors
    /// One that somebody else has open, or that cannot even be looked at.
    pub fn own_or_look_at(book: &Path, by: &str) -> Result<Self, DeskError> {
        match Self::own(book, by) {
            Err(DeskError::Book(
                why @ (StoreError::ReadOnly { .. }
                | StoreError::Lost { .. }
                | StoreError::Line { .. }
                | StoreError::Corrupt { .. }),
            )) => {
                let mut bench = Self::look_at(book)?;
                bench.trouble.get_or_insert(why);
                Ok(bench)
            }
            opened => opened,
        }
    }

    /// Opens a book to write in. One process at a time may; another one is told which.
    ///
    /// # Errors
    /// No book, one that is open elsewhere, a damaged one, or what the system says.
    pub fn own(book: &Path, by: &str) -> Result<Self, DeskError> {
        Self::owned(book, Store::open(book, &holder(by))?)
    }

    /// Makes a new, empty book and opens it to write in.
    ///
    /// # Errors
    /// A book that is there already, or what the system says.
    pub fn begin(book: &Path, by: &str) -> Result<Self, DeskError> {
        Self::owned(book, Store::create(book, &holder(by))?)
    }

    /// Makes a new book with its first entries and opens it to write in. There is no moment at
    /// which there is a book without them.
    ///
    /// # Errors
    /// A book that is there already, an entry that makes no sense, or what the system says. Then
    /// there is no book.
    pub fn begin_with(book: &Path, by: &str, bodies: Vec<Body>) -> Result<Self, Refused> {
        let at = a_moment()?;
        is_a_name(by)?;
        let draft = |body| Draft { at: at.clone(), by: by.to_owned(), body };
        let drafts: Vec<Draft> = bodies.into_iter().map(draft).collect();
        checked(&mut State::default(), &drafts)?;
        let pen = Store::begin(book, &holder(by), &drafts)?;
        Ok(Self::owned(book, pen)?)
    }

    fn owned(book: &Path, pen: Store) -> Result<Self, DeskError> {
        let view = view_of(book, &pen)?;
        // An unreadable `book.head` is made anew on opening; that it was so is still to be said.
        let lost = pen.loss().cloned();
        let mut bench = Self::with(book, view, Some(pen), Some(Store::read_only(book)?));
        bench.trouble = lost.map(|loss| StoreError::Lost { path: book.to_owned(), loss });
        Ok(bench)
    }

    fn with(path: &Path, view: View, pen: Option<Store>, album: Option<Store>) -> Self {
        let (told, _) = broadcast::channel(TOLD_AHEAD);
        let ground = pen.as_ref().and_then(Store::ground).cloned();
        Self {
            path: path.to_owned(),
            now: RwLock::new(Arc::new(view)),
            told,
            album: album.map(Mutex::new),
            pen: pen.map(Mutex::new),
            ground,
            trouble: None,
            figuring: Mutex::new(()),
        }
    }

    /// Why the book is only looked at, or not all of it is seen.
    pub const fn trouble(&self) -> Option<&StoreError> {
        self.trouble.as_ref()
    }

    /// Whether the book that was opened for writing is still where it was.
    ///
    /// # Errors
    /// What is gone, or another one; nothing is written then.
    pub fn stands(&self) -> Result<(), StoreError> {
        self.ground.as_ref().map_or(Ok(()), Ground::stands)
    }

    /// What is wrong with this machine's clock, as far as the book tells: entries would bear a
    /// moment that cannot be.
    pub fn clock_trouble(&self) -> Option<String> {
        let view = self.look();
        let last = view.state().entries().last().map(|entry| entry.at.as_str());
        // The demo's story plays on days of its own.
        clock::trouble(last.filter(|_| self.may_write() && view.text() != DEMO_CAR))
    }

    /// Brings the book to rest: one file, everything acknowledged noted for good. For moments in
    /// which nobody writes.
    ///
    /// # Errors
    /// What the system says; nothing that was written is touched by it.
    pub fn settle(&self) -> Result<(), StoreError> {
        self.pen.as_ref().map_or(Ok(()), |pen| locked(pen).settle())
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
    pub fn write<'a>(&self, hand: impl Into<Hand<'a>>, body: Body) -> Result<Written, Refused> {
        let seqs = self.write_all(hand, vec![body])?;
        // One body was given, so one entry was written.
        Ok(Written { seq: seqs.last().copied().unwrap_or_default() })
    }

    /// Writes several entries, all of them or none, and gives their numbers.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn write_all<'a>(
        &self,
        hand: impl Into<Hand<'a>>,
        bodies: Vec<Body>,
    ) -> Result<Vec<u64>, Refused> {
        let (at, Hand { by, once }) = (a_moment()?, hand.into());
        is_a_name(by)?;
        let before = self.look();
        let draft = |body| {
            let body = completed(before.state(), body);
            Draft { at: at.clone(), by: by.to_owned(), body }
        };
        self.write_drafts(&bodies.into_iter().map(draft).collect::<Vec<Draft>>(), once)
    }

    /// The entries that a form has become; nothing where it has not been written, or where what it
    /// became was struck: then it is meant anew.
    ///
    /// # Errors
    /// A damaged book, or one that is only looked at.
    pub fn already(&self, once: Option<Sha>) -> Result<Option<Vec<u64>>, Refused> {
        let pen = self.pen()?;
        Ok(written_as(&pen, self.look().state(), once)?)
    }

    /// Writes entries whose moment and hand are said, all of them or none.
    pub(super) fn write_drafts(
        &self,
        drafts: &[Draft],
        once: Option<Sha>,
    ) -> Result<Vec<u64>, Refused> {
        let mut pen = self.pen()?;
        let before = self.look();
        if let Some(seqs) = written_as(&pen, before.state(), once)? {
            return Ok(seqs);
        }
        let mut state = before.state().clone();
        for Draft { body, .. } in drafts {
            before.bars(body).map_err(Refused::Body)?;
        }
        let touched = checked(&mut state, drafts)?;
        let written = pen.append_once(drafts, once)?;
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
    pub fn photo<'a>(
        &self,
        hand: impl Into<Hand<'a>>,
        bytes: &[u8],
        of: PhotoOf,
    ) -> Result<Written, Refused> {
        let hand = hand.into();
        if let Some(seq) = self.already(hand.once)?.and_then(|seqs| seqs.last().copied()) {
            return Ok(Written { seq });
        }
        let body = self.put_photo(bytes, of)?;
        self.write(hand, body)
    }

    /// Takes a photo in and gives the entry that is to name it.
    pub(super) fn put_photo(&self, bytes: &[u8], of: PhotoOf) -> Result<Body, Refused> {
        // Decoding is the slow part and is done before anybody has to wait.
        let prepared = Prepared::of(bytes).map_err(StoreError::Photo)?;
        let said = prepared.file().entry(of.of.trim());
        let body = Body::Photo(Photo { when: of.when, note: of.note, ..said });
        check(self.look().state(), &body, &Figured).map_err(Refused::Body)?;
        self.pen()?.put_photo(&prepared)?;
        Ok(body)
    }

    /// Strikes an entry out: it stays in the log and counts no more. Striking the strike brings
    /// it back.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn strike<'a>(
        &self,
        hand: impl Into<Hand<'a>>,
        seq: u64,
        why: &str,
    ) -> Result<Written, Refused> {
        self.write(hand, Body::Strike { seq, why: why.to_owned() })
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

/// Longest name under an entry, in letters.
const NAME_MAX: usize = 200;

/// What the clock says, where a log can hold it.
fn a_moment() -> Result<String, Refused> {
    let at = clock::now();
    if is_moment(&at) {
        return Ok(at);
    }
    Err(Refused::Clock(clock::trouble(None).unwrap_or_default()))
}

/// Refuses what is no name, whichever way it came.
fn is_a_name(by: &str) -> Result<(), Refused> {
    if by.chars().count() <= NAME_MAX && !by.chars().any(char::is_control) {
        return Ok(());
    }
    let what = "the name under the entry is too long, or holds control characters".to_owned();
    let right = format!("up to {NAME_MAX} letters on one line");
    Err(Refused::Body(Refusal { field: "by".to_owned(), what, right }))
}

/// Asks of each entry whether it makes sense after those before it, and follows them; what they
/// touch together.
fn checked(state: &mut State, drafts: &[Draft]) -> Result<Touches, Refused> {
    let mut touched = Touches::Nothing;
    for Draft { at, by, body } in drafts {
        check(state, body, &Figured).map_err(Refused::Body)?;
        touched = touched.max(touches(body, state));
        let (at, by, seq) = (at.clone(), by.clone(), state.last_seq() + 1);
        state.after(Entry { seq, at, by, body: body.clone() });
    }
    Ok(touched)
}

/// See [`Bench::already`].
fn written_as(
    pen: &Store,
    state: &State,
    once: Option<Sha>,
) -> Result<Option<Vec<u64>>, StoreError> {
    let Some(once) = once else { return Ok(None) };
    let mut seqs = pen.written_as(once)?;
    seqs.retain(|seq| state.struck_by(*seq).is_none());
    Ok(Some(seqs).filter(|seqs| !seqs.is_empty()))
}

fn state_of(store: &Store) -> Result<State, StoreError> {
    let (state, stopped) = state_up_to_damage(store);
    stopped.map_or(Ok(state), Err)
}

/// What the log comes to, up to the first line that is not right.
fn state_up_to_damage(store: &Store) -> (State, Option<StoreError>) {
    let mut stopped = None;
    let state = fold(store.entries().map_while(|entry| match entry {
        Ok(entry) => Some(entry),
        Err(why) => {
            stopped = Some(why);
            None
        }
    }));
    (state, stopped)
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
