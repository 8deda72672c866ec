//! The torque page and the layout drawings: what stands where, not whether a figure is right.

use axlewright_quantity::{Length, Ratio, Side, Torque};
use axlewright_setup::cautions::Fixed;
use axlewright_setup::joints::{BoltScene, JointScene, Nose, Position};
use axlewright_setup::{Assessment, Finding, Item, Leaf, Severity, Subject, Why};
use axlewright_sheets::{Drawing, Form, LineKind, build_sheet, joint_layout, to_svg};

use crate::common;

/// A layout from places in millimetres and the order of tightening.
fn scene(id: &str, name: &str, places: &[(f64, f64)], turns: &[u32]) -> JointScene {
    let bolts = places.iter().zip(turns).zip(1..).map(|(((x, y), turn), number)| BoltScene {
        number,
        x: Length::mm(*x),
        y: Length::mm(*y),
        turn: *turn,
    });
    let (called, side) = name.rsplit_once(", ").unwrap_or((name, ""));
    let own = Fixed {
        id: "joint.own",
        severity: Severity::Caution,
        head: "",
        rest: "no load on the bar",
    };
    JointScene {
        joint: id.to_owned(),
        name: name.to_owned(),
        called: called.to_owned(),
        side: Side::BOTH.into_iter().find(|known| known.word() == side),
        eccentric: None,
        position: Some(Position::Ride),
        cautions: vec![own.caution()],
        bolts: "4 × M10, class 8.8".to_owned(),
        layout: bolts.collect(),
        nose: None,
        head: Some(Length::mm(14.63)),
        thread: Some(Length::mm(10.0)),
    }
}

const COVER: [(f64, f64); 4] = [(-48.0, 32.0), (48.0, 32.0), (48.0, -32.0), (-48.0, -32.0)];

fn cover(side: &str) -> JointScene {
    let mirror = if side == "left" { 1.0 } else { -1.0 };
    let places = COVER.map(|(x, y)| (x * mirror, y));
    let nose = if side == "left" { Nose::Left } else { Nose::Right };
    let scene =
        scene(&format!("cover-{side}"), &format!("hub cover, {side}"), &places, &[1, 4, 2, 3]);
    JointScene { nose: Some(nose), ..scene }
}

fn word(text: &str) -> Item {
    Item::Word(text.to_owned())
}

fn setting() -> Item {
    let torque =
        Leaf { value: Torque::kgf_m(4.4).into(), u: None, written: Some("4.4 kgf m".to_owned()) };
    let pass = |reading: &str, wrench: &str| {
        Item::Object(vec![("reading", word(reading)), ("wrench", word(wrench))])
    };
    Item::Object(vec![
        ("torque", Item::Leaf(torque)),
        ("preferred", word("43.1 N·m")),
        ("wrench", word("middle wrench")),
        ("setting", Item::leaf(Torque::kgf_m(4.4))),
        ("reading", word("43.1 N·m")),
        ("adapter", Item::Nothing),
        (
            "passes",
            Item::List(vec![pass("17.3 N·m", "small wrench"), pass("43.1 N·m", "middle wrench")]),
        ),
        ("beyond", Item::Nothing),
    ])
}

fn state(words: [&str; 4]) -> Item {
    let rows = words.iter().zip(1..).map(|(state, bolt)| {
        Item::Object(vec![
            ("bolt", Item::Count(bolt, "bolt")),
            ("state", word(state)),
            ("value", Item::Nothing),
        ])
    });
    Item::List(rows.collect())
}

