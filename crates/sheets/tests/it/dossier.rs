//! The dossier as a file, and the chart of fits: is everything there, where it belongs, readable,
//! and nothing from outside? The record is made up; nothing here is evidence for a formula.

use axlewright_quantity::{Angle, Corner, Length, Side, Torque};
use axlewright_setup::record::{
    AlignmentRow, BoltLine, BoltState, Fit, Happened, JointRecord, MarkRecord, Open, Origin,
    PartRecord, PartState, PhotoRecord, ReadingLine, Record, RoundRecord, Said, SideAttempts,
    Signature, Stamp, StepHappened, StepRecord, StrikeRecord, WheelFigures,
};
use axlewright_setup::{Finding, Gap, Item, Leaf, State, Subject, Why};
use axlewright_sheets::{Form, LineKind, Picture, attempts_chart, dossier, to_svg};

use crate::common;

const NASTY: &str = "</style><script>alert('x')</script>\" onclick=\"y & Ö";

fn text(words: &str) -> String {
    words.to_owned()
}

fn stamp(seq: u64) -> Stamp {
    Stamp {
        origin: Origin::Entry(seq),
        day: Some(text("2026-11-25")),
        at: Some(text("2026-11-25T21:04:09Z")),
        by: Some(text("Ada")),
    }
}

fn leaf(value: impl Into<axlewright_quantity::Amount>, u: f64) -> Leaf {
    let value = value.into();
    let u = axlewright_quantity::Amount::from_shown(value.kind(), u);
    Leaf { value, u: (0.0 < u.shown()).then_some(u), written: None }
}

fn said(words: &str, leaf: Option<Leaf>, seq: u64) -> Said {
    Said { text: text(words), leaf, how: text("with the long gauge"), stamp: stamp(seq) }
}

fn why(words: &str) -> Why {
    Why {
        words: text(words), formula: "θ = ρ − o − β", source: "docs/method.md", inputs: vec![]
    }
}

fn fit(number: u32, (anchor_teeth, plate_teeth): (i32, i32), degrees: f64) -> Fit {
    let value = Item::Object(vec![
        ("angle", Item::Leaf(leaf(Angle::deg(degrees), 0.2))),
        ("off", Item::Leaf(leaf(Angle::deg(degrees - 26.3), 0.4))),
    ]);
    let of = Some(Subject::Corner(Corner::LeftRear));
    let words = format!("Fit {number}.");
    let angle = Finding { id: "attempt.angle", of, at: None, value, why: why(&words) };
    Fit {
        number,
        anchor_teeth,
        plate_teeth,
        anchor_at: None,
        plate_at: None,
        read: said("35.2 deg", Some(leaf(Angle::deg(degrees + 0.3), 0.15)), u64::from(number)),
        angle: Some(angle),
        told: (1 < number).then(|| text("as counted")),
    }
}

fn fits(degrees: &[f64], next: Option<(i64, i64, f64)>) -> SideAttempts {
    let fits = (1..).zip(degrees).map(|(n, degrees)| fit(n, (n as i32 - 1, -1), *degrees));
    let next = next.map(|(anchor, plate, after)| Finding {
        id: "attempt.next",
        of: Some(Subject::Corner(Corner::LeftRear)),
        at: Some(State::Now),
        value: Item::Object(vec![
            ("angle", Item::Leaf(leaf(Angle::deg(25.9), 0.2))),
            ("anchor_teeth", Item::Count(anchor, "teeth")),
            ("plate_teeth", Item::Count(plate, "teeth")),
            ("after", Item::Leaf(leaf(Angle::deg(after), 0.2))),
            ("read_again", Item::Flag(false)),
        ]),
        why: why("Next: two teeth."),
    });
    SideAttempts {
        side: Side::Left,
        target: Some(leaf(Angle::deg(26.3), 0.4)),
        within: Some(leaf(Angle::deg(0.2256), 0.0)),
        fits: fits.collect(),
        next,
    }
}

