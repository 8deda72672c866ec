//! An invented car as the set-up would hand it over. The figures are plausible, not computed:
//! nothing here is evidence for a formula.

#![allow(dead_code, reason = "each test uses a part of it")]

use axlewright_quantity::{
    Amount, Angle, Corner, Energy, Force, Frequency, Length, LinearRate, Mass, Place, PlatePoint,
    Ratio, Side, Stress, Torque, TorsionalRate,
};
use axlewright_setup::{
    Assessment, CornerScene, Finding, Gap, GapRow, Input, Item, Leaf, NamedWindow, Pose,
    SceneState, SplineScene, StandScene, State, Subject, SupportScene, UpsetArrow, Why,
};

/// Every id a complete car has, by the public list.
pub const IDS: &[&str] = &[
    "bar.rate",
    "bar.shear-at-ride",
    "bar.shear-at-full-bump",
    "free-angle.manual",
    "free-angle.by-four-numbers",
    "free-angle.target",
    "free-angle.now",
    "trim.at-manual-angle",
    "vernier.step",
    "vernier.trim-per-step",
    "wheel-rate",
    "ride-frequency",
    "body.level",
    "hang.plate",
    "hang.arm",
    "index.choices",
    "window.stop-bolt",
    "window.damper",
    "window.hose",
    "window.cable",
    "window.half-shaft",
    "window.plate-bend",
    "damper.rings",
    "raise.stop-bolt",
    "droop",
    "ride.stick",
    "stands",
    "stands.upset",
    "travel",
];

fn leaf(value: impl Into<Amount>, u: impl Into<Amount>) -> Item {
    Item::Leaf(Leaf { value: value.into(), u: Some(u.into()), written: None })
}
fn deg(value: f64, u: f64) -> Item {
    leaf(Angle::deg(value), Angle::deg(u))
}
fn mm(value: f64, u: f64) -> Item {
    leaf(Length::mm(value), Length::mm(u))
}
fn n(value: f64, u: f64) -> Item {
    leaf(Force::n(value), Force::n(u))
}
fn word(text: &str) -> Item {
    Item::Word(text.to_owned())
}

fn input(
    name: &str,
    value: impl Into<Amount>,
    u: impl Into<Amount>,
    from: &str,
    share: f64,
) -> Input {
    Input {
        name: name.to_owned(),
        value: Some(value.into()),
        u: Some(u.into()),
        from: from.to_owned(),
        share: Some(share),
    }
}

fn why(words: &str) -> Why {
    Why {
        words: words.to_owned(),
        formula: "k = π·G·(D⁴ − d⁴)/(32·L)",
        source: "theory of the round bar in torsion; docs/method.md, torsion bar",
        inputs: vec![
            input("corner weight", Mass::kg(280.0), Mass::kg(8.0), "car file, line 61", 0.22),
            input("bar diameter", Length::mm(23.0), Length::mm(0.03), "car file, line 44", 0.58),
            input("active length", Length::mm(540.0), Length::mm(1.0), "car file, line 45", 0.002),
            input("gas force of the damper", Force::n(120.0), Force::n(20.0), "line 88", 0.198),
        ],
    }
}

struct Findings {
    all: Vec<Finding>,
    of: Option<Subject>,
}

impl Findings {
    fn add(&mut self, id: &'static str, value: Item, words: &str) {
        self.put(id, None, value, words);
    }
    fn put(&mut self, id: &'static str, at: Option<State>, value: Item, words: &str) {
        self.all.push(Finding { id, of: self.of.clone(), at, value, why: why(words) });
    }
}

/// Figures that differ from side to side.
struct Numbers {
    now: f64,
    change: f64,
    anchor: i32,
    plate: i32,
}

fn numbers(side: Side) -> Numbers {
    match side {
        Side::Left => Numbers { now: 34.9, change: -9.0, anchor: -10, plate: 10 },
        Side::Right => Numbers { now: 26.8, change: -0.9, anchor: -2, plate: 2 },
    }
}

const TARGET: f64 = 26.1;

