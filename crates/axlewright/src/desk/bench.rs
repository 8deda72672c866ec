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

use axlewright_book::{self as book, CarFile, Problem};
use axlewright_setup::Assessment;
use axlewright_setup::order::{self as setup_order, Control, OrderQuestion};

use super::order::{answer, joined};
use super::{Ask, CAR_FILE_NAME, DeskError, Fault, OrderCall, assess, read_car_file};

/// One car, opened. Shared between threads behind an [`Arc`].
#[derive(Debug)]
pub struct Bench {
    path: PathBuf,
    now: RwLock<Arc<View>>,
}

/// The car as it was at one entry of the log, and what follows from it.
#[derive(Debug)]
pub struct View {
    name: String,
    text: Arc<str>,
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
        Ok(Self { path: path.to_owned(), now: RwLock::new(Arc::new(view)) })
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
}

impl View {
    fn of_file(name: String, text: String) -> Self {
        let (car, problems) = book::read(&text);
        Self {
            name,
            text: text.into(),
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
        &self.text
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
