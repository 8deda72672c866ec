//! What there is to do: tasks, what each asks for, what must come before what, and why.
//!
//! ```text
//!  task ──asks for──▶ a value of each feature (where one stands, what is in hand), or none
//!    │
//!    ├──arc, with its reason──▶ task       said: someone says so
//!    │                                     part: it uses what the other makes available
//!    │                                     geometry: it does not fit any more afterwards
//!    │                                     safety: the other way round can hurt somebody
//!    └──needs──▶ part                      may be missing
//! ```
//!
//! Between two tasks every feature that has to change costs its changeover; changeovers add up.

use std::collections::HashMap;

use crate::bits::Relation;
use crate::loops::{WayOut, way_out};
use crate::time::{HOURS_MAX, Time};

/// The most features a task can ask for.
pub const FEATURES_MAX: usize = 8;
/// The most values one feature can have.
pub const VALUES_MAX: usize = 250;
/// The most tasks.
pub const STEPS_MAX: usize = 1_000;

/// Something that stays as it is until it is changed, and whose change costs time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Feature {
    /// Its name, as tasks refer to it.
    pub name: String,
    /// What one change is called: "walk".
    pub change: String,
    /// What several are called: "walks".
    pub changes: String,
    /// Every value it can have.
    pub values: Vec<String>,
    /// The value at the beginning; `None` if the first task chooses freely.
    pub start: Option<String>,
    /// What a change costs where `costs` does not say.
    pub otherwise: Time,
    /// What certain changes cost. A way round by a third value is taken where it is cheaper.
    pub costs: Vec<Change>,
}

/// What one change costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// From this value.
    pub from: String,
    /// To this one.
    pub to: String,
    /// Time.
    pub time: Time,
}

/// What it takes to undo a task once it is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Undo {
    /// It leaves nothing in place: a reading, an inspection. It has to be done again, not undone.
    Nothing,
    /// This long.
    Takes(Time),
    /// It cannot be undone: something is cut, spent or cured.
    Never,
}

/// One step of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// Short name, unique.
    pub id: String,
    /// What to do.
    pub words: String,
    /// How long it takes.
    pub time: Time,
    /// Pairs (feature, value) it asks for; features left out are left open.
    pub context: Vec<(String, String)>,
    /// Parts it needs, by id.
    pub parts: Vec<String>,
    /// How many people it takes.
    pub people: u8,
    /// What undoing it takes.
    pub undo: Undo,
}

impl Task {
    /// A task for one person that asks for nothing and is undone in as long as it took.
    #[must_use]
    pub fn new(id: &str, words: &str, time: Time) -> Self {
        let (context, parts) = (Vec::new(), Vec::new());
        let (id, words) = (id.to_owned(), words.to_owned());
        Self { id, words, time, context, parts, people: 1, undo: Undo::Takes(time) }
    }

    /// Asks for a value of a feature.
    #[must_use]
    pub fn at(mut self, feature: &str, value: &str) -> Self {
        self.context.push((feature.to_owned(), value.to_owned()));
        self
    }

    /// Needs a part.
    #[must_use]
    pub fn with(mut self, part: &str) -> Self {
        self.parts.push(part.to_owned());
        self
    }
}

/// A thing that tasks need and that may not be there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Short name, unique.
    pub id: String,
    /// What it is.
    pub words: String,
}

/// Where an arc comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// Someone says so.
    Said,
    /// The later task uses what the earlier one makes available.
    Part,
    /// After the later task the earlier one is out of reach or does not fit.
    Geometry,
    /// The other way round can hurt somebody; it has no price.
    Safety,
}

impl Reason {
    /// `said`, `part`, `geometry` or `safety`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Said => "said",
            Self::Part => "part",
            Self::Geometry => "geometry",
            Self::Safety => "safety",
        }
    }
}

/// One task before another, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arc {
    /// Id of the task that comes first.
    pub before: String,
    /// Id of the task that comes after it.
    pub after: String,
    /// Where it comes from.
    pub reason: Reason,
    /// The reason in words.
    pub words: String,
    /// Whether the later task rests on the earlier one: to undo the earlier, undo the later first.
    pub holds: bool,
    /// What it costs to get round this arc, if there is a way: taking something off for a while.
    /// Only an arc of geometry has a way round.
    pub way_out: Option<Time>,
}

