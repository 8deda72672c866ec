//! What looks at the same inputs have worked out already.
//!
//! Linkage, windows, ride and what stands on them are asked for by many findings, and by each of
//! them anew for every number that is moved by its uncertainty. A *part* is such a piece of work.
//! It is done once as the inputs stand, and what it read is noted; a look with another number moved
//! gets the same answer, for a part that reads the same numbers takes the same way to the same end.
//! A look with one of its own numbers moved works it out anew, once for each number and step.
//!
//! **Invariant.** With a memo or without, every look gives the same to the last bit. It holds as
//! long as a part asks its look alone, captures nothing that differs from call to call, and the
//! inputs stay as they are: whoever changes them starts with an empty memo (see `Inputs`).

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use axlewright_mechanics::arm::TrailingArm;
use axlewright_mechanics::bar::Bar;
use axlewright_mechanics::droop::{End, Met};
use axlewright_mechanics::linkage::{Linkage, LinkageError};
use axlewright_mechanics::load::Corner;
use axlewright_mechanics::windows::{BoltBehind, Swept, Window};
use axlewright_quantity::{Angle, Length};

use crate::finding::State;
use crate::look::Trace;
use crate::wheels::Rear;
use crate::windows::Edge;

/// One piece of work, as the inputs stand and with each of its numbers moved.
#[derive(Debug)]
pub(crate) struct Part<T> {
    pub(crate) as_known: OnceCell<Done<T>>,
    /// By the key of the number moved and the bits of its step.
    pub(crate) moved: RefCell<BTreeMap<(u32, u64), Option<T>>>,
}

/// A piece of work that is done.
#[derive(Debug)]
pub(crate) struct Done<T> {
    pub(crate) value: Option<T>,
    pub(crate) trace: Trace,
}

impl<T> Default for Part<T> {
    fn default() -> Self {
        Self { as_known: OnceCell::new(), moved: RefCell::default() }
    }
}

/// The same work with the teeth as they are and at their target.
#[derive(Debug)]
pub(crate) struct ByTeeth<T> {
    now: Part<T>,
    target: Part<T>,
}

impl<T> Default for ByTeeth<T> {
    fn default() -> Self {
        Self { now: Part::default(), target: Part::default() }
    }
}

impl<T> ByTeeth<T> {
    /// For the teeth of that state.
    pub(crate) const fn of(&self, state: State) -> &Part<T> {
        match state {
            State::Now => &self.now,
            State::Target => &self.target,
        }
    }
}

/// The parts of one side's inputs.
#[derive(Debug, Default)]
pub(crate) struct Memo {
    /// Nothing is kept: only tests ask for that, to hold one way against the other.
    pub(crate) forgets: bool,
    pub(crate) bar: Part<Bar>,
    pub(crate) arm: Part<TrailingArm>,
    pub(crate) linkage: Part<Linkage>,
    pub(crate) swept: Part<Rc<Swept>>,
    pub(crate) corner: Part<Corner>,
    pub(crate) corner_without_gas: Part<Corner>,
    pub(crate) ride_angle: Part<Angle>,
    pub(crate) free_target: Part<Angle>,
    pub(crate) free_settled: Part<Angle>,
    pub(crate) free_now: Part<Angle>,
    pub(crate) hang_arm: ByTeeth<Angle>,
    pub(crate) stops_met: Part<Met>,
    pub(crate) stops: ByTeeth<Vec<End>>,
    pub(crate) rear: Part<Rear>,
    pub(crate) full_bump: Part<Angle>,
    pub(crate) stop_bolt: Part<Vec<Edge>>,
    pub(crate) damper: Part<Vec<Edge>>,
    pub(crate) hose: Part<Vec<Edge>>,
    pub(crate) cable: Part<Vec<Edge>>,
    pub(crate) half_shaft: Part<Vec<Edge>>,
    pub(crate) plate_bend: Part<Vec<Edge>>,
    bolt_windows: RefCell<Vec<(BoltAt, Vec<Window>)>>,
}

/// All that the windows of a bolt behind the plate hang on.
pub(crate) type BoltAt = (BoltBehind, Length, (Angle, Angle));

impl Memo {
    /// The windows of a bolt, by value: most of what moves an arm leaves bolt and reach alone.
    ///
    /// # Errors
    /// As [`BoltBehind::windows`].
    pub(crate) fn bolt_windows(&self, at: BoltAt) -> Result<Vec<Window>, LinkageError> {
        let known = || self.bolt_windows.borrow().iter().find(|k| k.0 == at).map(|k| k.1.clone());
        if let Some(known) = (!self.forgets).then(known).flatten() {
            return Ok(known);
        }
        let (bolt, clearance, range) = &at;
        let found = bolt.windows(*clearance, *range)?;
        self.bolt_windows.borrow_mut().push((at, found.clone()));
        Ok(found)
    }
}

#[cfg(test)]
mod tests {
    use axlewright_book::{CarFile, read};
    use axlewright_quantity::Side;
    use proptest::prelude::*;

    use crate::Assessment;
    use crate::assess::{assess, of_sides};
    use crate::inputs::Inputs;

    const LARCH: &str = include_str!("../../../examples/larch-1300/car.toml");

    fn forgetful(car: &CarFile) -> Assessment {
        let [left, right] = Side::BOTH.map(|side| Inputs::from_car(car, side).forgetful());
        of_sides(car, [&left, &right])
    }

    /// By their last digits: text, since not a number is equal to itself there.
    fn same(text: &str) {
        let (car, _) = read(text);
        let (with, without) = (assess(&car), forgetful(&car));
        for (a, b) in with.findings.iter().zip(&without.findings) {
            assert_eq!(format!("{a:?}"), format!("{b:?}"));
        }
        assert_eq!(format!("{with:?}"), format!("{without:?}"));
    }

    #[test]
    fn the_demo_is_the_same_without_a_memo() {
        same(LARCH);
    }

    fn lines(kept: impl Fn(usize) -> bool, scaled: &[(usize, f64)]) -> String {
        let each = LARCH.lines().enumerate().filter(|(at, _)| kept(*at));
        each.map(|(at, line)| match scaled.iter().find(|(scaled, _)| *scaled == at) {
            Some((_, by)) => format!("{}\n", first_number_scaled(line, *by)),
            None => format!("{line}\n"),
        })
        .collect()
    }

    /// The first number between quotes becomes another.
    fn first_number_scaled(line: &str, by: f64) -> String {
        let Some((before, rest)) = line.split_once('"') else { return line.to_owned() };
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.' && c != '-');
        let (number, after) = rest.split_at(end.unwrap_or(rest.len()));
        match number.parse::<f64>() {
            Ok(number) => format!("{before}\"{:.3}{after}", number * by),
            Err(_) => line.to_owned(),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 6, ..ProptestConfig::default() })]

        /// Lines go missing and numbers become others: ways that come to nothing are kept too.
        #[test]
        fn any_car_is_the_same_without_a_memo(
            gone in prop::collection::vec(0..620_usize, 0..25),
            scaled in prop::collection::vec((0..620_usize, 0.7..1.4_f64), 0..25),
        ) {
            same(&lines(|at| !gone.contains(&at), &scaled));
        }
    }
}
