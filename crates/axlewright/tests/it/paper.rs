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
    refused(at, "sign", &job, &["109 steps open", "20 joints not fit", "`in_spite` says why"]);
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
