//! Where the energy is: what each step does to bar, arm and car, replayed one act at a time.
//!
//! ```text
//!   wound ──stop bolt out, let down──▶ hanging ──arm off, plate wags──▶ free ──cover,──▶ out
//!     ▲                                  ▲                                ▲    plate off   │
//!     └──────two holds, wound up─────────┴──────────── arm on ────────────┴──── bar in ◀───┘
//! ```
//!
//! A bar is *free* when it carries nothing and somebody wagged its plate; *hanging* when it is past
//! its stop and carries its own arm; all else, and whatever nobody remembers, is *wound*.
//!
//! The checker of plans, the tests and the line that tells where the energy is use this. What
//! builds a plan does not: it would only agree with itself.
//!
//! The rules are common practice, no source.

mod rules;
mod say;

use axlewright_book::{Act, CarFile, Phase, Position, Spanning, Step};
use axlewright_quantity::Side;

pub use rules::Rule;

/// What a bar carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bar {
    /// It is not in the car.
    Out,
    /// Nothing; somebody wagged its plate.
    Free,
    /// Its own arm.
    Hanging,
    /// More than that.
    Wound,
    /// Nobody remembers: to be taken as wound.
    Unknown,
}

/// What keeps an arm where it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// Nothing: it hangs.
    Nothing,
    /// A stack, a stick or a second person, its bar carrying nothing.
    Carried,
    /// A jack.
    Jack,
    /// What ends its droop.
    Stop(Spanning),
    /// Its wheel on the floor.
    Wheel,
}

/// What the car stands on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// Its wheels.
    Wheels,
    /// Stands.
    Stands,
    /// A lift, a dolly, castors, a rotisserie or a ramp.
    Lift,
}

/// What the brakes can be trusted with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Brakes {
    /// Never opened in this job.
    AsFound,
    /// Opened, and not proven since.
    Opened,
    /// Proven after they were opened.
    Proven,
}

/// One rear corner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Corner {
    /// What the bar carries.
    pub bar: Bar,
    /// What keeps the arm where it is.
    pub held: Held,
    /// Whether jack and second hold stand under the arm.
    pub two_holds: bool,
    /// Whether the plate is tied.
    pub tied: bool,
    /// Whether arm and plate are joined.
    pub arm: bool,
    /// Whether the plate is on.
    pub plate: bool,
    /// Whether the cover is on.
    pub cover: bool,
    /// What reaches from body to arm.
    pub spans: Vec<Spanning>,
    /// Whether cover, plate and stop bolt have their torque.
    tight: Tight,
    /// How far this side's work has come.
    phase: usize,
}

/// Three joints that carry the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Tight {
    cover: bool,
    plate: bool,
    stop_bolt: bool,
}

impl Corner {
    /// Whether more than its own arm may be on the bar.
    pub const fn is_loaded(&self) -> bool {
        matches!(self.bar, Bar::Wound | Bar::Unknown)
    }

    /// Whether a part reaches from body to arm.
    pub fn has(&self, span: Spanning) -> bool {
        self.spans.contains(&span)
    }

    /// What would end the droop now, the stop bolt before the damper.
    fn stop(&self) -> Option<Spanning> {
        [Spanning::StopBolt, Spanning::Damper].into_iter().find(|span| self.has(*span))
    }

    fn on_a_jack(&self) -> bool {
        self.held == Held::Jack && self.is_loaded()
    }
}

/// The car between two steps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    left: Corner,
    right: Corner,
    /// What it stands on.
    pub on: On,
    /// What the brakes can be trusted with.
    pub brakes: Brakes,
    /// Whether the teeth of both sides were compared since a plate went on.
    pub compared: bool,
    /// How far the work on the whole car has come.
    phase: usize,
    has_stop_bolt: bool,
}

/// An act that no plan may hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Forbidden {
    /// The id of the step.
    pub step: String,
    /// Which rule it breaks.
    pub rule: Rule,
    /// On which side; nothing for the whole car.
    pub side: Option<Side>,
    /// What is wrong, as one sentence without its full stop.
    pub words: String,
}

/// A plan, replayed.
#[derive(Debug, Clone, PartialEq)]
pub struct Replay {
    /// The car before each step.
    pub before: Vec<State>,
    /// The car after the last.
    pub after: State,
    /// Every forbidden act, in order.
    pub forbidden: Vec<Forbidden>,
}

fn number(phase: Phase) -> usize {
    Phase::ALL.iter().position(|p| *p == phase).unwrap_or(0)
}

/// What a step does, in order. Where nobody said, it does what its lists say.
pub fn acts(step: &Step) -> Vec<Act> {
    let mut acts: Vec<Act> = step.does.iter().map(|entry| entry.value).collect();
    let lists = [(Act::Removes, step.removes.is_empty()), (Act::Fits, step.fits.is_empty())];
    for (act, is_empty) in lists {
        if !is_empty && !acts.contains(&act) {
            acts.push(act);
        }
    }
    acts
}

impl State {
    /// The car as it is found: on its wheels, everything on it, both bars wound.
    pub fn as_found(car: &CarFile) -> Self {
        let tight = Tight { cover: true, plate: true, stop_bolt: true };
        let has_stop_bolt = car.steps.iter().any(|step| {
            let listed = step.removes.iter().chain(&step.fits);
            listed.into_iter().any(|entry| entry.value == Spanning::StopBolt)
        });
        // A method's answers say what there is on this car; else all that there may be.
        let parted = |span: Spanning| car.parts.iter().any(|part| part.spans == Some(span));
        let is_there = |span: Spanning| car.method().is_none() || parted(span);
        let there = |span: &&Spanning| match **span {
            Spanning::StopBolt => has_stop_bolt,
            other => is_there(other),
        };
        let corner = Corner {
            bar: Bar::Wound,
            held: Held::Wheel,
            two_holds: false,
            tied: false,
            arm: true,
            plate: true,
            cover: true,
            spans: Spanning::ALL.iter().filter(there).copied().collect(),
            tight,
            phase: 0,
        };
        Self {
            left: corner.clone(),
            right: corner,
            on: On::Wheels,
            brakes: Brakes::AsFound,
            compared: false,
            phase: 0,
            has_stop_bolt,
        }
    }

