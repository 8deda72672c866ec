//! Plans of the demo with figures left out, for a judge that shares no code with them.
//!
//! ```text
//! cargo run --package axlewright-setup --example safe -- slice | python3 reference/safe_judge.py
//! ```
//!
//! One line of JSON for each case:
//!
//! | kind | what is left out, or drawn |
//! |---|---|
//! | figure, table | each in turn |
//! | half | every figure with one chance in two, seeded |
//! | unsaid | the `after` of the steps, all of them or every second by chance |
//! | step | each step: the plan stops there and names it |
//! | invented | cars nobody built, see `cars` |
//! | answers | cars that follow the method, nothing measured, see `answers` |
//! | without | a safeguard of the builder, see `drills` |
//!
//! `slice` is a seeded handful of each, for the tests; `soak` has 5000 halves.

mod answers;
mod cars;
mod cut;
#[path = "../workshop/sim/dice.rs"]
#[expect(dead_code, reason = "the other example rolls the rest of it")]
mod dice;
mod drills;

use std::collections::BTreeMap;

use axlewright_book::{Adjuster, CarFile, Field, Severity, Spanning, read};
use axlewright_quantity::{Angle, Corner, Mass, Side};
use axlewright_setup::order::drill::{self, Drill};
use axlewright_setup::order::{Control, OrderQuestion};
use axlewright_setup::{Assessment, Finding, Item, State, Subject, assess};

use cut::Piece;
use dice::Dice;

const LARCH: &str = include_str!("../../../../examples/larch-1300/car.toml");
const SEED: u64 = 2611;
/// Findings the judge asks after.
const ASKED: [&str; 6] =
    ["window.damper", "window.half-shaft", "window.hose", "window.cable", "droop", "index.choices"];

/// What has to come of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Expect {
    /// A plan with all its steps.
    Plan,
    /// No plan, and what is wrong is named.
    Named,
    /// A plan that stops where the step is missing.
    Stops,
    /// A plan in which the judge finds something.
    Wrong,
    /// None: what the file itself says holds all that this safeguard does.
    Held,
    /// A plan with a step that the judge does not know.
    Unknown,
}

impl Expect {
    const fn word(self) -> &'static str {
        match self {
            Self::Plan => "plan",
            Self::Named => "named",
            Self::Stops => "stops",
            Self::Wrong => "wrong",
            Self::Held => "held",
            Self::Unknown => "unknown",
        }
    }
}

/// What is left out or changed, and the file that is left.
#[derive(Clone)]
struct Case {
    name: String,
    text: String,
    expect: Expect,
    about: String,
    drill: Drill,
}

impl Case {
    fn plan(name: String, text: String) -> Self {
        Self { name, text, expect: Expect::Plan, about: String::new(), drill: Drill::default() }
    }
}

/// What invented cars came to.
struct Drawn {
    cases: Vec<Case>,
    drawn: u64,
    why: BTreeMap<String, u64>,
}

/// So many cars that can be read; those that cannot are counted with what is wrong in them.
fn invented(pieces: &[Piece], many: u64) -> Drawn {
    let mut all = Drawn { cases: Vec::new(), drawn: 0, why: BTreeMap::new() };
    for number in 0..many * 4 {
        if all.cases.len() as u64 == many {
            break;
        }
        all.drawn += 1;
        let (like, text) = cars::car(pieces, number);
        let problems = read(&text).1;
        match problems.into_iter().find(|problem| problem.severity == Severity::Error) {
            Some(problem) => *all.why.entry(problem.what).or_default() += 1,
            None => all.cases.push(Case::plan(format!("invented: {number} ({like})"), text)),
        }
    }
    all
}

fn quoted<S: AsRef<str>>(list: impl IntoIterator<Item = S>) -> String {
    let one = |text: S| {
        let plain: String = text.as_ref().chars().filter(|c| !c.is_control()).collect();
        format!("\"{}\"", plain.replace('\\', "\\\\").replace('"', "\\\""))
    };
    list.into_iter().map(one).collect::<Vec<_>>().join(", ")
}

