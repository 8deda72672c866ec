//! Drawings asked about themselves: do lines and numbers agree, and can the texts be read?

use axlewright_quantity::{Angle, Corner, Force, Length, Place, PlatePoint, Side};
use axlewright_setup::{CornerScene, Finding, Item, SplineScene, Subject};
use axlewright_sheets::{
    Anchor, Drawing, Fill, Form, Frame, Label, LineKind, Point, Shape, side_view, spline_rings,
    stands_plan, to_svg, travel_curves,
};

use crate::common;

fn form<'a>(drawing: &'a Drawing, name: &str) -> &'a Form {
    let names = || drawing.shapes.iter().map(|s| s.name.as_str()).collect::<Vec<_>>();
    &drawing.shape(name).unwrap_or_else(|| panic!("no `{name}` in {:?}", names())).form
}

/// The number at the start of a label, with its true minus.
fn number(label: &Label) -> f64 {
    let text = label.text.replace('−', "-");
    let end = text.find(|c: char| !matches!(c, '0'..='9' | '.' | '-')).unwrap_or(text.len());
    text[..end].parse().unwrap_or_else(|_| panic!("no number in `{}`", label.text))
}

fn direction(p: Point) -> f64 {
    p.y.atan2(p.x).to_degrees()
}

fn points<'a>(drawing: &'a Drawing, name: &str) -> &'a [Point] {
    match form(drawing, name) {
        Form::Polyline { points, .. } => points,
        other => panic!("{other:?}"),
    }
}

fn travel() -> Finding {
    let left = Subject::Corner(Corner::LeftRear);
    common::complete().find("travel", Some(&left)).unwrap().clone()
}

const MARKS: [(&str, Angle); 3] =
    [("droop", Angle::deg(23.0)), ("ride", Angle::deg(11.0)), ("full bump", Angle::deg(-1.6))];

fn splines(side: Side, anchor_move: i32, plate_move: i32) -> SplineScene {
    let scene = common::corner(Corner::rear(side)).splines.unwrap();
    SplineScene { anchor_move, plate_move, ..scene }
}

/// One of each, and some that are crowded.
fn all() -> Vec<Drawing> {
    let mut crowded = common::corner(Corner::RightRear);
    for (n, state) in crowded.states.iter_mut().enumerate() {
        state.angle = Angle::deg(11.0 + 0.1 * n as f64);
    }
    let mut near = common::supports();
    for stand in &mut near.stands {
        stand.at = Place { x: stand.at.x * 0.4, ..stand.at };
    }
    let mut drawings = vec![
        side_view(&common::corner(Corner::LeftRear)).unwrap(),
        side_view(&common::corner(Corner::RightRear)).unwrap(),
        side_view(&crowded).unwrap(),
        stands_plan(&common::supports()).unwrap(),
        stands_plan(&near).unwrap(),
        travel_curves(&travel(), &MARKS).unwrap(),
        travel_curves(&travel(), &[("ride", Angle::deg(11.0)), ("droop", Angle::deg(11.2))])
            .unwrap(),
    ];
    for side in Side::BOTH {
        for (anchor, plate) in [(0, -1), (-10, 10), (9, -10), (0, 0), (1, 19), (18, -20)] {
            drawings.push(spline_rings(&splines(side, anchor, plate)));
        }
    }
    drawings
}

#[test]
fn dimension_lines_are_as_long_as_their_numbers_say() {
    let mut lengths = 0;
    let mut angles = 0;
    for drawing in all() {
        for shape in &drawing.shapes {
            match &shape.form {
                Form::Dimension(d) => {
                    let long = (d.from.x - d.to.x).hypot(d.from.y - d.to.y);
                    assert!((long - number(&d.label)).abs() <= 0.5, "{long} {:?}", d.label);
                    lengths += 1;
                }
                Form::AngleDimension(d) => {
                    let wide = (d.to - d.from).abs();
                    assert!((wide - number(&d.label)).abs() <= 0.05, "{wide} {:?}", d.label);
                    angles += 1;
                }
                _ => {}
            }
        }
    }
    assert!(lengths >= 3 && angles >= 3, "{lengths} lengths, {angles} angles");
}

