//! A car of one's own that begins with its order of work, from `new` to the page.

use std::fs;

use axlewright::desk::bench::Bench;
use tempfile::tempdir;

use crate::common::run;
use crate::web::Page;

#[test]
fn new_with_a_method_is_forty_lines_and_a_whole_order_of_work() {
    let folder = tempdir().unwrap();
    let said = run(folder.path(), &["new", "wren", "--method", "trailing-arm"]).ends_with(0);
    assert_eq!(said.out.trim(), "wren/car.toml");
    assert!(said.err.contains("For cars with one torsion bar a side"), "{}", said.err);
    assert!(said.err.contains("Any other car has bars, torque"), "{}", said.err);
    let text = fs::read_to_string(folder.path().join("wren/car.toml")).unwrap();
    assert!(text.lines().count() <= 40, "{}", text.lines().count());
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    assert!(text.starts_with("# Work under a car can kill."), "{text}");

    let checked = run(folder.path(), &["check", "wren/car.toml"]).ends_with(0);
    assert!(checked.out.contains("No problems, 0 warnings."), "{}", checked.out);
    let order = run(folder.path(), &["order", "wren/car.toml"]).ends_with(0);
    assert!(order.out.contains("Safe order; not known: "), "{}", order.out);
    let words = order.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("130 steps"), "{words}");
    let json = run(folder.path(), &["order", "wren/car.toml", "--json"]).ends_with(0).json();
    let of = |id: &str| json["findings"].as_array().unwrap().iter().find(|f| f["id"] == id);
    let steps = of("order.sequence").unwrap()["value"].as_array().unwrap().clone();
    assert_eq!(steps.len(), 130);
    assert!(steps.iter().all(|step| step["caution"].as_str().is_some_and(|c| !c.is_empty())));
}

#[test]
fn answers_are_taken_on_the_way_and_wrong_ones_are_refused() {
    let folder = tempdir().unwrap();
    let new = |name: &str, answer: &str| {
        run(folder.path(), &["new", name, "--method", "trailing-arm", "--answer", answer])
    };
    new("a", "brake=Disc").ends_with(0);
    let text = fs::read_to_string(folder.path().join("a/car.toml")).unwrap();
    assert!(text.contains("brake = \"disc\""), "{text}");
    let wrong = new("b", "brake=steam").ends_with(2);
    assert!(wrong.err.contains("drum, disc"), "{}", wrong.err);
    let wrong = new("b", "wings=two").ends_with(2);
    assert!(wrong.err.contains("half_shaft"), "{}", wrong.err);
    assert!(!folder.path().join("b").exists());
    let none = run(folder.path(), &["new", "c", "--method", "leading-arm"]).ends_with(2);
    assert!(none.err.contains("trailing-arm"), "{}", none.err);
}

#[test]
fn a_method_is_shown_written_out_looked_over_and_taken_from_somebody_else() {
    let folder = tempdir().unwrap();
    let shown = run(folder.path(), &["method", "show"]).ends_with(0).out;
    assert!(shown.contains("trailing-arm 1") && shown.contains("half_shaft"), "{shown}");
    let lip = run(folder.path(), &["method", "show", "--answer", "stop=lip"]).ends_with(1).out;
    assert!(lip.contains("does not serve"), "{lip}");
    let args = ["method", "export", "trailing-arm", "--out", "mine.toml"];
    run(folder.path(), &args).ends_with(0);
    run(folder.path(), &args).ends_with(3);
    let mine = folder.path().join("mine.toml");
    let text = fs::read_to_string(&mine).unwrap().replace("id = \"make-safe\"", "id = \"quiet\"");
    fs::write(&mine, text.replace("\"make-safe\"", "\"quiet\"")).unwrap();
    let args = ["new", "hers", "--method", "mine.toml", "--answer", "brake=disc"];
    run(folder.path(), &args).ends_with(0);
    let checked = run(folder.path(), &["check", "hers/car.toml"]).ends_with(0);
    assert!(checked.out.contains("No problems, 0 warnings."), "{}", checked.out);
    let hers = fs::read_to_string(folder.path().join("hers/car.toml")).unwrap();
    assert!(hers.contains("id = \"quiet\"") && hers.contains("pads"), "her own steps");
    assert!(!hers.contains("when = ") && !hers.contains("id = \"shoes\""), "answered");
    // A step that warns of nothing dangerous can be broken: then it is told, with its line.
    let broken = fs::read_to_string(&mine).unwrap().replace("does = \"finds free\"", "");
    fs::write(&mine, broken.replace("\"finds free\"", "\"finds fre\"")).unwrap();
    let wrong = run(folder.path(), &["method", "check", "mine.toml"]).ends_with(1);
    assert!(wrong.err.contains("line ") && wrong.err.contains("finds fre"), "{}", wrong.err);
}

/// The page begins with the first step, and Done is one touch.
#[test]
fn the_page_shows_the_first_step_and_done_works() {
    let folder = tempdir().unwrap();
    run(folder.path(), &["new", "wren", "--method", "trailing-arm"]).ends_with(0);
    run(folder.path(), &["book", "new", "wren-book", "--car", "wren/car.toml", "--by", "Ann"])
        .ends_with(0);
    let page = Page::of(Bench::own_or_look_at(&folder.path().join("wren-book"), "Ann").unwrap());
    let now = page.get("/").is(200).text();
    assert!(now.contains("/step/load-state"), "{now}");
    let step = page.get("/step/load-state").is(200).text();
    assert!(step.contains("Brakes of a car that was laid up are not trusted"), "{step}");
    page.post("/step/load-state", &[("happened", "done"), ("minutes", "20")]).is(303);
    let now = page.get("/").is(200).text();
    assert!(!now.contains("/step/load-state\""), "{now}");
    for path in ["/order", "/joints", "/parts", "/car", "/step/stop-bolt-in-left"] {
        page.get(path).is(200);
    }
}