fn ids(out: &Assessment, key: Option<&str>) -> Vec<String> {
    let id = if key.is_some() { "order.safety" } else { "order.sequence" };
    let value = out.find(id, None).map(|found| &found.value);
    let list = match key {
        Some(key) => value.and_then(|value| value.get(key)),
        None => value,
    };
    let rows = list.map(Item::items).unwrap_or_default().iter();
    rows.filter_map(|row| match row.get("step") {
        Some(Item::Word(id)) => Some(id.clone()),
        _ => None,
    })
    .collect()
}

fn known(car: &CarFile, facts: &Assessment) -> Vec<String> {
    let mut known = Vec::new();
    for side in Side::BOTH {
        let of = Subject::Corner(Corner::rear(side));
        let found = ASKED.iter().filter(|id| facts.find(id, Some(&of)).is_some());
        known.extend(found.map(|id| format!("{id}-{side}")));
        if car.word(Field::SplinesAdjuster, side) == Some(Adjuster::Screw.word()) {
            known.push(format!("screw-{side}"));
        }
    }
    known
}

/// Figures the judge weighs itself: where each part ends, where the arm rests, the ballast.
fn figures(facts: &Assessment) -> String {
    let mut rows = Vec::new();
    for side in Side::BOTH {
        let of = Some(Subject::Corner(Corner::rear(side)));
        let at = |id: &str, state| {
            facts.findings.iter().find(|f| f.id == id && f.of == of && f.at == state)
        };
        let angle = |found: &Finding, key: &str| {
            let value = found
                .value
                .get("windows")
                .map_or(&found.value, |list| list.items().first().unwrap_or(&Item::Nothing));
            let amount = value.get(key)?.amount()?;
            Angle::try_from(amount).ok().map(Angle::to_deg)
        };
        let mut row = |name: String, value: Option<f64>| {
            rows.extend(value.map(|value| format!("\"{name}-{side}\": {value:.4}")));
        };
        row("rest".to_owned(), at("droop", Some(State::Target)).and_then(rest));
        for span in Spanning::ALL {
            let id = format!("window.{}", span.word().replace(' ', "-"));
            row(format!("to-{span}"), at(&id, None).and_then(|f| angle(f, "to")));
        }
        if let Some(raise) = at("raise.stop-bolt", Some(State::Target)) {
            // Where the act is barred no mass is told: it is more than any.
            let is_barred = matches!(raise.value.get("barred_by"), Some(Item::Word(_)));
            let mass = raise.value.get("ballast_with_margin").and_then(Item::amount);
            let mass = mass.and_then(|mass| Mass::try_from(mass).ok()).map(Mass::to_kg);
            row("ballast".to_owned(), if is_barred { Some(9999.0) } else { mass });
        }
    }
    rows.join(", ")
}

/// Where the arm stays on its way down: on stop bolt or damper, or in balance before either.
fn rest(droop: &Finding) -> Option<f64> {
    let rows = droop.value.get("limits")?.items().iter();
    let holds = ["stop bolt", "damper", "nothing"];
    let stops = rows.filter(
        |row| matches!(row.get("by"), Some(Item::Word(by)) if holds.contains(&by.as_str())),
    );
    let angles = stops.filter_map(|row| Angle::try_from(row.get("angle")?.amount()?).ok());
    angles.map(Angle::to_deg).min_by(f64::total_cmp)
}

