//! From whole car files to findings and gaps.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod asked_for;
mod at_angle;
mod cautions;
mod contradictions;
mod cross_checks;
mod gaps;
mod joints;
mod ladder;
mod larch;
mod limits;
mod log;
mod mends;
mod method;
mod order;
mod physical;
mod quick;
mod record;
mod rungs;
mod safety;
#[path = "../../../../tests/slow.rs"]
mod slow;
mod wheels;
mod wild;
mod workshop;

use std::sync::LazyLock;

use axlewright_quantity::{Amount, Corner};
use axlewright_setup::{Assessment, Finding, Item, State, Subject, assess};

/// The demo's car file.
pub(crate) const LARCH: &str = include_str!("../../../../examples/larch-1300/car.toml");

pub(crate) const LEFT: Subject = Subject::Corner(Corner::LeftRear);
pub(crate) const RIGHT: Subject = Subject::Corner(Corner::RightRear);

/// What the demo's car file comes to: asked for by most tests, and the same each time.
pub(crate) fn demo() -> &'static Assessment {
    static DEMO: LazyLock<Assessment> = LazyLock::new(|| assessed(LARCH));
    &DEMO
}

/// The demo with a body so heavy that the stands bear raising an arm on the teeth as they are too:
/// what the jack bears does not hang on it.
pub(crate) fn heavy() -> &'static Assessment {
    static HEAVY: LazyLock<Assessment> = LazyLock::new(|| assessed(&heavy_car()));
    &HEAVY
}

/// Its car file.
pub(crate) fn heavy_car() -> String {
    LARCH
        .replace("mass_at = \"900, 0, 250 mm\"", "mass_at = \"900, 0, 250 mm u 1 mm\"")
        .replace("mass = \"520 kg\"", "mass = \"1200 kg u 1 kg\"")
}

/// Reads a car file that must be without errors, and assesses it.
pub(crate) fn assessed(text: &str) -> Assessment {
    let (car, problems) = axlewright_book::read(text);
    let errors: Vec<_> =
        problems.iter().filter(|p| p.severity == axlewright_book::Severity::Error).collect();
    assert!(errors.is_empty(), "{errors:?}");
    assess(&car)
}

pub(crate) fn finding<'a>(
    out: &'a Assessment,
    id: &str,
    of: &Subject,
    at: Option<State>,
) -> &'a Finding {
    let found = |f: &&Finding| f.id == id && f.of.as_ref() == Some(of) && f.at == at;
    out.findings.iter().find(found).unwrap_or_else(|| panic!("no {id} of {of:?} at {at:?}"))
}

/// The number at a path inside a finding's value: `""` for the value itself.
pub(crate) fn number(value: &Item, path: &str) -> Amount {
    let item = path.split('.').filter(|p| !p.is_empty()).fold(value, |item, part| {
        match part.parse::<usize>() {
            Ok(at) => &item.items()[at],
            Err(_) => item.get(part).unwrap_or_else(|| panic!("no {part} in {item:?}")),
        }
    });
    item.amount().unwrap_or_else(|| panic!("{path} is no number: {item:?}"))
}

/// The demo's car file with one key's line taken out. Keys that run over several lines end at the
/// closing bracket.
pub(crate) fn without(text: &str, path: &str) -> String {
    let (section, key) = path.rsplit_once('.').unwrap();
    let mut inside = false;
    let mut skipping = false;
    let mut found = false;
    let mut out = String::new();
    for line in text.lines() {
        let trimmed = line.trim();
        if trimmed.starts_with('[') && !skipping {
            inside = trimmed == format!("[{section}]");
        }
        let starts = inside && trimmed.split('=').next().is_some_and(|k| k.trim() == key);
        if starts {
            found = true;
            skipping = trimmed.ends_with('[');
            continue;
        }
        if skipping {
            skipping = trimmed != "]";
            continue;
        }
        out.push_str(line);
        out.push('\n');
    }
    assert!(found, "{path} is not in the demo");
    out
}
