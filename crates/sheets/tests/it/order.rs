//! The order of work on paper: are all steps there, cautions before the act, and does the map show
//! what the plan says?

use axlewright_setup::{Assessment, Finding, Item, Why};
use axlewright_sheets::{
    Drawing, Fill, Form, Frame, LineKind, Point, Stretch, build_sheet, map_arcs, order_map,
    stretches, to_svg,
};

/// A step: id, phase, station, hold point.
type Row = (&'static str, &'static str, &'static str, bool);

const PLAN: [Row; 9] = [
    ("mark-left", "strip-down", "left rear", true),
    ("bolt-off-left", "strip-down", "left rear", false),
    ("bolt-off-right", "strip-down", "under right", false),
    ("weigh", "strip-down", "bench", true),
    ("arm-on-left", "assembly", "left rear", false),
    ("bolt-in-left", "assembly", "left rear", false),
    ("damper-on-left", "assembly", "under left", false),
    ("torque-left", "assembly", "left rear", false),
    ("sign-off", "assembly", "round the car", true),
];

fn word(text: &str) -> Item {
    Item::Word(text.to_owned())
}

fn step(row: &Row) -> Item {
    let (id, phase, station, hold) = row;
    let changes = vec![word(&format!("go to: {station}")), word("left side: jack up by 45 mm")];
    Item::Object(vec![
        ("step", word(id)),
        ("words", word(&format!("Work of {id}."))),
        ("phase", word(phase)),
        ("side", Item::Nothing),
        ("station", word(station)),
        ("hands", word("clean")),
        ("tool", word("ratchet")),
        ("arm", Item::Nothing),
        ("minutes", Item::Count(20, "min")),
        ("changes", Item::List(changes)),
        ("change_minutes", Item::Count(2, "min")),
        ("parts", Item::List(vec![word("left bolt"), word("right bolt")])),
        ("caution", word(&format!("Beware at {id}."))),
        ("reading", Item::Nothing),
        ("hold", Item::Flag(*hold)),
        ("people", Item::Count(1, "people")),
    ])
}

fn arc(before: &str, after: &str, reason: &str, implied: bool) -> Item {
    Item::Object(vec![
        ("implied", Item::Flag(implied)),
        ("before", word(before)),
        ("after", word(after)),
        ("reason", word(reason)),
        ("words", word(&format!("`{after}` wants the arm at 27.5°"))),
    ])
}

fn finding(id: &'static str, value: Item) -> Finding {
    let why = Why { words: format!("Words of {id}."), ..Why::default() };
    Finding { id, of: None, at: None, value, why }
}

fn arcs() -> Finding {
    finding(
        "order.arcs",
        Item::List(vec![
            arc("bolt-in-left", "damper-on-left", "geometry", false),
            arc("arm-on-left", "damper-on-left", "geometry", true),
            arc("bolt-off-left", "arm-on-left", "geometry", false),
            arc("arm-on-left", "torque-left", "part", false),
            arc("mark-left", "bolt-off-left", "said", false),
        ]),
    )
}

fn sequence(rows: &[Row]) -> Finding {
    finding("order.sequence", Item::List(rows.iter().map(step).collect()))
}

fn order() -> Vec<Finding> {
    let minutes = |minutes| Item::Count(minutes, "min");
    let cost = Item::Object(vec![
        ("minutes", minutes(18)),
        ("bound", minutes(18)),
        ("proven", Item::Flag(true)),
        ("work", minutes(180)),
        ("total", minutes(198)),
        ("stopped_by", word("proof")),
        ("features", Item::List(Vec::new())),
        ("waiting", Item::List(Vec::new())),
    ]);
    let blocked = Item::Object(vec![
        ("steps", Item::List(Vec::new())),
        ("parts", Item::List(Vec::new())),
        ("out_of_order", Item::List(Vec::new())),
    ]);
    let finish = Item::Object(vec![("date", word("Sat 1964-05-16 11:00"))]);
    vec![
        sequence(&PLAN),
        finding("order.cost", cost),
        arcs(),
        finding("order.now", Item::List(Vec::new())),
        finding("order.blocked-by", blocked),
        finding("order.finish", finish),
    ]
}

fn sheet() -> String {
    build_sheet(&Assessment { findings: order(), ..Assessment::default() })
}

fn at(html: &str, text: &str) -> usize {
    html.find(text).unwrap_or_else(|| panic!("no `{text}` in the sheet"))
}

/// The page's piece about one step.
fn card<'a>(html: &'a str, id: &str) -> &'a str {
    let from = at(html, &format!("data-step=\"{id}\""));
    let rest = &html[from..];
    &rest[..rest[1..].find("data-step=").map_or(rest.len(), |end| end + 1)]
}

