//! One judgement about raising an arm, and one figure for one act: every face of the program is
//! read, and what they tell is held against each other.

use std::collections::BTreeSet;

use axlewright::desk::bench::Bench;
use axlewright_book::log::{Body, Part, PartHappened, Signed, Step, StepHappened};
use serde_json::Value;
use tempfile::{TempDir, tempdir};

use crate::common::run;
use crate::web::Page;

const LARCH: &str = include_str!("../../../../examples/larch-1300/car.toml");

/// Faces that speak of raising the arms.
const OF_RAISING: [&str; 7] = [
    "order",
    "sheet",
    "sheet --json",
    "order --json",
    "/geometry/LR",
    "/step/stop-bolt-in-left",
    "/step/stop-bolt-in-right",
];

fn with_shell(mass: &str) -> String {
    let text = LARCH.replace("mass = \"520 kg\"                  # both arms on\n", mass);
    assert_ne!(text, LARCH);
    text
}

fn folder_of(car: &str) -> TempDir {
    let folder = tempdir().unwrap();
    std::fs::write(folder.path().join("car.toml"), car).unwrap();
    folder
}

/// The words of a page, one line for each block.
fn words_of(html: &str) -> String {
    let mut words = String::new();
    let mut tag: Option<String> = None;
    for letter in html.chars() {
        match (letter, tag.as_mut()) {
            ('<', _) => tag = Some(String::new()),
            ('>', Some(name)) => {
                let inline = ["b", "/b", "span", "/span", "sup", "/sup", "wbr"];
                let first = name.split([' ', '>']).next().unwrap_or_default();
                words.push_str(if inline.contains(&first) { "" } else { "\n" });
                tag = None;
            }
            (letter, Some(name)) => name.push(letter),
            (letter, None) => words.push(letter),
        }
    }
    words
}

/// Every string of a document, and every number with its unit.
fn strings(value: &Value, all: &mut Vec<String>) {
    match value {
        Value::String(words) => all.push(words.clone()),
        Value::Array(items) => items.iter().for_each(|item| strings(item, all)),
        Value::Object(parts) => {
            if let (Some(number), Some(unit)) = (parts.get("value"), parts.get("unit"))
                && let (Some(number), Some(unit)) = (number.as_f64(), unit.as_str())
            {
                all.push(format!("{number} {unit}"));
            }
            parts.values().for_each(|part| strings(part, all));
        }
        _ => {}
    }
}

/// What the program says of raising in a document: its own findings, and the plan.
fn of_raising(document: &Value) -> String {
    let ids = ["raise.stop-bolt", "order.sequence", "order.now", "order.safety"];
    let findings = document["findings"].as_array().unwrap();
    let mut all = Vec::new();
    for finding in findings.iter().filter(|f| ids.contains(&f["id"].as_str().unwrap())) {
        let words = finding["why"]["words"].clone();
        // A figure of a finding about raising is one of raising, whatever it is called.
        let mut told = Vec::new();
        strings(&finding["value"], &mut told);
        strings(&words, &mut told);
        let is_raise = finding["id"] == "raise.stop-bolt";
        let mark = if is_raise { "raising: " } else { "" };
        all.extend(told.into_iter().map(|words| format!("{mark}{words}")));
    }
    strings(&document["cautions"], &mut all);
    strings(&document["problems"], &mut all);
    all.join("\n")
}

/// Every face that may say something of raising an arm, with the screens of some steps: its name,
/// and its words.
fn faces(car: &str, steps: &dyn Fn(&str) -> bool) -> Vec<(String, String)> {
    let folder = folder_of(car);
    let call = |args: &[&str]| run(folder.path(), args);
    let mut faces = Vec::new();
    for args in [&["order", "car.toml"][..], &["check", "car.toml"], &["joints", "car.toml"]] {
        let said = call(args);
        faces.push((args[0].to_owned(), format!("{}\n{}", said.out, said.err)));
    }
    let torque = ["torque", "62 N m", "--adapter", "50 mm", "--wrench-arm", "400 mm"];
    faces.push(("torque".to_owned(), call(&torque).out));
    faces.push(("sheet".to_owned(), words_of(&call(&["sheet", "car.toml", "--out", "-"]).out)));
    faces.push((
        "sheet --json".to_owned(),
        of_raising(&call(&["sheet", "car.toml", "--json"]).json()),
    ));
    faces.push((
        "order --json".to_owned(),
        of_raising(&call(&["order", "car.toml", "--json"]).json()),
    ));
    let bench = Bench::open(&folder.path().join("car.toml")).unwrap();
    let ids: Vec<String> = bench.look().car().steps.iter().map(|s| s.id.value.clone()).collect();
    let page = Page::of(bench);
    let mut paths: Vec<String> =
        ["/", "/order", "/geometry/LR", "/geometry/RR", "/geometry/LR?angle=24", "/joints"]
            .map(str::to_owned)
            .to_vec();
    for of in ["LR", "RR"] {
        paths.push(format!("/why/raise.stop-bolt?of={of}&at=target"));
    }
    paths.extend(ids.iter().filter(|id| steps(id)).map(|id| format!("/step/{id}")));
    for path in paths {
        let html = page.get(&path).is(200).text();
        faces.push((path, words_of(&html)));
    }
    faces
}

