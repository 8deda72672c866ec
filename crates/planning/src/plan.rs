//! The order of work: least changeover, with what is proven about it.

use crate::anneal::Anneal;
use crate::context::{Gate, Open, Places};
use crate::contexts::Contexts;
use crate::patterns::Patterns;
use crate::state::{State, split};
use crate::time::Time;
use crate::watch::{Control, Effort, Progress, StoppedBy, Watch};
use crate::work::Work;

/// One change of one feature before a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Changed {
    /// Position of the feature.
    pub feature: usize,
    /// The value before; `None` if nothing had been chosen.
    pub from: Option<usize>,
    /// The value the task asks for.
    pub to: usize,
    /// What the change costs.
    pub time: Time,
}

/// One task in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// Position of the task.
    pub task: usize,
    /// What has to be changed before it.
    pub changes: Vec<Changed>,
}

/// How often one feature changes, and what that costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Share {
    /// Changes that cost anything.
    pub changes: u32,
    /// All of them together.
    pub time: Time,
}

/// What an order costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cost {
    /// The tasks themselves.
    pub work: Time,
    /// All changeovers.
    pub changeover: Time,
    /// The changeovers, feature by feature.
    pub features: Vec<Share>,
}

/// An order of all tasks that can be done, and what is proven about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// The tasks, with what to change before each.
    pub stops: Vec<Stop>,
    /// What it costs.
    pub cost: Cost,
    /// Proven: no order of these tasks has less changeover.
    pub bound: Time,
    /// Proven, feature by feature: no order changes it less often, nor for less time.
    pub at_least: Vec<Share>,
    /// Open tasks left out because a part is missing.
    pub waiting: Vec<usize>,
    /// Moves the search spent.
    pub moves: u64,
    /// Why the search ended.
    pub stopped_by: StoppedBy,
}

impl Plan {
    /// The tasks in order, as positions.
    #[must_use]
    pub fn order(&self) -> Vec<usize> {
        self.stops.iter().map(|stop| stop.task).collect()
    }

    /// Whether no order has less changeover.
    #[must_use]
    pub fn proven(&self) -> bool {
        self.bound == self.cost.changeover
    }

    /// The bounds as a person says them: "at least 2 jack moves, 3 hand washes and 4 walks".
    #[must_use]
    pub fn bound_in_words(&self, work: &Work) -> String {
        let said = work.features().iter().zip(&self.at_least).filter(|(_, s)| s.changes > 0);
        let mut words: Vec<String> = said
            .map(|(feature, share)| {
                let many = share.changes != 1;
                let name = if many { &feature.changes } else { &feature.change };
                format!("{} {name}", share.changes)
            })
            .collect();
        match (words.pop(), words.is_empty()) {
            (None, _) => "no changes are needed".to_owned(),
            (Some(last), true) => format!("at least {last}"),
            (Some(last), false) => format!("at least {} and {last}", words.join(", ")),
        }
    }
}