impl Arc {
    /// An arc; parts and geometry hold, words do not. No way round is known.
    #[must_use]
    pub fn new(before: &str, after: &str, reason: Reason, words: &str) -> Self {
        let (before, after, words) = (before.to_owned(), after.to_owned(), words.to_owned());
        let holds = reason != Reason::Said;
        Self { before, after, reason, words, holds, way_out: None }
    }
}

/// The work as someone wrote it down, unchecked.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Draft {
    /// What tasks ask for.
    pub features: Vec<Feature>,
    /// What they need.
    pub parts: Vec<Part>,
    /// What is to be done.
    pub tasks: Vec<Task>,
    /// What comes before what.
    pub arcs: Vec<Arc>,
}

/// Something in a draft, or in what is said of its state, that cannot be right.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WorkError {
    /// Nothing has that name.
    #[error("{by} names the {what} '{name}', which does not exist")]
    Unknown {
        /// Who names it.
        by: String,
        /// What it should be: task, part, feature, value.
        what: &'static str,
        /// As written.
        name: String,
    },
    /// Two things have one name.
    #[error("two {what}s are called '{name}'; each needs a name of its own")]
    Twice {
        /// What they are.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A time that cannot be.
    #[error("the time of {of} is {given}; it must lie between 0 and {HOURS_MAX} h")]
    Time {
        /// Of what.
        of: String,
        /// As given.
        given: Time,
    },
    /// A task before itself.
    #[error("'{task}' is asked to come before itself")]
    BeforeItself {
        /// The task's id.
        task: String,
    },
    /// One task asks for two values of one feature.
    #[error("'{task}' asks for both '{first}' and '{second}' of {feature}; split it in two")]
    Torn {
        /// The task's id.
        task: String,
        /// The feature.
        feature: String,
        /// One value.
        first: String,
        /// The other.
        second: String,
    },
    /// Too many of something.
    #[error("{given} {what}; at most {limit} are taken")]
    TooMany {
        /// Of what.
        what: String,
        /// How many there are.
        given: usize,
        /// How many may be.
        limit: usize,
    },
    /// The arcs go round.
    #[error("{}", .0.words)]
    Loop(WayOut),
}

/// An arc between tasks known to exist, by their positions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// Position of the task that comes first.
    pub before: usize,
    /// Position of the one after it.
    pub after: usize,
    /// The arc as written.
    pub arc: Arc,
}

/// Work that has been checked: every name is known, no loop, every time is sound.
#[derive(Debug, Clone)]
pub struct Work {
    pub(crate) draft: Draft,
    pub(crate) links: Vec<Link>,
    pub(crate) relation: Relation,
    /// Value asked for: one row per task, one column per feature; `None` is open.
    pub(crate) asks: Vec<Vec<Option<usize>>>,
    /// Parts needed: one list per task.
    pub(crate) needs: Vec<Vec<usize>>,
    /// One matrix per feature in seconds, ways round taken.
    pub(crate) changeovers: Vec<Vec<Vec<i64>>>,
    pub(crate) start: Vec<Option<usize>>,
    ids: HashMap<String, usize>,
    part_ids: HashMap<String, usize>,
}