fn angle_findings(f: &mut Findings, no: &Numbers) {
    f.add(
        "free-angle.target",
        deg(TARGET, 0.52),
        "The manual's 30° was written for 22 mm bars and dampers without gas. The 23 mm bars are \
         about a fifth stiffer and the gas lifts the car a little, so the bar needs less \
         preload: at the manual's angle the car would stand 35 mm too high.",
    );
    f.put("hang.plate", Some(State::Target), deg(26.3, 0.53), "The plate's own weight.");
    f.put("hang.plate", Some(State::Now), deg(no.now + 0.2, 0.16), "Read with the gauge.");
    f.put("hang.arm", Some(State::Target), deg(27.9, 0.55), "Plate, arm, hub and brake.");
    f.put("hang.arm", Some(State::Now), deg(no.now + 1.8, 0.22), "Plate, arm, hub and brake.");
    f.add("free-angle.now", deg(no.now, 0.16), "Reading less the plate's own weight.");
    f.add(
        "free-angle.manual",
        Item::Leaf(Leaf {
            value: Angle::deg(30.0).into(),
            u: Some(Angle::deg(0.29).into()),
            written: Some("30.0 deg ± 0.5 deg".to_owned()),
        }),
        "Second series, build 2468 to 3990.",
    );
    f.add("trim.at-manual-angle", mm(60.0, 6.0), "Trim, bar axis above wheel centre.");
    f.add("free-angle.by-four-numbers", deg(26.9, 0.9), "A cross-check of the rest.");
    f.add("vernier.step", Item::leaf(Angle::deg(0.4511)), "360° over the lowest common multiple.");
    f.add("vernier.trim-per-step", mm(2.64, 0.06), "At the target.");
    f.add("body.level", deg(0.1, 0.1), "Gauge read twice, turned end for end.");
    let row = |anchor: i64, plate: i64, change: f64, ends: i64, ok: bool| {
        Item::Object(vec![
            ("anchor_teeth", Item::Count(anchor, "teeth")),
            ("plate_teeth", Item::Count(plate, "teeth")),
            ("ends", Item::Count(ends, "ends")),
            ("change", Item::leaf(Angle::deg(change))),
            ("angle", deg(no.now + change, 0.16)),
            ("error", deg(no.now + change - TARGET, 0.54)),
            ("trim", mm(96.0, 5.2)),
            ("trim_when_new", mm(93.0, 5.0)),
            ("within_tolerance", Item::Flag(ok)),
            (
                "words",
                word(if plate > 1 {
                    "bar and plate up, plate back down"
                } else {
                    "plate only, one tooth"
                }),
            ),
        ])
    };
    f.add(
        "index.choices",
        Item::List(vec![
            row(no.anchor.into(), no.plate.into(), no.change, 2, true),
            row(0, -1, -8.571, 1, true),
            row(-11, 11, no.change - 0.9, 2, false),
        ]),
        "Reachable angles nearest the target.",
    );
}

fn position(angle: f64, verdict: &str) -> Item {
    Item::Object(vec![
        ("angle", deg(angle, 0.5)),
        ("margin", deg(2.0, 0.6)),
        ("verdict", word(verdict)),
    ])
}

fn window(span: (Option<f64>, Option<f64>), fit: [&str; 3]) -> Item {
    let end = |a: Option<f64>| a.map_or(Item::Nothing, |a| deg(a, 0.4));
    let travel = |a: Option<f64>| a.map_or(Item::Nothing, |a| mm((11.0 - a) * 8.0, 3.0));
    Item::Object(vec![
        ("from", end(span.0)),
        ("to", end(span.1)),
        ("from_travel", travel(span.0)),
        ("to_travel", travel(span.1)),
        (
            "limited_by_from",
            if span.0.is_some() { word("closed length and rings") } else { Item::Nothing },
        ),
        ("limited_by_to", if span.1.is_some() { word("open length") } else { Item::Nothing }),
        (
            "fit",
            Item::Object(vec![
                ("hang_target", position(27.9, fit[0])),
                ("hang_now", position(36.7, fit[1])),
                ("ride", position(11.0, fit[2])),
            ]),
        ),
    ])
}