fn photo(of: &str, when: Option<&str>, digit: char) -> PhotoRecord {
    PhotoRecord {
        sha256: digit.to_string().repeat(64),
        media: text("image/jpeg"),
        width: 640,
        height: 480,
        of: text(of),
        when: when.map(text),
        note: None,
        stamp: stamp(40),
    }
}

fn mark(name: &str) -> MarkRecord {
    let value = Item::Object(vec![
        ("mark", Item::Word(text(name))),
        ("camber", Item::Leaf(leaf(Angle::deg(0.12), 0.02))),
        ("toe", Item::Leaf(leaf(Angle::deg(-0.05), 0.01))),
    ]);
    let worth = Finding { id: "mark.worth", of: None, at: None, value, why: why("Moved.") };
    MarkRecord {
        name: text(name),
        between: [text("arm, left"), text("spring plate, left")],
        side: Some(Side::Left),
        made: stamp(12),
        offset: Some(said("1.5 mm rearward", None, 30)),
        void: None,
        worth: Some(worth),
        no_worth: None,
        before: vec![photo(name, Some("before"), 'a')],
        after: vec![photo(name, Some("after"), 'b')],
    }
}

fn gap(id: &str, measure: &str) -> Gap {
    let (measure, how) = (text(measure), text("by hand"));
    Gap { id: text(id), of: None, measure, how, blocks: vec![], rows: vec![] }
}

fn signature(name: &str, overtaken: Option<&str>) -> Signature {
    Signature {
        of: text("marks-left"),
        what: text("paint the marks"),
        name: text(name),
        as_what: Some(text("restorer")),
        note: None,
        stamp: stamp(20),
        in_spite: None,
        open: vec![],
        overtaken: overtaken.map(text),
    }
}

fn joint() -> JointRecord {
    let bolt = |bolt, state, torqued: bool| BoltLine {
        bolt,
        state,
        value: torqued.then(|| said("4.4 kgf m", Some(leaf(Torque::nm(43.1), 0.0)), 33)),
        wrench: torqued.then(|| text("middle click wrench")),
        position: torqued.then_some("hang"),
        torqued: torqued.then(|| stamp(33)),
        fault: None,
        marked: None,
        loosened: None,
    };
    JointRecord {
        joint: text("hub-cover-left"),
        name: text("hub cover to body, left"),
        bolts: vec![bolt(1, BoltState::Torqued, true), bolt(2, BoltState::Open, false)],
        ready: false,
        forbids: vec![text("bolt B: open")],
        signed: vec![],
    }
}

fn part() -> PartRecord {
    let lived = |words: &str, seq| Happened { words: text(words), stamp: stamp(seq) };
    PartRecord {
        id: text("hose-left"),
        name: text("brake hose, left"),
        place: Some(PartState::Out),
        due: Some(text("2026-12-04")),
        verdict: Some(text("scrap")),
        fate: Some(text("replaced")),
        in_spite: None,
        life: vec![lived("inspected: scrap", 14), lived("ordered, due 2026-12-04", 15)],
    }
}

fn wheels() -> (RoundRecord, AlignmentRow) {
    let camber = |seq| said("-0.30 deg", Some(leaf(Angle::deg(-0.3), 0.15)), seq);
    let round = RoundRecord {
        number: 1,
        stamp: stamp(50),
        load: Some(text("empty, half a tank")),
        stage: None,
        settled: Some(true),
        figures: vec![WheelFigures { what: "camber", at: vec![(Corner::LeftRear, camber(50))] }],
        moved: vec![Happened { words: text("LR rear eccentric +0.25 turns"), stamp: stamp(51) }],
        note: None,
    };
    let row = AlignmentRow {
        what: "camber",
        corner: Corner::LeftRear,
        wanted: Some((text("-0°30' ± 20'"), text("section S, p. 15"))),
        before: None,
        last: Some(camber(50)),
    };
    (round, row)
}

