//! One spelling of doubt on every face: `u` a standard uncertainty, `±` only a tolerance; and what
//! was read can be typed.

use std::collections::BTreeSet;

use axlewright::desk::DEMO_CAR;
use tempfile::tempdir;

use crate::common::run;
use crate::web::Page;

/// A page as a person sees it: without tags, each as good as no space.
fn seen(html: &str) -> String {
    let mut text = String::new();
    for piece in html.split('<') {
        text.push_str(piece.split_once('>').map_or(piece, |(_, seen)| seen));
    }
    text
}

/// Takes out what the car file and a printed table of friction say of tolerances, and the sign of a
/// formula.
fn without_tolerances(text: &str) -> String {
    let written: BTreeSet<&str> = DEMO_CAR.split('"').filter(|part| part.contains('±')).collect();
    // A terminal breaks its lines anywhere.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut out = text.replace("&quot;", "\"").replace("±(ρ", "").replace("± 20 %;", "");
    for tolerance in written {
        out = out.replace(tolerance, "");
    }
    out
}

#[test]
fn a_bare_plus_minus_is_a_tolerance_on_every_face() {
    let folder = tempdir().unwrap();
    let run = |args: &[&str]| run(folder.path(), args).ends_with(0).out;
    let mut faces = vec![("demo", run(&["demo", "--once", "--no-open", "--out", "demo"]))];
    faces.push(("sheet", run(&["sheet", "demo/book", "--out", "-", "--forecast"])));
    faces.push(("dossier", run(&["dossier", "demo/book", "--out", "-"])));
    faces.push(("joints", run(&["joints", "demo/book", "--theory"])));
    faces.push(("trim", run(&["trim", "demo/book", "--why"])));
    faces.push(("today", run(&["today", "demo/book", "--why"])));
    faces.push(("forecast", run(&["forecast", "demo/book"])));
    faces.push(("check", run(&["check", "demo/book", "--all"])));
    let page = Page::open();
    for screen in ["/", "/splines", "/geometry/LR", "/wheels", "/joints/rear-eccentric-left"] {
        faces.push((screen, page.get(screen).is(200).text()));
    }
    for finding in ["free-angle.target?of=LR", "bar.rate?of=LR", "stands.upset"] {
        faces.push(("why", page.get(&format!("/why/{finding}")).is(200).text()));
    }
    let mut doubts = 0;
    for (face, text) in faces {
        let text = without_tolerances(&text);
        if let Some(at) = text.find('±') {
            let from = text.floor_char_boundary(at.saturating_sub(60));
            panic!("± on {face}: {}", &text[from..text.ceil_char_boundary(at + 40)]);
        }
        doubts += text.matches("(u ").count() + text.matches(" u ").count();
    }
    assert!(500 < doubts, "only {doubts} doubts were shown at all");
}

/// The figure as it stands on a page, from its line to the end of its doubt.
fn copied(html: &str, finding: &str, of: &str) -> String {
    let line = format!("data-finding=\"{finding}\" data-of=\"{of}\"");
    let line = &html[html.find(&line).unwrap_or_else(|| panic!("no {line}"))..];
    let value = &line[line.find("<span class=\"value\">").unwrap()..];
    let text = seen(&value[..value.find("<span class=\"why-mark\">").unwrap()]);
    text.trim().to_owned()
}

#[test]
fn a_figure_copied_from_the_sheet_means_the_same_when_typed() {
    let folder = tempdir().unwrap();
    run(folder.path(), &["demo", "--once", "--no-open", "--out", "demo"]).ends_with(0);
    let sheet = std::fs::read_to_string(folder.path().join("demo/car-sheet.html")).unwrap();
    let findings = run(folder.path(), &["sheet", "demo/car.toml", "--json"]).ends_with(0).json();
    let known = |id: &str| {
        let all = findings["findings"].as_array().unwrap();
        all.iter().find(|f| f["id"] == id && f["corner"] == "LR").unwrap().clone()
    };
    for id in ["free-angle.now", "free-angle.target"] {
        let text = copied(&sheet, id, "LR");
        assert!(text.contains("°") && text.contains("(u\u{a0}"), "{text}");
        let index = ["index", "--anchor-teeth", "38", "--plate-teeth", "42", "--target", "26.4"];
        let index: Vec<&str> = index.into_iter().chain(["--json", "--now", &text]).collect();
        let told = run(folder.path(), &index).ends_with(0).json();
        let choices = told["findings"].as_array().unwrap();
        let choices = choices.iter().find(|f| f["id"] == "index.choices").unwrap();
        let inputs = choices["why"]["inputs"].as_array().unwrap();
        let now = inputs.iter().find(|input| input["u"].is_number()).unwrap();
        let shown = |key: &str| now[key].as_f64().unwrap();
        let whole = known(id);
        let (value, u) = (whole["value"].as_f64().unwrap(), whole["u"].as_f64().unwrap());
        // To the digits shown, and exactly the doubt that the digits say.
        assert!((shown("value") - value).abs() <= 0.17 * u, "{text}: {now}");
        assert!((shown("u") / u - 1.0).abs() <= 0.142, "{text}: {now}");
        let digits = text.split("(u\u{a0}").nth(1).unwrap().trim_end_matches([')', '°']);
        assert_eq!(shown("u"), digits.parse::<f64>().unwrap(), "{text}: {now}");
    }
}
