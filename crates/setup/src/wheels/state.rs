//! What a round says: which bar, which side, and which reading fits nothing.

use axlewright_mechanics::car::Knob;
use axlewright_mechanics::car::learn::{Learned, Said};
use axlewright_quantity::{Amount, Angle, Corner, Kind, Length, Side};

use super::bench::Bench;
use super::expected::readings as rest_readings;
use super::round::{Taught, place};
use crate::finding::{Finding, Input, Item, Leaf, Why};
use crate::say::{deg, deg_signed, minus, mm};

pub(crate) const LEARNED: &str = "least squares with what was known before (Gauss-Newton); own \
    derivation, docs/method.md, whole car";

/// A leaf with its uncertainty.
pub(crate) fn sure(value: Amount, u: Amount) -> Item {
    Item::Leaf(Leaf { value, u: Some(u), written: None })
}

/// An amount as a sentence has it.
pub(crate) fn said(amount: Amount) -> String {
    let one = |places: usize| minus(format!("{:.places$}", amount.shown()));
    match amount.kind() {
        Kind::Mass => format!("{} kg", one(0)),
        Kind::Length => Length::try_from(amount).map_or_else(|_| one(0), |l| mm(l, 0)),
        Kind::Angle => Angle::try_from(amount).map_or_else(|_| one(2), |a| deg(a, 2)),
        Kind::Ratio => minus(format!("{:.2} %", amount.to_si() * 100.0)),
        kind => format!("{} {}", one(1), kind.unit()),
    }
}

/// Which part of the car a knob belongs to.
const fn side_of(knob: Knob) -> Option<Side> {
    match knob {
        Knob::FreeAngle(side)
        | Knob::ShiftU(side)
        | Knob::ShiftW(side)
        | Knob::BarShare(side)
        | Knob::Gas(side)
        | Knob::FrontRate(side)
        | Knob::FrontRaised(side) => Some(side),
        _ => None,
    }
}

/// A knob moved, as the restorer would say it.
fn cause_words(learned: &Learned) -> Option<String> {
    let by = learned.by;
    let up = 0.0 < by.to_si();
    let u = learned.u;
    let angle = |amount| Angle::try_from(amount).unwrap_or(Angle::ZERO);
    let length = |amount| Length::try_from(amount).unwrap_or(Length::ZERO);
    let percent = |amount: Amount| amount.to_si().abs() * 100.0;
    Some(match learned.knob {
        Knob::FreeAngle(side) => format!(
            "the {side} plate stands {} (u {}) further tail {} than it was thought to",
            deg(angle(by).abs(), 2),
            deg(angle(u), 2),
            if up { "down" } else { "up" },
        ),
        Knob::BarShare(side) => format!(
            "the {side} bar is {:.1} % (u {:.1} %) {} than worked out",
            percent(by),
            percent(u),
            if up { "stiffer" } else { "softer" },
        ),
        Knob::FrontRaised(side) => format!(
            "the {side} front corner stands {} (u {}) {}",
            mm(length(by).abs(), 1),
            mm(length(u), 1),
            if up { "high" } else { "low" },
        ),
        Knob::CentreY => format!(
            "the weight lies {} (u {}) further to the {}",
            mm(length(by).abs(), 0),
            mm(length(u), 0),
            if up { "left" } else { "right" },
        ),
        Knob::CentreX => format!(
            "the weight lies {} (u {}) further {}",
            mm(length(by).abs(), 0),
            mm(length(u), 0),
            if up { "forward" } else { "back" },
        ),
        Knob::SprungMass => format!(
            "the car is {:.0} kg (u {:.0} kg) {} than entered",
            by.shown().abs(),
            u.shown(),
            if up { "heavier" } else { "lighter" },
        ),
        Knob::ShiftU(side) => format!(
            "the {side} arm sits {} (u {}) further {} along its plate",
            mm(length(by).abs(), 1),
            mm(length(u), 1),
            if up { "back" } else { "forward" },
        ),
        Knob::ShiftW(side) => format!(
            "the {side} arm sits {} (u {}) {} on its plate",
            mm(length(by).abs(), 1),
            mm(length(u), 1),
            if up { "higher" } else { "lower" },
        ),
        Knob::Gas(side) => format!(
            "the {side} damper pushes {:.0} N (u {:.0} N) {} than entered",
            by.shown().abs(),
            u.shown(),
            if up { "more" } else { "less" },
        ),
        _ => return None,
    })
}