/// The steps that lay the bags and raise the arms.
fn raises(id: &str) -> bool {
    id == "ballast" || id.starts_with("stop-bolt-in")
}

/// The sentences and cells of a face that are about raising and have a number of kilograms or
/// newtons in them. What one bag weighs, what stands carry, and what the stop bolt bears with the
/// arm down are no figures of raising.
fn figures(words: &str) -> Vec<String> {
    let is_about = |piece: &str| {
        let piece = piece.to_lowercase();
        ["jack", "rais", "ballast", "over each rear stand", "hold the arm"]
            .iter()
            .any(|word| piece.contains(word))
    };
    let pieces = words.split('\n').flat_map(|line| line.split(". ")).flat_map(|p| p.split("; "));
    pieces.filter(|piece| is_about(piece) && has_figure(piece)).map(str::to_owned).collect()
}

/// Whether kilograms or newtons are counted in it.
fn has_figure(piece: &str) -> bool {
    let words: Vec<&str> = piece.split_whitespace().collect();
    words.windows(2).any(|two| {
        let number = two[0].trim_start_matches(['−', '-', '(']);
        let unit = two[1].trim_end_matches(|c: char| !c.is_alphanumeric());
        number.starts_with(|c: char| c.is_ascii_digit()) && ["kg", "N"].contains(&unit)
    })
}

/// The demo has such figures, and all the ways of looking find them: they are not blind.
#[test]
fn where_an_arm_may_be_raised_its_faces_say_so() {
    let seen = faces(LARCH, &raises);
    for face in ["order", "sheet", "sheet --json", "order --json", "/geometry/LR"] {
        let (_, words) = seen.iter().find(|(name, _)| name == face).unwrap();
        assert!(!figures(words).is_empty(), "{face} tells no figure");
    }
    for side in ["left", "right"] {
        let name = format!("/step/stop-bolt-in-{side}");
        let (_, words) = seen.iter().find(|(face, _)| *face == name).unwrap();
        assert!(!figures(words).is_empty(), "{name} tells no figure");
    }
}

/// 300 kg of shell do not bear it: not yet on every face, with no figure on any, and Done is
/// refused by the terminal and by the page.
#[test]
fn a_shell_too_light_is_not_yet_everywhere() {
    let car = with_shell("mass = \"300 kg\"\n");
    let seen = faces(&car, &|_| true);
    for (face, words) in &seen {
        assert_eq!(figures(words).first(), None, "{face}");
    }
    for face in OF_RAISING {
        let (_, words) = seen.iter().find(|(name, _)| name == face).unwrap();
        assert!(words.contains("NOT YET"), "{face}");
        assert!(words.to_lowercase().contains("rear stand"), "{face} does not say why");
    }
    // The sheet tells it once for each side and choice of teeth, before the act.
    let (_, sheet) = seen.iter().find(|(name, _)| name == "sheet").unwrap();
    for at in ["once the bar sits at its target", "on the teeth the bar sits on now"] {
        assert_eq!(sheet.matches(&format!("NOT YET, {at}")).count(), 2, "{at}");
    }
    let folder = folder_of(&car);
    run(folder.path(), &["book", "new", "b", "--car", "car.toml", "--by", "Ida"]).ends_with(0);
    let done = ["book", "add", "step", "b", "stop-bolt-in-left", "--done", "--by", "Ida"];
    let said = run(folder.path(), &done).ends_with(1);
    assert!(said.err.contains("NOT YET"), "{}", said.err);
    let page = Page::of(Bench::own(&folder.path().join("b"), "Ida").unwrap());
    let said = page.writes_nothing(|page| {
        page.post("/step/stop-bolt-in-left", &[("happened", "done"), ("once", "0123456789abcdef")])
    });
    assert!(said.text().contains("NOT YET"), "{}", words_of(&said.text()));
}

