//! What paper may not say: a certificate of what was not done, a torque that nobody asked for, a
//! mark that the plater took off. Each slip is made as a tired person makes it, through the command
//! line, and has to be caught where it is made.

use std::path::Path;

use crate::common::{Said, run};
use tempfile::{TempDir, tempdir};

const LARCH: &str = include_str!("../../../../examples/larch-1300/car.toml");

/// A folder with a book, just begun with the demo's car file.
fn larch() -> TempDir {
    let folder = tempdir().unwrap();
    std::fs::write(folder.path().join("car.toml"), LARCH).unwrap();
    run(folder.path(), &["book", "new", "b", "--car", "car.toml", "--by", "Ida"]).ends_with(0);
    folder
}

/// `axlewright book add KIND b …`
fn add(folder: &Path, kind: &str, args: &[&str]) -> Said {
    run(folder, &[&["book", "add", kind, "b"], args, &["--by", "Ida"]].concat())
}

/// Writes it, and gives the entry's number.
#[track_caller]
fn written(folder: &Path, kind: &str, args: &[&str]) -> u64 {
    let said = add(folder, kind, args).ends_with(0);
    let number = said.out.split([' ', ':']).nth(1).and_then(|seq| seq.parse().ok());
    number.unwrap_or_else(|| panic!("{}", said.out))
}

#[track_caller]
fn refused(folder: &Path, kind: &str, args: &[&str], says: &[&str]) {
    let said = add(folder, kind, args).ends_with(1);
    // As told on the terminal, over several lines.
    let told = said.err.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in says {
        assert!(told.contains(words), "no `{words}` in: {told}");
    }
}

