//! What the arm's position allows: which spanning part is in the way of which step.
//!
//! ```text
//!   plate angle   11°      20.9°   23.0°          27.5°
//!                 ride     bolt    rests on       hangs, nothing
//!                          goes in the bolt       else fitted
//!   damper     ───fits────────────────────┤
//!   half-shaft ───fits───────────────────────┤
//! ```
//!
//! **Arcs.** A step that needs the arm at an angle outside the window of a spanning part comes
//! after that part is off and before it is on again. A part that goes in with the arm where it
//! happens to be waits for a place inside its own window: if the arm hangs too low for it, the
//! stop bolt goes in first and the arm rests on that. A fit by less than its uncertainty counts as
//! none: nobody finds that out with a greased shaft in one hand.

use axlewright_book::{CarFile, Phase, Position, Spanning, Step};
use axlewright_planning::{Arc, Reason};
use axlewright_quantity::{Amount, Angle, Corner, Side};

use crate::Assessment;
use crate::finding::{Finding, Item, State, Subject};
use crate::raising::{self, Raise};
use crate::say::deg;

/// Whether a part fits where the arm rests on its stop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Reach {
    Unknown,
    Fits,
    /// It does not: why, in words.
    Short(String),
}

/// One side's figures, as far as they are known.
#[derive(Debug, Clone, Default)]
pub(super) struct Sides {
    hang: Option<Angle>,
    rest: Option<Angle>,
    /// Where bolt or damper stops the arm, whichever it is.
    stops_at: Option<Angle>,
    clear: Option<Angle>,
    ride: Option<Angle>,
    windows: Vec<SpanWindow>,
    /// What raising from where the arm hangs to put the stop bolt in takes: with the teeth aimed
    /// at, and the shell as the file has it.
    pub(super) raise: Raise,
}

/// Where a spanning part fits.
#[derive(Debug, Clone)]
struct SpanWindow {
    span: Spanning,
    from: Option<Angle>,
    to: Option<Angle>,
    from_by: Option<String>,
    to_by: Option<String>,
    /// Standard uncertainties of the ends.
    u: (Angle, Angle),
}

/// Both sides, and what no position allows.
#[derive(Debug, Clone, Default)]
pub(super) struct Geometry {
    left: Sides,
    right: Sides,
    /// What is laid over the rear stands before an arm is raised, where a figure is told.
    ballast: Option<String>,
    pub(super) problems: Vec<String>,
}

fn angle(item: Option<&Item>) -> Option<Angle> {
    Angle::try_from(item?.amount()?).ok()
}

fn quantity<Q: TryFrom<Amount>>(finding: &Finding, name: &str) -> Option<Q> {
    Q::try_from(finding.value.get(name)?.amount()?).ok()
}

fn finding<'a>(
    out: &'a Assessment,
    id: &str,
    side: Side,
    at: Option<State>,
) -> Option<&'a Finding> {
    let of = Some(Subject::Corner(Corner::rear(side)));
    out.findings.iter().find(|f| f.id == id && f.of == of && f.at == at)
}

/// The finding of each spanning part's window.
pub(super) const fn window_id(span: Spanning) -> &'static str {
    match span {
        Spanning::Damper => "window.damper",
        Spanning::HalfShaft => "window.half-shaft",
        Spanning::Hose => "window.hose",
        Spanning::Cable => "window.cable",
        Spanning::StopBolt => "window.stop-bolt",
    }
}

/// Of several windows the one that holds ride, or the first.
fn at_ride<'a>(windows: &'a [Item], of: &Item) -> Option<&'a Item> {
    let ride = of.get("fit").and_then(|fit| fit.get("ride")).and_then(|at| angle(at.get("angle")));
    let holds = |window: &&Item| {
        let ride = ride?;
        let from = angle(window.get("from")).is_none_or(|from| from <= ride);
        Some(from && angle(window.get("to")).is_none_or(|to| ride <= to))
    };
    windows.iter().find(|window| holds(window) == Some(true)).or(windows.first())
}

impl SpanWindow {
    fn of(out: &Assessment, side: Side, span: Spanning) -> Option<Self> {
        let found = finding(out, window_id(span), side, None)?;
        // Several windows: the one the ride angle lies in is the one the car uses.
        let value = match found.value.get("windows") {
            Some(list) => at_ride(list.items(), &found.value)?,
            None => &found.value,
        };
        let word = |name: &str| match value.get(name) {
            Some(Item::Word(word)) => Some(word.clone()),
            _ => None,
        };
        let u = |name: &str| {
            let leaf = value.get(name).and_then(Item::as_leaf);
            leaf.and_then(|leaf| Angle::try_from(leaf.u?).ok()).unwrap_or(Angle::ZERO)
        };
        Some(Self {
            span,
            from: angle(value.get("from")),
            to: angle(value.get("to")),
            from_by: word("limited_by_from"),
            to_by: word("limited_by_to"),
            u: (u("from"), u("to")),
        })
    }

    /// Inside by more than the end's own uncertainty.
    fn surely_holds(&self, at: Angle) -> bool {
        self.from.is_none_or(|from| from + self.u.0 <= at)
            && self.to.is_none_or(|to| at <= to - self.u.1)
    }

