//! The car as it was at one entry of the log.

use std::sync::{Arc, OnceLock};

use axlewright_book::log::{self, Body, Entry, Gate, Refusal, State, StepHappened, check, gated};
use axlewright_book::{Act, CarFile, Problem};
use axlewright_quantity::Side;
use axlewright_setup::Assessment;
use axlewright_setup::order::{self as setup_order, Control, OrderQuestion};
use axlewright_setup::physical::acts;
use axlewright_setup::record::Figured;
use axlewright_setup::wheels::{self, Go, Question};

use crate::desk::order::{NOT_PLANNED, answer, bars, joined};
use crate::desk::{Ask, Fault, OrderCall, assess};

/// The car as it was at one entry of the log, and what follows from it. What is asked for the
/// first time is computed then; views that do not differ in it share it.
#[derive(Debug, Clone)]
pub struct View {
    name: Arc<str>,
    seq: u64,
    state: Arc<State>,
    car: Arc<OnceLock<(CarFile, Vec<Problem>)>>,
    found: Arc<OnceLock<(Assessment, Vec<Fault>)>>,
    found_seq: u64,
    /// The last entry that touches the figures.
    touched_seq: u64,
    order: Arc<OnceLock<Assessment>>,
    tonight: Arc<OnceLock<Assessment>>,
    forecast: Arc<OnceLock<Assessment>>,
}

/// What an entry changes, apart from the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Touches {
    /// Nothing that is computed.
    Nothing,
    /// What is left to do, and with what.
    Order,
    /// The car's figures, and with them all the rest.
    Figures,
}

/// What a body changes. A strike changes what the entry that it strikes did.
pub(super) fn touches(body: &Body, state: &State) -> Touches {
    match body {
        Body::CarFile { .. }
        | Body::Reading(_)
        | Body::Bolt(_)
        | Body::Attempt(_)
        | Body::Round(_)
        | Body::Moved(_) => Touches::Figures,
        Body::Part(_) | Body::Step(_) | Body::Energy(_) => Touches::Order,
        Body::Mark(_)
        | Body::Photo(_)
        | Body::Signed(_)
        | Body::Recheck(_)
        | Body::Note { .. }
        | Body::Unread(_) => Touches::Nothing,
        // Never written while a book is open; struck, it may free everything that waited for it.
        Body::Lost(_) => Touches::Figures,
        Body::Strike { .. } => struck(body, state),
    }
}

/// Strikes go back in the log, each to an entry before it, so this ends.
fn struck(strike: &Body, state: &State) -> Touches {
    let mut body = strike;
    let mut before = u64::MAX;
    while let Body::Strike { seq, .. } = body {
        match state.entry(*seq).filter(|_| *seq < before) {
            Some(entry) => (body, before) = (&entry.body, *seq),
            None => return Touches::Nothing,
        }
    }
    touches(body, state)
}

impl View {
    pub(super) fn new(name: String, seq: u64, state: State) -> Self {
        Self {
            name: name.into(),
            seq,
            state: Arc::new(state),
            car: Arc::default(),
            found: Arc::default(),
            found_seq: seq,
            touched_seq: seq,
            order: Arc::default(),
            tonight: Arc::default(),
            forecast: Arc::default(),
        }
    }

    /// The view after more entries. Figures that somebody has seen stand until new ones are there;
    /// those that nobody has asked for are left to whoever does.
    pub(super) fn after(&self, name: String, state: State, touches: Touches) -> Self {
        let mut next = self.clone();
        (next.name, next.seq) = (name.into(), state.last_seq());
        next.state = Arc::new(state);
        if Touches::Nothing < touches {
            next.car = Arc::default();
            (next.order, next.tonight) = (Arc::default(), Arc::default());
        }
        if touches == Touches::Figures {
            next.touched_seq = next.seq;
            next.forecast = Arc::default();
            if !self.is_figured() {
                (next.found, next.found_seq) = (Arc::default(), next.seq);
            }
        }
        next
    }

    /// The same view with the figures that belong to it.
    pub(super) fn refigured(&self) -> Self {
        let found = assess(self.car(), self.problems());
        let mut next = self.clone();
        (next.found, next.found_seq) = (Arc::new(OnceLock::from(found)), self.seq);
        next.forget_what_follows();
        next
    }

    /// Takes over the figures of an earlier view.
    pub(super) fn with_figures_of(&self, other: &Self) -> Self {
        let mut next = self.clone();
        (next.found, next.found_seq) = (Arc::clone(&other.found), other.found_seq);
        // A plan made meanwhile was made from the figures of before.
        next.forget_what_follows();
        next
    }

    fn forget_what_follows(&mut self) {
        (self.order, self.tonight) = (Arc::default(), Arc::default());
        self.forecast = Arc::default();
    }

    /// The view as it would be if this were written now. Nothing is written.
    ///
    /// # Errors
    /// What would be refused.
    pub fn supposing(&self, body: Body) -> Result<Self, Refusal> {
        self.bars(&body)?;
        check(&self.state, &body, &Figured)?;
        let mut state = State::clone(&self.state);
        let seq = state.last_seq() + 1;
        state.after(Entry { seq, at: String::new(), by: String::new(), body });
        Ok(Self::new(self.name.to_string(), seq, state))
    }

    /// What is to be told of an entry that is not as asked; nothing where it is.
    pub fn answer(&self, body: &Body) -> Option<String> {
        log::answer(&self.state, body, &Figured)
    }

    /// What bars the doing of steps, worked out from the figures.
    pub fn gates(&self) -> Vec<Gate> {
        setup_order::gates(self.car(), self.assessment())
    }