/// Puts every task that can be done in the order with the least changeover.
///
/// `known` may hold an order from before, such as the rest of an earlier plan: the result is never
/// worse than it, so far as it is still allowed. The same input gives the same plan, unless `ask`
/// stops the search early; `ask` is called every few milliseconds.
///
/// # Accuracy
/// `bound` and `at_least` are sums of whole seconds and hold exactly. The plan is the best there is
/// where [`Plan::proven`] says so.
#[must_use]
pub fn plan(
    work: &Work,
    state: &State,
    known: Option<&[usize]>,
    effort: Effort,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Plan {
    let (tasks, waiting) = split(work, state);
    let open = Open::new(work, &tasks, &state.in_hand);
    let found = open.as_ref().map(|open| search(open, known, effort, ask));
    let found = found.unwrap_or_else(Answer::none);
    let order: Vec<usize> = found.order.iter().filter_map(|&at| tasks.get(at).copied()).collect();
    let (stops, cost) = walk(work, state, &order);
    Plan {
        stops,
        cost,
        bound: Time::seconds(found.bound),
        at_least: found.at_least,
        waiting,
        moves: found.moves,
        stopped_by: found.stopped_by,
    }
}

/// What an order of tasks costs from a state on, with the changes before each task. Whether the
/// order is allowed is not looked at; positions that do not exist are left out.
#[must_use]
pub fn walk(work: &Work, state: &State, order: &[usize]) -> (Vec<Stop>, Cost) {
    let mut hand = state.in_hand.clone();
    let mut features = vec![Share::default(); work.features().len()];
    let (mut total, mut stops) = (Time::ZERO, Vec::with_capacity(order.len()));
    for &task in order {
        let Some(asks) = work.asks.get(task) else { continue };
        total += work.draft.tasks[task].time;
        let mut changes = Vec::new();
        for (feature, &to) in
            asks.iter().enumerate().filter_map(|(f, ask)| Some((f, ask.as_ref()?)))
        {
            let from = hand[feature].replace(to);
            let time = work.changeover(feature, from, to).unwrap_or(Time::ZERO);
            features[feature].time += time;
            features[feature].changes += u32::from(time > Time::ZERO);
            if from != Some(to) {
                changes.push(Changed { feature, from, to, time });
            }
        }
        stops.push(Stop { task, changes });
    }
    let changeover = features.iter().map(|share| share.time).sum();
    (stops, Cost { work: total, changeover, features })
}

pub(crate) struct Answer {
    pub(crate) order: Vec<usize>,
    pub(crate) bound: i64,
    pub(crate) at_least: Vec<Share>,
    pub(crate) moves: u64,
    pub(crate) stopped_by: StoppedBy,
}

impl Answer {
    fn none() -> Self {
        let (order, at_least) = (Vec::new(), Vec::new());
        let stopped_by = StoppedBy::Proof;
        Self { order, bound: 0, at_least, moves: 0, stopped_by }
    }
}

/// The search itself, on tasks renumbered from 0.
pub(crate) fn search(
    open: &Open,
    known: Option<&[usize]>,
    effort: Effort,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Answer {
    let mut start = simple(open);
    if let Some(known) = known {
        let at = |task: &usize| open.tasks.iter().position(|t| t == task);
        let known: Vec<usize> = known.iter().filter_map(at).collect();
        if open.relation.allows(&known) && open.price_of(&known) < open.price_of(&start) {
            start = known;
        }
    }
    // Callers see positions in the work, not in this search.
    let mut shown: Vec<usize> = Vec::new();
    let mut ask = |progress: &Progress<'_>| {
        shown.clear();
        shown.extend(progress.order.iter().map(|&at| open.tasks[at]));
        ask(&Progress { order: &shown, ..*progress })
    };
    let mut watch = Watch::new(effort, start.clone(), open.price_of(&start), &mut ask);
    let at_least = match open.len().div_ceil(64) {
        0 | 1 => turns::<1>(open, &mut watch),
        2 => turns::<2>(open, &mut watch),
        3..=5 => turns::<5>(open, &mut watch),
        _ => turns::<16>(open, &mut watch),
    };
    Answer {
        bound: watch.bound,
        moves: watch.moves,
        stopped_by: watch.stopped.unwrap_or(StoppedBy::Effort),
        order: watch.order,
        at_least,
    }
}

/// Stay in the context while anything is left in it, then take the cheapest change.
fn simple(open: &Open) -> Vec<usize> {
    let mut context = open.start;
    let mut waits: Vec<usize> =
        (0..open.len()).map(|task| open.relation.before(task).count()).collect();
    let mut order = Vec::with_capacity(open.len());
    let mut left: Vec<usize> = (0..open.len()).collect();
    while !left.is_empty() {
        let ready = left.iter().enumerate().filter(|&(_, &task)| waits[task] == 0);
        let cost = |task: usize| open.between(&context, &open.after(&context, task));
        let Some((at, &task)) = ready.min_by_key(|&(_, &task)| cost(task)) else { break };
        context = open.after(&context, task);
        order.push(task);
        left.remove(at);
        for after in open.relation.after(task).iter() {
            waits[after] -= 1;
        }
    }
    order
}

/// Moves of annealing before the first proof is tried, at most: few for few tasks.
const TURN_FIRST: u64 = 100_000;
const WIDTH_FIRST: usize = 300;
const GROWS: usize = 4;
/// States remembered per group of features, at first.
const ROOM_FIRST: usize = 2_000;

fn turns<const W: usize>(open: &Open, watch: &mut Watch<'_>) -> Vec<Share> {
    let gate = Gate::<W>::new(&open.relation);
    let counting = open.counting();
    let mut counts = Patterns::new(&counting, &gate, ROOM_FIRST);
    let mut patterns = Patterns::new(open, &gate, ROOM_FIRST);
    let mut at_least = shares(open.features, &mut counts, &mut patterns);
    let mut places = Places::new(open);
    let mut anneal = Anneal::new(&watch.order, watch.value, watch.effort.seed);
    let first = TURN_FIRST.min((open.len() * open.len()) as u64);
    turn(&mut anneal, &mut places, watch, first);
    let (mut width, mut room) = (WIDTH_FIRST, ROOM_FIRST);
    let fits = |width: usize, room: usize, watch: &Watch<'_>| {
        let patterns = 2 * room * open.features * Patterns::<W>::STATE_BYTES;
        Contexts::<W>::bytes(open.len(), width) + patterns <= watch.effort.bytes
    };
    while !watch.over() && fits(width, room, watch) {
        let before = watch.moves;
        patterns.join(watch);
        if watch.over() {
            break;
        }
        let value = watch.value;
        let passed = Contexts::new(open, &gate, &mut patterns, width, value).pass(watch);
        if let Some(order) = passed.order.filter(|order| open.relation.allows(order)) {
            watch.offer(open.price_of(&order), order.iter().copied());
        }
        if passed.complete {
            watch.raise(passed.bound);
        }
        (width, room) = (width * GROWS, room * GROWS);
        let spent = watch.moves - before;
        turn(&mut anneal, &mut places, watch, spent.max(first));
        if !watch.over() {
            patterns.grow(room);
            counts.grow(room);
            at_least = shares(open.features, &mut counts, &mut patterns);
        }
    }
    turn(&mut anneal, &mut places, watch, u64::MAX / 2);
    at_least
}

fn turn(anneal: &mut Anneal, places: &mut Places<'_>, watch: &mut Watch<'_>, moves: u64) {
    if !watch.over() {
        watch.pause = watch.moves.saturating_add(moves);
        anneal.run(places, watch);
    }
}

/// Feature by feature: how often it has to change, and for how long.
fn shares<const W: usize>(
    features: usize,
    counts: &mut Patterns<'_, W>,
    patterns: &mut Patterns<'_, W>,
) -> Vec<Share> {
    let one = |feature: usize| Share {
        changes: u32::try_from(counts.of_feature(feature)).unwrap_or(u32::MAX),
        time: Time::seconds(patterns.of_feature(feature)),
    };
    (0..features).map(one).collect()
}