#[test]
fn the_plate_is_drawn_at_its_angle_and_mirrored_on_the_right() {
    for corner in [Corner::LeftRear, Corner::RightRear] {
        let scene = common::corner(corner);
        let drawing = side_view(&scene).unwrap();
        // Rearward is to the right on the left side, to the left on the right side.
        let rearward = if corner.side() == Side::Left { 1.0 } else { -1.0 };
        let Form::Circle { centre, .. } = form(&drawing, "hole 1 at ride") else { panic!() };
        let unmirrored = Point { x: centre.x * rearward, y: centre.y };
        let hole = scene.holes[0];
        let above_line = hole.w.to_mm().atan2(hole.u.to_mm()).to_degrees();
        assert!((direction(unmirrored) - (above_line - 11.0)).abs() < 1e-9);
        let Form::Line { to, .. } = form(&drawing, "reference line at hang at target") else {
            panic!()
        };
        let target = Point { x: to.x * rearward, y: to.y };
        assert!((direction(target) + 27.9).abs() < 1e-9);
        let Form::Circle { centre, radius, .. } = form(&drawing, "tyre at ride") else { panic!() };
        assert!((centre.x * rearward - 455.0).abs() < 1e-9 && (centre.y + 95.0).abs() < 1e-9);
        assert!((radius - 292.0).abs() < 1e-9);
    }
}

#[test]
fn other_positions_are_double_dotted_and_ride_is_an_outline() {
    let drawing = side_view(&common::corner(Corner::LeftRear)).unwrap();
    let line = |name: &str| drawing.shape(name).unwrap().line;
    assert_eq!(line("plate at ride"), LineKind::Outline);
    for name in ["plate at hang now", "plate at stop bolt clear", "plate at full bump"] {
        assert_eq!(line(name), LineKind::OtherPosition, "{name}");
    }
    let accented: Vec<&str> =
        drawing.shapes.iter().filter(|s| s.accent).map(|s| s.name.as_str()).collect();
    assert!(accented.contains(&"plate at hang at target"), "{accented:?}");
}

#[test]
fn windows_span_their_angles_and_open_ends_have_arrows() {
    let drawing = side_view(&common::corner(Corner::LeftRear)).unwrap();
    let Form::Arc(damper) = form(&drawing, "window damper") else { panic!() };
    assert!((damper.from - 2.6).abs() < 1e-9 && (damper.to + 27.8).abs() < 1e-9, "{damper:?}");
    assert!(!damper.start_arrow && !damper.end_arrow);
    let Form::Arc(bolt) = form(&drawing, "window stop bolt") else { panic!() };
    assert!((bolt.to + 20.3).abs() < 1e-9 && bolt.start_arrow && !bolt.end_arrow, "{bolt:?}");
}

/// Tail down is clockwise on the left and anticlockwise on the right, seen from outside.
#[test]
fn marks_move_by_the_teeth_counted_and_the_right_way_round() {
    for (side, tail_down) in [(Side::Left, -1.0), (Side::Right, 1.0)] {
        for (anchor, plate) in [(9, -10), (-3, 1), (0, -1)] {
            let drawing = spline_rings(&splines(side, anchor, plate));
            for (end, moving, count, teeth) in
                [("anchor end", "bar", anchor, 38.0), ("plate end", "plate", plate, 42.0)]
            {
                let name = format!("{end}, move");
                if count == 0 {
                    assert!(drawing.shape(&name).is_none());
                    continue;
                }
                let turn = tail_down * f64::from(count) * 360.0 / teeth;
                let Form::Arc(arc) = form(&drawing, &name) else { panic!() };
                assert!((arc.to - arc.from - turn).abs() < 1e-9, "{arc:?} {turn}");
                let after = points(&drawing, &format!("{end}, mark on the {moving} after"));
                let tip = Point { x: after[0].x - arc.centre.x, y: after[0].y - arc.centre.y };
                let off = (direction(tip) - 90.0 - turn).rem_euclid(360.0);
                assert!(!(1e-6..=360.0 - 1e-6).contains(&off), "{off}");
                let words = form(&drawing, &format!("{end}, line 2")).label().unwrap();
                let expected = if turn < 0.0 { "clockwise" } else { "anticlockwise" };
                assert_eq!(words.text, expected);
            }
        }
    }
}

#[test]
fn every_tooth_of_a_short_move_is_counted() {
    let drawing = spline_rings(&splines(Side::Left, 0, -4));
    let counted = |n| drawing.shape(&format!("plate end, tooth {n}")).is_some();
    assert!(counted(4) && !counted(5));
    let teeth = points(&drawing, "anchor end, teeth").len();
    assert_eq!(teeth, 38 * 4);
}