/// A car of one joint on both sides; the left one is partly done and once wrongly.
fn car() -> Assessment {
    let order: Vec<Item> = [1, 3, 4, 2].iter().map(|n| Item::Count(*n, "bolt")).collect();
    let wrong = Item::Object(vec![
        ("bolt", Item::Count(3, "bolt")),
        ("reason", word("wrong-arm-position")),
        ("words", word("torqued with the arm at `hang`; it must be at `ride`")),
    ]);
    let warning = Item::Object(vec![
        ("id", word("plated-high-strength")),
        ("words", word("it can break")),
        ("advice", word("renew the bolt")),
    ]);
    let mut all = Assessment { car: Some("Larch 1300".to_owned()), ..Default::default() };
    for (side, states, forbids) in [
        ("left", ["open", "snug", "torqued", "paint-marked"], vec![wrong]),
        ("right", ["open"; 4], Vec::new()),
    ] {
        let mut put = |id, value| {
            let of = Some(Subject::Joint(format!("cover-{side}")));
            all.findings.push(Finding { id, of, at: None, value, why: Why::default() });
        };
        put("joint.caution", Item::List(vec![word("no load on the bar")]));
        put("joint.position", word("ride"));
        put("joint.setting", setting());
        put("joint.order", Item::Object(vec![("bolts", Item::List(order.clone()))]));
        put("joint.warning", Item::List(vec![warning.clone()]));
        put("joint.preload", Item::Object(vec![("preload", Item::leaf(Ratio::one(0.5)))]));
        put("joint.state", state(states));
        put("joint.sign-off", Item::Object(vec![("forbids", Item::List(forbids))]));
        all.joints.push(cover(side));
    }
    all
}

fn page(all: &Assessment) -> String {
    let html = build_sheet(all);
    let start = html.find("<section class=\"joints\" id=\"joints\">").expect("a torque page");
    let end = html[start..].find("</section>").expect("its end");
    html[start..start + end].to_owned()
}

#[test]
fn one_line_per_joint_with_its_figure_and_the_arm() {
    let html = page(&car());
    let glance = &html[html.find("<table class=\"glance\">").unwrap()..];
    let glance = &glance[..glance.find("</table>").unwrap()];
    assert_eq!(glance.matches("<tr>").count(), 2, "a head and one joint, left and right alike");
    for said in
        ["Hub cover, left and right", "43.1 N·m", "only there; snug until then", "see its warning"]
    {
        assert!(glance.contains(said), "{said}: {glance}");
    }
    assert!(glance.contains("left 1 open, 1 snug, 1 torqued, 1 paint-marked; right 4 open"));
    assert!(glance.contains("see its bolts"), "one was torqued with the arm hanging");
    let caution = html.find("The maker's manual decides").unwrap();
    assert!(caution < html.find("43.1 N·m").unwrap(), "caution before the figure");
    assert!(html.find("no load on the bar").unwrap() < html.find("class=\"reading\"").unwrap());
}

#[test]
fn every_bolt_has_its_state_in_words_and_its_boxes() {
    let html = page(&car());
    for (done, count) in [("snug: done", 3), ("torqued: done", 2), ("marked: done", 1)] {
        assert_eq!(html.matches(&format!("aria-label=\"{done}\"")).count(), count, "{done}");
    }
    assert_eq!(html.matches("class=\"box\"").count(), 8 * 3);
    for state in ["open", "snug", "torqued", "paint-marked"] {
        assert!(html.contains(&format!("<b>{state}</b>")), "{state}");
    }
    // In the order of tightening, and what is wrong beside its bolt.
    let at = |text: &str| html.find(text).unwrap_or_else(|| panic!("no {text}"));
    assert!(at("left, bolt A<") < at("left, bolt C<") && at("left, bolt C<") < at("left, bolt D<"));
    assert!(at("left, bolt C<") < at("torqued with the arm at `hang`"));
    assert!(at("torqued with the arm at `hang`") < at("left, bolt D<"));
}

#[test]
fn every_finding_of_the_joints_has_its_place_once() {
    let all = car();
    let html = build_sheet(&all);
    for finding in &all.findings {
        let Some(Subject::Joint(joint)) = &finding.of else { panic!("{finding:?}") };
        let mark = format!("data-finding=\"{}\" data-of=\"{joint}\"", finding.id);
        assert_eq!(html.matches(&mark).count(), 1, "{mark}");
    }
    assert!(!html.contains("Other figures"));
    assert!(html.contains("href=\"#joints\""));
}

