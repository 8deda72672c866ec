//! From the car file's steps to planning's draft.

use axlewright_book::{Act, CarFile, Changeover, Entry, Hands, Phase, Position, Step};
use axlewright_planning::{Arc, Change, Draft, Feature, Part, Reason, Task, Time, Undo};
use axlewright_quantity::Side;

use super::safety::Safety;

/// Names of the features, as they are said.
pub(super) const STATION: &str = "station";
pub(super) const HANDS: &str = "hands";
pub(super) const TOOL: &str = "tool";
pub(super) const CAR: &str = "car";

/// The feature for the position of one arm.
pub(super) const fn arm(side: Side) -> &'static str {
    match side {
        Side::Left => "left arm",
        Side::Right => "right arm",
    }
}

pub(super) fn draft(car: &CarFile, mut geometry: Vec<Arc>, safety: &Safety) -> Draft {
    let fresh = Changeover::default();
    let costs = car.changeover.as_ref().unwrap_or(&fresh);
    let mut features = vec![station(car, costs), hands(costs), tool(car, costs)];
    features.push(car_feature());
    features.extend(Side::BOTH.map(|side| arm_feature(side, costs)));
    let parts = car.parts.iter().map(|part| {
        let words = part.name.as_ref().map_or(&part.id.value, |name| &name.value);
        Part { id: part.id.value.clone(), words: words.clone() }
    });
    let mut arcs = said(car);
    arcs.append(&mut past_readings(car));
    arcs.append(&mut holds(car));
    arcs.append(&mut made_available(car));
    arcs.append(&mut geometry);
    arcs.extend(safety.arcs.iter().cloned());
    let wants = safety.wants.iter();
    let mut parts: Vec<Part> = parts.collect();
    let mut tasks: Vec<Task> = car.steps.iter().map(|step| task(car, step)).collect();
    for want in wants {
        if parts.iter().all(|part| part.id != want.id) {
            parts.push(Part { id: want.id.clone(), words: want.words.clone() });
        }
        for task in tasks.iter_mut().filter(|task| task.id == want.step) {
            if !task.parts.contains(&want.id) {
                task.parts.push(want.id.clone());
            }
        }
    }
    Draft { features, parts, tasks, arcs: without_doubles(arcs) }
}

fn minutes(entry: Option<&Entry<u32>>) -> Time {
    Time::minutes(entry.map_or(0, |entry| i64::from(entry.value)))
}

fn distinct<'a>(values: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for value in values {
        if !all.iter().any(|had| had == value) {
            all.push(value.to_owned());
        }
    }
    all
}

fn station(car: &CarFile, costs: &Changeover) -> Feature {
    let of_steps = car.steps.iter().filter_map(|s| s.station.as_ref()).map(|s| s.value.as_str());
    let values = distinct(of_steps);
    let known = |name: &String| values.contains(name);
    let ways = costs.walk_between.iter().filter(|way| known(&way.one) && known(&way.other));
    let both = ways.flat_map(|way| {
        let time = Time::minutes(i64::from(way.minutes));
        let change =
            |from: &String, to: &String| Change { from: from.clone(), to: to.clone(), time };
        [change(&way.one, &way.other), change(&way.other, &way.one)]
    });
    let costs_between = both.collect();
    Feature {
        name: STATION.to_owned(),
        change: "walk".to_owned(),
        changes: "walks".to_owned(),
        values,
        start: None,
        otherwise: minutes(costs.walk.as_ref()),
        costs: costs_between,
    }
}

/// Only grease has to be washed off; clean hands may get greasy at no cost.
fn hands(costs: &Changeover) -> Feature {
    let wash = minutes(costs.wash.as_ref());
    let (greasy, clean, dry) = (Hands::Greasy.word(), Hands::Clean.word(), Hands::Dry.word());
    let washed = |to: &str| Change { from: greasy.to_owned(), to: to.to_owned(), time: wash };
    Feature {
        name: HANDS.to_owned(),
        change: "hand wash".to_owned(),
        changes: "hand washes".to_owned(),
        values: Hands::WORDS.iter().map(|word| (*word).to_owned()).collect(),
        start: None,
        otherwise: Time::ZERO,
        costs: vec![washed(clean), washed(dry)],
    }
}

fn tool(car: &CarFile, costs: &Changeover) -> Feature {
    let of_steps = car.steps.iter().filter_map(|s| s.tool.as_ref()).map(|s| s.value.as_str());
    Feature {
        name: TOOL.to_owned(),
        change: "tool change".to_owned(),
        changes: "tool changes".to_owned(),
        values: distinct(of_steps),
        start: None,
        otherwise: minutes(costs.tool.as_ref()),
        costs: Vec::new(),
    }
}

