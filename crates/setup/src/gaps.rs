//! What is still to be measured, looked up or decided, each with what waits for it.

use axlewright_book::{CarFile, Field, Pick, Spec, SpecWhat};
use axlewright_quantity::{Corner, Side};
use std::collections::BTreeMap;

use crate::engine::Waiting;
use crate::finding::{Gap, GapRow, Subject};
use crate::inputs::Need;

/// Findings that are made from other findings, behind those; of both sides together, and of the
/// whole car.
const MADE_FROM: [(&str, &str); 8] = [
    ("index.choices", "index.both-sides"),
    ("trim.at-manual-angle", "index.both-sides"),
    ("free-angle.now", "free-angle.left-right"),
    ("car.expected", "car.stages"),
    ("car.expected", "car.state"),
    ("car.state", "car.moves"),
    ("car.moves", "car.after"),
    ("car.moves", "car.hand-over"),
];

/// The gaps, the ones that pay off first in front.
pub(crate) fn from_waiting(car: &CarFile, waiting: &Waiting) -> Vec<Gap> {
    let mut ranked: Vec<(u8, usize, Gap)> = Vec::new();
    for (need, sides) in &waiting.needs {
        let mut blocks: Vec<&'static str> = Vec::new();
        for id in sides.values().flatten() {
            if !blocks.contains(id) {
                blocks.push(id);
            }
        }
        // What is made from others waits with them.
        for (of, made) in MADE_FROM {
            if blocks.contains(&of) && !blocks.contains(&made) {
                blocks.push(made);
            }
        }
        let weight = usize::MAX - blocks.len();
        ranked.push((rung(*need), weight, gap(car, *need, sides, blocks)));
    }
    ranked.sort_by_key(|(rung, weight, _)| (*rung, *weight));
    ranked.into_iter().map(|(_, _, gap)| gap).collect()
}

const fn rung_of_spec(what: SpecWhat) -> u8 {
    match what {
        SpecWhat::FreeAngle => 1,
        _ => 3,
    }
}

fn rung(need: Need) -> u8 {
    match need {
        Need::Field(field) => field.rung(),
        Need::Spec(what) => rung_of_spec(what),
        Need::LoadState => 3,
        Need::Masses | Need::Round => 6,
        Need::Level
        | Need::PlateReading
        | Need::ReadingSeat
        | Need::ReadingHung
        | Need::ReadingLash
        | Need::ReadingArrow
        | Need::SpecSeat => 2,
    }
}

fn gap(
    car: &CarFile,
    need: Need,
    sides: &BTreeMap<Side, Vec<&'static str>>,
    blocks: Vec<&'static str>,
) -> Gap {
    // One side only: the gap is that corner's. Both: the car's.
    let of = match sides.keys().collect::<Vec<_>>().as_slice() {
        [side] if !of_whole_car(need) => Some(Subject::Corner(Corner::rear(**side))),
        _ => None,
    };
    let (id, mut measure, how) = texts(need);
    if let Some(Subject::Corner(corner)) = &of {
        measure = format!("{} side: {measure}", corner.side());
    }
    let rows = match need {
        Need::Spec(what) => rows_of(car, what),
        _ => Vec::new(),
    };
    Gap { id, of, measure, how, blocks, rows }
}

fn of_whole_car(need: Need) -> bool {
    match need {
        Need::Field(field) => field.is_of_whole_car(),
        Need::Spec(_) | Need::SpecSeat | Need::LoadState | Need::Masses | Need::Round => true,
        _ => false,
    }
}