fn record() -> Record {
    let (round, row) = wheels();
    let trim = |mm, seq| said("97 mm", Some(leaf(Length::mm(mm), 4.0)), seq);
    let mut record = Record {
        build_number: Some(2611),
        first: Some(stamp(1)),
        last: Some(stamp(57)),
        writers: vec![text("Ada"), text("Jo")],
        head: Some((57, "0123456789abcdef".repeat(4))),
        car_files: vec![stamp(1)],
        readings: vec![ReadingLine {
            what: text("trim"),
            corner: Some(Corner::LeftRear),
            stage: None,
            before: Some(trim(118.0, 3)),
            now: Some(trim(97.0, 50)),
            earlier: vec![trim(99.0, 44)],
        }],
        attempts: vec![fits(&[34.9, 25.9], Some((2, -2, 26.35)))],
        joints: vec![joint()],
        parts: vec![part()],
        marks: vec![mark("left arm on plate")],
        steps: vec![StepRecord {
            id: text("marks-left"),
            title: text("Clean each eccentric (left)"),
            now: Some((StepHappened::Done, stamp(19))),
            estimate: Some(15),
            minutes: Some(25),
            hold: true,
            signed: vec![signature("Ada", None)],
        }],
        signatures: vec![signature("Ada", None), signature("Jo", Some("it was undone (entry 21)"))],
        rounds: vec![round],
        notes: vec![(text("torsion bar"), Happened { words: text("scratched"), stamp: stamp(9) })],
        photos: vec![photo("torsion bar, left", None, 'c')],
        strikes: vec![StrikeRecord {
            struck: stamp(22),
            kind: text("reading"),
            said: text("trim right 940 mm"),
            why: text("a digit too many"),
            by: stamp(23),
        }],
        open: Open {
            unsigned: vec![gap("sign.job", "the whole job, signed")],
            untorqued: vec![gap("torque.hub-cover-left", "hub cover, bolt B to its torque")],
            unread: vec![],
            away: vec![gap("part.hose-left", "brake hose, left")],
        },
        ..Record::default()
    };
    record.counts.entries = 57;
    record.minutes = axlewright_setup::record::Minutes { steps: 1, took: 25, estimate: 15 };
    record.alignment.rows.push(row);
    record
}

fn picture(_: &PhotoRecord) -> Option<Picture> {
    Some(Picture { media: text("image/jpeg"), bytes: vec![0xff, 0xd8, 0xff] })
}

fn page() -> String {
    dossier(&common::complete(), &record(), &mut picture)
}

fn at(html: &str, text: &str) -> usize {
    html.find(text).unwrap_or_else(|| panic!("no `{text}` in the dossier"))
}

#[test]
fn the_parts_stand_in_their_order_and_the_build_sheet_first() {
    let html = page();
    let parts = [
        "id=\"at-a-glance\"",
        "id=\"build-sheet\"",
        "must hang at",
        "id=\"found\"",
        "id=\"done\"",
        "id=\"on-its-wheels\"",
        "id=\"signed\"",
        "id=\"open\"",
        "id=\"alignment\"",
        "id=\"photos\"",
        "id=\"struck\"",
        "id=\"seal\"",
    ];
    let places: Vec<usize> = parts.iter().map(|part| at(&html, part)).collect();
    assert!(places.is_sorted(), "{places:?}");
    for (n, part) in parts.iter().enumerate().filter(|(_, part)| part.starts_with("id=")) {
        assert_eq!(html.matches(part).count(), 1, "{n} {part}");
    }
}

/// What a reader of paper has to find: what was found, who turned which bolt to what, and so on.
#[test]
fn what_was_found_done_measured_and_signed_is_told() {
    let html = page();
    let within = |id: &str, words: &[&str]| {
        let from = at(&html, &format!("class=\"part\" id=\"{id}\""));
        let rest = &html[from + 1..];
        let part = &rest[..rest.find("class=\"part\"").unwrap_or(rest.len())];
        for words in words {
            assert!(part.contains(words), "no `{words}` in {id}");
        }
    };
    within("found", &["118", "97", "“97 mm”", "entry 44", "scrap", "1.5 mm rearward", "scratched"]);
    within("found", &["data-finding=\"mark.worth\"", "data:image/jpeg;base64,/9j/"]);
    within("done", &["4.4 kgf m", "43.1", "middle click wrench", "2026-11-25 21:04 UTC", "Ada"]);
    within("done", &["25 min", "15 min", "due <span class=\"num\">2026-12-04", "attempts-left"]);
    within("done", &["bolt B: open".replace("bolt", "Bolt").as_str(), "as counted"]);
    within("on-its-wheels", &["empty, half a tank", "LR rear eccentric +0.25 turns"]);
    within("signed", &["no longer: ", "it was undone (entry 21)", "The whole job, signed"]);
    within("alignment", &["-0°30' ± 20'", "section S, p. 15", "As left", "build number 2611"]);
    within("seal", &["01234567 89abcdef", "book verify", "entry <b class=\"num\">57"]);
}

