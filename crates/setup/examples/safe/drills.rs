//! The builder with one safeguard less, one after the other: the judge has to notice each.
//!
//! An arc is tried on the method with no `after` in it, where nothing but what the steps do keeps
//! them in order; the file then asks for two of its steps the wrong way round. With the arc in
//! place the builder refuses that; without it the plan does as it is told.

use axlewright_book::read;
use axlewright_setup::order::drill::{self, Drill, GateKind, Safeguard};
use axlewright_setup::{Assessment, assess};

use super::cut::{self, Piece};
use super::{Case, Expect, LARCH};

/// Every drill there is.
pub fn all(pieces: &[Piece], facts: &Assessment) -> Vec<Case> {
    let mut cases = arcs(pieces, facts);
    cases.extend(wants(pieces));
    cases.extend(gates());
    cases
}

fn case(kind: &str, words: &str, text: &str, drill: Drill) -> Case {
    let mut case = Case::plan(format!("without {kind}: {words}"), text.to_owned());
    case.expect = Expect::Wrong;
    case.drill = drill;
    case
}

/// Each kind of arc, the others that hold the same steps taken out with it; and the same file with
/// this one arc in place.
pub fn arcs(pieces: &[Piece], facts: &Assessment) -> Vec<Case> {
    let text = cut::unsaid(pieces);
    let (car, _) = read(&text);
    let mut cases = Vec::new();
    for tried in drill::arcs(&car, facts) {
        let tried = match tried {
            Ok(tried) => tried,
            Err(words) => {
                let held = case("arc", &words, "", Drill::default());
                cases.push(Case { expect: Expect::Held, ..held });
                continue;
            }
        };
        let (first, then) = tried.pair;
        // That nothing was watched shows where the car comes down.
        let about = format!("{first} {then} wheels-down");
        let mut asked = vec![(then.clone(), first.clone())];
        // The one arm is on its jack when the other is begun: either may be the first.
        if let Some(side) = first.strip_prefix("unload-bar-").filter(|_| tried.others.is_empty()) {
            asked.push((format!("stop-bolt-off-{side}"), then));
        }
        let others: Vec<Safeguard> = tried.others.into_iter().map(Safeguard::Arcs).collect();
        let words = match others.len() {
            0 => tried.words.clone(),
            many => format!("{} (and {many} that hold the same)", tried.words),
        };
        let without = others.iter().cloned().chain([Safeguard::Arcs(tried.words)]).collect();
        let spoilt = case("arc", &words, &text, Drill { without, asked: asked.clone() });
        cases.push(Case { about, ..spoilt });
        let mut kept = case("nothing", &words, &text, Drill { without: others, asked });
        kept.expect = Expect::Named;
        cases.push(kept);
    }
    cases
}

/// Each step that a plan stops at where it is left out: with nothing that stops it, and with this
/// one alone.
pub fn wants(pieces: &[Piece]) -> Vec<Case> {
    let mut cases: Vec<Case> = Vec::new();
    let mut seen: Vec<String> = Vec::new();
    for out in cut::steps(pieces).into_iter().filter(|case| case.expect == Expect::Stops) {
        let all = drill::wants(&read(&out.text).0);
        for words in &all {
            let kind = words.split(", ").next().unwrap_or_default();
            if seen.iter().any(|had| had == kind) {
                continue;
            }
            seen.push(kind.to_owned());
            let others = all.iter().filter(|other| !other.starts_with(kind));
            let others = others.cloned().map(Safeguard::Want).collect();
            let every = all.iter().cloned().map(Safeguard::Want).collect();
            // With the engine still in, nothing else need load the stands.
            let asked = match out.about.as_str() {
                "ballast" => vec![("engine-out".to_owned(), "stop-bolt-in-left".to_owned())],
                _ => Vec::new(),
            };
            let drill = |without| Drill { without, asked: asked.clone() };
            let words = format!("{kind}; {} left out", out.about);
            cases.push(case("want", &words, &out.text, drill(every)));
            let mut kept = case("nothing", &words, &out.text, drill(others));
            kept.expect = Expect::Named;
            cases.push(kept);
        }
    }
    cases
}

/// One car for each kind of gate.
pub fn gates() -> Vec<Case> {
    let cars = [
        (GateKind::OfferedUp, "the hose's length", "free_length = \"166 mm ± 2 mm\"", ""),
        (GateKind::OfferedUp, "the cable's length", "free_length = \"452 mm\"", ""),
        (GateKind::OfferedUp, "the half-shaft's inner joint", "inner_joint = ", "# "),
        (GateKind::OfferedUp, "the damper's length", "open = \"474 mm\"", ""),
        (
            GateKind::TooShort,
            "a hose that is too short",
            "free_length = \"166 mm ± 2 mm\"",
            "free_length = \"152 mm\"",
        ),
        (GateKind::Teeth, "the bars' diameter", "fitted_diameter = \"23.0 mm\"", ""),
        (
            GateKind::Stands,
            "a shell light at the tail",
            "mass_at = \"900, 0, 250 mm\"",
            "mass_at = \"1150, 0, 250 mm\"",
        ),
    ];
    let made = cars.into_iter().flat_map(|(kind, what, old, new)| {
        let new = if new == "# " { format!("# {old}") } else { new.to_owned() };
        let text = LARCH.replacen(old, &new, 1);
        let (car, _) = read(&text);
        let has = drill::gate_kinds(&car, &assess(&car)).contains(&kind);
        let words = format!("{kind:?}, {what}{}", if has { "" } else { ": NO SUCH GATE" });
        let without = vec![Safeguard::Gates(kind)];
        let mut kept = case("nothing", &words, &text, Drill::default());
        kept.expect = Expect::Plan;
        [case("gate", &words, &text, Drill { without, asked: Vec::new() }), kept]
    });
    made.collect()
}