/// Nobody knows what the shell weighs: no figure on any face, and the plan goes on by the cards.
#[test]
fn a_shell_that_nobody_weighed_goes_on_by_the_cards() {
    let car = with_shell("");
    let seen = faces(&car, &|_| true);
    for (face, words) in &seen {
        assert_eq!(figures(words).first(), None, "{face}");
    }
    for face in OF_RAISING {
        let (_, words) = seen.iter().find(|(name, _)| name == face).unwrap();
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("card under both rear saddles"), "{face}");
    }
    // The step is in the plan, and nothing bars it.
    let folder = folder_of(&car);
    let order = run(folder.path(), &["order", "car.toml", "--json"]).json();
    let findings = order["findings"].as_array().unwrap();
    let sequence = findings.iter().find(|f| f["id"] == "order.sequence").unwrap();
    let steps = sequence["value"].as_array().unwrap();
    let raise = steps.iter().find(|step| step["step"] == "stop-bolt-in-left").unwrap();
    assert_eq!(raise["gate"], Value::Null);
}

/// What is said to lie over each rear stand: kilograms, and bags where they are told.
fn ballasts(words: &str) -> BTreeSet<String> {
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    let parts: Vec<&str> = words.split(" over each rear stand").collect();
    let before = parts.iter().take(parts.len() - 1);
    let told = before.filter_map(|before| {
        let last: Vec<&str> = before.trim_end_matches(',').rsplitn(5, ' ').collect();
        let at = last.iter().position(|word| word.trim_end_matches(',') == "kg")?;
        let number = last.get(at + 1)?;
        let rest: Vec<&str> = last[..=at].iter().rev().copied().collect();
        Some(format!("{number} {}", rest.join(" ")))
    });
    told.collect()
}

/// Cars that need ballast: the demo, a heavier body, one off the middle, small bags, bags that
/// nobody weighed.
fn cars() -> [String; 5] {
    let swap = |from: &str, to: &str| {
        let text = LARCH.replace(from, to);
        assert_ne!(text, LARCH);
        text
    };
    [
        LARCH.to_owned(),
        swap("mass = \"520 kg\"", "mass = \"600 kg\""),
        swap("mass_at = \"900, 0,", "mass_at = \"900, 40,"),
        swap("bag = \"10 kg\"", "bag = \"7 kg\""),
        swap("bag = \"10 kg\"\n", ""),
    ]
}

/// One ballast for one act: whatever face tells it tells the one that the finding has.
#[test]
fn every_face_tells_one_ballast() {
    for (at, car) in cars().into_iter().enumerate() {
        let folder = folder_of(&car);
        let sheet = run(folder.path(), &["sheet", "car.toml", "--json"]).json();
        let mut expected = BTreeSet::new();
        for raise in sheet["findings"].as_array().unwrap() {
            if raise["id"] != "raise.stop-bolt" || raise["at"] != "target" {
                continue;
            }
            let (value, bags) = (&raise["value"], &raise["value"]["bags"]["value"]);
            assert_eq!(value["may"], "may be raised");
            let kg = value["ballast_with_margin"]["value"].as_f64().unwrap();
            assert!(0.0 < kg);
            let bags = bags.as_i64().map_or(String::new(), |bags| format!(", {bags} bags"));
            expected.insert(format!("{kg} kg{bags}"));
        }
        assert_eq!(expected.len(), 1, "{expected:?}");
        // What raising on the teeth as they are would take is another act.
        let of_plan = |face: &str| face != "sheet --json" && !face.starts_with("/geometry");
        // Every step of the demo, where slow tests run; else, and of the others, those about it.
        let all = at == 0 && crate::slow::open();
        let seen = faces(&car, &|id| all || raises(id));
        let mut told = 0;
        for (face, words) in seen.iter().filter(|(face, _)| of_plan(face)) {
            let found = if face == "sheet" { of_target(words) } else { ballasts(words) };
            assert!(found.is_subset(&expected), "{face}: {found:?}, found {expected:?}");
            told += found.len();
        }
        // On order, its JSON, the sheet, and the screens of three steps.
        assert!(6 <= told, "told {told} times");
    }
}

