//! What is missing is said, with what waits for it; nothing is made up.

use super::{LARCH, assessed, demo, without};
use axlewright_book::Field;
use std::collections::BTreeSet;

fn ids(out: &axlewright_setup::Assessment) -> BTreeSet<&'static str> {
    out.findings.iter().map(|f| f.id).collect()
}

/// Takes every field out of the demo in turn. What disappears must stand in a gap of that name, and
/// a field without a gap must have cost nothing.
#[test]
fn whatever_disappears_is_blocked_by_a_gap() {
    if crate::slow::skipped() {
        return;
    }
    let whole = ids(demo());
    let (car, _) = axlewright_book::read(LARCH);
    let mut tried = 0;
    for field in Field::ALL {
        let known = car.get(*field, axlewright_quantity::Side::Left).is_some();
        if !known || field.section() == "uncertainty" {
            continue;
        }
        let out = assessed(&without(LARCH, field.path()));
        let lost: BTreeSet<&str> = whole.difference(&ids(&out)).copied().collect();
        let gap = out.gaps.iter().find(|gap| gap.id == field.path());
        let blocked: BTreeSet<&str> =
            gap.map(|gap| gap.blocks.iter().copied().collect()).unwrap_or_default();
        assert!(
            lost.is_subset(&blocked) || substitutes(field.path()),
            "{}: lost {lost:?}, blocked {blocked:?}",
            field.path()
        );
        if let Some(gap) = gap {
            assert!(gap.how.len() > 20, "{}: says how", field.path());
        }
        tried += 1;
    }
    assert!(tried > 50, "{tried} fields tried");
}

/// Fields whose loss makes another road be asked for: without both coordinates and lengths, the gap
/// that opens may be of the other kind.
fn substitutes(path: &str) -> bool {
    matches!(path, "arm.inner_pivot" | "arm.wheel_centre")
}

#[test]
fn contradicting_rows_are_shown_side_by_side() {
    let out = demo();
    let cover = out.gaps.iter().find(|gap| gap.id == "joint.hub-cover.torque").unwrap();
    let written: Vec<&str> = cover.rows.iter().map(|row| row.written.as_str()).collect();
    assert_eq!(written, ["4.4 kgf m", "4.0 kgf m"]);
    assert!(cover.rows.iter().all(|row| row.source != "no source"));
    let hole = out.gaps.iter().find(|gap| gap.id == "spec.torque.hole").unwrap();
    assert!(hole.measure.contains("2468 to 2469"), "{}", hole.measure);
    assert!(hole.measure.contains("harmless for this car"), "{}", hole.measure);
}

#[test]
fn a_car_in_the_hole_has_no_row() {
    let text = LARCH.replace("build_number = 2611", "build_number = 5000");
    let out = assessed(&text);
    let gap = out.gaps.iter().find(|gap| gap.id == "spec.free-angle").unwrap();
    assert!(gap.blocks.contains(&"free-angle.manual"));
    assert_eq!(gap.rows.len(), 2, "both rows shown");
}

#[test]
fn a_trim_without_its_load_is_a_gap() {
    let at = LARCH.find("load_state").unwrap();
    let end = at + LARCH[at..].find('\n').unwrap();
    let text = format!("{}{}", &LARCH[..at], &LARCH[end..]);
    let out = assessed(&text);
    let gap = out.gaps.iter().find(|gap| gap.id == "car.load_state").unwrap();
    assert!(gap.blocks.contains(&"free-angle.target"));
}

#[test]
fn a_reading_without_its_seat_chooses_no_teeth() {
    for (key, id) in [
        ("seat", "reading.plate-angle.seat"),
        ("hung", "reading.plate-angle.hung"),
        ("lash", "reading.plate-angle.lash"),
        ("arrow", "reading.plate-angle.arrow"),
    ] {
        let mut reading = false;
        let kept: String = LARCH
            .lines()
            .filter(|line| {
                if line.starts_with('[') {
                    reading = false;
                }
                reading |= line.contains("\"plate angle\"");
                !(reading && line.split('=').next().is_some_and(|k| k.trim() == key))
            })
            .map(|line| format!("{line}\n"))
            .collect();
        let out = assessed(&kept);
        let gap = out.gaps.iter().find(|gap| gap.id == id);
        let gap = gap.unwrap_or_else(|| panic!("no gap {id}"));
        assert!(gap.blocks.contains(&"index.choices"), "{id}: {:?}", gap.blocks);
    }
}

/// A figure from inputs of unknown doubt looks surer than it is: that is said, and near fits are
/// not claimed.
#[test]
fn unknown_doubt_is_a_gap_and_no_fit_is_claimed() {
    let at = LARCH.find("[uncertainty]").unwrap();
    let end = LARCH[at + 1..].find("\n[").map_or(LARCH.len(), |to| at + 1 + to);
    let out = assessed(&format!("{}{}", &LARCH[..at], &LARCH[end..]));
    let gap = out.gaps.iter().find(|gap| gap.id == "uncertainty.hardpoint").unwrap();
    assert!(gap.blocks.contains(&"free-angle.target"), "{:?}", gap.blocks);
    let hose = super::finding(&out, "window.hose", &super::LEFT, None);
    let at_hang = hose.value.get("fit").unwrap().get("hang_target").unwrap();
    let word = axlewright_setup::Item::Word("try it".to_owned());
    assert_eq!(at_hang.get("verdict"), Some(&word));
}