/// The dossier's words.
fn dossier(folder: &Path) -> String {
    run(folder, &["dossier", "b"]).ends_with(0);
    let html = std::fs::read_to_string(folder.join("b/dossier.html")).unwrap();
    let mut words = String::new();
    let mut is_word = true;
    for letter in html.chars() {
        match letter {
            '<' => is_word = false,
            '>' => (is_word, words) = (true, words + " "),
            _ if is_word => words.push(letter),
            _ => {}
        }
    }
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The row of a signature in the dossier, up to the next one's.
fn signed_row(words: &str, what: &str) -> String {
    let signed = words.split("What By whom When Holds").nth(1).expect("the table of signatures");
    let signed = signed.split("Still open").next().unwrap_or_default();
    let at = signed.find(what).unwrap_or_else(|| panic!("no row `{what}` in: {signed}"));
    signed[at..].trim().to_owned()
}

#[test]
fn one_step_of_a_hundred_is_no_finished_job() {
    let folder = larch();
    let at = folder.path();
    written(at, "step", &["load-state", "--done"]);
    let job = ["job", "--name", "Ida"];
    refused(at, "sign", &job, &["109 steps open", "20 joints not fit", "`--in-spite` says why"]);
    refused(at, "sign", &["brakes-proven", "--name", "Ida"], &["`brakes-proven` is not done"]);
    let spite = ["--in-spite", "he comes for it today"];
    refused(
        at,
        "sign",
        &[&["brakes-proven", "--name", "Ida"][..], &spite].concat(),
        &["`brakes-proven` is not done"],
    );
    refused(at, "sign", &["inner-pivot-left", "--name", "Ida"], &["bolt A: open"]);
    written(at, "sign", &[&job[..], &spite].concat());
    let row = signed_row(&dossier(at), "The whole job");
    assert!(row.contains("signed with 109 steps open"), "{row}");
    assert!(row.contains("in spite of it: he comes for it today"), "{row}");
    assert!(!row.contains("holds"), "{row}");
}

#[test]
fn a_signature_holds_while_what_it_covers_is_done_and_no_longer() {
    let folder = larch();
    let at = folder.path();
    let done = written(at, "step", &["hard-bolts", "--done"]);
    written(at, "sign", &["hard-bolts", "--name", "Ida"]);
    let row = || signed_row(&dossier(at), "Lay out the six 10.9 bolts");
    assert!(row().ends_with("holds"), "{}", row());
    let strike =
        ["book", "strike", "b", &done.to_string(), "--why", "it was others", "--by", "Ida"];
    let said = run(at, &strike).ends_with(0);
    assert!(row().contains(&format!("no longer: entry {done}, on which it stood")), "{}", row());
    let by = said.out.split([' ', ':']).nth(1).unwrap().to_owned();
    run(at, &["book", "strike", "b", &by, "--why", "it was these", "--by", "Ida"]).ends_with(0);
    assert!(row().ends_with("holds"), "{}", row());
    let undone = written(at, "step", &["hard-bolts", "--backed-out"]);
    let told = format!("no longer: the step was undone after it (entry {undone})");
    assert!(row().contains(&told), "{}", row());
}

#[test]
fn a_reading_that_cannot_be_taken_again_holds_up_what_would_lose_it() {
    let folder = larch();
    let at = folder.path();
    let off = ["lines-off-left", "--done"];
    refused(at, "step", &off, &["`droop-first-left` is not read yet", "waived"]);
    refused(at, "sign", &["droop-first-left", "--name", "Ida"], &["not signed"]);
    refused(at, "step", &["droop-first-left", "--waived"], &["why it was given up is not said"]);
    for reading in ["droop-first-left", "marks-left"] {
        written(at, "step", &[reading, "--waived", "--note", "it came in pieces"]);
    }
    written(at, "step", &off);
    // Nothing further without the mark of the hold point that was passed.
    written(at, "step", &["hard-bolts", "--done"]);
    refused(
        at,
        "step",
        &["damper-bottom-on-left", "--done"],
        &["the hold point `hard-bolts` is done and not signed"],
    );
    assert!(dossier(at).contains("given up"));
}

/// A bush torqued at droop, and a bolt left at snug: the step that was to bring it to its torque is
/// not done, nor is a hold point that comes after.
#[test]
fn a_step_is_not_done_while_its_bolts_are_not() {
    let folder = larch();
    let at = folder.path();
    let spite = ["--in-spite", "begun in the middle"];
    let bolt = ["inner-pivot-left", "A", "torqued", "--value", "9.6 kgf m"];
    let hang = [&bolt[..], &["--position", "hang"]].concat();
    refused(at, "bolt", &hang, &["the arm is at `hang`", "only at `ride`"]);
    refused(at, "bolt", &bolt, &["how the arm stands is not said"]);
    let brings = "`pivot-torque-left` brings `inner-pivot-left` to its torque, and it is not";
    let done = ["pivot-torque-left", "--done"];
    let before = add(at, "step", &done).ends_with(1);
    assert!(before.err.contains("hold point"), "{}", before.err);
    written(at, "step", &[&["dry-swing-left", "--done"][..], &spite].concat());
    written(at, "step", &[&["stick-made", "--done"][..], &spite].concat());
    written(at, "step", &["plated-bolts", "--done"]);
    written(at, "sign", &["dry-swing-left", "--name", "Ida"]);
    refused(at, "step", &done, &[brings, "bolt A: open"]);
    written(at, "bolt", &["inner-pivot-left", "A", "snug"]);
    refused(at, "step", &done, &[brings, "bolt A: snug"]);
    refused(at, "sign", &["inner-pivot-left", "--name", "Ida"], &["bolt A: snug"]);
    written(at, "bolt", &[&bolt[..], &["--position", "ride"]].concat());
    written(at, "step", &done);
    written(at, "sign", &["inner-pivot-left", "--name", "Ida"]);
    // The last look before the wheels come down: every bolt behind it.
    refused(at, "step", &["last-look", "--done"], &["and"]);
    written(at, "step", &[&["wheels-down", "--done"][..], &spite].concat());
}

/// Ten times the figure, kgf m for N·m and back, and no figure at all: told at the entry, not
/// ticked, and on `check` until it is settled.
#[test]
fn a_torque_that_nobody_asked_for_is_answered_and_not_ticked() {
    let folder = larch();
    let at = folder.path();
    let bolt = |letter: &str, value: &str| {
        let args = ["hub-cover-left", letter, "torqued", "--value", value];
        let said = add(at, "bolt", &args).ends_with(0);
        said.out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for (letter, value, slip) in [
        ("A", "44 kgf m", "A tenth of that would be right"),
        ("B", "4.4 N m", "4.4 kgf m would be right: look which unit"),
    ] {
        let told = bolt(letter, value);
        let expected = format!("NOT AS ASKED: torqued to {value}; the list says 4.4 kgf m");
        assert!(told.contains(&expected) && told.contains(slip), "{told}");
    }
    assert!(!bolt("C", "4.4 kgf m").contains("NOT AS ASKED"));
    let none = ["hub-cover-left", "D", "torqued"];
    refused(at, "bolt", &none, &["the torque reached is not said", "the list says 4.4 kgf m"]);
    let joints = run(at, &["joints", "b"]).ends_with(0).out;
    let joints = joints.split_whitespace().collect::<Vec<_>>().join(" ");
    let bolts = "A [ ] torqued 44 kgf m, not as asked, B [ ] torqued 4.4 N m, not as asked, \
                 C [x] torqued 4.4 kgf m, D [ ] open";
    assert!(joints.contains(bolts), "{joints}");
    let check = run(at, &["check", "b"]).ends_with(0).out;
    let check = check.split_whitespace().collect::<Vec<_>>().join(" ");
    for letter in ["A", "B"] {
        let told = format!("left, bolt {letter}: its torque is not as asked");
        assert!(check.contains(&told), "{check}");
    }
    assert!(!check.contains("bolt C: its torque"), "{check}");
    let json = run(at, &["check", "b", "--json"]).json();
    let cautions = json["cautions"].as_array().unwrap();
    let about = |one: &&serde_json::Value| one["id"] == "joint.not-as-asked";
    assert_eq!(cautions.iter().filter(about).count(), 2);
    assert!(dossier(at).contains("bolts A, B, D to their torque"));
    refused(at, "sign", &["hub-cover-left", "--name", "Ida"], &["the list says 4.4 kgf m"]);
    let said = add(at, "bolt", &["hub-cover-left", "A", "torqued", "--value", "440 N m", "--json"]);
    let answer = said.ends_with(0).json()["entries"][0]["answer"].clone();
    assert!(answer.as_str().unwrap().contains("A tenth"), "{answer}");
}

/// What `torque` does not tell, `joints` does not tell either; nor what a slip in the row changes.
#[test]
fn a_setting_is_withheld_where_it_would_be_wrong() {
    let folder = tempdir().unwrap();
    let at = folder.path();
    let joints = |from: &str, to: &str, code: i32| {
        assert!(LARCH.contains(from), "{from}");
        std::fs::write(at.join("car.toml"), LARCH.replace(from, to)).unwrap();
        let said = run(at, &["joints", "car.toml", "--json"]);
        assert_eq!(said.code, code, "{}", said.err);
        said.json()["findings"].as_array().unwrap().clone()
    };
    let setting = |all: &[serde_json::Value], joint: &str| {
        let is =
            |one: &&serde_json::Value| one["id"] == "joint.setting" && one["of"]["joint"] == joint;
        all.iter().find(is).unwrap()["value"].clone()
    };
    let right = joints("format = 1", "format = 1", 0);
    let told = setting(&right, "rear-eccentric-left");
    assert!(told["setting"].is_object() && told["withheld"].is_null(), "{told}");
    // M10, class 8.8: 19 kgf m is far beyond its yield.
    let much = joints("torque = \"4.4 kgf m\"", "torque = \"19 kgf m\"", 0);
    let much = setting(&much, "hub-cover-left");
    assert!(much["withheld"].as_str().unwrap().contains("past its yield"), "{much}");
    for part in ["setting", "reading", "passes", "beyond"] {
        assert!(much[part].is_null(), "{part}: {much}");
    }
    // The extension without its unit: another setting, so none.
    let slip = joints("adapter = \"60 mm\"", "adapter = \"60\"", 1);
    let slip = setting(&slip, "rear-eccentric-left");
    assert!(slip["withheld"].as_str().unwrap().contains("`adapter`"), "{slip}");
    assert!(slip["setting"].is_null() && slip["reading"].is_null(), "{slip}");
}

/// An old mark after plate, arm or eccentric was renewed, or came back from the plater's.
#[test]
fn a_mark_tells_nothing_once_a_part_under_it_was_renewed_or_refinished() {
    let folder = larch();
    let at = folder.path();
    let eccentric = ["left rear eccentric", "rear-eccentric-set-left", "arm-left"];
    let plate = ["left plate to arm", "plate-left", "arm-left"];
    let read = |mark: &[&'static str]| [mark, &["--offset", "0 mm"]].concat();
    let rows: [(&[&'static str], &str, &str); 5] = [
        (&eccentric, "plate-left", "replaced"),
        (&eccentric, "rear-eccentric-set-left", "refinished"),
        (&eccentric, "arm-left", "replaced"),
        (&plate, "plate-left", "refinished"),
        (&plate, "arm-left", "refinished"),
    ];
    for (mark, part, happened) in rows {
        written(at, "mark", mark);
        written(at, "mark", &read(mark));
        // Looked at, and the other side's: nothing to the mark.
        written(at, "part", &[part, "inspected", "--verdict", "good"]);
        written(at, "part", &["plate-right", "replaced"]);
        written(at, "mark", &read(mark));
        let seq = written(at, "part", &[part, happened]);
        let void = format!("is void: `{part}` was {happened} (entry {seq})");
        refused(at, "mark", &read(mark), &[&void, "by measurement"]);
        let marks = run(at, &["book", "marks", "b"]).ends_with(0).out;
        assert!(marks.contains("VOID"), "{marks}");
    }
    let over = [&plate[..], &["--also", "plate-bolts-left"]].concat();
    written(at, "mark", &over);
    written(at, "part", &["plate-bolts-left", "replaced"]);
    refused(at, "mark", &read(&plate), &["`plate-bolts-left` was replaced"]);
}

/// Left and right bar: said at the entry, asked for at the step, and not forgotten afterwards.
#[test]
fn a_bar_goes_to_its_own_side_or_every_page_says_so() {
    let folder = larch();
    let at = folder.path();
    refused(at, "part", &["bar-left", "fitted"], &["marked for one side", "read the mark"]);
    refused(at, "part", &["bar-left", "fitted", "--side", "right"], &["belongs on the left"]);
    let spite = ["--in-spite", "begun in the middle"];
    let done = ["bar-in-left", "--done"];
    let says = "nobody wrote which one went in";
    refused(at, "step", &done, &[says]);
    refused(at, "step", &[&done[..], &spite].concat(), &[says]);
    let with = |bar| [&done[..], &["--fitted", bar], &spite].concat();
    refused(at, "step", &with("bar-right"), &["belongs on the right and is to go on the left"]);
    let said = add(at, "step", &with("bar-left")).ends_with(0);
    assert!(said.out.contains("bar-left fitted") && said.out.contains("bar-in-left done"));
    // The other one goes in where it does not belong, for a reason.
    let why = ["--in-spite", "the arrow was filed off"];
    let wrong = [&["bar-left", "fitted", "--side", "right"][..], &why].concat();
    written(at, "part", &["bar-left", "removed"]);
    written(at, "part", &wrong);
    let told = "`bar-left` is on the right, the side it is not marked for";
    run(at, &["sheet", "b", "--out", "sheet.html"]).ends_with(0);
    let sheet = std::fs::read_to_string(at.join("sheet.html")).unwrap();
    let order = run(at, &["order", "b"]).out;
    let check = run(at, &["check", "b"]).out;
    for (face, text) in [("check", check), ("order", order), ("sheet", sheet)] {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(told), "{face}: {text}");
    }
}
