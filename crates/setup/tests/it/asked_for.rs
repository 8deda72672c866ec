//! What is asked for is used: a figure moved moves a finding, a gap or a caution.

use super::{LARCH, LEFT, assessed, demo, finding, number};
use axlewright_setup::Assessment;

fn with(was: &str, is: &str) -> String {
    assert!(LARCH.contains(was), "{was}");
    LARCH.replacen(was, is, 1)
}

fn without_reading(text: &str) -> String {
    let from = text.find("[[reading]]\nwhat = \"plate angle\"\nside = \"left\"").unwrap();
    let end = from + 3 + text[from + 3..].find("\n[").unwrap();
    text.replacen(&text[from..end], "", 1)
}

/// On the manual's teeth a bar that has set by 2° hangs 2° less tail down.
#[test]
fn a_bar_that_has_set_is_counted_from_where_it_hangs() {
    let change = |text: &str| {
        let out = assessed(&without_reading(text));
        number(&finding(&out, "index.choices", &LEFT, None).value, "0.change").shown()
            - number(&finding(&out, "index.choices", &LEFT, None).value, "0.error").shown()
    };
    let set = with("sag = \"0 deg\"", "sag = \"2 deg\"");
    assert!((change(&set) - change(LARCH) - 2.0).abs() < 1e-9);
}

#[test]
fn bars_and_their_parts_tell_the_same_of_left_and_right() {
    let none = assessed(&with("preset = \"handed\"", "preset = \"none\""));
    assert!(none.caution("bar.handed", None).unwrap().words.contains("as not handed"));
    let part = assessed(&with("handed = true\n", ""));
    assert!(part.caution("bar.handed", None).unwrap().words.contains("no part of them says"));
    assert_eq!(demo().caution("bar.handed", None), None);
}

/// The manual's angle was written for a damper with a push of its own: that much less is the gas's.
#[test]
fn the_original_dampers_push_is_in_the_manuals_angle() {
    let row = "gas = \"0 N\"\nrings = 6";
    let free = "value = \"30.0 deg ± 0.5 deg\"\nbuilds = \"2468-3990\"\nbar_diameter = \"22 mm\"\n\
                damper_gas = \"0 N\"";
    let text = with(row, "gas = \"120 N\"\nrings = 6");
    let text = text.replacen(free, &free.replace("\"0 N\"", "\"120 N\""), 1);
    let words = |out: &Assessment| finding(out, "free-angle.target", &LEFT, None).why.words.clone();
    assert!(words(demo()).contains("the dampers' gas"));
    assert!(!words(&assessed(&text)).contains("the dampers' gas"));
}

/// By lengths alone the shaft is drawn out where it is 22 mm longer than at ride: read 403 mm at
/// 11°, 430 mm at 25°, it is there before 25°.
#[test]
fn a_half_shaft_is_known_by_three_lengths() {
    let row = "inner_joint = \"-455, 170, -70 mm\"\n";
    let lengths = "lengths = [\"402 mm at 5 deg\", \"403 mm at 11 deg\", \"430 mm at 25 deg\"]\n";
    let bare = assessed(&with(row, ""));
    let gap = bare.gaps.iter().any(|gap| gap.blocks.contains(&"window.half-shaft"));
    assert!(gap && bare.find("window.half-shaft", Some(&LEFT)).is_none());
    let out = assessed(&with(row, lengths));
    let window = finding(&out, "window.half-shaft", &LEFT, None);
    let to = number(&window.value, "to").shown();
    assert!((20.0..25.0).contains(&to), "{to}");
}

#[test]
fn lengths_of_a_half_shaft_are_held_against_its_places() {
    let row = "inner_joint = \"-455, 170, -70 mm\"\n";
    let both = |at_11: &str| {
        let lengths =
            format!("lengths = [\"402 mm at 5 deg\", \"{at_11} at 11 deg\", \"412 mm at 25 deg\"]");
        let out = assessed(&with(row, &format!("{row}{lengths}\n")));
        out.cross_checks.iter().any(|check| check.id == "shaft-lengths")
    };
    assert!(both("460 mm") && !both("403 mm"));
}

/// Millimetres of toe are read over a rim with strings, over metres with a light.
#[test]
fn how_toe_is_read_goes_with_the_length_it_is_read_over() {
    let by = |by: &str| {
        let out = assessed(&format!("{LARCH}\n[toe]\nby = \"{by}\"\nover = \"340 mm\"\n"));
        out.cross_checks.iter().any(|check| check.id == "toe-over")
    };
    assert!(by("light") && !by("strings"));
}
