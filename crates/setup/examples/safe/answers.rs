//! Cars that follow the method with nothing measured, each answered otherwise.

use axlewright_book::Method;

use super::Case;

/// Two answers to each of eight questions: every pairing is a case.
const PAIRED: [(&str, [&str; 2]); 8] = [
    ("half_shaft", ["yes", "no"]),
    ("brake", ["drum", "disc"]),
    ("cover_bush", ["greased", "rubber"]),
    ("damper_rings", ["yes", "no"]),
    ("anti_roll_bar", ["yes", "no"]),
    ("handbrake", ["on the arm", "elsewhere"]),
    ("body", ["stands", "something that rolls"]),
    ("people", ["one", "two"]),
];
/// The others go round, so that each of their answers meets each of those above.
const ROUND: [(&str, &[&str], usize); 3] = [
    ("stop", &["bolt", "bolt of the cover", "damper"], 1),
    ("eccentrics", &["both", "front", "rear", "none"], 3),
    ("engine", &["stays in", "comes out", "in front"], 5),
];

fn text(number: usize) -> String {
    let paired = PAIRED.iter().enumerate().map(|(at, (question, answers))| {
        format!("{question} = \"{}\"\n", answers[number >> at & 1])
    });
    let round = ROUND.iter().map(|(question, answers, every)| {
        format!("{question} = \"{}\"\n", answers[number / every % answers.len()])
    });
    let answers: String = paired.chain(round).collect();
    format!("format = 1\nmethod = \"trailing-arm\"\n\n[answers]\n{answers}")
}

/// All 256 cars, and for each method in the program one with nothing answered.
pub fn all() -> Vec<Case> {
    let plain = Method::names().into_iter().map(|name| {
        let text = format!("format = 1\nmethod = \"{name}\"\n");
        Case::plan(format!("answers: none, {name}"), text)
    });
    let answered =
        (0..1 << PAIRED.len()).map(|number| Case::plan(format!("answers: {number}"), text(number)));
    plain.chain(answered).collect()
}
