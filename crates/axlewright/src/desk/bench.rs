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

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

use axlewright_book::log::{Body, Entry, Refusal, State, fold};
use axlewright_book::{self as book, CarFile, Problem};
use axlewright_setup::Assessment;
use axlewright_setup::order::{self as setup_order, Control, OrderQuestion};

use tokio::sync::broadcast;

use super::order::{answer, joined};
use super::{Ask, CAR_FILE_NAME, DeskError, Fault, OrderCall, assess, read_car_file};

/// One car, opened. Shared between threads behind an [`Arc`].
#[derive(Debug)]
pub struct Bench {
    path: PathBuf,
    now: RwLock<Arc<View>>,
    told: broadcast::Sender<u64>,
}

/// An entry that was written; it is on the disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    /// Its number in the log.
    pub seq: u64,
}

/// Why an entry was not written.
#[derive(Debug)]
pub enum Refused {
    /// What was opened is a car file: nothing can be added to it.
    NotABook(PathBuf),
    /// The entry makes no sense, at one of its fields.
    Body(Refusal),
}

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotABook(path) => {
                write!(f, "`{}` is a car file; only a book takes entries", path.display())
            }
            Self::Body(refusal) => f.write_str(&refusal.what),
        }
    }
}

impl std::error::Error for Refused {}

impl Refused {
    /// What would be right.
    pub fn hint(&self) -> String {
        match self {
            Self::NotABook(path) => format!(
                "start a book from it with `axlewright book new FOLDER --car {}`",
                path.display()
            ),
            Self::Body(refusal) => refusal.right.clone(),
        }
    }

    /// The field of the entry it is about, `value` or `reading.hung`, for a form to mark.
    pub fn field(&self) -> Option<&str> {
        match self {
            Self::Body(refusal) => Some(&refusal.field),
            Self::NotABook(_) => None,
        }
    }
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

/// The car as it was at one entry of the log, and what follows from it.
#[derive(Debug)]
pub struct View {
    name: String,
    state: Arc<State>,
    car: CarFile,
    problems: Vec<Problem>,
    found: OnceLock<(Assessment, Vec<Fault>)>,
    order: OnceLock<Assessment>,
}

impl Bench {
    /// Opens a car to look at: its file, or the folder with its file in it.
    ///
    /// # Errors
    /// Only for the file as such; what is wrong *in* it is in [`View::faults`].
    pub fn open(path: &Path) -> Result<Self, DeskError> {
        let inside = path.join(CAR_FILE_NAME);
        let file = if inside.is_file() { inside } else { path.to_owned() };
        let text = read_car_file(&file)?;
        let view = View::of_file(file.display().to_string(), text);
        let (told, _) = broadcast::channel(TOLD_AHEAD);
        Ok(Self { path: path.to_owned(), now: RwLock::new(Arc::new(view)), told })
    }

    /// What was opened, as it was named.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The car as it is now.
    pub fn look(&self) -> Arc<View> {
        // A view is put in whole or not at all, so one behind a poisoned lock is as good as any.
        self.now.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Whether it is a book that was opened for writing.
    pub fn may_write(&self) -> bool {
        false
    }

    /// Writes an entry. When this comes back it is on the disk, and the next look shows it and
    /// what follows from it.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn write(&self, by: &str, body: Body) -> Result<Written, Refused> {
        let _ = (by, body);
        Err(Refused::NotABook(self.path.clone()))
    }

    /// Takes a photo into the book and writes its entry.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn photo(&self, by: &str, bytes: &[u8], of: PhotoOf) -> Result<Written, Refused> {
        let _ = (by, bytes, of);
        Err(Refused::NotABook(self.path.clone()))
    }

    /// Strikes an entry out: it stays in the log and counts no more. Striking the strike brings
    /// it back.
    ///
    /// # Errors
    /// Then nothing was written.
    pub fn strike(&self, by: &str, seq: u64, why: &str) -> Result<Written, Refused> {
        self.write(by, Body::Strike { seq, why: why.to_owned() })
    }

    /// Tells of every change from now on: the number of the last entry. Told once for an entry,
    /// and once more where figures follow from it, after they are there.
    pub fn subscribe(&self) -> broadcast::Receiver<u64> {
        self.told.subscribe()
    }
}

impl View {
    fn of_file(name: String, text: String) -> Self {
        let (car, problems) = book::read(&text);
        let (at, by) = (String::new(), String::new());
        let state = fold([Entry { seq: 1, at, by, body: Body::CarFile { text } }]);
        Self {
            name,
            state: Arc::new(state),
            car,
            problems,
            found: OnceLock::new(),
            order: OnceLock::new(),
        }
    }

    /// How to name the car file in a message: its path, or the book and the entry that holds it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The car file's text.
    pub fn text(&self) -> &str {
        self.state.car_text().unwrap_or_default()
    }

    /// The log and what it comes to. Of a car file on its own: as if it were the only entry.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The number of the last entry; 0 for a car file on its own.
    pub fn seq(&self) -> u64 {
        0
    }

    /// The car: the file read, and over it what the log knows better.
    pub fn car(&self) -> &CarFile {
        &self.car
    }

    /// What follows from it.
    pub fn assessment(&self) -> &Assessment {
        &self.found().0
    }

    /// All that is wrong with it, in the order of the text.
    pub fn faults(&self) -> &[Fault] {
        &self.found().1
    }

    /// Whether something in it is wrong, so that no plan and no page may be made from it.
    pub fn has_errors(&self) -> bool {
        self.faults().iter().any(|fault| fault.is_error)
    }

    fn found(&self) -> &(Assessment, Vec<Fault>) {
        self.found.get_or_init(|| assess(&self.car, &self.problems))
    }

    /// The order of the work that is left; computed on first use, which may take a second. A car
    /// file without steps has no order; one whose steps contradict each other has that as a
    /// problem.
    pub fn order(&self) -> &Assessment {
        self.order.get_or_init(|| {
            if self.car.steps.is_empty() {
                return Assessment::default();
            }
            let question = OrderQuestion::default();
            let go = &mut |_: &setup_order::Progress<'_>| Control::Go;
            setup_order::order(&self.car, self.assessment(), &question, go)
                .unwrap_or_else(|problems| Assessment { problems, ..Assessment::default() })
        })
    }

    /// Everything that follows, the order of the work included, for documents that show both.
    pub fn with_order(&self) -> Assessment {
        joined(self.assessment(), self.order())
    }

    /// Answers a question about the order of work. The assessment holds only what belongs to the
    /// order; what is wrong in the car file or in the names stands in the faults.
    pub fn answer_order(&self, call: &OrderCall, ask: Ask<'_>) -> (Assessment, Vec<Fault>) {
        answer(&self.car, (self.assessment(), self.faults()), call, ask)
    }
}
