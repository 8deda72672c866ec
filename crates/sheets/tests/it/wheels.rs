//! The drawings of the car on its wheels: what they show agrees with the findings, and nothing of
//! it is cut off. The figures are invented for the drawing.

use axlewright_quantity::{Amount, Angle, Length, Mass, Ratio};
use axlewright_setup::{Assessment, Finding, Item, Leaf, Why};
use axlewright_sheets::{Drawing, Form, forecast_chart, to_svg, wheels_plan};

fn word(text: &str) -> Item {
    Item::Word(text.to_owned())
}
fn sure(value: impl Into<Amount>, u: impl Into<Amount>) -> Item {
    Item::Leaf(Leaf { value: value.into(), u: Some(u.into()), written: None })
}
fn finding(id: &'static str, value: Item) -> Finding {
    Finding { id, of: None, at: None, value, why: Why::default() }
}
fn reading(round: i64, what: &str, corner: &str, read: Item, fits: bool) -> Item {
    Item::Object(vec![
        ("round", Item::Count(round, "rounds")),
        ("what", word(what)),
        ("corner", word(corner)),
        ("read", read),
        ("fits", Item::Flag(fits)),
    ])
}

/// Every letter lies inside the frame, and no two texts lie on each other.
fn whole(drawing: &Drawing) {
    let rooms = drawing.text_rooms();
    let frame = drawing.frame;
    for (n, (name, room)) in rooms.iter().enumerate() {
        let inside = frame.left <= room.left
            && room.right <= frame.right
            && frame.bottom <= room.bottom
            && room.top <= frame.top;
        assert!(inside, "{name} is cut off: {room:?} in {frame:?}");
        for (other, there) in rooms.iter().skip(n + 1) {
            assert!(!room.overlaps(there), "{name} lies on {other}");
        }
    }
}

fn read_and_moved() -> Assessment {
    let kg = |kg: f64| sure(Mass::kg(kg), Mass::kg(3.0));
    let mm = |mm: f64| sure(Length::mm(mm), Length::mm(2.0));
    let deg = |deg: f64| sure(Angle::deg(deg), Angle::deg(0.15));
    let readings = vec![
        reading(1, "weight", "LF", kg(190.0), true),
        reading(2, "weight", "LF", kg(210.0), true),
        reading(2, "weight", "LR", kg(1288.0), true),
        reading(2, "trim", "LR", mm(-199.0), true),
        reading(2, "camber", "LR", deg(-10.30), true),
        reading(2, "toe", "LR", deg(-10.04), true),
        reading(2, "trim", "RR", mm(94.0), false),
    ];
    let mark = |mm: f64| Item::Object(vec![("mark", Item::leaf(Length::mm(mm)))]);
    let steps = vec![
        Item::Object(vec![
            ("what", word("teeth")),
            ("corner", word("RR")),
            ("anchor_teeth", Item::Count(-12, "teeth")),
            ("plate_teeth", Item::Count(13, "teeth")),
        ]),
        Item::Object(vec![
            ("what", word("front screw")),
            ("corner", word("RF")),
            ("turns", Item::leaf(Ratio::one(-11.59))),
        ]),
        Item::Object(vec![
            ("what", word("eccentrics")),
            ("corner", word("LR")),
            ("along_the_plate", mark(-11.1)),
            ("across_the_plate", mark(0.01)),
        ]),
    ];
    let state = Item::Object(vec![("readings", Item::List(readings))]);
    let moves = Item::Object(vec![("steps", Item::List(steps))]);
    Assessment {
        findings: vec![finding("car.state", state), finding("car.moves", moves)],
        ..Assessment::default()
    }
}

#[test]
fn the_plan_shows_the_last_round_and_each_move_at_its_wheel() {
    let all = read_and_moved();
    let drawing = wheels_plan(&all).expect("a round was read");
    whole(&drawing);
    let text = |name: &str| {
        let shape = drawing.shape(name).unwrap_or_else(|| panic!("no {name}"));
        shape.form.label().unwrap().text.clone()
    };
    assert!(text("LF, line 1").starts_with("LF 210"), "{}", text("LF, line 1"));
    assert!(text("RR, line 2").ends_with('?'), "what fits nothing is marked");
    assert_eq!(text("RR, move 1"), "anchor 12, tail up");
    assert_eq!(text("RR, move 2"), "plate 13, tail down");
    assert_eq!(text("RF, move 1"), "screw 11.59 down");
    assert_eq!(text("LR, move 2"), "11.1 mm forward");
    assert!(drawing.shape("LR, move 3").is_none(), "a hundredth of a millimetre is no move");
    assert!(drawing.shape("tyre RR").unwrap().accent && !drawing.shape("tyre LF").unwrap().accent);
    assert!(to_svg(&drawing).contains("<svg"));
    assert!(wheels_plan(&Assessment::default()).is_none());
}

fn forecast() -> Finding {
    let mm = |mm: f64| Item::leaf(Length::mm(mm));
    let bar = |n: i32, share: f64| {
        let from = 80.0 + 3.0 * f64::from(n);
        Item::Object(vec![
            ("from", mm(from)),
            ("to", mm(from + 3.0)),
            ("share", Item::leaf(Ratio::one(share))),
        ])
    };
    let shares = [0.02, 0.05, 0.1, 0.2, 0.26, 0.2, 0.1, 0.05, 0.02];
    let bars = || Item::List((0..).zip(shares).map(|(n, share)| bar(n, share)).collect());
    let both = |left: Item, right: Item| Item::Object(vec![("LR", left), ("RR", right)]);
    let count = |n: i64| Item::Count(n, "builds in 100");
    let mean = |at: f64| Item::Object(vec![("mean", sure(Length::mm(at), Length::mm(6.0)))]);
    let value = Item::Object(vec![
        ("within", both(count(66), count(1))),
        ("trim", both(mean(93.5), mean(93.5))),
        ("band", Item::Object(vec![("low", mm(90.0)), ("high", mm(100.0))])),
        ("histogram", both(bars(), bars())),
    ]);
    finding("car.forecast", value)
}

#[test]
fn the_chart_hatches_what_lands_within_and_says_how_many() {
    let drawing = forecast_chart(&forecast()).expect("there are builds");
    whole(&drawing);
    let hatched = |side: &str| {
        let own = drawing.shapes.iter().filter(|shape| shape.name.starts_with(side));
        own.filter(|shape| matches!(shape.form, Form::Hatch { .. })).count()
    };
    // Bars whose middles lie from 90 to 100: those that begin at 89, 92, 95 and 98.
    assert_eq!((hatched("left"), hatched("right")), (4, 4));
    let count = drawing.shape("left, count").unwrap().form.label().unwrap();
    assert_eq!(count.text, "66 of 100");
    assert!(forecast_chart(&finding("car.forecast", Item::Nothing)).is_none());
}