#[test]
fn every_step_and_every_finding_stands_once() {
    let html = sheet();
    for (id, ..) in PLAN {
        assert_eq!(html.matches(&format!("data-step=\"{id}\"")).count(), 1, "{id}");
    }
    for found in order() {
        assert_eq!(html.matches(&format!("data-finding=\"{}\"", found.id)).count(), 1);
    }
    assert_eq!(html.matches("type=\"checkbox\"").count(), PLAN.len());
    assert!(!html.contains("Other figures") && html.contains("href=\"#order\""));
}

#[test]
fn no_order_no_pages() {
    let html = build_sheet(&Assessment::default());
    assert!(!html.contains("The order of work") && !html.contains("href=\"#order\""));
}

#[test]
fn the_caution_comes_first_then_the_jack_then_the_work() {
    let html = sheet();
    for (id, ..) in PLAN {
        let card = card(&html, id);
        let order = ["<b>Caution. </b>Beware", "<b>First </b>go to", "jack up by 45 mm", "Work of"];
        let places = order.map(|text| at(card, text));
        assert!(places.is_sorted(), "{id}: {places:?}");
    }
    let warned = at(&html, "never on the jack.</b>");
    assert!(warned < at(&html, "data-step="), "the first step before the caution");
}

#[test]
fn hold_points_and_only_they_have_a_line_to_sign() {
    let html = sheet();
    for (id, _, _, hold) in PLAN {
        let signed = card(&html, id).matches("Signed").count();
        assert_eq!(signed, usize::from(hold), "{id}");
    }
}

#[test]
fn reasons_name_steps_by_their_numbers_and_implied_ones_are_left_out() {
    let html = sheet();
    let damper = card(&html, "damper-on-left");
    assert!(damper.contains("Only after step 6:"), "{damper}");
    // From a stretch before: the map cannot draw it, so it stands in words.
    let assembly = &html[at(&html, "<h3>Assembly</h3>")..];
    assert!(assembly.contains("<b>step 2 before step 5</b>"));
    assert!(assembly.contains("A, 6 before 7: </b>step 7 wants the arm at 27.5°."));
}

#[test]
fn what_to_lay_out_stands_before_the_steps() {
    let html = sheet();
    let stretch = &html[at(&html, "<h3>Strip-down</h3>")..];
    let order = ["4 steps, 1 h 28 min", "bolt, left and right", "ratchet", "data-step="];
    assert!(order.map(|text| at(stretch, text)).is_sorted());
}

#[test]
fn words_of_a_car_file_cannot_break_out_of_the_page() {
    let mut all = Assessment { findings: order(), ..Assessment::default() };
    let nasty = "</div><script>alert(1)</script>`&\"";
    let mut item = step(&PLAN[0]);
    if let Item::Object(parts) = &mut item {
        for (_, part) in parts.iter_mut().filter(|(_, part)| matches!(part, Item::Word(_))) {
            *part = word(nasty);
        }
    }
    all.findings[0].value = Item::List(vec![item.clone(), item]);
    assert!(!build_sheet(&all).contains("<script"));
}

// ---- The map ----

