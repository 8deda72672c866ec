//! What the page is made from: the car as it was at one moment, and word of every change.

use std::path::Path;
use std::sync::{Arc, OnceLock};

use axlewright_book::{self as book, CarFile};
use axlewright_setup::Assessment;
use tokio::sync::broadcast;

use crate::desk::{self, DeskError, Fault, OrderCall};

/// A car that a page shows.
#[derive(Debug)]
pub struct Source {
    now: Arc<View>,
    told: broadcast::Sender<u64>,
}

/// The car as it was at one moment, and what follows from it.
#[derive(Debug)]
pub(super) struct View {
    text: String,
    car: CarFile,
    assessment: Assessment,
    faults: Vec<Fault>,
    order: OnceLock<Assessment>,
}

impl Source {
    /// Opens a car file to look at.
    ///
    /// # Errors
    /// Only for the file as such; what is wrong in it the page says.
    pub fn open(path: &Path) -> Result<Self, DeskError> {
        let text = desk::read_car_file(path)?;
        let (assessment, faults) = desk::assess_text(&text);
        let (car, _) = book::read(&text);
        let now = View { text, car, assessment, faults, order: OnceLock::new() };
        Ok(Self { now: Arc::new(now), told: broadcast::channel(64).0 })
    }

    pub(super) fn look(&self) -> Arc<View> {
        Arc::clone(&self.now)
    }

    /// Numbers of entries as they are written.
    pub(super) fn subscribe(&self) -> broadcast::Receiver<u64> {
        self.told.subscribe()
    }
}

impl View {
    /// The last entry it knows.
    pub(super) fn seq(&self) -> u64 {
        0
    }

    pub(super) fn text(&self) -> &str {
        &self.text
    }

    pub(super) fn car(&self) -> &CarFile {
        &self.car
    }

    pub(super) fn assessment(&self) -> &Assessment {
        &self.assessment
    }

    pub(super) fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// The order of the work that is left; computed on first use.
    pub(super) fn order(&self) -> &Assessment {
        self.order.get_or_init(|| {
            let all = desk::with_order(&self.text, &self.assessment);
            let of_order = |finding: &axlewright_setup::Finding| finding.id.starts_with("order.");
            Assessment {
                findings: all.findings.into_iter().filter(of_order).collect(),
                problems: all.problems,
                ..Assessment::default()
            }
        })
    }

    /// Everything that follows, the order of the work included.
    pub(super) fn with_order(&self) -> Assessment {
        desk::with_order(&self.text, &self.assessment)
    }

    /// Answers a question about the order of work.
    pub(super) fn answer_order(&self, call: &OrderCall) -> (Assessment, Vec<Fault>) {
        let go = &mut |_: &axlewright_setup::order::Progress<'_>| {
            axlewright_setup::order::Control::Go
        };
        desk::order_of_text(&self.text, call, go)
    }
}