#[test]
fn stands_stand_where_they_are_and_arrows_are_as_long_as_the_push() {
    let scene = common::supports();
    let drawing = stands_plan(&scene).unwrap();
    let Form::Circle { centre: saddle, .. } = form(&drawing, "saddle of stand front left") else {
        panic!()
    };
    // Left is left, the nose is up.
    assert!((saddle.x + 480.0).abs() < 1e-9 && (saddle.y - 1500.0).abs() < 1e-9);
    let arrow = |words: &str| match form(&drawing, &format!("push {words}")) {
        Form::Arrow { from, to } => (to.x - from.x, to.y - from.y),
        other => panic!("{other:?}"),
    };
    let (forward, left) = (arrow("forward"), arrow("to the left"));
    assert!(forward.1 > 0.0 && forward.0.abs() < 1e-9 && left.0 < 0.0 && left.1.abs() < 1e-9);
    let ratio = forward.0.hypot(forward.1) / left.0.hypot(left.1);
    assert!((ratio - 1_120.0 / 640.0).abs() < 1e-9, "{ratio}");
    let least = drawing.shape("push to the left, number").unwrap();
    assert!(least.accent && number(least.form.label().unwrap()) == 640.0);
    let estimate = form(&drawing, "stand rear left, line 2").label().unwrap();
    assert_eq!(number(estimate), 830.0);
}

#[test]
fn curves_share_the_travel_axis_and_marks_stand_where_the_table_says() {
    let drawing = travel_curves(&travel(), &MARKS).unwrap();
    let curves = ["camber, curve", "toe-in, curve", "damper, curve"].map(|n| points(&drawing, n));
    for curve in curves {
        assert_eq!(curve.len(), 24);
        assert!(curve.iter().zip(curves[0]).all(|(a, b)| (a.x - b.x).abs() < 1e-9));
    }
    // Row 12 of the table is no travel, and the fixture rides there.
    let Form::Line { from, .. } = form(&drawing, "mark ride") else { panic!() };
    assert!((from.x - curves[0][12].x).abs() < 1e-9);
    // The damper gets shorter as the wheel goes up.
    assert!(curves[2].windows(2).all(|w| w[1].y < w[0].y));
}

#[test]
fn no_text_covers_another() {
    for drawing in all() {
        let rooms = drawing.text_rooms();
        for (n, (text, room)) in rooms.iter().enumerate() {
            for (other, other_room) in &rooms[n + 1..] {
                let apart = !room.overlaps(other_room);
                assert!(
                    apart,
                    "`{text}` and `{other}` in {}: {room:?} {other_room:?}",
                    drawing.name
                );
            }
        }
    }
}

/// Twelve pixels and more where 350 pixels are left for the drawing.
#[test]
fn every_text_can_be_read_on_a_telephone() {
    for drawing in all() {
        let pixels = drawing.text_height * 350.0 / (drawing.frame.right - drawing.frame.left);
        assert!(pixels >= 12.0, "{}: {pixels:.2} px", drawing.name);
    }
}

#[test]
fn no_text_leaves_the_frame() {
    for drawing in all() {
        let frame = drawing.frame;
        for (text, room) in drawing.text_rooms() {
            let inside = frame.left <= room.left + 1e-9
                && room.right <= frame.right + 1e-9
                && frame.bottom <= room.bottom + 1e-9
                && room.top <= frame.top + 1e-9;
            assert!(inside, "`{text}` in {}: {room:?} {frame:?}", drawing.name);
        }
    }
}

#[test]
fn half_measured_corners_are_drawn_as_far_as_they_are_known() {
    let full = common::corner(Corner::LeftRear);
    let bare = CornerScene {
        outline: Vec::new(),
        holes: Vec::new(),
        tyre_radius: None,
        stop_bolt: None,
        damper_body: None,
        windows: Vec::new(),
        splines: None,
        states: full
            .states
            .iter()
            .cloned()
            .map(|mut s| {
                s.pose = None;
                s
            })
            .collect(),
        ..full
    };
    let drawing = side_view(&bare).unwrap();
    assert!(drawing.shape("plate at ride").is_some() && drawing.shape("tyre at ride").is_none());
    assert!(side_view(&CornerScene { states: Vec::new(), ..bare }).is_none());
    let mut none = common::supports();
    none.stands.clear();
    assert!(stands_plan(&none).is_none());
    let empty = Finding { value: Item::List(Vec::new()), ..travel() };
    assert!(travel_curves(&empty, &MARKS).is_none());
}

