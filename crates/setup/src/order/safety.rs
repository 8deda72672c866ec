//! Arcs that hold with nothing measured: they come from what each step does, never from a figure.
//!
//! ```text
//!   lines, half-shaft ▶ damper ▶ stop bolt ▶ let down, hangs ▶ arm ▶ wagged, free ▶ cover ▶ plate
//!   plate ▶ cover ▶ its torque ▶ arm ▶ its torque ▶ wound, stop bolt ▶ damper, shaft, hose, cable
//! ```
//!
//! The table is common practice, no source: what reaches from body to arm is off whenever the arm
//! hangs, and goes on only after its stop. An act whose forerunner no step does is a want: it and
//! what follows it wait, and the want is named.

use axlewright_book::{Act, CarFile, Phase, Position, Spanning, Step};
use axlewright_planning::{Arc, Reason};
use axlewright_quantity::Side;

use crate::physical::acts;

/// A step with what it does.
struct Doing<'a> {
    step: &'a Step,
    acts: Vec<Act>,
}

const LINES: [Spanning; 3] = [Spanning::HalfShaft, Spanning::Hose, Spanning::Cable];
const BUT_STOP_BOLT: [Spanning; 4] =
    [Spanning::Damper, Spanning::HalfShaft, Spanning::Hose, Spanning::Cable];

impl Doing<'_> {
    fn does(&self, act: Act) -> bool {
        self.acts.contains(&act)
    }

    fn removes(&self, spans: &[Spanning]) -> bool {
        self.step.removes.iter().any(|entry| spans.contains(&entry.value))
    }

    fn fits(&self, spans: &[Spanning]) -> bool {
        self.step.fits.iter().any(|entry| spans.contains(&entry.value))
    }

    /// Whether what comes later rests on what it leaves in place.
    fn leaves(&self) -> bool {
        half(self.step.phase) == Half::Up
            && !self.does(Act::ComparesTeeth)
            && !self.does(Act::Ballast)
    }

    /// Whether it moves an arm by the jack, or sets one under it.
    fn jacks(&self) -> bool {
        [Act::Holds, Act::Raises, Act::Winds, Act::LetsDown].iter().any(|act| self.does(*act))
    }

    /// Whether it leaves jack and second hold standing.
    fn leaves_held(&self) -> bool {
        self.acts.iter().fold(false, |held, act| match act {
            Act::Holds => true,
            Act::HoldsAway => false,
            _ => held,
        })
    }

    /// Whether it sets jack and second hold for itself.
    fn holds_first(&self) -> bool {
        let moves = |act: &&Act| {
            matches!(act, Act::Holds | Act::Raises | Act::Winds | Act::LetsDown | Act::Removes)
        };
        self.acts.iter().find(moves) == Some(&Act::Holds)
    }

    /// Whether it leaves the arm raised.
    fn leaves_raised(&self) -> bool {
        self.acts.iter().fold(false, |raised, act| match act {
            Act::Raises | Act::Winds => true,
            Act::LetsDown => false,
            _ => raised,
        })
    }

    /// Whether it lets down an arm that an earlier step left raised.
    fn lets_down_first(&self) -> bool {
        let moves = |act: &&Act| matches!(act, Act::Raises | Act::Winds | Act::LetsDown);
        self.acts.iter().find(moves) == Some(&Act::LetsDown)
    }

    /// Whether it moves an arm that no bar holds.
    fn swings(&self) -> bool {
        let handles = [Act::Swings, Act::Tries, Act::Carries].iter().any(|act| self.does(*act));
        handles && !self.does(Act::PlateOn) && !self.does(Act::PlateOff)
    }

    /// Whether it moves an arm that rests on its stop up and down again, to see that nothing pulls.
    fn watches(&self) -> bool {
        self.does(Act::Raises) && self.does(Act::LetsDown)
    }

    fn is_at_corner(&self) -> bool {
        self.jacks() || !self.step.removes.is_empty() || self.does(Act::ArmOff)
    }

    fn is_of(&self, side: Side) -> bool {
        self.step.side.is_none_or(|own| own == side)
    }
}

