//! One plate angle asked about: the same answers as the findings give at the angles they name.

use axlewright_quantity::{Angle, Side};
use axlewright_setup::{Assessment, Item, State, Subject, at_angle};

use super::{LARCH, LEFT, RIGHT, demo, finding, heavy, heavy_car};

fn asked(angle: Angle, side: Side) -> Assessment {
    let (car, _) = axlewright_book::read(LARCH);
    at_angle(&car, demo(), side, angle)
}

fn angle(item: Option<&Item>) -> Angle {
    Angle::try_from(item.unwrap().amount().unwrap()).unwrap()
}

fn of(side: Side) -> Subject {
    if side == Side::Left { LEFT } else { RIGHT }
}

#[test]
fn where_the_windows_are_judged_it_says_the_same() {
    let all = demo();
    let names = ["stop-bolt", "damper", "hose", "cable", "half-shaft", "plate-bend"];
    for side in Side::BOTH {
        let ids: Vec<&str> = all.findings.iter().map(|finding| finding.id).collect();
        for name in names {
            let window = format!("window.{name}");
            assert!(ids.contains(&window.as_str()), "{window}");
            let window = finding(all, &window, &of(side), None);
            for occasion in ["hang_now", "hang_target", "ride"] {
                let there = window.value.get("fit").unwrap().get(occasion).unwrap();
                let here = asked(angle(there.get("angle")), side);
                let found = finding(&here, &format!("at.{name}"), &of(side), None);
                // The margin's u differs: there the angle itself is unsure, here it is given.
                let margin = |item: &Item| item.get("margin").and_then(Item::amount);
                let apart = margin(there).zip(margin(&found.value));
                let apart = apart.map_or(0.0, |(a, b)| (a.to_si() - b.to_si()).abs());
                assert!(apart < 1e-9, "{name} {occasion}: {apart}");
            }
        }
    }
}

#[test]
fn at_the_stop_bolt_the_jack_bears_what_raising_says() {
    let (car, _) = axlewright_book::read(&heavy_car());
    let asked = |angle, side| at_angle(&car, heavy(), side, angle);
    for state in [State::Now, State::Target] {
        let raise = finding(heavy(), "raise.stop-bolt", &LEFT, Some(state));
        let here = asked(angle(raise.value.get("angle")), Side::Left);
        let hold = finding(&here, "at.hold", &LEFT, Some(state));
        for part in ["force", "energy", "lift"] {
            let value = |item: &Item| item.get(part).unwrap().amount().unwrap().to_si();
            let (there, here) = (value(&raise.value), value(&hold.value));
            assert!((there - here).abs() < 1e-6 * there.abs(), "{part}: {there} {here}");
        }
        // Further up the jack bears more: the two are not one constant.
        let higher = asked(angle(raise.value.get("angle")) - Angle::deg(0.5), Side::Left);
        let force = |out: &Assessment| {
            let hold = finding(out, "at.hold", &LEFT, Some(state));
            hold.value.get("force").unwrap().amount().unwrap().to_si()
        };
        assert!(force(&here) < force(&higher));
    }
}

/// What raising must not tell, the question about one angle does not tell either.
#[test]
fn where_raising_is_barred_holding_has_no_figures() {
    let clear =
        angle(finding(demo(), "raise.stop-bolt", &LEFT, Some(State::Now)).value.get("angle"));
    let here = asked(clear, Side::Left);
    for (state, told) in [(State::Now, false), (State::Target, true)] {
        let hold = finding(&here, "at.hold", &LEFT, Some(state));
        for part in ["force", "energy", "lift"] {
            assert_eq!(hold.value.get(part).unwrap().amount().is_some(), told, "{state:?} {part}");
        }
        assert_eq!(hold.why.words.contains("NOT YET"), !told, "{}", hold.why.words);
    }
}

#[test]
fn no_angle_is_too_much_for_it() {
    for deg in [-1e9, -180.0, -90.0, 0.0, 89.999, 180.0, 1e300] {
        for side in Side::BOTH {
            let out = asked(Angle::deg(deg), side);
            let scene = out.corners.first().unwrap();
            assert_eq!(scene.states.last().unwrap().name, "here");
        }
    }
}
