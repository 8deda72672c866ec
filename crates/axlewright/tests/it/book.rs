//! `book` from outside: on the demo book, on one just begun, on damaged, locked and full ones.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::LazyLock;

use crate::common::{Said, program, run, said};
use axlewright::desk::bench::Bench;
use serde_json::Value;
use tempfile::{TempDir, tempdir};

/// The demo book, made once; its tests work on copies.
static DEMO: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = tempdir().unwrap();
    let made = axlewright::desk::demo_book(&folder.path().join("book")).unwrap();
    assert!(made.is_new);
    folder
});

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true => copy(&entry.path(), &to),
            false => fs::copy(entry.path(), to).map(|_| ()).unwrap(),
        }
    }
}

/// A folder with a copy of the demo book in it, `book`.
fn demo() -> TempDir {
    let folder = tempdir().unwrap();
    copy(&DEMO.path().join("book"), &folder.path().join("book"));
    folder
}

/// A folder with a starter car file and a book begun with it.
fn empty() -> TempDir {
    let folder = tempdir().unwrap();
    run(folder.path(), &["new", "car"]).ends_with(0);
    book(folder.path(), &["new", "book", "--car", "car/car.toml"]).ends_with(0);
    folder
}

/// `axlewright book …`, written by Ida.
fn book(folder: &Path, args: &[&str]) -> Said {
    let writes = ["new", "add", "strike", "car", "photo"].contains(&args[0]);
    let by: &[&str] = if writes { &["--by", "Ida"] } else { &[] };
    run(folder, &[&["book"], args, by].concat())
}

fn json(said: &Said) -> Value {
    let found = said.json();
    for key in ["schema", "car", "findings", "gaps", "problems", "cautions"] {
        assert!(found.get(key).is_some(), "no {key}");
    }
    found
}

fn entries(folder: &Path, args: &[&str]) -> Vec<Value> {
    let all = [&["log", "book", "--json"], args].concat();
    json(&book(folder, &all).ends_with(0))["entries"].as_array().unwrap().clone()
}

fn sheet(folder: &Path) -> Value {
    run(folder, &["sheet", "book", "--json"]).ends_with(0).json()
}

fn finding<'a>(document: &'a Value, id: &str, corner: &str) -> &'a Value {
    let all = document["findings"].as_array().unwrap();
    all.iter().find(|found| found["id"] == id && found["corner"] == corner).unwrap()
}

