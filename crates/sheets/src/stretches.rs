//! A plan cut into stretches: steps of one phase that follow each other, with what to lay out.
//!
//! The order of least changeover may slip a step of one phase between steps of another, where the
//! tool is in the hand anyway. One or two of those do not tear a stretch in two: they stay in it
//! and say their own phase.

use axlewright_setup::{Item, capital};

/// So many steps of another phase stay within a stretch that goes on after them.
const SLIPPED_IN_MAX: usize = 2;

/// Steps of one phase that follow each other in a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch<'a> {
    /// `Assembly`, `Dry run · left side`, `Assembly, continued`.
    pub title: String,
    /// The phase of its steps, as the finding says it.
    pub phase: &'a str,
    /// The number of its first step in the plan, from 1.
    pub first: usize,
    /// The steps, items of `order.sequence`.
    pub steps: Vec<&'a Item>,
    /// Parts to lay out, in the order in which they are needed.
    pub parts: Vec<String>,
    /// Tools to lay out, in the order in which they are needed.
    pub tools: Vec<&'a str>,
    /// Minutes of its steps and of the changes before them.
    pub minutes: i64,
}

/// A word of an item; nothing where it is not known.
pub fn word<'a>(item: &'a Item, key: &str) -> Option<&'a str> {
    match item.get(key) {
        Some(Item::Word(word)) => Some(word),
        _ => None,
    }
}

/// What an order was made without, by what is to be measured first for it: in the order in which
/// the measurements are named, each once.
pub fn by_measure(unknown: &[Item]) -> Vec<(&str, Vec<&Item>)> {
    let mut all: Vec<(&str, Vec<&Item>)> = Vec::new();
    for row in unknown {
        let measure = word(row, "measure").unwrap_or_default();
        match all.iter_mut().find(|(known, _)| *known == measure) {
            Some((_, rows)) => rows.push(row),
            None => all.push((measure, vec![row])),
        }
    }
    all
}

/// A count of an item; nothing where it is not known.
pub fn count(item: &Item, key: &str) -> Option<i64> {
    match item.get(key) {
        Some(Item::Count(count, _)) => Some(*count),
        _ => None,
    }
}

/// Whether a flag of an item is set.
pub fn is(item: &Item, key: &str) -> bool {
    item.get(key) == Some(&Item::Flag(true))
}

/// The words of a list that is part of an item.
pub fn listed<'a>(item: &'a Item, key: &str) -> Vec<&'a str> {
    let items = item.get(key).map(Item::items).unwrap_or_default();
    items
        .iter()
        .filter_map(|item| if let Item::Word(w) = item { Some(&**w) } else { None })
        .collect()
}

/// What to change before a step, in lines: walking, washing and tools on one, each move of the jack
/// on its own. Hands that need no washing are left out, as the step itself says how they are.
pub fn first_lines(step: &Item) -> Vec<String> {
    let is_small = |change: &str| {
        ["go to: ", "take: ", "wash: "].iter().any(|begin| change.starts_with(begin))
    };
    let changes = listed(step, "changes");
    let small: Vec<&str> = changes.iter().copied().filter(|change| is_small(change)).collect();
    let mut lines = Vec::new();
    if !small.is_empty() {
        lines.push(small.join("; "));
    }
    let large = changes.iter().filter(|change| !is_small(change) && !change.ends_with(" hands"));
    lines.extend(large.map(|change| (*change).to_owned()));
    lines
}

/// How late each part may come, parts that come together and may be late together in one line;
/// `floats` is the value `part_floats` of `order.finish`.
pub fn float_lines(floats: &[Item]) -> Vec<String> {
    let mut groups: Vec<(String, Vec<&str>)> = Vec::new();
    for float in floats {
        let late = match count(float, "may_be_later_by") {
            Some(1) => "1 day later".to_owned(),
            Some(days) if 1 < days => format!("{days} days later"),
            _ => "not a day later".to_owned(),
        };
        let comes = word(float, "comes").unwrap_or_default();
        let comes = comes.strip_suffix(" 00:00").unwrap_or(comes);
        let head = format!("coming {comes}, may come {late}: ");
        let part = word(float, "part").unwrap_or_default();
        match groups.iter_mut().find(|(had, _)| *had == head) {
            Some((_, parts)) => parts.push(part),
            None => groups.push((head, vec![part])),
        }
    }
    groups.into_iter().map(|(head, parts)| format!("{head}{}", parts.join(", "))).collect()
}