/// One line for the judge.
fn judged(case: &Case) -> String {
    let (car, problems): (CarFile, _) = read(&case.text);
    let errors = problems.iter().filter(|problem| problem.severity == Severity::Error);
    let mut told: Vec<String> = errors.map(|problem| problem.what.clone()).collect();
    let facts = assess(&car);
    let question = OrderQuestion { moves: Some(1), ..OrderQuestion::default() };
    let is_held = case.expect == Expect::Held;
    let out = if told.is_empty() && !is_held {
        drill::order(&car, &facts, &question, &case.drill, &mut |_| Control::Go)
            .unwrap_or_else(|problems| Assessment { problems, ..Assessment::default() })
    } else {
        Assessment::default()
    };
    told.extend(out.problems.iter().cloned());
    let all = car.steps.iter().map(|step| step.id.value.as_str());
    format!(
        "{{\"case\": {}, \"expect\": \"{}\", \"about\": {}, \"order\": [{}], \"all\": [{}], \
         \"gates\": [{}], \"known\": [{}], \"figures\": {{{}}}, \"problems\": [{}], \
         \"method\": \"{}\"}}",
        quoted([&case.name]),
        case.expect.word(),
        quoted([&case.about]),
        quoted(ids(&out, None)),
        quoted(all),
        quoted(ids(&out, Some("gates"))),
        quoted(known(&car, &facts)),
        figures(&facts),
        quoted(told),
        car.method().map_or("", |follows| &follows.method.name),
    )
}

fn cases(kind: &str, pieces: &[Piece], facts: &Assessment) -> (Vec<Case>, Drawn) {
    let every = |cases: Vec<Case>, nth: usize| cases.into_iter().step_by(nth);
    let mut cases = vec![Case::plan("whole: demo".to_owned(), LARCH.to_owned())];
    let renamed = LARCH.replace("seats-clean", "seats-tidied");
    let expect = Expect::Unknown;
    cases.push(Case { expect, ..Case::plan("renamed: seats-clean".to_owned(), renamed) });
    let cars = match kind {
        "slice" => {
            cases.extend(every(cut::figures(pieces), 61));
            cases.extend(every(cut::tables(pieces), 29));
            cases.extend(every(cut::steps(pieces), 23));
            cases.extend(cut::halves(pieces, 4));
            cases.extend(cut::unsaid_halves(pieces, 1));
            cases.extend(every(drills::arcs(pieces, facts), 20));
            cases.extend(every(drills::wants(pieces), 12));
            cases.extend(every(drills::gates(), 6));
            cases.extend(every(answers::all(), 37));
            invented(pieces, 6)
        }
        "unsaid" => {
            cases.extend(cut::unsaid_halves(pieces, 40));
            cases.extend(cut::steps(pieces));
            invented(pieces, 60)
        }
        "answers" => {
            cases.clear();
            cases.extend(answers::all());
            invented(pieces, 0)
        }
        "drills" => {
            cases.extend(drills::all(pieces, facts));
            invented(pieces, 0)
        }
        _ => {
            cases.extend(cut::figures(pieces));
            cases.extend(cut::tables(pieces));
            cases.extend(cut::steps(pieces));
            cases.extend(cut::halves(pieces, if kind == "soak" { 5000 } else { 200 }));
            cases.extend(cut::unsaid_halves(pieces, 40));
            cases.extend(drills::all(pieces, facts));
            cases.extend(answers::all());
            invented(pieces, 500)
        }
    };
    cases.extend(cars.cases.iter().cloned());
    (cases, cars)
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let kind = words.first().map_or("all", String::as_str);
    let pieces = cut::pieces(LARCH);
    let facts = assess(&read(LARCH).0);
    let (cases, cars) = cases(kind, &pieces, &facts);
    let why: Vec<String> =
        cars.why.iter().map(|(what, many)| format!("{}: {many}", quoted([what]))).collect();
    println!(
        "{{\"drawn\": {}, \"judged\": {}, \"why\": {{{}}}}}",
        cars.drawn,
        cars.cases.len(),
        why.join(", ")
    );
    // Two hands take turns, so that neither gets all the long ones.
    let lines: Vec<String> = std::thread::scope(|scope| {
        let work = |from: usize| -> Vec<String> {
            cases.iter().skip(from).step_by(2).map(judged).collect()
        };
        let hands = [0, 1].map(|from| scope.spawn(move || work(from)));
        let joined = |hand: std::thread::ScopedJoinHandle<'_, Vec<String>>| {
            hand.join().unwrap_or_else(|_| std::process::exit(101))
        };
        hands.into_iter().flat_map(joined).collect()
    });
    for line in lines {
        println!("{line}");
    }
}