#[test]
fn a_joint_that_is_not_known_says_so_and_a_car_without_joints_has_no_page() {
    let mut all = car();
    all.findings.retain(|finding| !["joint.setting", "joint.position"].contains(&finding.id));
    all.joints.iter_mut().for_each(|scene| scene.position = None);
    let html = page(&all);
    assert!(html.contains("Not known yet") && html.contains("Arm: not known"));
    assert!(html.contains("No torque yet"));
    let html = build_sheet(&common::six_numbers());
    assert!(!html.contains("Torque page") && !html.contains("href=\"#joints\""));
}

#[test]
fn a_wrench_to_be_borrowed_and_an_extension_stand_on_the_line() {
    let mut all = car();
    for finding in &mut all.findings {
        let Item::Object(parts) = &mut finding.value else { continue };
        for (name, part) in parts.iter_mut().filter(|_| finding.id == "joint.setting") {
            match *name {
                "beyond" => {
                    *part = Item::Object(vec![
                        ("top_least", Item::leaf(Torque::nm(313.8))),
                        ("top_most", Item::leaf(Torque::nm(1569.1))),
                    ]);
                }
                "adapter" => *part = Item::leaf(Length::mm(60.0)),
                _ => {}
            }
        }
    }
    let html = page(&all);
    assert!(html.contains("Borrow a wrench"), "{html}");
    assert!(html.contains("ends between 314 and 1569 N·m"));
    assert!(html.contains("with its extension") && html.contains("With the extension of 60 mm"));
}

#[test]
fn names_in_joints_cannot_break_out_of_the_page() {
    let mut all = car();
    all.joints[0].name = "</style><script>alert(1)</script>, left".to_owned();
    all.joints[0].bolts = "<b onclick=x>".to_owned();
    let html = build_sheet(&all);
    assert!(!html.contains("<script") && !html.contains("<b onclick"));
}

fn drawn(scene: &JointScene) -> Drawing {
    joint_layout(scene).expect("a drawing")
}

/// The middle of the hexagon of a bolt, and its width across flats.
fn head(drawing: &Drawing, bolt: u32) -> (f64, f64, f64) {
    let shape = drawing.shape(&format!("head of bolt {bolt}")).expect("a head");
    assert_eq!(shape.line, LineKind::Outline);
    let Form::Polyline { points, closed: true, .. } = &shape.form else { panic!("{shape:?}") };
    assert_eq!(points.len(), 6);
    let mean = |of: fn(&axlewright_sheets::Point) -> f64| points.iter().map(of).sum::<f64>() / 6.0;
    let (x, y) = (mean(|p| p.x), mean(|p| p.y));
    let (a, b) = (points[0], points[1]);
    let across = (f64::midpoint(a.x, b.x) - x).hypot(f64::midpoint(a.y, b.y) - y) * 2.0;
    (x, y, across)
}