/// `left arm`, `right arm` become `arm, left and right`; everything else stays, each once.
pub fn both_sides(words: &[&str]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in words {
        let (one, rest) = word.split_once(' ').unwrap_or((word, ""));
        let other = match one {
            "left" => format!("right {rest}"),
            "right" => format!("left {rest}"),
            _ => String::new(),
        };
        let told = if words.contains(&other.as_str()) {
            format!("{rest}, left and right")
        } else {
            (*word).to_owned()
        };
        if !out.contains(&told) {
            out.push(told);
        }
    }
    out
}

/// The numbers of a plan's steps, from 1, so that reasons can name them as the pages do.
#[derive(Debug, Default)]
pub struct Numbers<'a>(std::collections::BTreeMap<&'a str, usize>);

impl<'a> Numbers<'a> {
    /// Of the value of `order.sequence`.
    pub fn new(sequence: &'a [Item]) -> Self {
        let ids = sequence.iter().enumerate();
        Self(ids.filter_map(|(at, step)| Some((word(step, "step")?, at + 1))).collect())
    }

    /// `step 14`; by its id where it is not in the plan.
    pub fn name(&self, id: &str) -> String {
        self.0.get(id).map_or_else(|| format!("“{id}”"), |number| format!("step {number}"))
    }

    /// `step 14`, `steps 14, 15 and “x”`; nothing for no step.
    pub fn listed<'b>(&self, ids: impl Iterator<Item = &'b str>) -> Option<String> {
        let (mut known, mut unknown) = (Vec::new(), Vec::new());
        for id in ids {
            match self.0.get(id) {
                Some(number) => known.push(*number),
                None => unknown.push(format!("“{id}”")),
            }
        }
        known.sort_unstable();
        let mut names: Vec<String> = known.iter().map(ToString::to_string).collect();
        names.append(&mut unknown);
        let last = names.pop()?;
        let said = if known.is_empty() { "" } else { "step " };
        Some(match names.len() {
            0 => format!("{said}{last}"),
            _ => format!("steps {} and {last}", names.join(", ")),
        })
    }

    /// A text with the steps in it, written between backticks, named by their numbers.
    pub fn told(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        for (at, piece) in text.split('`').enumerate() {
            if at % 2 == 1 {
                out.push_str(&self.name(piece));
            } else {
                out.push_str(piece);
            }
        }
        out
    }
}

/// The stretches of a plan, in its order; `sequence` is the value of `order.sequence`, or another
/// list of such steps.
pub fn stretches(sequence: &[Item]) -> Vec<Stretch<'_>> {
    let mut out: Vec<Stretch<'_>> = Vec::new();
    let mut first = 1;
    for steps in runs(sequence) {
        let count = steps.len();
        let stretch = stretch(steps, first, &out);
        out.push(stretch);
        first += count;
    }
    out
}

/// Runs of one phase, short ones taken in by the run that goes on around them.
fn runs(sequence: &[Item]) -> Vec<Vec<&Item>> {
    let phase = |item: &Item| word(item, "phase").unwrap_or_default().to_owned();
    let mut plain: Vec<(String, Vec<&Item>)> = Vec::new();
    for item in sequence {
        match plain.last_mut() {
            Some((of, items)) if *of == phase(item) => items.push(item),
            _ => plain.push((phase(item), vec![item])),
        }
    }
    let mut out: Vec<(String, Vec<&Item>)> = Vec::new();
    let mut rest = plain.into_iter().peekable();
    while let Some((of, items)) = rest.next() {
        let goes_on = |next: &(String, Vec<&Item>)| out.last().is_some_and(|o| o.0 == next.0);
        let slipped_in = items.len() <= SLIPPED_IN_MAX && rest.peek().is_some_and(goes_on);
        match out.last_mut() {
            Some(last) if slipped_in || last.0 == of => last.1.extend(items),
            _ => out.push((of, items)),
        }
    }
    out.into_iter().map(|(_, items)| items).collect()
}