/// Nothing a car file can hold makes a drawing panic, hang or swell.
#[test]
fn absurd_numbers_do_no_harm() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, 0.0, 1e9] {
        let mut scene = common::corner(Corner::LeftRear);
        scene.outline[1] = PlatePoint::mm(bad, bad);
        scene.tyre_radius = Some(Length::mm(bad));
        scene.stop_bolt = Some((Place::mm(bad, bad, bad), Length::mm(bad), Length::mm(bad)));
        scene.damper_body = Some(Place::mm(bad, bad, bad));
        scene.windows[1].spans = vec![(Some(Angle::deg(bad)), Some(Angle::deg(-bad)))];
        scene.states[0].angle = Angle::deg(bad);
        let mut stands = common::supports();
        stands.stands[0].at = Place::mm(bad, bad, bad);
        stands.stands[1].foot = Length::mm(bad);
        stands.stands[2].estimate = Force::n(bad);
        stands.pushes[0].push = Force::n(bad);
        stands.pushes[1].forward = bad;
        let row = |t: f64| {
            Item::Object(vec![
                ("travel", Item::leaf(Length::mm(t))),
                ("camber", Item::leaf(Angle::deg(bad))),
            ])
        };
        let table = Finding { value: Item::List(vec![row(0.0), row(bad), row(1.0)]), ..travel() };
        let drawings = [side_view(&scene), stands_plan(&stands), travel_curves(&table, &MARKS)];
        for drawing in drawings.into_iter().flatten() {
            let svg = to_svg(&drawing);
            assert!(svg.len() < 200_000 && !svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
    }
    for (teeth, count) in [(0, 0), (0, 5), (1, i32::MIN), (u32::MAX, i32::MAX), (3, 500)] {
        let scene = splines(Side::Left, count, count);
        let scene = SplineScene { anchor_teeth: teeth, plate_teeth: teeth, ..scene };
        let svg = to_svg(&spline_rings(&scene));
        assert!(svg.len() < 200_000 && !svg.contains("NaN") && !svg.contains("inf"));
    }
}

#[test]
fn svg_turns_y_over_escapes_words_and_leaves_out_what_is_no_number() {
    let circle = |name: &str, y: f64| Shape {
        name: name.to_owned(),
        line: LineKind::Hidden,
        accent: false,
        form: Form::Circle { centre: Point { x: 1.0, y }, radius: 2.0, fill: Fill::Empty },
    };
    let label = Label {
        at: Point { x: 0.0, y: -3.0 },
        anchor: Anchor::Middle,
        text: "a < b & \"c\"".to_owned(),
        strong: false,
    };
    let words = Shape { form: Form::Text(label), ..circle("words", 0.0) };
    let svg = to_svg(&Drawing {
        name: "test".to_owned(),
        title: "<b>".to_owned(),
        description: "x".to_owned(),
        frame: Frame { left: 0.0, right: 10.0, bottom: -5.0, top: 20.0 },
        text_height: 2.0,
        shapes: vec![circle("up", 10.0), circle("nowhere", f64::NAN), words],
    });
    assert!(svg.contains("viewBox=\"0 -20 10 25\"") && svg.contains("cy=\"-10\""), "{svg}");
    assert!(svg.contains("y=\"3\"") && svg.contains("a &lt; b &amp; &quot;c&quot;"), "{svg}");
    assert!(svg.contains("&lt;b&gt;</title>") && svg.contains("role=\"img\""), "{svg}");
    assert!(svg.contains("stroke-dasharray=\"6 3\"") && !svg.contains("nowhere"), "{svg}");
}

/// Looks only: no number is proved here.
#[test]
fn looks() {
    insta::assert_snapshot!(
        "side-view",
        to_svg(&side_view(&common::corner(Corner::LeftRear)).unwrap())
    );
    insta::assert_snapshot!("spline-rings", to_svg(&spline_rings(&splines(Side::Left, -10, 10))));
    insta::assert_snapshot!("stands-plan", to_svg(&stands_plan(&common::supports()).unwrap()));
    insta::assert_snapshot!("travel-curves", to_svg(&travel_curves(&travel(), &MARKS).unwrap()));
}