#[expect(clippy::too_many_lines, reason = "one table of words, a row for each need")]
fn texts(need: Need) -> (String, String, String) {
    let own =
        |id: &str, measure: &str, how: &str| (id.to_owned(), measure.to_owned(), how.to_owned());
    match need {
        Need::Field(field) => field_texts(field),
        Need::Spec(what) => (
            format!("spec.{}", what.word().replace(' ', "-")),
            format!("{what} for this car's build number"),
            "The manual's row that holds for it, with its page and the numbers it is for: a \
             [[spec]] in the car file."
                .to_owned(),
        ),
        Need::SpecSeat => own(
            "spec.free-angle.seat",
            "where the manual wants its free angle read",
            "On the line hub centre to bolt holes, or on which edge of the plate: a tapered plate \
             reads degrees wrong on its edges.",
        ),
        Need::LoadState => own(
            "car.load_state",
            "what is in the car when its trim and weights are stated",
            "In words: empty or laden, how full the tank. A trim without its load says nothing.",
        ),
        Need::Masses => own(
            "masses",
            "how heavy each stage of the build is, and where its centre lies",
            "One [[masses]] for each, in the order it is built: weighed, or from the papers; the \
             centre from above, forward of the bar axis and left of the middle. Good to 5 kg and \
             50 mm.",
        ),
        Need::Round => own(
            "round",
            "one round of readings on the wheels",
            "Car on level floor, rolled and settled: scales under all four wheels if you have \
             them, trim left and right after lift-and-let-go and push-and-let-go, camber and toe. \
             One [[round]] with what was in the car.",
        ),
        Need::Level => own(
            "reading.sill-level",
            "the level of this side's sill, read both ways round",
            "Gauge along the sill, arrow to the nose; read; turn it end for end on the same spot; \
             read again. Each side its own sill. Good to 0.1 deg: half a degree is more than a \
             vernier step.",
        ),
        Need::PlateReading => own(
            "reading.plate-angle",
            "the plate angle after the first fit",
            "Plate alone on the bar. Straightedge through hub centre and bolt holes, gauge on it, \
             arrow to the nose. Lift the tail by hand until the lash is just taken up, then read.",
        ),
        Need::ReadingSeat => own(
            "reading.plate-angle.seat",
            "where the gauge sat on the plate",
            "\"reference line\" (straightedge through hub centre and bolt holes), or \"edge\" with \
             its measured offset. Teeth cannot be chosen without it.",
        ),
        Need::ReadingHung => own(
            "reading.plate-angle.hung",
            "what hung on the bar while the plate was read",
            "\"plate\", \"plate and arm\" or \"plate, arm and damper\": the arm alone is more than \
             a vernier step.",
        ),
        Need::ReadingLash => own(
            "reading.plate-angle.lash",
            "how the lash in the splines stood",
            "\"lifted\" when the tail was raised until the lash was just taken up, \"hanging\" \
             when it was left alone.",
        ),
        Need::ReadingArrow => own(
            "reading.plate-angle.arrow",
            "which way round the gauge stood",
            "Where its arrow pointed: \"nose\" or \"tail\".",
        ),
    }
}

fn field_texts(field: Field) -> (String, String, String) {
    let how = format!("{} How good: {}.", field.how(), field.good_enough());
    (field.path().to_owned(), field.name().to_owned(), how)
}

fn row(spec: &Spec) -> GapRow {
    GapRow {
        written: spec.value.text.clone(),
        builds: spec.builds.as_ref().map_or_else(|| "not said".to_owned(), ToString::to_string),
        source: spec.source.as_ref().map_or_else(|| "no source".to_owned(), |s| s.value.clone()),
        line: spec.line,
    }
}

fn rows_of(car: &CarFile, what: SpecWhat) -> Vec<GapRow> {
    match car.pick(what) {
        Pick::Overlap(rows) | Pick::Hole(rows) | Pick::NoBuildNumber(rows) => {
            rows.into_iter().map(row).collect()
        }
        Pick::One(_) | Pick::NoRow => Vec::new(),
    }
}

/// Rows of the manual that contradict each other, leave a hole or name no source.
pub(crate) fn of_specs(car: &CarFile, waiting: &Waiting) -> Vec<Gap> {
    let mut gaps = Vec::new();
    for what in SpecWhat::ALL {
        if *what == SpecWhat::Torque || waiting.needs.contains_key(&Need::Spec(*what)) {
            continue;
        }
        let (words, rows) = match car.pick(*what) {
            Pick::Overlap(rows) => ("several rows hold for this car and differ", rows),
            Pick::Hole(rows) => ("no row holds for this car", rows),
            Pick::NoBuildNumber(rows) => {
                ("the car's build number, which picks, is not known", rows)
            }
            Pick::One(_) | Pick::NoRow => continue,
        };
        gaps.push(spec_gap(
            format!("spec.{}", what.word().replace(' ', "-")),
            format!("{what}: {words}"),
            rows,
        ));
    }
    for hole in car.build_holes() {
        let (first, last) = (hole.first, hole.last);
        let numbers = if first == last { format!("{first}") } else { format!("{first} to {last}") };
        let this = car.build_number.as_ref().map(|n| n.value);
        let touches = this.is_some_and(|n| (first..=last).contains(&n));
        let joint = hole.after.joint.as_deref().map_or(String::new(), |j| format!(" {j}"));
        let harm = if touches { "this car is among them" } else { "harmless for this car" };
        gaps.push(spec_gap(
            format!("spec.{}.hole", hole.after.what.word().replace(' ', "-")),
            format!("{}{joint}: no row for build numbers {numbers} ({harm})", hole.after.what),
            vec![hole.before, hole.after],
        ));
    }
    for spec in car.specs.iter().filter(|spec| spec.source.is_none()) {
        if car.holds(spec) != Some(false) {
            gaps.push(spec_gap(
                format!("spec.{}.source", spec.what.word().replace(' ', "-")),
                format!("{}: the row in line {} names no source", spec.what, spec.line),
                vec![spec],
            ));
        }
    }
    gaps
}

fn spec_gap(id: String, measure: String, rows: Vec<&Spec>) -> Gap {
    Gap {
        id,
        of: None,
        measure,
        how: "Compare the pages and the part on the car; keep the row that fits, with its page."
            .to_owned(),
        blocks: Vec::new(),
        rows: rows.into_iter().map(row).collect(),
    }
}