/// How much of its doubt a knob was moved by.
fn weight(learned: &Learned) -> f64 {
    (learned.by.to_si() / learned.u_before.to_si()).abs()
}

/// Less than half of what was doubted anyway says nothing: own choice.
const SPEAKS: f64 = 0.5;
/// Two causes that go together so closely cannot be told apart by these readings: own choice.
const ALIKE: f64 = 0.7;
/// Causes named in the words.
const NAMED: usize = 4;

fn speaking(taught: &Taught) -> Vec<&Learned> {
    let mut causes: Vec<&Learned> =
        taught.lesson.knobs.iter().filter(|one| SPEAKS <= weight(one)).collect();
    causes.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
    causes
}

fn words(taught: &Taught) -> String {
    let causes = speaking(taught);
    let kept = taught.lesson.readings.iter().filter(|said| !said.misread).count();
    let mut words = if causes.is_empty() {
        format!("All {kept} readings fit the car as entered, within what was doubted anyway.")
    } else {
        let named: Vec<String> =
            causes.iter().filter_map(|one| cause_words(one)).take(NAMED).collect();
        format!("What the {kept} readings say together: {}.", named.join("; "))
    };
    for (i, a) in causes.iter().enumerate() {
        let twin = causes.iter().skip(i + 1).find(|b| {
            let r = taught.lesson.belief.correlation(a.knob, b.knob);
            r.is_some_and(|r| ALIKE <= r.to_one().abs())
        });
        if let Some(b) = twin {
            words += &format!(
                " These readings cannot tell the {} from the {}: only the two together are known.",
                a.knob.name(),
                b.knob.name(),
            );
            break;
        }
    }
    let same_side = |of: fn(Side) -> Knob| {
        let by = |side| taught.lesson.knobs.iter().find(|k| k.knob == of(side)).map(|k| k.by);
        Some(by(Side::Left)?.to_si() - by(Side::Right)?.to_si())
    };
    if let Some(apart) = same_side(Knob::FreeAngle).filter(|apart| 0.05 < apart.to_degrees().abs())
    {
        words += &format!(
            " Against each other, the left plate stands {} further tail {} than the right one, \
             compared with what was aimed for.",
            deg(Angle::rad(apart.abs()), 2),
            if 0.0 < apart { "down" } else { "up" },
        );
    }
    for told in &taught.notes.left_out {
        words += &format!(" {told}");
    }
    words
}

fn cause(learned: &Learned) -> Item {
    let corner = side_of(learned.knob).map(|side| match learned.knob {
        Knob::FrontRate(_) | Knob::FrontRaised(_) => Corner::front(side),
        _ => Corner::rear(side),
    });
    let corner = corner.map_or(Item::Nothing, |corner| Item::Word(corner.code().to_owned()));
    Item::Object(vec![
        ("what", Item::Word(learned.knob.name())),
        ("corner", corner),
        ("off", sure(learned.by, learned.u)),
        ("u_before", Item::leaf(learned.u_before)),
        ("words", cause_words(learned).map_or(Item::Nothing, Item::Word)),
    ])
}

fn reading(said: &Said) -> Item {
    let (corner, what) = place(said.reading.figure)
        .map_or((Item::Nothing, "reading"), |(c, what)| (Item::Word(c.code().to_owned()), what));
    let says = said.says.first().filter(|(_, by)| by.to_si() != 0.0);
    Item::Object(vec![
        ("round", Item::Count(i64::try_from(said.round).unwrap_or(i64::MAX), "rounds")),
        ("what", Item::Word(what.to_owned())),
        ("corner", corner),
        ("read", sure(said.reading.value, said.reading.u)),
        ("expected", Item::leaf(said.expected)),
        ("left_over", Item::leaf(said.left)),
        ("score", Item::leaf(said.z)),
        ("fits", Item::Flag(!said.misread)),
        ("says_most_of", says.map_or(Item::Nothing, |(knob, _)| Item::Word(knob.name()))),
    ])
}