#[test]
fn bolts_are_drawn_where_they_are_with_their_turn_in_the_head() {
    for side in ["left", "right"] {
        let scene = cover(side);
        let drawing = drawn(&scene);
        for (place, bolt) in scene.layout.iter().enumerate() {
            let (x, y, across) = head(&drawing, bolt.number);
            assert!((x - bolt.x.to_mm()).abs() < 1e-9 && (y - bolt.y.to_mm()).abs() < 1e-9);
            // A head of 14.63 mm bearing face has about 16 mm across its flats.
            assert!((across - 16.0).abs() < 0.5, "{across}");
            let turn = drawing.shape(&format!("turn of bolt {}", bolt.number)).unwrap();
            assert!(turn.accent);
            assert_eq!(turn.form.label().unwrap().text, bolt.turn.to_string());
            let name = drawing.shape(&format!("name of bolt {}", bolt.number)).unwrap();
            assert_eq!(name.form.label().unwrap().text, ["A", "B", "C", "D"][place]);
        }
        for (from, to) in [(1, 3), (3, 4), (4, 2)] {
            let way = drawing.shape(&format!("from bolt {from} to bolt {to}")).unwrap();
            let Form::Arrow { from: a, to: b } = way.form else { panic!() };
            let (x, y, _) = head(&drawing, to);
            let left = (b.x - x).hypot(b.y - y);
            assert!(left < (a.x - x).hypot(a.y - y), "the arrow points the other way");
        }
        assert!(drawing.description.contains("bolt A, then C, then D, then B"));
        let centre = drawing.shape("centre line of bolt 1, across").unwrap();
        assert_eq!(centre.line, LineKind::Centre);
        // Seen from outside, the left side has its nose to the left.
        let nose = drawing.shape("arrow to the nose").unwrap();
        let Form::Arrow { from, to } = nose.form else { panic!() };
        assert_eq!(to.x < from.x, side == "left");
        let bolts = scene.layout.iter().map(|bolt| bolt.y.to_mm());
        assert!(bolts.fold(f64::MAX, f64::min) > to.y, "below every bolt");
    }
    let no_nose = drawn(&JointScene { nose: None, ..cover("left") });
    assert!(no_nose.shape("arrow to the nose").is_none());
}

#[test]
fn labels_are_apart_inside_the_frame_and_readable_on_a_telephone() {
    let row: Vec<(f64, f64)> = (0..6).map(|n| (f64::from(n) * 40.0, 0.0)).collect();
    let ring: Vec<(f64, f64)> = (0..8)
        .map(|n| (f64::from(n) * std::f64::consts::FRAC_PI_4).sin_cos())
        .map(|(sin, cos)| (60.0 * cos, 60.0 * sin))
        .collect();
    let column = [(0.0, 0.0), (0.0, 50.0), (0.0, 100.0)];
    let turns: Vec<u32> = (1..=8).collect();
    let all = [
        cover("left"),
        cover("right"),
        scene("row", "row", &row, &turns),
        scene("ring", "ring", &ring, &turns),
        scene("column", "column", &column, &turns),
        scene("two", "two", &[(0.0, 0.0), (30.0, 10.0)], &turns),
    ];
    for scene in &all {
        let drawing = drawn(scene);
        let rooms = drawing.text_rooms();
        for (n, (text, room)) in rooms.iter().enumerate() {
            for (other, taken) in rooms.iter().skip(n + 1) {
                assert!(!room.overlaps(taken), "`{text}` and `{other}` in {}", drawing.name);
            }
            let f = drawing.frame;
            assert!(f.left <= room.left && room.right <= f.right, "`{text}` in {}", drawing.name);
            assert!(f.bottom <= room.bottom && room.top <= f.top, "`{text}` in {}", drawing.name);
        }
        // 350 px are left for a drawing on a telephone; 12 px is the least that is read there.
        let px = drawing.text_height * 350.0 / (drawing.frame.right - drawing.frame.left);
        assert!(12.0 <= px, "{}: {px}", drawing.name);
    }
}

#[test]
fn layouts_that_cannot_be_drawn_are_not() {
    assert!(joint_layout(&scene("one", "one", &[(0.0, 0.0)], &[1])).is_none());
    assert!(joint_layout(&scene("none", "none", &[], &[])).is_none());
    let far = [(f64::NAN, 0.0), (1e300, 0.0), (f64::INFINITY, 1.0)];
    assert!(joint_layout(&scene("far", "far", &far, &[1, 2, 3])).is_none());
    let mut odd = cover("left");
    odd.head = Some(Length::mm(f64::NAN));
    odd.thread = Some(Length::mm(f64::INFINITY));
    let svg = to_svg(&drawn(&odd));
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
    odd.head = Some(Length::mm(1e9));
    assert!(!to_svg(&drawn(&odd)).contains("NaN"));
}

#[test]
fn looks() {
    insta::assert_snapshot!("joint-layout", to_svg(&drawn(&cover("left"))));
}