    /// One corner.
    pub const fn corner(&self, side: Side) -> &Corner {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }

    const fn corner_mut(&mut self, side: Side) -> &mut Corner {
        match side {
            Side::Left => &mut self.left,
            Side::Right => &mut self.right,
        }
    }

    /// Nobody remembers what this side's bar carries.
    pub const fn forget(&mut self, side: Side) {
        self.corner_mut(side).bar = Bar::Unknown;
    }

    /// A bar that was drawn is in again, nothing but its plate on it: it was read so.
    pub fn bar_is_in(&mut self, side: Side) {
        let corner = self.corner_mut(side);
        if corner.bar == Bar::Out {
            (corner.bar, corner.plate) = (Bar::Free, true);
        }
    }

    /// The car after a step, and what in it was forbidden.
    pub fn after(&mut self, car: &CarFile, step: &Step) -> Vec<Forbidden> {
        let mut found = Found { step, all: Vec::new() };
        self.phases(&mut found);
        self.positions(car, &mut found);
        let sides = step.side.map_or(Side::BOTH.to_vec(), |side| vec![side]);
        for act in acts(step) {
            self.whole(act, &mut found);
            for side in &sides {
                self.act(act, *side, &mut found);
            }
        }
        found.all
    }
}

/// What was forbidden in one step so far.
struct Found<'a> {
    step: &'a Step,
    all: Vec<Forbidden>,
}

impl Found<'_> {
    fn forbid(&mut self, rule: Rule, side: Option<Side>, words: &str) {
        let (step, words) = (self.step.id.value.clone(), words.to_owned());
        self.all.push(Forbidden { step, rule, side, words });
    }

    fn unless(&mut self, is_right: bool, rule: Rule, side: Side, words: &str) {
        if !is_right {
            self.forbid(rule, Some(side), words);
        }
    }
}

/// A whole-car phase is one that both sides begin together.
const fn is_of_the_whole_car(phase: Phase) -> bool {
    matches!(phase, Phase::OnTheWheels | Phase::BeddingIn)
}

impl State {
    fn phases(&mut self, found: &mut Found<'_>) {
        let step = found.step;
        let phase = number(step.phase);
        let sides = match step.side {
            Some(side) => vec![side],
            None if step.phase == Phase::BeforeStripDown => Side::BOTH.to_vec(),
            None => Vec::new(),
        };
        let behind = sides.iter().any(|side| phase < self.corner(*side).phase);
        if phase < self.phase || behind {
            let words = format!("the {} is over when it comes", step.phase);
            found.forbid(Rule::Phase, step.side, &words);
        }
        for side in sides {
            let corner = self.corner_mut(side);
            corner.phase = corner.phase.max(phase);
        }
        if is_of_the_whole_car(step.phase) {
            self.phase = self.phase.max(phase);
        }
        if step.arm == Some(Position::WheelsDown) && self.on != On::Wheels {
            let is_going_down = acts(step).contains(&Act::CarDown);
            if !is_going_down {
                let words = "it wants the car on its wheels, and it stands on stands";
                found.forbid(Rule::Phase, step.side, words);
            }
        }
    }

    /// A joint torqued with the arm where that joint refuses it.
    fn positions(&self, car: &CarFile, found: &mut Found<'_>) {
        let at = match found.step.arm {
            Some(Position::WheelsDown) => Some(Position::Ride),
            other => other,
        };
        for joint in found.step.torques.iter().filter_map(|id| car.joint(&id.value)) {
            let wants = match joint.position {
                None | Some(Position::Any) => continue,
                Some(Position::WheelsDown) => Position::Ride,
                Some(other) => other,
            };
            if at != Some(wants) {
                let words = format!("`{}` gets its torque at {wants} only", joint.id.value);
                found.forbid(Rule::Torque, found.step.side, &words);
            }
        }
    }
}

/// Replays steps by their ids, from the car as it is found; ids that no step has do nothing.
pub fn replay<'a>(car: &CarFile, order: impl IntoIterator<Item = &'a str>) -> Replay {
    replay_without(car, order, &[])
}

/// The same with what nobody remembers: the steps begin with those of [`CarFile::done`].
pub fn replay_remembered<'a>(car: &CarFile, order: impl IntoIterator<Item = &'a str>) -> Replay {
    replay_without(car, order, &car.not_remembered)
}

/// Replays steps; of each side that is named it is forgotten after so many steps what its bar
/// carries.
fn replay_without<'a>(
    car: &CarFile,
    order: impl IntoIterator<Item = &'a str>,
    forgotten: &[(Side, usize)],
) -> Replay {
    let mut after = State::as_found(car);
    let forget = |state: &mut State, steps: usize| {
        let of_now = forgotten.iter().filter(|(_, known)| *known == steps);
        of_now.for_each(|(side, _)| state.forget(*side));
    };
    forget(&mut after, 0);
    let (mut before, mut forbidden) = (Vec::new(), Vec::new());
    for step in order.into_iter().filter_map(|id| car.step(id)) {
        before.push(after.clone());
        forbidden.extend(after.after(car, step));
        forget(&mut after, before.len());
    }
    Replay { before, after, forbidden }
}