#[test]
fn every_finding_of_the_assessment_stands_in_it_once() {
    let all = common::complete();
    let html = page();
    let own = ["attempt.angle", "attempt.next", "mark.worth", "mark.rate"];
    let of_record: usize =
        own.iter().map(|id| html.matches(&format!("data-finding=\"{id}\"")).count()).sum();
    assert_eq!(of_record, 4);
    assert_eq!(html.matches("data-finding=").count(), all.findings.len() + of_record);
}

#[test]
fn what_is_struck_out_stands_under_the_strikes_alone() {
    let html = page();
    assert_eq!(html.matches("trim right 940 mm").count(), 1);
    let struck = at(&html, "trim right 940 mm");
    assert!(at(&html, "id=\"struck\"") < struck && struck < at(&html, "id=\"seal\""));
    assert!(html[struck..].contains("a digit too many"));
}

#[test]
fn nothing_comes_from_outside_and_nothing_runs() {
    let html = page().replace("http://www.w3.org/2000/svg", "");
    for foreign in ["http:", "https:", "<script", "<link", "url(", "@import", " onclick"] {
        assert!(!html.contains(foreign), "`{foreign}` in the dossier");
    }
    for source in html.split(" src=\"").skip(1) {
        assert!(source.starts_with("data:image/jpeg;base64,"), "{}", &source[..40]);
    }
    assert_eq!(html.matches(" src=").count(), 3);
}

#[test]
fn words_cannot_break_out_of_the_page() {
    let mut found = common::complete();
    found.car = Some(text(NASTY));
    let mut record = record();
    record.writers.push(text(NASTY));
    record.readings[0].what = text(NASTY);
    record.marks[0].name = text(NASTY);
    record.photos[0].of = text(NASTY);
    record.notes[0].1.words = text(NASTY);
    record.strikes[0].why = text(NASTY);
    record.signatures[0].name = text(NASTY);
    record.open.away[0].id = text(NASTY);
    let mut evil =
        |_: &PhotoRecord| Some(Picture { media: text("text/html\" onload=\"x"), bytes: vec![1] });
    let html = dossier(&found, &record, &mut evil);
    assert!(!html.contains("<script") && !html.contains("onload"));
    assert_eq!(html.matches("</style>").count(), 1);
    assert!(!html.contains("\" onclick=\""));
}

#[test]
fn a_photo_that_is_not_there_is_said_and_too_many_are_not_put_in() {
    let missing = dossier(&common::complete(), &record(), &mut |_: &PhotoRecord| None);
    assert_eq!(missing.matches("in the book, not in this file").count(), 3);
    let mut record = record();
    record.photos = vec![photo("torsion bar, left", None, 'c'); 1000];
    let mut asked = 0;
    let html = dossier(&common::complete(), &record, &mut |_: &PhotoRecord| {
        asked += 1;
        picture(&photo("x", None, 'c'))
    });
    assert_eq!((asked, html.matches(" src=").count()), (240, 240));
    assert_eq!(html.matches("in the book, not in this file").count(), 762);
}

#[test]
fn an_empty_record_says_what_is_missing() {
    let mut none = |_: &PhotoRecord| None;
    let html = dossier(&axlewright_setup::Assessment::default(), &Record::default(), &mut none);
    for words in ["Nothing is signed", "Nothing is struck out", "No book stands behind", "No mark"]
    {
        assert!(html.contains(words), "{words}");
    }
}