impl Work {
    /// Checks a draft and makes it ready.
    ///
    /// # Errors
    /// Everything that cannot be right, all at once; a loop with its shortest round of reasons and
    /// the cheapest way out.
    pub fn new(draft: Draft) -> Result<Self, Vec<WorkError>> {
        let mut errors = Vec::new();
        sizes(&draft, &mut errors);
        let ids = names("task", draft.tasks.iter().map(|t| &t.id), &mut errors);
        let part_ids = names("part", draft.parts.iter().map(|p| &p.id), &mut errors);
        let features = names("feature", draft.features.iter().map(|f| &f.name), &mut errors);
        let values: Vec<_> = draft
            .features
            .iter()
            .map(|feature| names("value", feature.values.iter(), &mut errors))
            .collect();
        let changeovers: Vec<_> = draft
            .features
            .iter()
            .zip(&values)
            .map(|(feature, values)| changeovers(feature, values, &mut errors))
            .collect();
        let start = starts(&draft, &values, &mut errors);
        let asks: Vec<_> = draft
            .tasks
            .iter()
            .map(|task| asks(task, &draft, &features, &values, &mut errors))
            .collect();
        let needs = draft.tasks.iter().map(|t| needs(t, &part_ids, &mut errors)).collect();
        for task in &draft.tasks {
            let of = || format!("task '{}'", task.id);
            check_time(task.time, of, &mut errors);
            if let Undo::Takes(time) = task.undo {
                check_time(time, || format!("undoing task '{}'", task.id), &mut errors);
            }
        }
        let links = links(&draft, &ids, &mut errors);
        let pairs: Vec<_> = links.iter().map(|link| (link.before, link.after)).collect();
        let relation = Relation::new(draft.tasks.len(), &pairs);
        if relation.is_none() && draft.tasks.len() <= STEPS_MAX {
            errors.extend(way_out(&draft.tasks, &links).map(WorkError::Loop));
        }
        match relation {
            Some(relation) if errors.is_empty() => {
                Ok(Self { draft, links, relation, asks, needs, changeovers, start, ids, part_ids })
            }
            _ => Err(errors),
        }
    }

    /// The tasks, in the order of the draft; every position in a result counts in this list.
    #[must_use]
    pub fn tasks(&self) -> &[Task] {
        &self.draft.tasks
    }
    /// The features, in the order of the draft.
    #[must_use]
    pub fn features(&self) -> &[Feature] {
        &self.draft.features
    }
    /// The parts, in the order of the draft.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.draft.parts
    }
    /// The arcs, with positions.
    #[must_use]
    pub fn links(&self) -> &[Link] {
        &self.links
    }
    /// The position of a task.
    #[must_use]
    pub fn task(&self, id: &str) -> Option<usize> {
        self.ids.get(id).copied()
    }
    /// The position of a part.
    #[must_use]
    pub fn part(&self, id: &str) -> Option<usize> {
        self.part_ids.get(id).copied()
    }
    /// Whether one task has to come before another, by arcs or chains of arcs.
    #[must_use]
    pub fn precedes(&self, before: usize, after: usize) -> bool {
        before < self.draft.tasks.len() && self.relation.precedes(before, after)
    }
    /// What changing a feature costs, by the cheapest way; zero from a value not chosen yet.
    /// `None` for a feature or value that does not exist.
    #[must_use]
    pub fn changeover(&self, feature: usize, from: Option<usize>, to: usize) -> Option<Time> {
        let matrix = self.changeovers.get(feature)?;
        let zero = matrix.get(to).map(|_| 0);
        let seconds = from.map_or(zero, |from| matrix.get(from)?.get(to).copied());
        seconds.map(Time::seconds)
    }

    pub(crate) fn id(&self, task: usize) -> &str {
        self.draft.tasks.get(task).map_or("?", |task| &task.id)
    }
}

fn sizes(draft: &Draft, errors: &mut Vec<WorkError>) {
    let mut check = |what: &str, given: usize, limit: usize| {
        if given > limit {
            errors.push(WorkError::TooMany { what: what.to_owned(), given, limit });
        }
    };
    check("tasks", draft.tasks.len(), STEPS_MAX);
    check("features", draft.features.len(), FEATURES_MAX);
    for feature in &draft.features {
        check(&format!("values of {}", feature.name), feature.values.len(), VALUES_MAX);
    }
}

fn names<'a>(
    what: &'static str,
    all: impl Iterator<Item = &'a String>,
    errors: &mut Vec<WorkError>,
) -> HashMap<String, usize> {
    let mut map = HashMap::new();
    for (at, name) in all.enumerate() {
        if map.insert(name.clone(), at).is_some() {
            errors.push(WorkError::Twice { what, name: name.clone() });
        }
    }
    map
}