fn stretch<'a>(steps: Vec<&'a Item>, first: usize, before: &[Stretch<'_>]) -> Stretch<'a> {
    let phase = steps.first().and_then(|step| word(step, "phase")).unwrap_or_default();
    let side = steps.first().and_then(|step| word(step, "side"));
    let one_sided = side.filter(|side| steps.iter().all(|s| word(s, "side") == Some(*side)));
    let mut title = capital(if phase.is_empty() { "work" } else { phase });
    if let Some(side) = one_sided {
        title = format!("{title} · {side} side");
    }
    if before.iter().any(|earlier| earlier.title == title) {
        title.push_str(", continued");
    }
    let mut parts: Vec<&str> = Vec::new();
    let mut tools: Vec<&str> = Vec::new();
    let mut minutes = 0i64;
    for step in &steps {
        parts.extend(listed(step, "parts"));
        tools.extend(word(step, "tool").filter(|tool| !tools.contains(tool)));
        for key in ["minutes", "change_minutes"] {
            minutes = minutes.saturating_add(count(step, key).unwrap_or(0));
        }
    }
    Stretch { title, phase, first, parts: both_sides(&parts), tools, minutes, steps }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn step(phase: &str, side: &str) -> Item {
        Item::Object(vec![
            ("phase", Item::Word(phase.to_owned())),
            ("side", Item::Word(side.to_owned())),
            ("minutes", Item::Count(10, "min")),
            ("change_minutes", Item::Count(2, "min")),
            (
                "parts",
                Item::List(vec![Item::Word(format!("{side} arm")), Item::Word("oil".into())]),
            ),
        ])
    }

    #[track_caller]
    fn check(phases: &[(&str, &str)], wanted: &[(&str, usize, usize)]) {
        let steps: Vec<Item> = phases.iter().map(|(phase, side)| step(phase, side)).collect();
        let found = stretches(&steps);
        let found: Vec<(&str, usize, usize)> =
            found.iter().map(|s| (s.title.as_str(), s.first, s.steps.len())).collect();
        assert_eq!(found, wanted);
    }

    #[test]
    fn a_step_slipped_in_does_not_tear_a_stretch() {
        let (a, b, l, r) = ("inspect", "dry run", "left", "right");
        check(&[], &[]);
        check(&[(a, l), (a, r), (b, l), (a, r)], &[("Inspect", 1, 4)]);
        check(&[(a, l), (b, l)], &[("Inspect · left side", 1, 1), ("Dry run · left side", 2, 1)]);
        check(
            &[(a, l), (b, l), (b, l), (b, l), (a, l), (a, l), (a, l), (b, r)],
            &[
                ("Inspect · left side", 1, 1),
                ("Dry run · left side", 2, 3),
                ("Inspect · left side, continued", 5, 3),
                ("Dry run · right side", 8, 1),
            ],
        );
    }

    #[test]
    fn a_move_of_the_jack_has_its_own_line() {
        let changes = ["go to: bench", "greasy hands", "take: drill", "left side: jack up, 900 N"];
        let changes = changes.map(|change| Item::Word(change.to_owned())).to_vec();
        let step = Item::Object(vec![("changes", Item::List(changes))]);
        assert_eq!(first_lines(&step), ["go to: bench; take: drill", "left side: jack up, 900 N"]);
        assert!(first_lines(&Item::Nothing).is_empty());
    }

    #[test]
    fn parts_that_come_together_stand_in_one_line() {
        let float = |part: &str, days| {
            let (part, comes) = (Item::Word(part.to_owned()), Item::Word("Sat 1964 00:00".into()));
            let late = Item::Count(days, "days");
            Item::Object(vec![("part", part), ("comes", comes), ("may_be_later_by", late)])
        };
        let floats = [float("a", 4), float("b", 0), float("c", 4), float("d", 1)];
        assert_eq!(
            float_lines(&floats),
            [
                "coming Sat 1964, may come 4 days later: a, c",
                "coming Sat 1964, may come not a day later: b",
                "coming Sat 1964, may come 1 day later: d",
            ]
        );
    }

    #[test]
    fn steps_are_named_by_their_numbers() {
        let named = |id: &str| Item::Object(vec![("step", Item::Word(id.to_owned()))]);
        let plan = [named("bar-in"), named("arm-on")];
        let numbers = Numbers::new(&plan);
        assert_eq!(
            numbers.told("`arm-on` waits for `x`, not for `bar-in`"),
            "step 2 waits for “x”, not for step 1"
        );
        assert_eq!(numbers.told("nobody"), "nobody");
        let listed = |ids: &[&str]| numbers.listed(ids.iter().copied());
        assert_eq!(listed(&["x", "arm-on", "bar-in"]).unwrap(), "steps 1, 2 and “x”");
        assert_eq!((listed(&["arm-on"]).unwrap(), listed(&[])), ("step 2".to_owned(), None));
    }

    #[test]
    fn what_to_lay_out_names_both_sides_once() {
        let steps = [step("assembly", "left"), step("assembly", "right")];
        let found = stretches(&steps);
        assert_eq!(found[0].parts, ["arm, left and right", "oil"]);
        assert_eq!(found[0].minutes, 24);
        assert_eq!(both_sides(&["left arm", "right"]), ["left arm", "right"]);
    }
}