/// Positions of an arm while the car is on stands.
const ON_STANDS: [Position; 4] =
    [Position::BarOut, Position::Hang, Position::StopBoltClear, Position::Ride];

/// A jack moves an arm between hanging and raised. With the bar out it is swung by hand, and that
/// the bar goes in is work of its own steps, so between those two there is no changeover.
fn arm_feature(side: Side, costs: &Changeover) -> Feature {
    let by_hand = [(Position::BarOut, Position::Hang), (Position::Hang, Position::BarOut)];
    let free = by_hand.map(|(from, to)| Change {
        from: from.word().to_owned(),
        to: to.word().to_owned(),
        time: Time::ZERO,
    });
    Feature {
        name: arm(side).to_owned(),
        change: format!("jack move on the {side}"),
        changes: format!("jack moves on the {side}"),
        values: ON_STANDS.map(|position| position.word().to_owned()).to_vec(),
        start: None,
        otherwise: minutes(costs.jack.as_ref()),
        costs: free.to_vec(),
    }
}

const STANDS: &str = "on stands";
const WHEELS: &str = "on its wheels";

/// Car on stands or on its wheels: the steps that put it there carry the time.
fn car_feature() -> Feature {
    Feature {
        name: CAR.to_owned(),
        change: "time up or down".to_owned(),
        changes: "times up or down".to_owned(),
        values: vec![STANDS.to_owned(), WHEELS.to_owned()],
        start: None,
        otherwise: Time::ZERO,
        costs: Vec::new(),
    }
}

fn task(car: &CarFile, step: &Step) -> Task {
    let mut task = Task::new(&step.id.value, &step.words.value, minutes(step.minutes.as_ref()));
    if let Some(station) = &step.station {
        task = task.at(STATION, &station.value);
    }
    if let Some(hands) = step.hands {
        task = task.at(HANDS, hands.word());
    }
    if let Some(tool) = &step.tool {
        task = task.at(TOOL, &tool.value);
    }
    match step.arm {
        None | Some(Position::Any) => {}
        Some(Position::WheelsDown) => task = task.at(CAR, WHEELS),
        Some(position) => {
            task = task.at(CAR, STANDS);
            for side in step.side.map_or(Side::BOTH.to_vec(), |side| vec![side]) {
                task = task.at(arm(side), position.word());
            }
        }
    }
    for part in &step.needs {
        task = task.with(&part.value);
    }
    task.people = step.people.as_ref().and_then(|p| u8::try_from(p.value).ok()).unwrap_or(1);
    if only_reads(car, step) || only_retightens(step) {
        task.undo = Undo::Nothing;
    }
    task
}

/// Steps on opposite sides do not rest on each other; on one side, or where the whole car is
/// meant, what came later has to come off first.
fn rests(before: &Step, after: &Step) -> bool {
    match (before.side, after.side) {
        (Some(a), Some(b)) => a == b,
        _ => true,
    }
}

fn said(car: &CarFile) -> Vec<Arc> {
    let mut arcs = Vec::new();
    for step in &car.steps {
        for earlier in &step.after {
            // What the method says stands in no line of the car file.
            let line = if step.line == 0 { earlier.line } else { step.line };
            let words = match earlier.line {
                0 => format!("method: `{}` is said to come first", earlier.value),
                _ => format!("line {line}: `{}` is said to come first", earlier.value),
            };
            let mut arc = Arc::new(&earlier.value, &step.id.value, Reason::Said, &words);
            // Nothing rests on a reading: what it read does, see `past_readings`.
            let before = car.step(&earlier.value);
            arc.holds =
                before.is_some_and(|before| !only_reads(car, before) && rests(before, step));
            arcs.push(arc);
        }
    }
    arcs
}

/// Acts after which nothing rests on the step: what was found or tried, and the stands' load.
const LEAVES_NOTHING: [Act; 12] = [
    Act::Nothing,
    Act::Holds,
    Act::HoldsAway,
    Act::Raises,
    Act::LetsDown,
    Act::FindsHanging,
    Act::FindsFree,
    Act::Swings,
    Act::Tries,
    Act::ComparesTeeth,
    Act::StandTest,
    Act::Ballast,
];