    /// Inside at all; the ends belong to it.
    fn holds(&self, at: Angle) -> bool {
        let hair = Angle::deg(1e-6);
        self.from.is_none_or(|from| from <= at + hair) && self.to.is_none_or(|to| at <= to + hair)
    }

    /// That the arm droops to where the part does not reach, with both angles.
    fn short_words(&self, rest: Angle) -> String {
        format!(
            "{}, and the arm droops to {}: fitted, it is torn",
            self.limit_words(rest),
            deg(rest, 1)
        )
    }

    /// What ends it on the side of that angle, with its figure.
    fn limit_words(&self, at: Angle) -> String {
        let below = self.from.is_some_and(|from| at < from + self.u.0);
        let (end, by) = if below { (self.from, &self.from_by) } else { (self.to, &self.to_by) };
        let end = end.map_or(String::new(), |end| format!(" at plate angle {}", deg(end, 1)));
        let by = by.clone().unwrap_or_else(|| "it reaches its limit".to_owned());
        format!("{by}{end}")
    }
}

impl Sides {
    fn of(out: &Assessment, side: Side) -> Self {
        let raise = finding(out, "raise.stop-bolt", side, Some(State::Target));
        let droop = finding(out, "droop", side, Some(State::Target));
        let fit = finding(out, "window.damper", side, None)
            .and_then(|f| f.value.get("fit"))
            .and_then(|fit| fit.get("ride"));
        Self {
            hang: angle(finding(out, "hang.arm", side, Some(State::Target)).map(|f| &f.value)),
            rest: droop.and_then(rest_on_bolt),
            stops_at: droop.and_then(first_stop).map(|(_, at)| at),
            clear: raise.and_then(|f| quantity(f, "angle")),
            ride: fit.and_then(|fit| angle(fit.get("angle"))),
            windows: Spanning::ALL
                .iter()
                .filter_map(|span| SpanWindow::of(out, side, *span))
                .collect(),
            raise: raise.map_or(Raise::Unknown, Raise::of),
        }
    }

    /// Whether the place where the arm rests on its stop is known.
    pub(super) fn knows_rest(&self) -> bool {
        self.hang.is_some() && self.rest.is_some()
    }

    pub(super) const fn knows_hang(&self) -> bool {
        self.hang.is_some()
    }

    /// Whether a part's window is known, and where a part that is known does not reach.
    pub(super) fn reach(&self, span: Spanning) -> Reach {
        match (self.window(span), self.rest.or(self.stops_at)) {
            (Some(window), Some(rest)) if window.holds(rest) => Reach::Fits,
            (Some(window), Some(rest)) => Reach::Short(window.short_words(rest)),
            _ => Reach::Unknown,
        }
    }

    fn window(&self, span: Spanning) -> Option<&SpanWindow> {
        self.windows.iter().find(|window| window.span == span)
    }

    /// Whether a part that is on lets the arm be at an angle. The stop bolt lets it down to where
    /// the plate rests on it, which is further than where the bolt could be put in.
    fn lets(&self, window: &SpanWindow, at: Angle) -> bool {
        if window.span != Spanning::StopBolt {
            return window.holds(at);
        }
        self.rest.or(window.to).is_none_or(|rest| at <= rest + Angle::deg(1e-6))
    }

    /// The plate angle a step asks for.
    fn asked(&self, step: &Step) -> Option<Angle> {
        if let Some(at) = &step.arm_at {
            return Angle::try_from(at.value).ok();
        }
        match step.arm? {
            Position::Hang => self.hang,
            Position::StopBoltClear => self.clear,
            Position::Ride | Position::WheelsDown => self.ride,
            Position::Any | Position::BarOut => None,
        }
    }
}

/// On what the arm's way down may end: all else would tear.
const STOPS: [&str; 3] = ["stop bolt", "damper", "nothing"];

/// What stops the arm first on its way down, and where. What would only tear is no stop.
fn first_stop(droop: &Finding) -> Option<(&Item, Angle)> {
    let rows = droop.value.get("limits")?.items().iter();
    let stops = rows.filter_map(|row| Some((row.get("by")?, angle(row.get("angle"))?)));
    let stops =
        stops.filter(|(by, _)| matches!(by, Item::Word(by) if STOPS.contains(&by.as_str())));
    stops.min_by(|(_, a), (_, b)| a.to_rad().total_cmp(&b.to_rad()))
}

/// Where the plate rests on the stop bolt, if that is the stop the arm comes to first.
fn rest_on_bolt(droop: &Finding) -> Option<Angle> {
    let bolt = Item::Word("stop bolt".to_owned());
    first_stop(droop).filter(|(by, _)| **by == bolt).map(|(_, at)| at)
}

impl Geometry {
    pub(super) fn of(car: &CarFile, out: &Assessment) -> Self {
        let (left, right) = (Sides::of(out, Side::Left), Sides::of(out, Side::Right));
        let mut geometry =
            Self { left, right, ballast: raising::ballast(out), problems: Vec::new() };
        geometry.problems = geometry.impossible(car);
        geometry
    }