    /// Refuses an entry that calls a step done which something still bars.
    ///
    /// # Errors
    /// The gate, in words.
    pub(super) fn bars(&self, body: &Body) -> Result<(), Refusal> {
        match body {
            Body::Step(step) if step.happened == StepHappened::Done => gated(body, &self.gates()),
            _ => Ok(()),
        }
    }

    /// Where the energy is, a half line for each side; nothing where the steps do not say what
    /// they do. A bar that was read after it was drawn is in again, with its plate alone.
    pub fn energy(&self) -> Option<String> {
        let car = self.car();
        car.steps.iter().any(|step| !step.does.is_empty()).then(|| {
            let mut now = setup_order::standing(car);
            let facts = self.state.facts();
            for side in Side::BOTH {
                let drawn = car.steps.iter().filter(|step| step.side == Some(side));
                let drawn = drawn.filter(|step| acts(step).contains(&Act::BarOut));
                let since =
                    drawn.filter_map(|step| facts.steps.get(&step.id.value)).map(|l| l.since);
                let fits = facts.attempts.get(&side).into_iter().flatten();
                let last = fits.map(|fit| fit.seq).max();
                if since.max() < last {
                    now.bar_is_in(side);
                }
            }
            now.energy()
        })
    }

    /// How to name the car file in a message: its path, or the book and the entry that holds it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The car file's text; empty where there is none.
    pub fn text(&self) -> &str {
        self.state.car_text().unwrap_or_default()
    }

    /// The log and what it comes to. Of a car file on its own: as if it were the only entry.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The number of the last entry; 0 for a car file on its own.
    pub const fn seq(&self) -> u64 {
        self.seq
    }

    /// Whether the figures know everything in the log that they depend on. They fall behind for the
    /// moment in which new ones are computed.
    pub const fn is_fresh(&self) -> bool {
        self.touched_seq <= self.found_seq
    }

    /// The car: the file read, and over it what the log knows better.
    pub fn car(&self) -> &CarFile {
        &self.car_and_problems().0
    }

    fn problems(&self) -> &[Problem] {
        &self.car_and_problems().1
    }

    fn car_and_problems(&self) -> &(CarFile, Vec<Problem>) {
        self.car.get_or_init(|| self.state.car())
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
        self.found.get_or_init(|| assess(self.car(), self.problems()))
    }

    /// Whether somebody has asked for the figures.
    pub(super) fn is_figured(&self) -> bool {
        self.found.get().is_some()
    }

    /// The order of the work that is left, all parts taken to come in time. Computed on first use,
    /// which may take a second. A car file without steps has no order; one whose steps contradict
    /// each other has that as a problem.
    pub fn order(&self) -> &Assessment {
        self.order.get_or_init(|| self.planned(None))
    }

    /// The order of what can be done with the parts on the bench, and what waits for which part.
    /// Computed on first use, as [`Self::order`].
    pub fn tonight(&self) -> &Assessment {
        let at_hand = || Some(setup_order::parts_at_hand(self.car()));
        self.tonight.get_or_init(|| self.planned(at_hand()))
    }

    /// How many of a hundred builds land, and which measurement made better helps most; empty where
    /// too little is known. Computed on first use, which may take a second; the same builds as the
    /// command line's when it is asked nothing more.
    pub fn forecast(&self) -> &Assessment {
        self.forecast.get_or_init(|| {
            wheels::forecast(self.car(), self.assessment(), Question::default(), &|_| Go::On)
        })
    }

    /// [`Self::order`], if it is computed already.
    pub fn order_if_ready(&self) -> Option<&Assessment> {
        self.order.get()
    }

    /// [`Self::tonight`], if it is computed already.
    pub fn tonight_if_ready(&self) -> Option<&Assessment> {
        self.tonight.get()
    }

    /// Whether an error in the file or the log leaves no plan at all.
    fn is_barred(&self) -> bool {
        self.problems().iter().any(|problem| bars(self.text(), problem))
    }

    fn planned(&self, have: Option<Vec<String>>) -> Assessment {
        if self.car().steps.is_empty() {
            return Assessment::default();
        }
        if self.is_barred() {
            let problems = vec![NOT_PLANNED.to_owned()];
            return Assessment { problems, ..Assessment::default() };
        }
        let question = OrderQuestion { have, ..OrderQuestion::default() };
        let go = &mut |_: &setup_order::Progress<'_>| Control::Go;
        setup_order::order(self.car(), self.assessment(), &question, go)
            .unwrap_or_else(|problems| Assessment { problems, ..Assessment::default() })
    }

    /// Everything that follows, the order of the work included, for documents that show both. What
    /// is wrong in the car file is among the problems: paper outlives the warning beside it.
    pub fn with_order(&self) -> Assessment {
        let mut all = joined(self.assessment(), self.order());
        let errors = self.faults().iter().filter(|fault| fault.is_error);
        let lines = errors.filter_map(|fault| Some((fault.line?, &fault.what)));
        all.problems.extend(lines.map(|(line, what)| format!("car file, line {line}: {what}")));
        all
    }

    /// Answers a question about the order of work; what the book knows to be done is done, before
    /// what the question adds. The assessment holds only what belongs to the order; what is wrong
    /// in the car file or in the names stands in the faults.
    pub fn answer_order(&self, call: &OrderCall, ask: Ask<'_>) -> (Assessment, Vec<Fault>) {
        let found = (self.assessment(), self.faults(), self.is_barred());
        answer(self.car(), found, call, ask)
    }
}