/// Taking apart, the dry run, and all that comes after.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Half {
    Down,
    Dry,
    Up,
}

const fn half(phase: Phase) -> Half {
    match phase {
        Phase::BeforeStripDown | Phase::StripDown | Phase::InspectAndOrder => Half::Down,
        Phase::DryRun => Half::Dry,
        Phase::Assembly | Phase::Brakes | Phase::OnTheWheels | Phase::BeddingIn => Half::Up,
    }
}

type Is = fn(&Doing<'_>) -> bool;

/// What comes first, what after it, why, and what is wanted where no step does the first; no
/// words where it need not be there.
struct Rule {
    half: Half,
    first: Is,
    then: Is,
    words: &'static str,
    want: Option<&'static str>,
}

const fn rule(half: Half, first: Is, then: Is, words: &'static str) -> Rule {
    Rule { half, first, then, words, want: None }
}

const fn must(
    half: Half,
    (first, want): (Is, &'static str),
    then: Is,
    words: &'static str,
) -> Rule {
    Rule { half, first, then, words, want: Some(want) }
}

const APART: [Rule; 13] = [
    must(
        Half::Down,
        (|d| d.does(Act::CarUp), "a step that sets the car on its stands"),
        |d| d.is_at_corner(),
        "the car is on its stands before a corner is taken apart",
    ),
    rule(
        Half::Down,
        |d| d.removes(&LINES),
        |d| d.removes(&[Spanning::Damper]),
        "stop and damper still hold the arm while hands are among hose, cable and shaft",
    ),
    rule(
        Half::Down,
        |d| d.removes(&BUT_STOP_BOLT),
        |d| d.removes(&[Spanning::StopBolt]),
        "what reaches from body to arm is off before the stop comes out",
    ),
    rule(
        Half::Down,
        |d| !d.step.removes.is_empty(),
        |d| d.lets_down_first(),
        "nothing that reaches from body to arm is left on when the arm is let down to hang",
    ),
    rule(
        Half::Down,
        |d| d.does(Act::Ties),
        |d| d.does(Act::Unties),
        "the plate is untied before the arm is let down",
    ),
    must(
        Half::Down,
        (|d| d.lets_down_first(), "a step that lets the arm down until it hangs"),
        |d| d.does(Act::FindsHanging),
        "the arm is let down before anybody finds that it hangs",
    ),
    must(
        Half::Down,
        (|d| d.does(Act::FindsHanging), "a step that finds that the arm hangs"),
        |d| d.does(Act::ArmOff),
        "the arm is parted only from a bar that was let down and found hanging",
    ),
    rule(
        Half::Down,
        |d| d.does(Act::ArmOff),
        |d| d.does(Act::FindsFree),
        "a plate wags only with the arm off it",
    ),
    must(
        Half::Down,
        (|d| d.does(Act::FindsFree), "a step that finds the bar free by wagging its plate"),
        |d| d.does(Act::CoverOff) || d.does(Act::PlateOff) || d.does(Act::BarOut),
        "the bar is found free before cover, plate or bar move",
    ),
    must(
        Half::Down,
        (|d| d.does(Act::CoverOff), "a step that takes the cover off"),
        |d| d.does(Act::PlateOff),
        "the cover is off before the plate is drawn",
    ),
    must(
        Half::Down,
        (|d| d.does(Act::PlateOff), "a step that draws the plate"),
        |d| d.does(Act::BarOut),
        "the plate is off before the bar is drawn",
    ),
    must(
        Half::Down,
        (|d| d.leaves_held(), "a step that sets jack and second hold under the arm"),
        |d| {
            let moves = d.does(Act::Raises) || d.does(Act::LetsDown);
            let opens = d.removes(&[Spanning::Damper, Spanning::StopBolt]);
            (moves || opens) && !d.holds_first()
        },
        "jack and second hold stand before the arm is raised or what holds it comes out",
    ),
    rule(
        Half::Down,
        |d| d.does(Act::Rolls) || d.step.arm == Some(Position::WheelsDown),
        |d| d.does(Act::CarUp),
        "what wants the car on its wheels comes before it goes up",
    ),
];

const DRY: [Rule; 3] = [
    must(
        Half::Dry,
        (|d| d.does(Act::PlateOn), "a step that hangs plate and arm for the dry run"),
        |d| d.swings(),
        "plate and cover carry the arm before it is swung",
    ),
    rule(
        Half::Dry,
        |d| d.swings(),
        |d| d.does(Act::PlateOff),
        "the arm is swung before its plate comes off again",
    ),
    rule(
        Half::Dry,
        |d| d.does(Act::PlateOn),
        |d| d.does(Act::PlateOff),
        "the dry run's plate is on before it comes off again",
    ),
];

const STANDS_LOADED: &str = "the stands have their load before the jack pushes an arm up";
const ENGINE_OUT: &str = "the engine is out before the stands are loaded in its place";
const PLATE_ON: &str = "a step that puts the plate on";
const WATCHED: &str = "the first movement after something was fitted is watched, both holds set";

const TOGETHER: [Rule; 19] = [
    must(
        Half::Up,
        (|d| d.does(Act::BarIn), "a step that puts the bar in"),
        |d| d.does(Act::PlateOn),
        "the bar is in before its plate goes on",
    ),
    must(
        Half::Up,
        (|d| d.does(Act::PlateOn), PLATE_ON),
        |d| d.does(Act::CoverOn),
        "the plate is on before its cover",
    ),
    must(
        Half::Up,
        (|d| d.does(Act::CoverOn), "a step that puts the cover on"),
        |d| d.does(Act::TightensCover),
        "the cover is on before it is tightened",
    ),
    rule(
        Half::Up,
        |d| d.does(Act::TightensCover),
        |d| d.does(Act::ArmOn),
        "a cover is tightened with the bar free, before the arm hangs on it",
    ),
    must(
        Half::Up,
        (|d| d.does(Act::PlateOn), PLATE_ON),
        |d| d.does(Act::ArmOn),
        "the plate is on before the arm is joined to it",
    ),
    must(
        Half::Up,
        (|d| d.does(Act::ArmOn), "a step that joins arm and plate"),
        |d| d.does(Act::TightensPlate) && d.step.phase == Phase::Assembly,
        "the arm is on before its bolts are tightened",
    ),
    must(
        Half::Up,
        (|d| d.does(Act::PlateOn), PLATE_ON),
        |d| d.does(Act::ComparesTeeth),
        "teeth are compared with the plates on",
    ),
    must(
        Half::Up,
        (|d| d.does(Act::ComparesTeeth), "a step that compares the teeth of both sides"),
        |d| d.does(Act::Winds),
        "teeth are compared before a bar is wound: past it a wrong tooth is found under load",
    ),
    must(
        Half::Up,
        (|d| d.does(Act::TightensCover), "a step that brings the cover to its torque"),
        |d| d.does(Act::Winds),
        "the cover has its torque before the bar is wound",
    ),
    must(
        Half::Up,
        (
            |d| d.does(Act::TightensPlate) && d.step.phase == Phase::Assembly,
            "a step that brings the bolts between arm and plate to their torque",
        ),
        |d| d.does(Act::Winds),
        "the bolts between arm and plate have their torque before the bar is wound",
    ),
    must(
        Half::Up,
        (|d| d.leaves_held(), "a step that sets jack and second hold under the arm"),
        |d| {
            let moves = d.does(Act::Winds) || d.does(Act::Raises) || d.does(Act::LetsDown);
            moves && !d.holds_first()
        },
        "jack and second hold stand before the first stroke",
    ),
    rule(Half::Up, |d| d.does(Act::Ballast), |d| d.does(Act::Winds), STANDS_LOADED),
    must(
        Half::Up,
        (|d| d.does(Act::Winds), "a step that winds the bar"),
        |d| d.fits(&[Spanning::StopBolt]),
        "the hole is clear only with the bar wound",
    ),
    rule(
        Half::Up,
        |d| d.does(Act::Winds),
        |d| d.fits(&BUT_STOP_BOLT),
        "what reaches from body to arm is off while the bar is wound from hang",
    ),
    rule(
        Half::Up,
        |d| d.fits(&[Spanning::StopBolt]),
        |d| d.does(Act::TightensStopBolt),
        "the stop bolt is in before it is tightened",
    ),
    rule(Half::Up, |d| d.fits(&BUT_STOP_BOLT), |d| d.watches(), WATCHED),
    must(
        Half::Up,
        (|d| d.watches(), "a step that raises the arm and lets it down again under watch"),
        |d| d.does(Act::CarDown),
        WATCHED,
    ),
    rule(
        Half::Up,
        |d| d.jacks() || !d.step.fits.is_empty(),
        |d| d.does(Act::CarDown),
        "nothing is on a jack when the car comes down",
    ),
    rule(
        Half::Up,
        |d| d.does(Act::TightensStopBolt) || d.does(Act::TightensCover),
        |d| d.does(Act::CarDown),
        "plate, cover and stop bolt have their torque before the car comes down",
    ),
];

/// What the builder adds for safety: arcs, and what no step does.
#[derive(Debug, Clone, Default)]
pub(super) struct Safety {
    pub(super) arcs: Vec<Arc>,
    pub(super) wants: Vec<Want>,
}

/// Something that no step does, and the step that cannot be done without it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Want {
    /// Its name among the missing parts.
    pub(super) id: String,
    pub(super) words: String,
    pub(super) step: String,
}

impl Safety {
    pub(super) fn of(car: &CarFile) -> Self {
        let all: Vec<Doing<'_>> =
            car.steps.iter().map(|step| Doing { step, acts: acts(step) }).collect();
        let speaks = car.steps.iter().any(|step| !step.does.is_empty());
        let mut safety = Self::default();
        for side in Side::BOTH {
            let own: Vec<&Doing<'_>> = all.iter().filter(|doing| doing.is_of(side)).collect();
            for rule in APART.iter().chain(&DRY).chain(&TOGETHER) {
                safety.rule(rule, &own, side, speaks);
            }
            safety.stop_first(&own);
            safety.phases(&own, side);
            if speaks {
                safety.unstopped(&own, side);
                safety.dry_run_off(&own, side);
            }
        }
        safety.engine_first(&all);
        safety.one_arm_at_a_time(&all);
        safety.whole_car(&all, speaks);
        safety
    }

    /// One before the other; `rests` where going back undoes the later one first.
    fn push(&mut self, (first, then): (&Doing<'_>, &Doing<'_>), rests: bool, words: &str) {
        if first.step.id.value != then.step.id.value {
            let (first, then) = (&first.step.id.value, &then.step.id.value);
            let mut arc = Arc::new(first, then, Reason::Safety, words);
            arc.holds = rests;
            self.arcs.push(arc);
        }
    }

    fn arc(&mut self, first: &Doing<'_>, then: &Doing<'_>, words: &str) {
        self.push((first, then), false, words);
    }

    fn want(&mut self, of: (&str, Option<Side>), step: &Doing<'_>) {
        let (words, side) = of;
        let side = side.map_or(String::new(), |side| format!(", {side}"));
        let words = format!("{words}{side}");
        self.wants.push(Want { id: words.clone(), words, step: step.step.id.value.clone() });
    }

    fn rule(&mut self, rule: &Rule, own: &[&Doing<'_>], side: Side, speaks: bool) {
        let here = |doing: &&&Doing<'_>| half(doing.step.phase) == rule.half;
        let firsts: Vec<&&Doing<'_>> =
            own.iter().filter(here).filter(|doing| (rule.first)(doing)).collect();
        for then in own.iter().filter(here).filter(|doing| (rule.then)(doing)) {
            // A step that does both does them in order.
            if (rule.first)(then) {
                continue;
            }
            if let (true, true, Some(want)) = (firsts.is_empty(), speaks, rule.want) {
                self.want((want, Some(side)), then);
            }
            for first in &firsts {
                self.push((first, then), first.leaves() && then.leaves(), rule.words);
            }
        }
    }

    /// The stop goes in before anything else that reaches from body to arm; on a car without a
    /// stop bolt the damper is the stop.
    fn stop_first(&mut self, own: &[&Doing<'_>]) {
        let up = |doing: &&&Doing<'_>| half(doing.step.phase) == Half::Up;
        let listed = |doing: &&Doing<'_>| {
            doing.fits(&[Spanning::StopBolt]) || doing.removes(&[Spanning::StopBolt])
        };
        let stop = if own.iter().any(listed) { Spanning::StopBolt } else { Spanning::Damper };
        let others: Vec<Spanning> =
            Spanning::ALL.iter().copied().filter(|span| *span != stop).collect();
        for then in own.iter().filter(up).filter(|doing| doing.fits(&others)) {
            for first in own.iter().filter(up).filter(|doing| doing.fits(&[stop])) {
                let words = format!("the {stop} is in, and the arm rests on it, before it goes on");
                self.push((first, then), true, &words);
            }
        }
    }

    /// Parts that some step puts on again and none takes off before the arm is let down; and the
    /// stop, where nothing puts it in.
    fn unstopped(&mut self, own: &[&Doing<'_>], side: Side) {
        for half_done in [Half::Down, Half::Up] {
            let here = |doing: &&&Doing<'_>| half(doing.step.phase) == half_done;
            if !own.iter().filter(here).any(|doing| doing.lets_down_first()) {
                let want = "a step that lets the arm down again";
                for doing in own.iter().filter(here).filter(|doing| doing.leaves_raised()) {
                    self.want((want, Some(side)), doing);
                }
            }
        }
        let of = |wanted: Half| move |doing: &&&Doing<'_>| half(doing.step.phase) == wanted;
        let apart: Vec<&&Doing<'_>> = own.iter().filter(of(Half::Down)).collect();
        let together: Vec<&&Doing<'_>> = own.iter().filter(of(Half::Up)).collect();
        for span in Spanning::ALL {
            let on = together.iter().any(|doing| doing.fits(&[*span]));
            let off = apart.iter().any(|doing| doing.removes(&[*span]));
            if on && !off {
                let words = format!("a step that takes the {span} off before the arm hangs");
                let lets_it_hang =
                    |doing: &&&&Doing<'_>| doing.leaves_raised() || doing.lets_down_first();
                for doing in apart.iter().filter(lets_it_hang) {
                    self.want((&words, Some(side)), doing);
                }
            }
        }
        self.unreturned(&apart, &together, side);
        let bolt = [Spanning::StopBolt];
        let has_bolt = apart.iter().any(|doing| doing.removes(&bolt));
        if has_bolt && !together.iter().any(|doing| doing.fits(&bolt)) {
            let want = "a step that puts the stop bolt in";
            for doing in together.iter().filter(|doing| doing.fits(&BUT_STOP_BOLT)) {
                self.want((want, Some(side)), doing);
            }
        }
    }

    /// What came off and no step puts on again.
    fn unreturned(&mut self, apart: &[&&Doing<'_>], together: &[&&Doing<'_>], side: Side) {
        let does = |all: &[&&Doing<'_>], act: Act| all.iter().any(|doing| doing.does(act));
        let mut wanted: Vec<(Act, String)> = Vec::new();
        for span in Spanning::ALL {
            let off = apart.iter().any(|doing| doing.removes(&[*span]));
            if off && !together.iter().any(|doing| doing.fits(&[*span])) {
                wanted.push((Act::CarDown, format!("a step that puts the {span} on again")));
            }
        }
        if does(apart, Act::BarOut) && !does(together, Act::BarIn) {
            wanted.push((Act::CarDown, "a step that puts the bar in".to_owned()));
        }
        for (act, words) in wanted {
            for doing in together.iter().filter(|doing| doing.does(act)) {
                self.want((&words, Some(side)), doing);
            }
        }
    }

    /// The engine is out before it goes in, and before the stands are loaded for it; with no
    /// ballast in the method the engine is what loads them.
    fn engine_first(&mut self, all: &[Doing<'_>]) {
        let of = |act: Act| all.iter().filter(move |doing| doing.does(act));
        for first in of(Act::EngineOut) {
            for then in of(Act::EngineIn).chain(of(Act::Ballast)) {
                self.arc(first, then, ENGINE_OUT);
            }
        }
        if of(Act::Ballast).next().is_some() {
            return;
        }
        for then in of(Act::Winds) {
            let mut in_time =
                of(Act::EngineIn).filter(|first| !reaches(all, then, first)).peekable();
            if in_time.peek().is_none() && of(Act::EngineOut).next().is_some() {
                let want = "a step that puts ballast or engine over the stands";
                self.want((want, then.step.side), then);
            }
            for first in in_time {
                self.arc(first, then, STANDS_LOADED);
            }
        }
    }

    /// The old bar is drawn before anything goes on its splines again, and what the dry run put on
    /// is off again before the bar goes in.
    fn dry_run_off(&mut self, own: &[&Doing<'_>], side: Side) {
        let parted = own.iter().any(|doing| doing.does(Act::ArmOff) && is_down(doing));
        if parted && !own.iter().any(|doing| doing.does(Act::BarOut)) {
            let goes_on = |doing: &&&Doing<'_>| doing.does(Act::PlateOn) || doing.does(Act::BarIn);
            for doing in own.iter().filter(goes_on) {
                self.want(("a step that draws the old bar", Some(side)), doing);
            }
        }
        let dry = |doing: &&&Doing<'_>| doing.step.phase == Phase::DryRun;
        let pairs = [(Act::PlateOn, Act::PlateOff), (Act::CoverOn, Act::CoverOff)];
        for (on, off) in pairs {
            let is_left_on = own.iter().filter(dry).any(|doing| doing.does(on))
                && !own.iter().filter(dry).any(|doing| doing.does(off));
            for doing in own.iter().filter(|doing| is_left_on && doing.does(Act::BarIn)) {
                self.want(("a step that takes off what the dry run put on", Some(side)), doing);
            }
        }
    }

    /// On one side no phase begins before the one in front of it is over.
    fn phases(&mut self, own: &[&Doing<'_>], side: Side) {
        let of_side = |doing: &&&Doing<'_>| {
            doing.step.side == Some(side) || doing.step.phase == Phase::BeforeStripDown
        };
        let mut before: Vec<&&Doing<'_>> = Vec::new();
        for phase in Phase::ALL {
            let here: Vec<&&Doing<'_>> =
                own.iter().filter(of_side).filter(|doing| doing.step.phase == *phase).collect();
            if here.is_empty() {
                continue;
            }
            for then in &here {
                for first in &before {
                    let words = format!(
                        "the {} of this side is over before its {phase} begins",
                        first.step.phase
                    );
                    self.arc(first, then, &words);
                }
            }
            before = here;
        }
    }

    /// No jack goes under the second arm before the first hangs, or rests on its stop; and none is
    /// left on a jack when the body moves.
    fn one_arm_at_a_time(&mut self, all: &[Doing<'_>]) {
        let open = |side: Side| -> Vec<&Doing<'_>> {
            all.iter().filter(|d| is_apart(d, side) && d.leaves_raised()).collect()
        };
        let right_first = all.iter().any(|doing| {
            let lets_down = is_apart(doing, Side::Right) && doing.lets_down_first();
            lets_down && open(Side::Left).iter().any(|open| reaches(all, doing, open))
        });
        let first = if right_first { Side::Right } else { Side::Left };
        let moved = [Act::EngineOut, Act::EngineIn, Act::CarDown];
        for side in Side::BOTH {
            let closed: Vec<&Doing<'_>> =
                all.iter().filter(|d| is_apart(d, side) && d.lets_down_first()).collect();
            let concerned = |then: &&Doing<'_>| {
                let other = is_apart(then, side.other()) && side == first && then.jacks();
                let later = half(then.step.phase) == Half::Up && then.jacks();
                other || later || moved.iter().any(|act| then.does(*act))
            };
            for then in all.iter().filter(concerned) {
                let open = open(side);
                // It is said to come before this arm is raised at all.
                if !open.is_empty() && open.iter().all(|open| reaches(all, then, open)) {
                    continue;
                }
                for closed in &closed {
                    self.arc(closed, then, ONE_ARM);
                }
            }
        }
    }

    /// What holds for the whole car: the wheels, the brakes, the phases of both sides together.
    fn whole_car(&mut self, all: &[Doing<'_>], speaks: bool) {
        let before_wheels = |phase: Phase| phase < Phase::OnTheWheels;
        let of_wheels = |doing: &Doing<'_>| doing.step.phase == Phase::OnTheWheels;
        let any_of_wheels = all.iter().any(of_wheels);
        for then in all.iter().filter(|doing| !before_wheels(doing.step.phase)) {
            // What comes after the wheels has all that they have before it.
            let is_last = then.step.phase == Phase::BeddingIn && any_of_wheels;
            let earlier = |doing: &&Doing<'_>| match is_last {
                true => of_wheels(doing),
                false => before_wheels(doing.step.phase),
            };
            for first in all.iter().filter(earlier) {
                let words = format!(
                    "the {} is over on both sides before anything {}",
                    first.step.phase, then.step.phase
                );
                self.arc(first, then, &words);
            }
        }
        let down: Vec<&Doing<'_>> = all.iter().filter(|d| d.does(Act::CarDown)).collect();
        let up = all.iter().any(|doing| doing.does(Act::CarUp));
        let on_wheels = |doing: &&Doing<'_>| {
            doing.step.arm == Some(Position::WheelsDown) || doing.does(Act::Rolls)
        };
        let later = |doing: &&Doing<'_>| half(doing.step.phase) == Half::Up;
        for then in all.iter().filter(on_wheels).filter(later) {
            if up && down.is_empty() && speaks {
                self.want(("a step that brings the car down on its wheels", None), then);
            }
            for first in &down {
                self.arc(first, then, "the car is on its wheels when it comes");
            }
        }
        self.brakes(all, speaks);
    }

    fn brakes(&mut self, all: &[Doing<'_>], speaks: bool) {
        if !all.iter().any(|doing| doing.does(Act::OpensBrakes)) {
            return;
        }
        let proofs: Vec<&Doing<'_>> = all.iter().filter(|d| d.does(Act::ProvesBrakes)).collect();
        let later = |doing: &&Doing<'_>| half(doing.step.phase) == Half::Up;
        for then in all.iter().filter(later).filter(|doing| doing.does(Act::Rolls)) {
            if proofs.is_empty() && speaks {
                self.want(("a step that proves the brakes", None), then);
            }
            for first in &proofs {
                self.arc(first, then, "brakes that were opened are proven before the car rolls");
            }
        }
    }
}

const ONE_ARM: &str = "one arm at a time: this one hangs, or rests on its stop, before a jack goes \
    under the other or the body moves";

fn is_down(doing: &Doing<'_>) -> bool {
    half(doing.step.phase) == Half::Down
}

/// Whether a step belongs to the taking apart of one side.
fn is_apart(doing: &Doing<'_>, side: Side) -> bool {
    doing.step.side == Some(side) && is_down(doing)
}

/// Whether `first` comes before `then` by what the steps say, directly or through others.
fn reaches(all: &[Doing<'_>], first: &Doing<'_>, then: &Doing<'_>) -> bool {
    let mut seen: Vec<&str> = Vec::new();
    let mut behind: Vec<&str> = then.step.after.iter().map(|id| id.value.as_str()).collect();
    while let Some(id) = behind.pop() {
        if id == first.step.id.value {
            return true;
        }
        if seen.contains(&id) {
            continue;
        }
        seen.push(id);
        let step = all.iter().find(|doing| doing.step.id.value == id);
        behind
            .extend(step.into_iter().flat_map(|d| d.step.after.iter().map(|id| id.value.as_str())));
    }
    false
}