fn y_of(drawing: &axlewright_sheets::Drawing, name: &str) -> f64 {
    match &drawing.shape(name).unwrap_or_else(|| panic!("no {name}")).form {
        Form::Circle { centre, .. } => centre.y,
        Form::Line { from, .. } => from.y,
        other => panic!("{other:?}"),
    }
}

#[test]
fn fits_close_in_on_the_target_to_scale() {
    let drawing = attempts_chart(&fits(&[34.9, 25.9], Some((2, -2, 26.35)))).unwrap();
    let target = y_of(&drawing, "all, target");
    let (first, second) = (y_of(&drawing, "all, fit 1"), y_of(&drawing, "all, fit 2"));
    // The first is 8.6 deg above, the second 0.4 deg below.
    assert!(((first - target) / (second - target) - 8.6 / -0.4).abs() < 1e-6);
    assert_eq!(drawing.shape("all, target").unwrap().line, LineKind::Centre);
    let next = drawing.shape("all, fit next").unwrap();
    assert_eq!(next.line, LineKind::OtherPosition);
    // Too close to tell apart there: told enlarged, the first fit left out.
    assert!(drawing.shape("enlarged, fit 1").is_none());
    let enlarged = |name: &str| y_of(&drawing, &format!("enlarged, {name}"));
    let scale = enlarged("fit 2") - enlarged("target");
    let band = enlarged("upper limit") - enlarged("lower limit");
    assert!((band / scale - 2.0 * 0.2256 / -0.4).abs() < 1e-6);
    assert!(4.0 < scale.abs() / (second - target).abs());
    assert!(drawing.shape("all, band").is_none(), "a band too narrow to be seen");
}

#[test]
fn nothing_is_drawn_of_nothing_and_no_next_where_none_is_to_be() {
    assert_eq!(attempts_chart(&fits(&[], None)), None);
    let mut unknown = fits(&[34.9], None);
    unknown.fits[0].angle = None;
    assert_eq!(attempts_chart(&unknown), None);
    let there = attempts_chart(&fits(&[26.3], Some((0, 0, 26.3)))).unwrap();
    assert!(there.shape("all, fit next").is_none());
    let mut no_target = fits(&[34.9, 30.0], None);
    no_target.target = None;
    let drawing = attempts_chart(&no_target).unwrap();
    assert!(drawing.shape("all, target").is_none());
}

#[test]
fn texts_of_the_chart_lie_apart_and_can_be_read_on_a_telephone() {
    let charts = [
        fits(&[34.9, 25.9], Some((2, -2, 26.35))),
        fits(&[34.9], Some((-10, 10, 26.2))),
        fits(&[26.2, 26.3, 26.35], None),
        fits(&[34.9, 16.4, 25.9, 27.7, 26.8, 26.3, 26.31, 26.29], Some((1, -1, 26.3))),
        fits(&[26.3; 6], None),
        fits(&[89.9, -89.9, 26.0], None),
    ];
    for side in charts {
        let drawing = attempts_chart(&side).unwrap();
        let rooms = drawing.text_rooms();
        for (n, (text, room)) in rooms.iter().enumerate() {
            let inside = drawing.frame.left <= room.left + 1e-9
                && room.right <= drawing.frame.right + 1e-9
                && drawing.frame.bottom <= room.bottom
                && room.top <= drawing.frame.top;
            assert!(inside, "`{text}` leaves the drawing: {room:?} {:?}", drawing.frame);
            for (other, beside) in &rooms[n + 1..] {
                assert!(!room.overlaps(beside), "`{text}` on `{other}`");
            }
        }
        // 12 pixels on a telephone 350 pixels wide.
        let width = drawing.frame.right - drawing.frame.left;
        assert!(12.0 <= drawing.text_height * 350.0 / width);
    }
}

#[test]
fn how_the_chart_looks() {
    let drawing = attempts_chart(&fits(&[34.9, 25.9], Some((2, -2, 26.35)))).unwrap();
    insta::assert_snapshot!("attempts-chart", to_svg(&drawing));
}
