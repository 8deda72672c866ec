//! What was proved of a plan and what was not: the finished plan, replayed.

use axlewright_book::CarFile;
use axlewright_book::log::Gate;
use axlewright_planning::{Arc, Plan, standing};

use super::{Ready, Unknown};
use crate::finding::{Finding, Item, Why};
use crate::physical::{Forbidden, Replay, Rule, replay, replay_remembered};

/// Names shown of a list.
const SHOWN: usize = 3;

/// The steps done and then those planned, as the car sees them; nothing where the file never says
/// what a step does.
fn replayed(ready: &Ready<'_>, plan: &Plan) -> Option<Replay> {
    replayed_with(ready, plan, |car, ids| replay(car, ids.iter().copied()))
}

fn replayed_with(
    ready: &Ready<'_>,
    plan: &Plan,
    with: fn(&CarFile, &[&str]) -> Replay,
) -> Option<Replay> {
    ready.car.steps.iter().any(|step| !step.does.is_empty()).then(|| {
        let planned = plan.stops.iter().map(|stop| stop.task);
        let all = ready.state.done().iter().copied().chain(planned);
        let ids = all.filter_map(|task| ready.work.tasks().get(task)).map(|task| task.id.as_str());
        with(ready.car, &ids.collect::<Vec<&str>>())
    })
}

/// Forbidden acts among the steps that are still planned.
fn forbidden(ready: &Ready<'_>, plan: &Plan) -> Vec<Forbidden> {
    // What was done out of order is told as that; what follows cannot be judged by it.
    if !standing(&ready.work, &ready.state).skipped.is_empty() {
        return Vec::new();
    }
    let replay = replayed(ready, plan);
    let planned = |act: &Forbidden| {
        plan.stops
            .iter()
            .any(|stop| ready.work.tasks().get(stop.task).is_some_and(|t| t.id == act.step))
    };
    replay.map(|replay| replay.forbidden.into_iter().filter(planned).collect()).unwrap_or_default()
}

/// Where the energy is before each step that is planned.
pub(super) fn energy(ready: &Ready<'_>, plan: &Plan) -> Vec<String> {
    let told = replayed_with(ready, plan, |car, ids| replay_remembered(car, ids.iter().copied()));
    let before = told.map(|replay| replay.before).unwrap_or_default();
    let mut words: Vec<String> =
        before.iter().skip(ready.state.done().len()).map(crate::physical::State::energy).collect();
    words.resize(plan.stops.len(), String::new());
    words
}

pub(super) fn gate_item(gate: &Gate) -> Item {
    Item::Object(vec![
        ("step", Item::Word(gate.step.clone())),
        ("why", Item::Word(gate.why.clone())),
        ("first", Item::Word(gate.first.clone())),
    ])
}

fn unknown_item(unknown: &Unknown) -> Item {
    Item::Object(vec![
        ("edge", Item::Word(unknown.edge.clone())),
        ("why", Item::Word(unknown.why.clone())),
        ("measure", Item::Word(unknown.measure.clone())),
    ])
}

/// Gates of steps that are still to be done.
fn open_gates<'a>(ready: &'a Ready<'_>) -> Vec<&'a Gate> {
    let done: Vec<&str> = ready
        .state
        .done()
        .iter()
        .filter_map(|task| ready.work.tasks().get(*task))
        .map(|task| task.id.as_str())
        .collect();
    ready.gates.iter().filter(|gate| !done.contains(&gate.step.as_str())).collect()
}

/// The step at which something is found at the car that decides how this one is done; nothing for a
/// step that waits for no such thing.
pub(super) fn provisional<'a>(ready: &'a Ready<'_>, task: usize) -> Option<&'a str> {
    let decides = |gate: &&&Gate| {
        let first = ready.work.task(&gate.step);
        gate.opens.is_some() && first.is_some_and(|first| ready.work.precedes(first, task))
    };
    open_gates(ready).iter().find(decides).map(|gate| gate.step.as_str())
}