#[test]
fn a_book_begins_with_a_car_file_and_its_readings() {
    let folder = tempdir().unwrap();
    let text = include_str!("../../../../examples/larch-1300/car.toml");
    fs::write(folder.path().join("car.toml"), text).unwrap();
    let new = ["new", "larch", "--car", "car.toml"];
    let said = book(folder.path(), &new).ends_with(0);
    assert_eq!(said.out.trim(), "larch");
    assert!(said.err.contains("4 readings") && said.err.contains("Ida"), "{}", said.err);
    let log = json(&book(folder.path(), &["log", "larch", "--json"]).ends_with(0));
    let log = log["entries"].as_array().unwrap();
    let kinds: Vec<&str> = log.iter().map(|entry| entry["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["car-file", "reading", "reading", "reading", "reading"]);
    assert_eq!(log[0]["body"]["text"], text, "the whole text is kept");
    assert_eq!(log[3]["body"]["value"], "35.2 deg", "as it was written");
    assert!(log.iter().all(|entry| entry["by"] == "Ida" && entry["struck_by"].is_null()));
    // The figures are those of the file, and now say in which entry they stand.
    let sheet = |car: &str| run(folder.path(), &["sheet", car, "--json"]).ends_with(0).json();
    let (of_file, of_book) = (sheet("car.toml"), sheet("larch"));
    for corner in ["LR", "RR"] {
        let value = |document| finding(document, "free-angle.now", corner)["value"].clone();
        assert_eq!(value(&of_file), value(&of_book));
    }
    assert!(of_book.to_string().contains("plate reading, entry 4"));
    assert!(!of_file.to_string().contains("entry 4"));

    let again = book(folder.path(), &new).ends_with(3);
    assert!(again.err.contains("is there already"), "{}", again.err);
    book(folder.path(), &["new", "other", "--car", "none.toml"]).ends_with(3);
    fs::write(folder.path().join("bad.toml"), "format = 1\n[bar]\ndiameter = \"fat\"\n").unwrap();
    let bad = book(folder.path(), &["new", "other", "--car", "bad.toml"]).ends_with(1);
    assert!(bad.err.contains("no book takes a car file with errors"), "{}", bad.err);
    assert!(!folder.path().join("other").exists());
}

#[test]
fn a_book_with_nothing_in_it_answers_everything() {
    let folder = empty();
    assert_eq!(entries(folder.path(), &[]).len(), 1);
    for (args, says) in [
        (&["marks", "book"][..], "No marks yet"),
        (&["verify", "book"], "Nothing is wrong: 1 entry in one chain, 0 photos whole"),
        (&["parts", "book"], ""),
        (&["csv", "book", "--out", "tables"], "parts.csv"),
    ] {
        let said = book(folder.path(), args).ends_with(0);
        assert!(said.out.contains(says), "{args:?}: {}", said.out);
    }
    for command in ["check", "joints"] {
        run(folder.path(), &[command, "book"]).ends_with(0);
    }
    let page = run(folder.path(), &["sheet", "book"]).ends_with(0);
    assert!(folder.path().join(page.out.trim()).is_file());
    // Without steps there is no order, of a book as of a car file.
    assert_eq!(
        run(folder.path(), &["order", "book"]).code,
        run(folder.path(), &["order", "car"]).code
    );
}

/// One call for every everyday entry, on the demo book, and the kind that comes of it.
const EVERYDAY: [(&str, &[&str]); 14] = [
    ("reading", &["reading", "book", "trim", "97 mm", "--side", "left", "--load", "empty"]),
    ("part", &["part", "book", "hose-left", "arrived", "--note", "right length"]),
    ("part", &["part", "book", "shim-a", "tagged", "--name", "shim, 0.5 mm"]),
    ("mark", &["mark", "book", "left hose clip", "clips-left", "arm-left", "--side", "left"]),
    ("mark", &["mark", "book", "left hose clip", "clips-left", "arm-left", "--offset", "0.5 mm"]),
    ("step", &["step", "book", "stick-made", "--started"]),
    ("step", &["step", "book", "stick-made", "--done", "--minutes", "25"]),
    ("bolt", &["bolt", "book", "hub-cover-right", "C", "snug"]),
    (
        "attempt",
        &[
            "attempt",
            "book",
            "right",
            "26.9 deg",
            "--anchor-teeth",
            "9",
            "--plate-teeth",
            "-10",
            "--arrow",
            "nose",
            "--hung",
            "plate",
            "--lash",
            "lifted",
            "--seat",
            "reference line",
        ],
    ),
    (
        "round",
        &[
            "round",
            "book",
            "--load",
            "empty",
            "--weight",
            "LF=210 kg",
            "--toe",
            "LR=-0.04 deg",
            "--settled",
        ],
    ),
    ("moved", &["moved", "book", "LR", "plate", "-1"]),
    ("signed", &["sign", "book", "dry-swing-left", "--name", "Ida", "--as", "restorer"]),
    ("note", &["note", "book", "rain, no work"]),
    ("recheck", &["recheck", "book", "--done-km", "12"]),
];

#[test]
fn every_everyday_entry_has_its_command() {
    let folder = demo();
    let mut seq = entries(folder.path(), &[]).len();
    for (kind, args) in EVERYDAY {
        let said = book(folder.path(), &[&["add"], args].concat()).ends_with(0);
        seq += 1;
        assert!(said.out.starts_with(&format!("entry {seq}: {kind} ")), "{}", said.out);
        let last = entries(folder.path(), &["--since", &seq.to_string()]);
        assert_eq!(last.len(), 1);
        assert_eq!((&last[0]["kind"], &last[0]["by"]), (&Value::from(kind), &Value::from("Ida")));
    }
    book(folder.path(), &["verify", "book"]).ends_with(0);
    let marks = book(folder.path(), &["marks", "book"]).ends_with(0);
    assert!(marks.out.contains("back, 0.5 mm off"), "{}", marks.out);
    let life = book(folder.path(), &["parts", "book", "--of", "hose-left"]).ends_with(0);
    assert!(life.out.contains("on the bench") && life.out.contains("right length"), "{}", life.out);
    let written = book(folder.path(), &["add", "note", "book", "as JSON", "--json"]).ends_with(0);
    assert_eq!(json(&written)["entries"][0]["body"]["text"], "as JSON");
}

#[test]
fn what_makes_no_sense_is_refused_with_what_would_be_right_and_not_written() {
    let folder = demo();
    let before = entries(folder.path(), &[]).len();
    let rows: [(&[&str], &str, &str); 13] = [
        (&["reading", "book", "trim", "97", "--side", "left", "--load", "empty"], "value", "mm"),
        (&["reading", "book", "trim", "97 mm", "--side", "lft", "--load", "e"], "side", "`left`"),
        (&["part", "book", "bar-lft", "arrived"], "part", "`bar-left`"),
        (&["part", "book", "bar-left", "fitted", "--side", "right"], "side", "--in-spite"),
        (&["step", "book", "load-state", "--done"], "happened", "backed out"),
        (&["bolt", "book", "hub-cover-left", "5", "snug"], "bolt", "counted from 1"),
        (
            &[
                "mark",
                "book",
                "left tooth at the plate",
                "bar-left",
                "plate-left",
                "--offset",
                "1 mm",
            ],
            "void",
            "by measurement",
        ),
        (&["sign", "book", "dry-swing-left", "--name", " "], "name", ""),
        (&["note", "book", ""], "text", ""),
        (
            &["bolt", "book", "inner-pivot-left", "1", "torqued", "--value", "9.6 kgf m"],
            "how the arm stands is not said",
            "--position",
        ),
        (
            &["bolt", "book", "inner-pivot-left", "1", "torqued", "--position", "hang"],
            "the arm is at `hang`",
            "--position",
        ),
        (&["bolt", "book", "inner-pivot-left", "1", "torqued", "--position", "flat"], "flat", ""),
        (&["step", "book", "bar-in", "--done"], "step", "bar-in-left"),
    ];
    for (args, what, right) in rows {
        let said = book(folder.path(), &[&["add"], args].concat()).ends_with(1);
        assert!(said.err.starts_with("error: ") && said.err.contains("= help: "), "{}", said.err);
        assert!(said.err.contains(what) && said.err.contains(right), "{args:?}: {}", said.err);
        assert_eq!(said.out, "");
        assert!(!said.err.contains("value: `value`"), "said twice: {}", said.err);
        assert!(!said.err.contains(" = \""), "a file's words: {}", said.err);
    }
    for (args, what) in [
        (&["strike", "book", "9999", "--why", "x"][..], "no entry 9999"),
        (&["strike", "book", "141", "--why", "x"], "struck already"),
        (&["strike", "book", "1", "--why", "x"], "only car file"),
    ] {
        let said = book(folder.path(), args).ends_with(1);
        assert!(said.err.contains(what), "{args:?}: {}", said.err);
    }
    for wrong in [
        &["add", "step", "book", "load-state"][..],
        &["add", "step", "book", "load-state", "--done", "--started"],
        &["add", "part", "book", "bar-left", "stolen"],
        &["add", "round", "book", "--load", "empty", "--weight", "LF"],
        &["log", "book", "--since", "yesterday"],
        &["log", "book", "--kind", "gossip"],
        &["strike", "book", "3"],
        &["strike", "book", "abc", "--why", "x"],
        &["add", "step", "book", "load-state", "--done", "--minutes", "1e9"],
    ] {
        let said = book(folder.path(), wrong).ends_with(2);
        assert!(!said.err.contains("invalid digit"), "{}", said.err);
    }
    assert_eq!(entries(folder.path(), &[]).len(), before);
}

#[test]
fn the_sheet_follows_the_latest_reading_and_a_strike_takes_it_back() {
    let folder = demo();
    let before = sheet(folder.path());
    let now =
        |document: &Value| finding(document, "free-angle.now", "LR")["value"].as_f64().unwrap();
    // The story's second fit: 26.7° as shown, less the 0.1° the gauge shows on a level face and
    // less the 0.2° the sill slopes.
    assert!((now(&before) - 26.4).abs() < 1e-9, "{}", now(&before));
    let read = [
        "--side",
        "left",
        "--arrow",
        "nose",
        "--hung",
        "plate",
        "--lash",
        "lifted",
        "--seat",
        "reference line",
    ];
    let add = [&["add", "reading", "book", "plate angle", "28.7 deg"][..], &read].concat();
    let said = book(folder.path(), &add).ends_with(0);
    let seq = said.out.split([' ', ':']).nth(1).unwrap().to_owned();
    let with = sheet(folder.path());
    assert!((now(&with) - 28.4).abs() < 1e-9, "{}", now(&with));
    assert!(with.to_string().contains(&format!("plate reading, entry {seq}")));
    book(folder.path(), &["strike", "book", &seq, "--why", "wrong side"]).ends_with(0);
    assert_eq!(sheet(folder.path()), before, "as if it had never been read");
    let strike = (seq.parse::<u64>().unwrap() + 1).to_string();
    book(folder.path(), &["strike", "book", &strike, "--why", "right after all"]).ends_with(0);
    assert_eq!(sheet(folder.path()), with);
    let log = entries(folder.path(), &["--since", &seq]);
    assert_eq!(log.len(), 3, "nothing is ever taken out");
    assert_eq!(log[1]["struck_by"], log[2]["seq"]);
}

#[test]
fn the_order_takes_up_where_the_book_has_it() {
    let folder = demo();
    let order = || run(folder.path(), &["order", "book", "--have", "bench"]).ends_with(0).out;
    let before = order();
    assert!(before.contains("stick-made, dry-on-right"), "{before}");
    book(folder.path(), &["add", "step", "book", "stick-made", "--done"]).ends_with(0);
    let after = order();
    assert!(!after.contains("stick-made") && after.contains("dry-on-right"), "{after}");
    book(folder.path(), &["add", "step", "book", "stick-made", "--backed-out"]).ends_with(0);
    assert_eq!(order(), before);
}

#[test]
fn a_changed_car_file_shows_what_differs_and_what_follows() {
    let folder = demo();
    let log = entries(folder.path(), &["--kind", "car-file"]);
    let text = log[0]["body"]["text"].as_str().unwrap();
    let heavier = text.replacen("corner_weight = \"280 kg\"", "corner_weight = \"290 kg\"", 1);
    assert_ne!(text, heavier);
    let reading = "\n[[reading]]\nwhat = \"sill level\"\nside = \"left\"\nvalue = \"0.5 deg\"\n\
        turned = \"0.3 deg\"\narrow = \"nose\"\n";
    fs::write(folder.path().join("new.toml"), heavier.clone() + reading).unwrap();
    let said = book(folder.path(), &["car", "book", "new.toml"]).ends_with(0);
    for words in [
        "corner_weight = \"280 kg\"",
        "corner_weight = \"290 kg\"",
        "sill level left: 0.5",
        "free-angle.target LR: ",
        "→",
    ] {
        assert!(said.out.contains(words), "no `{words}` in {}", said.out);
    }
    assert_eq!(entries(folder.path(), &["--kind", "car-file"]).len(), 2);
    let sheet = sheet(folder.path());
    assert!((finding(&sheet, "body.level", "LR")["value"].as_f64().unwrap() - 0.1).abs() < 1e-9);
    let again = book(folder.path(), &["car", "book", "new.toml"]).ends_with(1);
    assert!(again.err.contains("letter for letter"), "{}", again.err);
    fs::write(folder.path().join("new.toml"), heavier).unwrap();
    let said = book(folder.path(), &["car", "book", "new.toml", "--json"]).ends_with(0);
    let change = &json(&said)["change"];
    assert_eq!(change["written"].as_array().unwrap().len(), 1);
    assert!(change["diff"].as_str().unwrap().contains("[[reading]]"));
    assert_eq!(change["findings"], Value::Array(Vec::new()), "the log's reading still stands");
}

#[test]
fn the_log_is_searched_by_kind_day_number_and_letters() {
    let folder = demo();
    let all = entries(folder.path(), &[]);
    assert!(100 < all.len());
    let seqs: Vec<u64> = all.iter().map(|entry| entry["seq"].as_u64().unwrap()).collect();
    assert_eq!(seqs, (1..=all.len() as u64).collect::<Vec<u64>>());
    let strikes = entries(folder.path(), &["--kind", "strike"]);
    assert_eq!(strikes.len(), 4);
    let both = entries(folder.path(), &["--kind", "strike", "--kind", "photo"]);
    assert_eq!(both.len(), 4 + 12);
    assert!(entries(folder.path(), &["--since", "1964-05-01"]).len() < 10);
    assert_eq!(entries(folder.path(), &["--since", "1999-01-01"]).len(), 0);
    let found = entries(folder.path(), &["--grep", "ECCENTRIC"]);
    assert!(8 <= found.len() && found.len() < all.len());
    let plain = book(folder.path(), &["log", "book"]).ends_with(0);
    assert!(plain.out.contains("[struck by entry 142]"), "{}", plain.out);
    assert!(plain.out.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn who_writes_is_said_or_known_or_asked_for() {
    let folder = empty();
    let write = |args: &[&str], set: &[(&str, &str)]| {
        let args = [&["book", "add", "note", "book", "x"], args].concat();
        let mut call = program(folder.path(), &args);
        for name in ["AXLEWRIGHT_BY", "USER", "LOGNAME", "USERNAME"] {
            call.env_remove(name);
        }
        said(call.envs(set.iter().copied()).output().unwrap())
    };
    write(&["--by", "Max"], &[("AXLEWRIGHT_BY", "Ida"), ("USER", "root")]).ends_with(0);
    write(&[], &[("AXLEWRIGHT_BY", "Ida"), ("USER", "root")]).ends_with(0);
    write(&[], &[("USER", "root")]).ends_with(0);
    let nobody = write(&[], &[]).ends_with(2);
    assert!(nobody.err.contains("nobody says who writes"), "{}", nobody.err);
    assert!(nobody.err.contains("--by") && nobody.err.contains("AXLEWRIGHT_BY"), "{}", nobody.err);
    let log = entries(folder.path(), &["--kind", "note"]);
    let by: Vec<&str> = log.iter().map(|entry| entry["by"].as_str().unwrap()).collect();
    assert_eq!(by, ["Max", "Ida", "root"]);
}

#[test]
fn photos_go_in_stripped_and_nothing_else_does() {
    let folder = demo();
    let photo = fs::read_dir(DEMO.path().join("book/photos")).unwrap().next().unwrap().unwrap();
    let photo = fs::read_dir(photo.path()).unwrap().next().unwrap().unwrap().path();
    let photo = photo.to_str().unwrap();
    let args = ["photo", "book", photo, "--for", "bar-left", "--when", "after"];
    let said = book(folder.path(), &args).ends_with(0);
    assert!(said.out.contains("photo bar-left, after"), "{}", said.out);
    fs::write(folder.path().join("words.jpg"), "not a photo").unwrap();
    let said = book(folder.path(), &["photo", "book", "words.jpg", "--for", "x"]).ends_with(1);
    assert!(said.err.contains("neither JPEG, PNG nor WebP"), "{}", said.err);
    let said = book(folder.path(), &["photo", "book", "none.jpg", "--for", "x"]).ends_with(3);
    assert!(said.err.contains("there is no file `none.jpg`"), "{}", said.err);
    book(folder.path(), &["verify", "book"]).ends_with(0);
}

#[test]
fn while_one_writes_others_look_and_are_told_who_it_is() {
    let folder = demo();
    let owner = Bench::own(&folder.path().join("book"), "Max").unwrap();
    let said = book(folder.path(), &["add", "note", "book", "x"]).ends_with(3);
    assert!(said.err.contains("is open elsewhere"), "{}", said.err);
    assert!(said.err.contains(&format!("process {}", std::process::id())), "{}", said.err);
    assert!(said.err.contains("Max"), "{}", said.err);
    for args in [
        &["strike", "book", "3", "--why", "x"][..],
        &["photo", "book", "none.jpg", "--for", "x"],
        &["car", "book", "none.toml"],
    ] {
        book(folder.path(), args).ends_with(3);
    }
    for args in [
        &["log", "book"][..],
        &["parts", "book"],
        &["marks", "book"],
        &["verify", "book"],
        &["export", "book", "a.tar"],
        &["backup", "book", "copy"],
        &["csv", "book"],
    ] {
        book(folder.path(), args).ends_with(0);
    }
    run(folder.path(), &["sheet", "book", "--json"]).ends_with(0);
    drop(owner);
    book(folder.path(), &["add", "note", "book", "x"]).ends_with(0);
}

#[test]
fn an_archive_comes_back_as_the_same_book() {
    let folder = demo();
    let said = book(folder.path(), &["export", "book", "a.tar"]).ends_with(0);
    assert!(said.err.contains("photos: 12"), "{}", said.err);
    book(folder.path(), &["import", "a.tar", "again"]).ends_with(0);
    let log = |name: &str| book(folder.path(), &["log", name, "--json"]).ends_with(0).out;
    assert_eq!(log("book"), log("again"));
    book(folder.path(), &["export", "again", "b.tar"]).ends_with(0);
    let bytes = |name: &str| fs::read(folder.path().join(name)).unwrap();
    assert!(bytes("a.tar") == bytes("b.tar"), "the archives differ");
    // Nothing is written over, and what is no archive is no book.
    book(folder.path(), &["export", "book", "a.tar"]).ends_with(3);
    book(folder.path(), &["import", "a.tar", "again"]).ends_with(3);
    fs::write(folder.path().join("c.tar"), &bytes("a.tar")[..9000]).unwrap();
    book(folder.path(), &["import", "c.tar", "third"]).ends_with(3);
    book(folder.path(), &["import", "none.tar", "third"]).ends_with(3);
    fs::write(folder.path().join("d.tar"), "format = 1\n".repeat(99)).unwrap();
    let said = book(folder.path(), &["import", "d.tar", "third"]).ends_with(3);
    assert!(said.err.contains("this is no exported book"), "{}", said.err);
    assert!(!said.err.contains("format = 1") && said.err.lines().count() == 2, "{}", said.err);
    assert!(!folder.path().join("third").exists());
    book(folder.path(), &["backup", "book", "copy"]).ends_with(0);
    assert_eq!(log("book"), log("copy"));
    book(folder.path(), &["backup", "book", "copy"]).ends_with(3);
    let said = book(folder.path(), &["backup", "book", "book/new/copy"]).ends_with(3);
    assert!(said.err.contains("lies inside the book"), "{}", said.err);
    assert!(!folder.path().join("book/new").exists());
    for args in [&["csv", "book"][..], &["csv", "book"]] {
        let said = book(folder.path(), args);
        assert!(said.code == 0 || said.err.contains("`--out`"), "{}", said.err);
    }
}

#[test]
fn damage_is_found_and_what_is_safe_is_said() {
    let folder = demo();
    let photos = folder.path().join("book/photos");
    let one = fs::read_dir(&photos).unwrap().next().unwrap().unwrap().path();
    let one = fs::read_dir(one).unwrap().next().unwrap().unwrap().path();
    let mut bytes = fs::read(&one).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&one, bytes).unwrap();
    let said = book(folder.path(), &["verify", "book"]).ends_with(3);
    assert!(said.err.contains("was altered"), "{}", said.err);
    assert!(said.out.contains("Entries 1 to 151 of 151"), "{}", said.out);
    fs::remove_file(&one).unwrap();
    let said = book(folder.path(), &["verify", "book", "--json"]).ends_with(3);
    let found = &json(&said)["verified"];
    assert_eq!((&found["whole"], &found["photos"]), (&Value::from(false), &Value::from(11)));
    assert!(found["faults"][0].as_str().unwrap().contains("is missing"));
    // The log is whole, so everything else goes on.
    run(folder.path(), &["sheet", "book", "--json"]).ends_with(0);
    for args in [&["log", "none"][..], &["verify", "none"], &["parts", "."], &["export", ".", "a"]]
    {
        let said = book(folder.path(), args).ends_with(3);
        assert!(said.err.contains("book"), "{args:?}: {}", said.err);
    }
}

/// A disk that takes nothing more: no file may grow beyond so many blocks.
fn on_a_full_disk(folder: &Path, blocks: u32, args: &str) -> Said {
    let binary = env!("CARGO_BIN_EXE_axlewright");
    let line = format!("trap '' XFSZ; ulimit -f {blocks}; exec '{binary}' {args}");
    let mut shell = Command::new("sh");
    shell.args(["-c", &line]).current_dir(folder).env("AXLEWRIGHT_BY", "Ida");
    said(shell.output().unwrap())
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_takes_nothing_back_and_is_said() {
    let folder = demo();
    let before = entries(folder.path(), &[]);
    for args in [
        "book add note book x",
        "book export book a.tar",
        "book backup book copy",
        "book csv book --out tables",
        "book new other --car car.toml",
    ] {
        fs::write(folder.path().join("car.toml"), "format = 1\n").unwrap();
        let said = on_a_full_disk(folder.path(), 0, args).ends_with(3);
        assert!(said.err.starts_with("error: ") && said.err.contains("= help: "), "{}", said.err);
        assert_eq!(said.out, "", "{args}");
    }
    for left in ["a.tar", "copy", "tables/parts.csv"] {
        assert!(!folder.path().join(left).exists(), "half of {left} was left behind");
    }
    assert_eq!(entries(folder.path(), &[]), before);
    book(folder.path(), &["verify", "book"]).ends_with(0);
    book(folder.path(), &["add", "note", "book", "room again"]).ends_with(0);
    assert_eq!(entries(folder.path(), &[]).len(), before.len() + 1);
}

#[test]
fn parts_joints_and_marks_as_tables_and_as_json() {
    let folder = demo();
    let parts = json(&book(folder.path(), &["parts", "book", "--json"]).ends_with(0));
    let parts = parts["parts"].as_array().unwrap();
    let part = |id: &str| parts.iter().find(|part| part["part"] == id).unwrap();
    // Nine days from the calendar's first, 1964-05-04, twelve, and four.
    for (id, due) in [("bush-inner-left", "13"), ("pivot-bolt-right", "16"), ("hose-left", "08")] {
        let row = part(id);
        assert_eq!((&row["where"], &row["due"]), (&"out".into(), &format!("1964-05-{due}").into()));
    }
    assert_eq!(part("bar-left")["verdict"], "good");
    assert_eq!(part("bar-left")["decided"], "replaced");
    let marks = json(&book(folder.path(), &["marks", "book", "--json"]).ends_with(0));
    let marks = marks["marks"].as_array().unwrap();
    assert_eq!(marks.len(), 8);
    let void = |mark: &&Value| !mark["void"].is_null();
    assert_eq!(marks.iter().filter(void).count(), 8, "bars replaced, plates refinished");
    book(folder.path(), &["csv", "book"]).ends_with(0);
    let table = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    let rows = table("parts.csv");
    assert!(rows.starts_with("part,name,where,due,verdict,decided,fitted to,entries\r\n"));
    assert_eq!(rows.matches("\r\n").count(), 1 + parts.len());
    let bolts = table("joints.csv");
    assert!(bolts.contains("hub-cover-left,hub cover to body,1,snug,"), "{bolts}");
    assert!(bolts.contains("hub-cover-right,hub cover to body,3,open,"), "{bolts}");
    let said = book(folder.path(), &["csv", "book"]).ends_with(3);
    assert!(said.err.contains("is left alone"), "{}", said.err);
}

#[test]
fn the_demo_book_is_the_same_every_time_and_left_alone_once_it_is_there() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("book");
    drop(axlewright::desk::demo_book(&path).unwrap());
    let log = |folder: &Path| book(folder, &["log", "book", "--json"]).ends_with(0).out;
    assert_eq!(log(folder.path()), log(DEMO.path()));
    book(folder.path(), &["add", "note", "book", "mine"]).ends_with(0);
    let mine = log(folder.path());
    assert!(!axlewright::desk::demo_book(&path).unwrap().is_new);
    assert_eq!(log(folder.path()), mine);
}

#[test]
fn what_stands_in_a_log_commands_no_terminal() {
    use axlewright_book::log::Body;
    use axlewright_store::{Draft, Holder, Store};
    let folder = empty();
    let holder = Holder { by: "x".to_owned(), since: String::new() };
    let mut store = Store::open(&folder.path().join("book"), &holder).unwrap();
    // As an archive from somewhere else may hold it; the program itself writes no such thing.
    let text = "\u{1b}]52;c;Y3VybA==\u{7}\u{1b}[2J\u{202e}desrever".to_owned();
    let (at, by) = ("2026-11-25T21:00:00Z".to_owned(), "\u{9b}2JMallory".to_owned());
    store.append(&[Draft { at, by, body: Body::Note { about: String::new(), text } }]).unwrap();
    drop(store);
    let commands = ['\u{1b}', '\u{7}', '\u{9b}', '\u{202e}'];
    let said = book(folder.path(), &["log", "book"]).ends_with(0);
    assert!(!said.out.contains(commands) && said.out.contains("\\u001b]52;c;"), "{}", said.out);
    let said = book(folder.path(), &["log", "book", "--json"]).ends_with(0);
    assert!(!said.out.contains(commands));
    let entries = json(&said)["entries"].as_array().unwrap().clone();
    assert_eq!(entries.last().unwrap()["by"], "\u{9b}2JMallory");
    // Nor do names of files, and what is typed.
    let said = book(folder.path(), &["log", "no\u{1b}[2Jbook"]).ends_with(3);
    assert!(!said.err.contains("\u{1b}[2J") && said.err.contains("no\\u001b[2Jbook"));
    let said = book(folder.path(), &["add", "note", "book", "x\u{1b}[2J"]).ends_with(1);
    assert!(said.err.contains("control character U+001B"), "{}", said.err);
    let said = run(folder.path(), &["book", "add", "note", "book", "x", "--by", "a\u{7}b"]);
    assert!(said.ends_with(1).err.contains("the name under the entry"));
}