    pub(super) const fn side(&self, side: Side) -> &Sides {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }

    /// What the step that lays the bags is told.
    pub(super) fn ballast_words(&self) -> String {
        let raises = Side::BOTH.map(|side| (side, &self.side(side).raise));
        let barred = raises.iter().find_map(|(side, raise)| match raise {
            Raise::Forbidden(why) => Some(format!("the {side} arm NOT YET, {why}")),
            _ => None,
        });
        let unknown = raises.iter().any(|(_, raise)| **raise == Raise::Unknown);
        let bags = match &self.ballast {
            Some(weight) => Some(format!("lay {weight}")),
            None if unknown => Some(
                "how much is not known: the cards at the saddles decide when an arm is raised"
                    .to_owned(),
            ),
            None if barred.is_none() => Some("by the figures no bag is needed".to_owned()),
            None => None,
        };
        bags.into_iter().chain(barred).collect::<Vec<String>>().join("; ")
    }

    /// Steps that ask for what no position on the stands allows.
    fn impossible(&self, car: &CarFile) -> Vec<String> {
        let under_load = |step: &&Step| {
            step.arm == Some(Position::Ride)
                && matches!(step.phase, Phase::Assembly | Phase::Brakes)
                && step.place.is_none()
        };
        let words = |step: &Step| {
            format!(
                "line {}: `{}` asks for the ride angle with the bar at work and the car on \
                 stands: the force for that lifts the car. Do it in the dry run with the bar out \
                 (place = \"dry run\") or on the wheels (arm = \"wheels down\")",
                step.line, step.id.value,
            )
        };
        car.steps.iter().filter(under_load).map(words).collect()
    }

    /// The arcs geometry makes.
    pub(super) fn arcs(&self, car: &CarFile) -> Vec<Arc> {
        let mut arcs = Vec::new();
        for side in Side::BOTH {
            let figures = self.side(side);
            let of_side: Vec<&Step> = car.steps.iter().filter(|s| s.side == Some(side)).collect();
            for step in &of_side {
                figures.asked_arcs(step, &of_side, &mut arcs);
                figures.fitted_arcs(step, &of_side, &mut arcs);
            }
        }
        arcs
    }
}

fn fitting<'a>(steps: &[&'a Step], span: Spanning) -> impl Iterator<Item = &'a Step> {
    let fits = move |step: &&Step| step.fits.iter().any(|entry| entry.value == span);
    steps.iter().copied().filter(fits).collect::<Vec<_>>().into_iter()
}

fn removing<'a>(steps: &[&'a Step], span: Spanning) -> impl Iterator<Item = &'a Step> {
    let removes = move |step: &&Step| step.removes.iter().any(|entry| entry.value == span);
    steps.iter().copied().filter(removes).collect::<Vec<_>>().into_iter()
}

impl Sides {
    /// A step at an angle where a spanning part does not fit: off before it, on after it.
    fn asked_arcs(&self, step: &Step, steps: &[&Step], arcs: &mut Vec<Arc>) {
        let Some(at) = self.asked(step) else { return };
        for window in self.windows.iter().filter(|window| !self.lets(window, at)) {
            let (span, limit) = (window.span, window.limit_words(at));
            let here = deg(at, 1);
            for off in removing(steps, span).filter(|off| off.id.value != step.id.value) {
                let words = format!(
                    "`{}` wants the arm at {here}; there the {span} is in the way ({limit}), so \
                     it comes off first",
                    step.id.value
                );
                arcs.push(Arc::new(&off.id.value, &step.id.value, Reason::Geometry, &words));
            }
            for on in fitting(steps, span).filter(|on| on.id.value != step.id.value) {
                let words = format!(
                    "`{}` wants the arm at {here}; with the {span} on it cannot be there ({limit})",
                    step.id.value
                );
                arcs.push(Arc::new(&step.id.value, &on.id.value, Reason::Geometry, &words));
            }
        }
    }

    /// A part that goes in with the arm wherever it is: it needs a place inside its window.
    fn fitted_arcs(&self, step: &Step, steps: &[&Step], arcs: &mut Vec<Arc>) {
        let open = matches!(step.arm, None | Some(Position::Any)) && step.arm_at.is_none();
        let Some(hang) = self.hang.filter(|_| open) else { return };
        for span in step.fits.iter().map(|entry| entry.value) {
            let Some(window) = self.window(span).filter(|w| !w.surely_holds(hang)) else {
                continue;
            };
            let rests = self.rest.filter(|rest| window.holds(*rest));
            let Some(rest) = rests.filter(|_| span != Spanning::StopBolt) else { continue };
            let nearly = if window.holds(hang) { ", too near to count on" } else { "" };
            for bolt in fitting(steps, Spanning::StopBolt) {
                let words = format!(
                    "{}; with plate and arm on, the plate hangs at {}{nearly}. Fit the {span} once \
                     the stop bolt is in and the arm rests on it at {}",
                    window.limit_words(hang),
                    deg(hang, 1),
                    deg(rest, 1),
                );
                arcs.push(Arc::new(&bolt.id.value, &step.id.value, Reason::Geometry, &words));
            }
        }
    }
}