/// The sentences of the sheet that are about the teeth aimed at.
fn of_target(words: &str) -> BTreeSet<String> {
    let lines = words.split('\n').filter(|line| !line.contains("teeth the bar sits on now"));
    ballasts(&lines.collect::<Vec<_>>().join("\n"))
}

/// That the bar marked for a side went in there.
fn fitted(part: &str, side: &str) -> Body {
    Body::Part(Part {
        part: part.to_owned(),
        happened: PartHappened::Fitted,
        side: Some(side.to_owned()),
        verdict: None,
        due: None,
        in_spite: None,
        name: None,
        note: None,
    })
}

/// The first screen, when laying the bags and raising the arms are what comes next.
#[test]
fn the_first_screen_tells_the_same_ballast() {
    // Nothing is at the plater's any more.
    let lines = LARCH.lines().filter(|line| !line.starts_with("back_in_days"));
    let here = lines.collect::<Vec<_>>().join("\n");
    let folder = folder_of(&here.replace("state = \"out\"", "state = \"on the bench\""));
    run(folder.path(), &["book", "new", "b", "--car", "car.toml", "--by", "Ida"]).ends_with(0);
    let order = run(folder.path(), &["order", "b", "--json"]).json();
    let findings = order["findings"].as_array().unwrap();
    let sequence = findings.iter().find(|f| f["id"] == "order.sequence").unwrap();
    let steps = sequence["value"].as_array().unwrap().iter();
    let ids: Vec<String> = steps.map(|s| s["step"].as_str().unwrap().to_owned()).collect();
    let book = folder.path().join("b");
    let mut bench = Bench::own(&book, "Ida").unwrap();
    ids.iter().take_while(|id| *id != "ballast").for_each(|id| done(&bench, id));
    let mut told = Vec::new();
    // From there by what the first screen itself calls the next step.
    for _ in 0..12 {
        let id = next(&bench);
        if raises(&id) {
            let page = Page::of(bench);
            let html = words_of(&page.get("/").is(200).text());
            told.push((id.clone(), ballasts(&html)));
            drop(page);
            bench = Bench::own(&book, "Ida").unwrap();
        }
        done(&bench, &id);
    }
    let expected = BTreeSet::from(["74 kg, 8 bags".to_owned()]);
    assert!(told.iter().all(|(_, kg)| *kg == expected), "{told:?}");
    let ids: BTreeSet<&str> = told.iter().map(|(id, _)| id.as_str()).collect();
    assert_eq!(ids, BTreeSet::from(["ballast", "stop-bolt-in-left", "stop-bolt-in-right"]));
}

/// What the first screen puts first.
fn next(bench: &Bench) -> String {
    let view = bench.look();
    let sequence = view.tonight().findings.iter().find(|f| f.id == "order.sequence").unwrap();
    let first = sequence.value.items().first();
    let first = first.and_then(|step| axlewright_sheets::word(step, "step"));
    first.unwrap_or_else(|| panic!("nothing to do: {:?}", view.tonight())).to_owned()
}

/// Writes a step done, in spite of what speaks against it.
fn done(bench: &Bench, id: &str) {
    let spite = || Some("only the first screen is looked at".to_owned());
    let write = |body: &dyn Fn(Option<String>) -> Body| {
        let wrote = bench.write("Ida", body(None)).or_else(|_| bench.write("Ida", body(spite())));
        wrote.unwrap_or_else(|why| panic!("{id}: {why:?}"));
    };
    if let Some(side) = id.strip_prefix("bar-in-") {
        bench.write("Ida", fitted(&format!("bar-{side}"), side)).unwrap();
    }
    write(&|in_spite| {
        let (step, happened) = (id.to_owned(), StepHappened::Done);
        Body::Step(Step { step, happened, minutes: None, found: None, in_spite, note: None })
    });
    if bench.look().car().step(id).is_some_and(axlewright_book::Step::is_signed) {
        write(&|in_spite| {
            let (of, name) = (id.to_owned(), "Ida".to_owned());
            Body::Signed(Signed { of, name, as_what: None, in_spite, note: None })
        });
    }
}