/// Whether a step leaves nothing in place: a reading, a hold point that only looks, or, once the
/// brakes are on, what is void when the car comes apart and is done again: bleeding, settling,
/// reading, proving.
fn only_reads(car: &CarFile, step: &Step) -> bool {
    let lists_nothing = step.fits.is_empty()
        && step.removes.is_empty()
        && step.snug.is_empty()
        && step.torques.is_empty();
    let only_looks = match step.does.is_empty() {
        true => step.needs.is_empty(),
        false => step.does.iter().all(|act| LEAVES_NOTHING.contains(&act.value)),
    };
    let of_side = |id: &Entry<String>| car.part(&id.value).is_none_or(|part| part.side.is_some());
    let void = Phase::Brakes <= step.phase
        && !step.does.is_empty()
        && step.does.iter().all(|act| {
            let moves = [Act::Rolls, Act::ProvesBrakes];
            LEAVES_NOTHING.contains(&act.value) || moves.contains(&act.value)
        })
        && !step.needs.iter().any(of_side);
    step.reading.is_some() || (lists_nothing && (void || (step.hold && only_looks)))
}

/// Whether a step on the wheels only eases and tightens bolts that were tight before. Going back,
/// it is not undone: with the bar wound, such a bolt is not touched once more.
fn only_retightens(step: &Step) -> bool {
    let puts_nothing_in = step.needs.is_empty() && step.fits.is_empty() && step.snug.is_empty();
    step.arm == Some(Position::WheelsDown) && !step.torques.is_empty() && puts_nothing_in
}

/// A step after a reading rests on what the reading was of, where that is on its own side: the
/// plate goes on, is read, and the arm is bolted to it.
fn past_readings(car: &CarFile) -> Vec<Arc> {
    let mut arcs = Vec::new();
    for step in car.steps.iter().filter(|step| !only_reads(car, step)) {
        let mut seen: Vec<&str> = Vec::new();
        let mut behind: Vec<&Entry<String>> = step.after.iter().collect();
        while let Some(id) = behind.pop() {
            // What leads round to the step itself is a loop of what is said, and told as one.
            let fresh = !seen.contains(&id.value.as_str()) && id.value != step.id.value;
            let Some(earlier) = car.step(&id.value).filter(|_| fresh) else { continue };
            seen.push(&id.value);
            if only_reads(car, earlier) {
                behind.extend(&earlier.after);
            } else if rests(earlier, step) && step.after.iter().all(|a| a.value != id.value) {
                let words = format!(
                    "`{}` rests on `{}`, with a reading between them",
                    step.id.value, id.value
                );
                let mut arc = Arc::new(&id.value, &step.id.value, Reason::Said, &words);
                arc.holds = true;
                arcs.push(arc);
            }
        }
    }
    arcs
}

/// A hold point is signed before its side goes on to a later phase.
fn holds(car: &CarFile) -> Vec<Arc> {
    let mut arcs = Vec::new();
    for hold in car.steps.iter().filter(|step| step.hold) {
        let next = |step: &&Step| phase_number(hold.phase) < phase_number(step.phase);
        let later = car.steps.iter().filter(next).filter(|step| rests(hold, step));
        for step in later {
            let words = format!(
                "`{}` is a hold point: signed before the {} begins",
                hold.id.value,
                step.phase.word()
            );
            let mut arc = Arc::new(&hold.id.value, &step.id.value, Reason::Said, &words);
            arc.holds = false;
            arcs.push(arc);
        }
    }
    arcs
}

fn phase_number(phase: Phase) -> usize {
    Phase::ALL.iter().position(|p| *p == phase).unwrap_or(0)
}

/// Snug before torqued; off before on.
fn made_available(car: &CarFile) -> Vec<Arc> {
    let mut arcs = Vec::new();
    for later in &car.steps {
        for joint in &later.torques {
            let snugs = |step: &&Step| {
                step.id.value != later.id.value && step.snug.iter().any(|s| s.value == joint.value)
            };
            for step in car.steps.iter().filter(snugs) {
                let words = format!("`{}` is run down snug before it gets its torque", joint.value);
                arcs.push(Arc::new(&step.id.value, &later.id.value, Reason::Part, &words));
            }
        }
        for span in &later.fits {
            let takes_off = |step: &&Step| {
                step.side == later.side && step.removes.iter().any(|s| s.value == span.value)
            };
            for step in car.steps.iter().filter(takes_off) {
                let words = format!("the {} has to be off before it goes on", span.value);
                arcs.push(Arc::new(&step.id.value, &later.id.value, Reason::Part, &words));
            }
        }
    }
    arcs
}

/// One arc for each pair and reason; the first words stand.
fn without_doubles(arcs: Vec<Arc>) -> Vec<Arc> {
    let mut seen = std::collections::HashSet::new();
    let fresh = |arc: &Arc| seen.insert((arc.before.clone(), arc.after.clone(), arc.reason));
    arcs.into_iter().filter(fresh).collect()
}