fn find(
    map: &HashMap<String, usize>,
    by: &str,
    what: &'static str,
    name: &str,
    errors: &mut Vec<WorkError>,
) -> Option<usize> {
    let found = map.get(name).copied();
    if found.is_none() {
        let (by, name) = (by.to_owned(), name.to_owned());
        errors.push(WorkError::Unknown { by, what, name });
    }
    found
}

fn check_time(given: Time, of: impl Fn() -> String, errors: &mut Vec<WorkError>) {
    if !(Time::ZERO..=Time::LONGEST).contains(&given) {
        errors.push(WorkError::Time { of: of(), given });
    }
}

/// Every change by its cheapest way.
fn changeovers(
    feature: &Feature,
    values: &HashMap<String, usize>,
    errors: &mut Vec<WorkError>,
) -> Vec<Vec<i64>> {
    let n = feature.values.len().min(VALUES_MAX);
    let by = format!("feature '{}'", feature.name);
    check_time(feature.otherwise, || by.clone(), errors);
    let mut cost = vec![vec![feature.otherwise.to_seconds(); n]; n];
    for change in &feature.costs {
        let from = find(values, &by, "value", &change.from, errors);
        let to = find(values, &by, "value", &change.to, errors);
        let of = || format!("the change of {} from {} to {}", feature.name, change.from, change.to);
        check_time(change.time, of, errors);
        if let (Some(from), Some(to)) = (from, to)
            && let Some(cell) = cost.get_mut(from).and_then(|row| row.get_mut(to))
        {
            *cell = change.time.to_seconds();
        }
    }
    for (at, row) in cost.iter_mut().enumerate() {
        row[at] = 0;
    }
    for by in 0..n {
        let onward = cost[by].clone();
        for row in &mut cost {
            let first = row[by];
            for (cell, &second) in row.iter_mut().zip(&onward) {
                *cell = (*cell).min(first.saturating_add(second));
            }
        }
    }
    cost
}

fn starts(
    draft: &Draft,
    values: &[HashMap<String, usize>],
    errors: &mut Vec<WorkError>,
) -> Vec<Option<usize>> {
    let both = draft.features.iter().zip(values);
    both.map(|(feature, values)| {
        let by = format!("feature '{}'", feature.name);
        feature.start.as_ref().and_then(|name| find(values, &by, "value", name, errors))
    })
    .collect()
}

fn asks(
    task: &Task,
    draft: &Draft,
    features: &HashMap<String, usize>,
    values: &[HashMap<String, usize>],
    errors: &mut Vec<WorkError>,
) -> Vec<Option<usize>> {
    let by = format!("task '{}'", task.id);
    let mut row = vec![None; draft.features.len()];
    for (name, value) in &task.context {
        let Some(feature) = find(features, &by, "feature", name, errors) else { continue };
        let Some(value) = find(&values[feature], &by, "value", value, errors) else { continue };
        if let Some(first) = row[feature].replace(value).filter(|&first| first != value) {
            let words = |at: usize| draft.features[feature].values[at].clone();
            errors.push(WorkError::Torn {
                task: task.id.clone(),
                feature: name.clone(),
                first: words(first),
                second: words(value),
            });
        }
    }
    row
}

fn needs(task: &Task, parts: &HashMap<String, usize>, errors: &mut Vec<WorkError>) -> Vec<usize> {
    let by = format!("task '{}'", task.id);
    task.parts.iter().filter_map(|name| find(parts, &by, "part", name, errors)).collect()
}

fn links(draft: &Draft, ids: &HashMap<String, usize>, errors: &mut Vec<WorkError>) -> Vec<Link> {
    let mut links = Vec::with_capacity(draft.arcs.len());
    for arc in &draft.arcs {
        let by = format!("the arc '{}' before '{}'", arc.before, arc.after);
        let before = find(ids, &by, "task", &arc.before, errors);
        let after = find(ids, &by, "task", &arc.after, errors);
        if let Some(time) = arc.way_out {
            check_time(time, || format!("the way round {by}"), errors);
        }
        match (before, after) {
            (Some(before), Some(after)) if before == after => {
                errors.push(WorkError::BeforeItself { task: arc.before.clone() });
            }
            (Some(before), Some(after)) => links.push(Link { before, after, arc: arc.clone() }),
            _ => {}
        }
    }
    links
}