/// Name, id, span, verdicts at hang (target), hang (now), ride.
type WindowRow = (&'static str, &'static str, (Option<f64>, Option<f64>), [&'static str; 3]);

const WINDOWS: [WindowRow; 6] = [
    ("stop bolt", "window.stop-bolt", (None, Some(20.3)), ["does not fit", "does not fit", "fits"]),
    ("damper", "window.damper", (Some(-2.6), Some(27.8)), ["try it", "does not fit", "fits"]),
    ("hose", "window.hose", (Some(-14.0), Some(31.2)), ["fits", "does not fit", "fits"]),
    ("cable", "window.cable", (None, Some(33.9)), ["fits", "does not fit", "fits"]),
    (
        "half-shaft",
        "window.half-shaft",
        (Some(-9.1), Some(28.4)),
        ["try it", "does not fit", "fits"],
    ),
    ("plate bend", "window.plate-bend", (Some(-12.2), Some(37.0)), ["fits", "fits", "fits"]),
];

fn act_findings(f: &mut Findings) {
    for (_, id, span, fit) in WINDOWS {
        f.add(id, window(span, fit), "Between the lengths it can have.");
    }
    for (at, k) in [(State::Target, 1.0), (State::Now, 1.55)] {
        let raise = Item::Object(vec![
            ("angle", deg(20.3, 0.4)),
            ("from_angle", deg(if k > 1.0 { 36.7 } else { 27.9 }, 0.5)),
            ("lift", mm(58.0 * k, 3.0)),
            ("force", n(1_480.0 * k, 60.0)),
            ("energy", leaf(Energy::j(92.0 * k), Energy::j(6.0))),
            ("stand", word("rear left")),
            ("stand_before", n(2_080.0, 110.0)),
            ("stand_after", n(2_080.0 - 1_480.0 * k, 140.0)),
            ("lifts_car", Item::Flag(k > 1.0)),
            ("may", word("may be raised")),
            ("ballast_with_margin", leaf(Mass::kg(40.0 * k), Mass::kg(12.0))),
            ("bags", Item::Count(if k > 1.0 { 7 } else { 4 }, "bags")),
        ]);
        f.put("raise.stop-bolt", Some(at), raise, "Bar plus the arm's weight, by virtual work.");
        let droop = Item::Object(vec![
            ("angle", deg(24.0, 0.4)),
            ("stopped_by", word("plate on the stop bolt")),
            ("force", n(910.0 * k, 80.0)),
        ]);
        f.put("droop", Some(at), droop, "The stop bolt comes before the damper is open.");
    }
}

fn part_findings(f: &mut Findings) {
    let rate = TorsionalRate::nm_per_deg(69.7);
    f.add("bar.rate", leaf(rate, TorsionalRate::nm_per_deg(1.4)), "From its measures.");
    let shear = |mpa: f64, share: f64| {
        vec![
            ("shear", leaf(Stress::mpa(mpa), Stress::mpa(9.0))),
            ("share_of_allowable", Item::leaf(Ratio::one(share))),
            ("torque", leaf(Torque::nm(1_052.0), Torque::nm(22.0))),
            ("twist", deg(15.1, 0.5)),
        ]
    };
    f.add("bar.shear-at-ride", Item::Object(shear(441.0, 0.55)), "Torque over section modulus.");
    f.add("bar.shear-at-full-bump", Item::Object(shear(843.0, 1.05)), "Rings at half height.");
    f.add("wheel-rate", leaf(LinearRate::n_per_mm(18.9), LinearRate::n_per_mm(0.4)), "At ride.");
    let frequency = |hz: f64| leaf(Frequency::hz(hz), Frequency::hz(0.02));
    let both = vec![("frequency", frequency(1.40)), ("with_tyre", frequency(1.33))];
    f.add("ride-frequency", Item::Object(both), "Sprung mass on the wheel rate.");
    let ring = |rings: i64, angle: f64, travel: f64| {
        Item::Object(vec![
            ("rings", Item::Count(rings, "rings")),
            ("contact_angle", deg(angle, 0.4)),
            ("travel", mm(travel, 3.0)),
        ])
    };
    let rings = Item::Object(vec![
        ("rings", Item::Count(7, "rings")),
        ("rows", Item::List(vec![ring(6, -1.4, 96.0), ring(7, 0.2, 83.0), ring(8, 1.7, 71.0)])),
        ("original_travel", mm(84.0, 3.0)),
        ("sold_with", Item::Count(7, "rings")),
    ]);
    f.add("damper.rings", rings, "As many as meet the buffer where the original did.");
    f.add("ride.stick", mm(364.5, 1.8), "Damper eye to eye at trim.");
    let rows = (-12_i32..=11).map(|step| {
        let t = f64::from(step) * 10.0;
        Item::Object(vec![
            ("travel", Item::leaf(Length::mm(t))),
            ("plate_angle", deg(11.0 - t / 8.0, 0.2)),
            ("camber", deg(-0.5 - t * 0.017 - t * t * 0.000_03, 0.12)),
            ("toe", deg(0.1 + t * 0.001_2 - t * t * 0.000_02, 0.08)),
            ("contact_x", mm(t * 0.05, 1.0)),
            ("damper", mm(364.5 - t * 0.93, 1.8)),
            ("hose", mm(118.0 + t.abs() * 0.2, 2.0)),
            ("plate_bend", mm(t * 0.06, 0.8)),
            ("load", n(2_400.0 + t * 18.9, 80.0)),
        ])
    });
    f.add("travel", Item::List(rows.collect()), "Arm geometry, every 10 mm.");
}

fn stand_findings(f: &mut Findings) {
    for (name, load) in [
        ("front left", 1_720.0),
        ("front right", 1_720.0),
        ("rear left", 830.0),
        ("rear right", 830.0),
    ] {
        f.of = Some(Subject::Stand(name.to_owned()));
        let value = Item::Object(vec![
            ("estimate", n(load, 90.0)),
            ("least", n(load - 640.0, 90.0)),
            ("most", n(load + 640.0, 90.0)),
            ("share_of_rating", Item::leaf(Ratio::one(load / 9_806.65))),
        ]);
        f.add("stands", value, "Equal stiffness of the four.");
    }
    f.of = None;
    let rows = DIRECTIONS.map(|(words, _, _, push)| {
        Item::Object(vec![
            ("direction", word(words)),
            ("push", n(push, 60.0)),
            ("gives_way", word("a stand tips on its own foot")),
            ("stand", word("rear left")),
        ])
    });
    f.add("stands.upset", Item::List(rows.to_vec()), "The least of tipping, sliding, lifting.");
}

const DIRECTIONS: [(&str, f64, f64, f64); 4] = [
    ("forward", 1.0, 0.0, 1_120.0),
    ("rearward", -1.0, 0.0, 980.0),
    ("to the left", 0.0, 1.0, 640.0),
    ("to the right", 0.0, -1.0, 655.0),
];

fn turned(about: Place, point: Place, degrees: f64) -> Place {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let (dx, dz) = ((point.x - about.x).to_mm(), (point.z - about.z).to_mm());
    // Tail down: a point behind the hub goes down.
    Place::mm(
        about.x.to_mm() + dx * cos - dz * sin,
        point.y.to_mm(),
        about.z.to_mm() + dz * cos + dx * sin,
    )
}

/// A corner's drawing material.
pub fn corner(corner: Corner) -> CornerScene {
    let side = corner.side();
    let no = numbers(side);
    let hub = Place::mm(0.0, 610.0, 0.0);
    let state = |name: &'static str, angle: f64| {
        let turn = |p: Place| turned(hub, p, angle - 11.0);
        let wheel_centre = turn(Place::mm(-455.0, 668.0, -95.0));
        SceneState {
            name,
            angle: Angle::deg(angle),
            pose: Some(Pose {
                wheel_centre,
                contact: Place { z: wheel_centre.z - Length::mm(292.0), ..wheel_centre },
                damper_arm: Some(turn(Place::mm(-525.0, 590.0, -110.0))),
                jack_point: Some(turn(Place::mm(-440.0, 600.0, -150.0))),
            }),
        }
    };
    CornerScene {
        corner,
        hub,
        outline: [(-60., 55.), (250., 50.), (370., 38.), (370., -36.), (250., -46.), (-60., -55.)]
            .map(|(u, w)| PlatePoint::mm(u, w))
            .to_vec(),
        holes: vec![PlatePoint::mm(250.0, 6.0), PlatePoint::mm(330.0, 6.0)],
        tyre_radius: Some(Length::mm(292.0)),
        stop_bolt: Some((Place::mm(-214.0, 610.0, -146.0), Length::mm(14.0), Length::mm(5.0))),
        damper_body: Some(Place::mm(-470.0, 560.0, 250.0)),
        states: vec![
            state("hang now", no.now + 1.8),
            state("hang at target", 27.9),
            state("stop bolt clear", 20.3),
            state("ride", 11.0),
            state("full bump", -1.6),
        ],
        windows: WINDOWS
            .map(|(name, _, (from, to), _)| NamedWindow {
                name,
                spans: vec![(from.map(Angle::deg), to.map(Angle::deg))],
            })
            .to_vec(),
        splines: Some(SplineScene {
            side,
            anchor_teeth: 38,
            plate_teeth: 42,
            anchor_move: no.anchor,
            plate_move: no.plate,
            now: Angle::deg(no.now),
            after: Angle::deg(no.now + no.change),
            target: Angle::deg(TARGET),
        }),
    }
}

/// The stands' drawing material.
pub fn supports() -> SupportScene {
    let stand = |name: &str, x: f64, y: f64, load: f64| StandScene {
        name: name.to_owned(),
        at: Place::mm(x, y, -120.0),
        foot: Length::mm(110.0),
        estimate: Force::n(load),
        range: (Force::n(load - 640.0), Force::n(load + 640.0)),
    };
    SupportScene {
        stands: vec![
            stand("front left", 1500.0, 480.0, 1_720.0),
            stand("front right", 1500.0, -480.0, 1_720.0),
            stand("rear left", 20.0, 450.0, 830.0),
            stand("rear right", 20.0, -450.0, 830.0),
        ],
        centre: Place::mm(900.0, 0.0, 250.0),
        push_height: Length::mm(900.0),
        pushes: DIRECTIONS
            .map(|(words, forward, left, push)| UpsetArrow {
                forward,
                left,
                words,
                push: Force::n(push),
                gives_way: "a stand tips on its own foot".to_owned(),
            })
            .to_vec(),
    }
}

fn gaps() -> Vec<Gap> {
    vec![
        Gap {
            id: "spec.damper-stop-stack".to_owned(),
            of: None,
            measure: "How many stop rings the manual wants".to_owned(),
            how: "Two rows are for this car. Look at pages 41 and 57 and strike one out."
                .to_owned(),
            blocks: vec!["damper.rings"],
            rows: vec![
                GapRow {
                    written: "6 rings".to_owned(),
                    builds: "up to 2650".to_owned(),
                    source: "manual, page 41".to_owned(),
                    line: 132,
                },
                GapRow {
                    written: "7 rings".to_owned(),
                    builds: "from 2600".to_owned(),
                    source: "no source".to_owned(),
                    line: 137,
                },
            ],
        },
        Gap {
            id: "tyre.arch_clearance".to_owned(),
            of: Some(Subject::Corner(Corner::LeftRear)),
            measure: "Tyre to arch, wheel held at full bump".to_owned(),
            how: "Bar out, arm held up by hand; a 5 mm strip must pass all round.".to_owned(),
            blocks: vec!["window.damper"],
            rows: Vec::new(),
        },
    ]
}

/// A car of which everything is known.
pub fn complete() -> Assessment {
    let mut findings = Findings { all: Vec::new(), of: None };
    for side in Side::BOTH {
        findings.of = Some(Subject::Corner(Corner::rear(side)));
        angle_findings(&mut findings, &numbers(side));
        act_findings(&mut findings);
        part_findings(&mut findings);
    }
    stand_findings(&mut findings);
    Assessment {
        car: Some("Larch 1300".to_owned()),
        findings: findings.all,
        gaps: gaps(),
        problems: Vec::new(),
        corners: Side::BOTH.map(|side| corner(Corner::rear(side))).to_vec(),
        supports: Some(supports()),
        ..Default::default()
    }
}

/// A car with six numbers: free angle and teeth on one side, nothing else.
pub fn six_numbers() -> Assessment {
    let left = Subject::Corner(Corner::LeftRear);
    let mut all = complete();
    all.findings.retain(|f| {
        let ids = ["free-angle.by-four-numbers", "free-angle.manual", "vernier.step"];
        f.of.as_ref() == Some(&left) && ids.contains(&f.id)
    });
    all.corners.clear();
    all.supports = None;
    all.problems = vec!["line 12: bar diameter is −23 mm; it must be greater than zero".to_owned()];
    all.gaps = vec![
        Gap {
            id: "corner_weight".to_owned(),
            of: None,
            measure: "Weight on each rear wheel".to_owned(),
            how: "A bathroom scale and a lever of known lengths; to 3 kg.".to_owned(),
            blocks: vec!["free-angle.target", "wheel-rate", "ride-frequency"],
            rows: Vec::new(),
        },
        Gap {
            id: "readings.plate".to_owned(),
            of: Some(left),
            measure: "Plate angle, plate alone on the bar".to_owned(),
            how: "Gauge on the reference line, read twice, turned end for end.".to_owned(),
            blocks: vec!["free-angle.now", "index.choices", "hang.plate"],
            rows: Vec::new(),
        },
    ];
    all
}