/// What was proved, in words; nothing where the plan holds a forbidden act or nobody said what the
/// steps do.
fn proved(ready: &Ready<'_>, plan: &Plan) -> Vec<&'static str> {
    let speaks = replayed(ready, plan).is_some();
    let mut proved = Vec::new();
    if speaks && forbidden(ready, plan).is_empty() {
        proved.extend(Rule::ALL.iter().map(|rule| rule.words()));
    }
    if plan.proven() {
        proved.push("no order that keeps this has fewer minutes of changes");
    }
    proved
}

pub(super) fn finding(ready: &Ready<'_>, plan: &Plan) -> Finding {
    let proved = proved(ready, plan).into_iter().map(|words| Item::Word(words.to_owned()));
    let value = Item::Object(vec![
        ("proved", Item::List(proved.collect())),
        ("unknown", Item::List(ready.unknown.iter().map(unknown_item).collect())),
        ("gates", Item::List(open_gates(ready).into_iter().map(gate_item).collect())),
    ]);
    let words = match (ready.unknown.len(), open_gates(ready).len()) {
        (0, 0) => "Nothing the order of work hangs on is left open.".to_owned(),
        (unknown, gates) => format!(
            "{unknown} things were not known and are taken the careful way; {gates} steps are not \
             to be done yet. All of them stay in the plan."
        ),
    };
    let why = Why {
        words,
        formula: "every step replayed: what it does to bar, arm and car against eight rules",
        source: "common practice, no source; docs/method.md, order of work",
        inputs: Vec::new(),
    };
    Finding { id: "order.safety", of: None, at: None, value, why }
}

/// What makes the plan no plan: acts that are forbidden, and steps the file does not have.
pub(super) fn problems(ready: &Ready<'_>, plan: &Plan) -> Vec<String> {
    let mut problems: Vec<String> = Vec::new();
    for want in &ready.safety.wants {
        let is_done = ready
            .state
            .done()
            .iter()
            .any(|task| ready.work.tasks().get(*task).is_some_and(|task| task.id == want.step));
        if !is_done {
            problems.push(format!(
                "the plan stops at `{}`: the car file has no step like this: {}",
                want.step, want.words
            ));
        }
    }
    problems.extend(
        forbidden(ready, plan)
            .iter()
            .map(|act| format!("the plan is NOT SAFE at `{}`: {}", act.step, act.words)),
    );
    problems.extend(yielded(ready));
    problems
}

/// Facts of geometry that the plan goes against, where no gate bars either step.
fn yielded<'a>(ready: &'a Ready<'_>) -> impl Iterator<Item = String> + 'a {
    let is_told = |arc: &&Arc| {
        !ready.gates.iter().any(|gate| gate.step == arc.before || gate.step == arc.after)
    };
    ready.yielded.iter().filter(is_told).map(|arc| {
        format!(
            "`{}` cannot come before `{}` by what the steps ask for, and should: {}. Mend the \
             `after`, `phase` or `arm` that is wrong, or the part",
            arc.before, arc.after, arc.words
        )
    })
}

/// The first line of a plan: what it is worth.
pub(super) fn headline(ready: &Ready<'_>, plan: &Plan) -> String {
    let steps = plan.stops.len();
    let gates = open_gates(ready);
    let mut gated: Vec<&str> = Vec::new();
    for gate in &gates {
        if !gated.contains(&gate.step.as_str()) {
            gated.push(&gate.step);
        }
    }
    let not_yet = match gated.len() {
        0 => String::new(),
        1 => format!(" NOT YET: `{}`.", gated[0]),
        many => format!(" NOT YET: {many} of them, first `{}`.", gated[0]),
    };
    let waiting = plan.stops.iter().filter(|stop| provisional(ready, stop.task).is_some()).count();
    let not_yet = match waiting {
        0 => not_yet,
        1 => format!("{not_yet} 1 step after what is found there is provisional."),
        many => format!("{not_yet} {many} steps after what is found there are provisional."),
    };
    if replayed(ready, plan).is_none() {
        let what = "what its steps do is not said, so it is not known to be safe";
        return format!("{steps} steps in the order the file asks for; {what}.{not_yet}");
    }
    if !forbidden(ready, plan).is_empty() {
        return format!("NOT SAFE: {steps} steps, and the car file's own order hurts somebody.");
    }
    if ready.unknown.is_empty() {
        return format!("{steps} steps in an order that strands nobody.{not_yet}");
    }
    let edges: Vec<&str> =
        ready.unknown.iter().take(SHOWN).map(|unknown| unknown.edge.as_str()).collect();
    let more = ready.unknown.len().saturating_sub(SHOWN);
    let more = if more == 0 { String::new() } else { format!("; and {more} more") };
    format!("Safe order; not known: {}{more}. {steps} steps.{not_yet}", edges.join("; "))
}