fn with_maps(rows: &[Row], arcs: &Finding, look: impl Fn(&Stretch<'_>, Option<&Drawing>)) {
    let found = sequence(rows);
    for stretch in stretches(found.value.items()) {
        look(&stretch, order_map(&stretch, &map_arcs(&stretch, arcs)).as_ref());
    }
}

fn dot(drawing: &Drawing, number: usize) -> Point {
    let name = format!("step {number}");
    match &drawing.shape(&name).unwrap_or_else(|| panic!("no {name}")).form {
        Form::Circle { centre, fill: Fill::Solid, .. } => *centre,
        other => panic!("{other:?}"),
    }
}

#[test]
fn dots_go_down_in_order_each_in_the_lane_of_its_place() {
    with_maps(&PLAN, &arcs(), |stretch, drawing| {
        let drawing = drawing.unwrap();
        let numbers = stretch.first..stretch.first + stretch.steps.len();
        let dots: Vec<Point> = numbers.map(|number| dot(drawing, number)).collect();
        assert!(dots.windows(2).all(|pair| pair[1].y < pair[0].y));
        for (step, dot) in stretch.steps.iter().zip(&dots) {
            let Some(Item::Word(station)) = step.get("station") else { panic!() };
            let lane = drawing.shape(&format!("lane {station}")).unwrap();
            assert_eq!(lane.line, LineKind::Centre);
            let Form::Line { from, to } = lane.form else { panic!() };
            assert!((from.x - dot.x).abs() < 1e-9 && to.y < dot.y && dot.y < from.y, "{station}");
        }
        // The way runs through every dot, in order.
        let Form::Polyline { points, .. } = &drawing.shape("way").unwrap().form else { panic!() };
        let on_way: Vec<usize> =
            dots.iter().filter_map(|dot| points.iter().position(|p| p == dot)).collect();
        assert!(on_way.len() == dots.len() && on_way.is_sorted());
        // No slanted walks.
        assert!(points.windows(2).all(|p| p[0].x == p[1].x || p[0].y == p[1].y));
    });
}

#[test]
fn the_left_of_the_car_is_on_the_left() {
    with_maps(&PLAN, &arcs(), |_, drawing| {
        let drawing = drawing.unwrap();
        let x = |word: &str| -> Vec<f64> {
            let is_lane = |name: &str| name.starts_with("lane ") && name.contains(word);
            let lanes = drawing.shapes.iter().filter(|s| is_lane(&s.name));
            let x =
                |form: &Form| if let Form::Line { from, .. } = form { from.x } else { f64::NAN };
            lanes.map(|s| x(&s.form)).collect()
        };
        let left = x("left").into_iter().fold(0.0, f64::max);
        let right = x("right").into_iter().fold(1e9, f64::min);
        let middle = [x("bench"), x("round")].concat();
        assert!(left < right && middle.iter().all(|m| left < *m && *m < right));
    });
}

#[test]
fn arcs_run_from_step_to_step_in_the_line_of_their_reason() {
    with_maps(&PLAN, &arcs(), |stretch, drawing| {
        let drawing = drawing.unwrap();
        let is_arc = |name: &str| name.starts_with("arc") && !name.contains(',');
        let arcs: Vec<_> = drawing.shapes.iter().filter(|s| is_arc(&s.name)).collect();
        if stretch.phase == "strip-down" {
            assert!(arcs.is_empty(), "said arcs are not drawn");
            return;
        }
        let named = |name: &str| *arcs.iter().find(|s| s.name == name).unwrap();
        let geometry = named("arc A: 6 before 7");
        let part = named("arc: 5 before 8");
        assert_eq!(arcs.len(), 2, "the implied one is not drawn");
        assert_eq!((geometry.line, geometry.accent), (LineKind::OtherPosition, true));
        assert_eq!((part.line, part.accent), (LineKind::Hidden, false));
        for (shape, before, after) in [(geometry, 6, 7), (part, 5, 8)] {
            let Form::Polyline { points, .. } = &shape.form else { panic!() };
            assert_eq!(points.first().unwrap().y, dot(drawing, before).y);
            assert_eq!(points.last().unwrap().y, dot(drawing, after).y);
            let head = drawing.shape(&format!("{}, head", shape.name)).unwrap();
            let Form::Arrow { from, to } = head.form else { panic!() };
            assert!(to.x < from.x && dot(drawing, after).x < to.x && to.y == dot(drawing, after).y);
        }
    });
}

#[test]
fn hold_points_are_diamonds_and_the_key_tells_every_mark() {
    with_maps(&PLAN, &arcs(), |stretch, drawing| {
        let drawing = drawing.unwrap();
        for (at, step) in stretch.steps.iter().enumerate() {
            let name = format!("step {}, hold point", stretch.first + at);
            let is_hold = step.get("hold") == Some(&Item::Flag(true));
            assert_eq!(drawing.shape(&name).is_some(), is_hold, "{name}");
        }
        let svg = to_svg(drawing);
        let has_geometry = stretch.phase == "assembly";
        assert!(svg.contains("hold point: signed before going on"));
        assert_eq!(svg.contains("because of the arm’s angle"), has_geometry);
        assert_eq!(svg.contains("one step makes the other possible"), has_geometry);
    });
}

/// A crowd: more places than columns, more arcs than channels, long words.
fn crowd() -> (Vec<Row>, Finding) {
    const PLACES: [&str; 11] = [
        "left rear",
        "under left",
        "left front",
        "bench",
        "round the car",
        "nose",
        "right front",
        "under right",
        "right rear",
        "gearbox tunnel",
        "washing-up place behind the house",
    ];
    const IDS: [&str; 40] = [
        "a0", "a1", "a2", "a3", "a4", "a5", "a6", "a7", "a8", "a9", "b0", "b1", "b2", "b3", "b4",
        "b5", "b6", "b7", "b8", "b9", "c0", "c1", "c2", "c3", "c4", "c5", "c6", "c7", "c8", "c9",
        "d0", "d1", "d2", "d3", "d4", "d5", "d6", "d7", "d8", "d9",
    ];
    let rows = IDS.iter().enumerate();
    let rows = rows.map(|(at, id)| (*id, "assembly", PLACES[at * 7 % 11], at % 5 == 0)).collect();
    let reason = |at: usize| if at.is_multiple_of(3) { "part" } else { "geometry" };
    let arcs = (0..20).map(|at| arc(IDS[at], IDS[39 - at / 2], reason(at), false)).collect();
    (rows, finding("order.arcs", Item::List(arcs)))
}

fn readable(drawing: &Drawing) {
    let wide = drawing.frame.right - drawing.frame.left;
    // 350 px are left on a telephone 390 px wide.
    assert!(12.0 <= drawing.text_height * 350.0 / wide, "letters too small");
    let rooms = drawing.text_rooms();
    for (at, (text, room)) in rooms.iter().enumerate() {
        let Frame { left, right, bottom, top } = drawing.frame;
        let inside = left <= room.left && room.right <= right;
        assert!(inside && bottom <= room.bottom && room.top <= top, "{text} outside");
        for (other, taken) in &rooms[at + 1..] {
            assert!(!room.overlaps(taken), "`{text}` covers `{other}`");
        }
    }
}

#[test]
fn texts_can_be_read_on_a_telephone_and_keep_apart() {
    let (rows, many) = crowd();
    let none = finding("order.arcs", Item::List(Vec::new()));
    for (rows, arcs) in [(PLAN.to_vec(), arcs()), (rows.clone(), many), (rows, none)] {
        let found = sequence(&rows);
        for mut stretch in stretches(found.value.items()) {
            for first in [stretch.first, 95, 971] {
                stretch.first = first;
                readable(&order_map(&stretch, &map_arcs(&stretch, &arcs)).unwrap());
            }
        }
    }
}

#[test]
fn a_crowded_map_leaves_arcs_out_rather_than_covering_them() {
    let (rows, many) = crowd();
    let found = sequence(&rows);
    let stretch = &stretches(found.value.items())[0];
    let arcs = map_arcs(stretch, &many);
    assert_eq!(arcs.len(), 20);
    let lettered = arcs.iter().filter(|arc| arc.letter.is_some()).count();
    assert_eq!(lettered, 5, "eight columns leave five channels");
    assert!(arcs.iter().all(|arc| arc.is_geometry || arc.letter.is_none()));
    let drawing = order_map(stretch, &arcs).unwrap();
    let drawn =
        drawing.shapes.iter().filter(|s| s.name.starts_with("arc") && s.name.ends_with("head"));
    assert_eq!(drawn.count(), 5);
    let dots: Vec<f64> = (1..=40).map(|number| dot(&drawing, number).x).collect();
    assert!(dots.iter().all(|x| (drawing.frame.left..drawing.frame.right).contains(x)));
}

#[test]
fn one_place_without_arcs_needs_no_map() {
    let alone = [("weigh", "assembly", "bench", false), ("read", "assembly", "bench", true)];
    with_maps(&alone, &arcs(), |_, drawing| assert!(drawing.is_none()));
    assert!(stretches(&[]).is_empty());
    // Steps that say nothing about themselves do no harm.
    let empty = [Item::Nothing, Item::Object(Vec::new())];
    let found = stretches(&empty);
    assert!(order_map(&found[0], &map_arcs(&found[0], &arcs())).is_none());
}