/// One input for each reading, as sure as it was read.
pub(crate) fn inputs(bench: &Bench, taught: &Taught) -> Vec<Input> {
    let lines: Vec<String> = (bench.facts.car.rounds.iter())
        .map(|row| match row.entry {
            Some(seq) => format!("entry {seq}"),
            None => format!("car file, line {}", row.line),
        })
        .collect();
    let of = |said: &Said| Input {
        name: format!("round {}: {}", said.round, said.reading.figure.name()),
        value: Some(said.reading.value),
        u: Some(said.reading.u),
        from: lines.get(said.round.saturating_sub(1)).cloned().unwrap_or_default(),
        share: None,
    };
    taught.lesson.readings.iter().map(of).collect()
}

/// Adds `car.state` and, where a reading fits nothing, `car.suspect-reading`.
pub(crate) fn add(bench: &mut Bench, taught: &Taught) {
    let lesson = &taught.lesson;
    let mut knobs: Vec<&Learned> = lesson.knobs.iter().collect();
    knobs.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
    let mut parts = vec![
        ("rounds", Item::Count(i64::try_from(taught.rounds.len()).unwrap_or(i64::MAX), "rounds")),
        ("fit", Item::leaf(lesson.fit)),
    ];
    if let Ok((rest, foretold)) = lesson.belief.forecast(&lesson.car) {
        let mut now = Item::Object(rest_readings(&rest));
        super::moves::fill(&mut now, &foretold);
        parts.push(("now", now));
    }
    parts.push(("causes", Item::List(knobs.into_iter().map(cause).collect())));
    parts.push(("readings", Item::List(lesson.readings.iter().map(reading).collect())));
    let why = Why {
        words: words(taught),
        formula: "least Σ(p/u₀)² + Σ((y − f(p))/u)² over the knobs p; C = (C₀⁻¹ + JᵀR⁻¹J)⁻¹",
        source: LEARNED,
        inputs: inputs(bench, taught),
    };
    let value = Item::Object(parts);
    bench.findings.push(Finding { id: "car.state", of: None, at: None, value, why });
    suspects(bench, taught);
}

fn suspects(bench: &mut Bench, taught: &Taught) {
    let misread: Vec<&Said> = taught.lesson.readings.iter().filter(|said| said.misread).collect();
    if misread.is_empty() {
        return;
    }
    let words: Vec<String> = misread.iter().map(|said| suspect_words(said)).collect();
    let why = Why {
        words: format!(
            "{} Read it again before anything is turned; it is left out of all that follows.",
            words.join(" ")
        ),
        formula: "z = r/(u·√(1 − h)), r without that reading; named from |z| > 3",
        source: LEARNED,
        inputs: inputs(bench, taught),
    };
    let value = Item::List(misread.into_iter().map(reading).collect());
    bench.findings.push(Finding { id: "car.suspect-reading", of: None, at: None, value, why });
}

fn suspect_words(reading: &Said) -> String {
    let (corner, what) = place(reading.reading.figure)
        .map_or((String::new(), "reading"), |p| (format!(" at {}", p.0.code()), p.1));
    let fits = Amount::from_si(
        reading.reading.value.kind(),
        reading.reading.value.to_si() - reading.left.to_si(),
    );
    format!(
        "The {what}{corner} of {} in round {} fits no cause: by all the others it should be about \
         {}.",
        said(reading.reading.value),
        reading.round,
        said(fits),
    )
}

/// An angle with its sign, in a sentence.
pub(crate) fn signed(angle: Angle) -> String {
    deg_signed(angle, 2)
}
