//! Questions without a car file give what a car file gives.

use axlewright_quantity::{Angle, Length, Stress};
use axlewright_setup::Item;
use axlewright_setup::quick::{
    self, BarLoad, BarQuestion, FourNumbers, Given, IndexQuestion, LevelQuestion,
};

use super::number;

fn given<Q>(value: Q) -> Given<Q> {
    Given { value, spread: None, text: String::new() }
}

/// By hand: 45 and 50 teeth are 8° and 7.2° a tooth.
#[test]
fn teeth_by_hand() {
    let question = IndexQuestion {
        anchor_teeth: 45,
        plate_teeth: 50,
        now: given(Angle::deg(20.1)),
        target: given(Angle::deg(22.4)),
        side: None,
    };
    let out = quick::index(&question).unwrap();
    let step = number(&out.find("vernier.step", None).unwrap().value, "").shown();
    assert!((step - 0.8).abs() < 1e-12);
    let best = &out.find("index.choices", None).unwrap().value.items()[0];
    // Three teeth of 8° down and three of 7.2° up: +2.4°.
    assert_eq!(best.get("anchor_teeth"), Some(&Item::Count(3, "teeth")));
    assert_eq!(best.get("plate_teeth"), Some(&Item::Count(-3, "teeth")));
    assert!(!format!("{best:?}").contains("clockwise"), "the side was not said");
    assert!((number(best, "angle").shown() - 22.5).abs() < 1e-9);
}

#[test]
fn impossible_teeth_are_refused() {
    let ask = |anchor_teeth, now| {
        quick::index(&IndexQuestion {
            anchor_teeth,
            plate_teeth: 50,
            now: given(Angle::deg(now)),
            target: given(Angle::deg(22.4)),
            side: None,
        })
    };
    for (teeth, now) in [(0, 30.0), (1_000_000, 30.0), (45, f64::NAN), (45, 1e9)] {
        let error = ask(teeth, now).unwrap_err();
        assert!(!error.to_string().is_empty() && !error.hint().is_empty());
    }
}

/// T1 of the bar's published checks: 30 mm, 0.4 m, 77 GPa, 250 N·m is 0.93572° (Brown University,
/// ENGN0310 course notes, torsion).
#[test]
fn a_bar_under_torque() {
    let question = BarQuestion {
        diameter: given(Length::mm(30.0)),
        bore: None,
        length: given(Length::mm(400.0)),
        modulus: given(Stress::gpa(77.0)),
        load: Some(BarLoad::Torque(given(axlewright_quantity::Torque::nm(250.0)))),
        allowable: None,
    };
    let out = quick::bar(&question).unwrap();
    let twist = number(&out.find("bar.shear", None).unwrap().value, "twist").shown();
    assert!((twist - 0.93572).abs() < 0.5e-5, "{twist}");
}

#[test]
fn four_numbers() {
    let question = FourNumbers {
        manual: given(Angle::deg(30.0)),
        ride: given(Angle::deg(11.0)),
        old: given(Length::mm(22.0)),
        new: given(Length::mm(23.0)),
    };
    let out = quick::four_numbers(&question).unwrap();
    let angle = number(&out.find("free-angle.by-four-numbers", None).unwrap().value, "").shown();
    assert!((angle - 26.90498).abs() < 1e-4);
}

#[test]
fn a_level_turned_end_for_end() {
    for (arrow, shown, expected) in [
        (axlewright_book::Arrow::Nose, 35.2, 34.9),
        // The same plate, gauge the other way round: it shows −(35.0) + 0.2.
        (axlewright_book::Arrow::Tail, -34.8, 34.9),
    ] {
        let question = LevelQuestion {
            first: given(Angle::deg(0.3)),
            turned: given(Angle::deg(0.1)),
            plate: Some(quick::PlateReading { value: given(Angle::deg(shown)), arrow }),
        };
        let out = quick::level(&question).unwrap();
        let at = |id| number(&out.find(id, None).unwrap().value, "").shown();
        assert!((at("body.level") - 0.1).abs() < 1e-12);
        assert!((at("gauge.offset") - 0.2).abs() < 1e-12);
        assert!((at("plate.angle") - expected).abs() < 1e-9, "{arrow:?}");
    }
}
