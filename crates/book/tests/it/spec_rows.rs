//! Which row of the manual holds for a car, and where the manual itself has holes.

use axlewright_book::{CarFile, Pick, SpecWhat, read};

/// A file with that head under `[car]` and a trim row for each range.
fn file(head: &str, rows: &[(&str, &str)]) -> CarFile {
    let mut text = format!("format = 1\n[car]\n{head}\n");
    for (value, range) in rows {
        text += &format!("[[spec]]\nwhat = \"trim\"\nvalue = \"{value}\"\n{range}\n");
    }
    read(&text).0
}

/// The pick in a word and the values of its rows.
fn picked(car: &CarFile) -> (&'static str, Vec<&str>) {
    let values = |rows: &[&axlewright_book::Spec]| -> Vec<String> {
        rows.iter().map(|row| row.value.text.clone()).collect()
    };
    let (word, texts) = match car.pick(SpecWhat::Trim) {
        Pick::One(row) => ("one", values(&[row])),
        Pick::NoRow => ("no row", Vec::new()),
        Pick::Overlap(rows) => ("overlap", values(&rows)),
        Pick::Hole(rows) => ("hole", values(&rows)),
        Pick::NoBuildNumber(rows) => ("no number", values(&rows)),
    };
    let texts = car
        .specs
        .iter()
        .map(|row| row.value.text.as_str())
        .filter(|text| texts.iter().any(|t| t == text))
        .collect();
    (word, texts)
}

fn check(head: &str, rows: &[(&str, &str)], word: &str, values: &[&str]) {
    let car = file(head, rows);
    assert_eq!(car.specs.len(), rows.len(), "{rows:?}");
    assert_eq!(picked(&car), (word, values.to_vec()), "{head} with {rows:?}");
}

const NUMBER: &str = "build_number = 2611";

#[test]
fn the_number_picks_with_both_ends_in() {
    let rows = [("1 mm", "builds = \"1001-2610\""), ("2 mm", "builds = \"2611-3990\"")];
    check("build_number = 2610", &rows, "one", &["1 mm"]);
    check("build_number = 2611", &rows, "one", &["2 mm"]);
    check("build_number = 3990", &rows, "one", &["2 mm"]);
    check("build_number = 1000", &rows, "hole", &["1 mm", "2 mm"]);
    check("build_number = 3991", &rows, "hole", &["1 mm", "2 mm"]);
    check("", &rows, "no number", &["1 mm", "2 mm"]);
    check(NUMBER, &[], "no row", &[]);
}

#[test]
fn open_ranges_and_their_spellings() {
    check(NUMBER, &[("1 mm", "builds = \"up to 2611\"")], "one", &["1 mm"]);
    check(NUMBER, &[("1 mm", "builds = \"Up to 2610\"")], "hole", &["1 mm"]);
    check(NUMBER, &[("1 mm", "builds = \"from 2611\"")], "one", &["1 mm"]);
    check(NUMBER, &[("1 mm", "builds = \"from 2612\"")], "hole", &["1 mm"]);
    check(NUMBER, &[("1 mm", "builds = \"2600 – 2650\"")], "one", &["1 mm"]);
    check(NUMBER, &[("1 mm", "builds = \"2600 to 2650\"")], "one", &["1 mm"]);
    check("", &[("1 mm", "builds = \"all\"")], "one", &["1 mm"]);
    check("", &[("1 mm", "")], "one", &["1 mm"]);
}

#[test]
fn an_overlap_counts_only_where_the_rows_differ() {
    let apart = [("1 mm", "builds = \"up to 2650\""), ("2 mm", "builds = \"from 2600\"")];
    check(NUMBER, &apart, "overlap", &["1 mm", "2 mm"]);
    check("build_number = 2599", &apart, "one", &["1 mm"]);
    check("build_number = 2651", &apart, "one", &["2 mm"]);
    let agreed = [("1 mm", "builds = \"up to 2650\""), ("0.1 cm", "builds = \"from 2600\"")];
    check(NUMBER, &agreed, "one", &["1 mm"]);
    let wider = [("1 mm", "builds = \"up to 2650\""), ("1 ± 1 mm", "builds = \"from 2600\"")];
    check(NUMBER, &wider, "overlap", &["1 mm", "1 ± 1 mm"]);
}

#[test]
fn dates_pick_too_and_both_must_hold() {
    let dates = [("1 mm", "dates = \"1962-08 to 1963-08\""), ("2 mm", "dates = \"from 1963-09\"")];
    check("build_date = \"1963-09\"", &dates, "one", &["2 mm"]);
    check("build_date = 1963-08-31", &dates, "one", &["1 mm"]);
    check(NUMBER, &dates, "no number", &["1 mm", "2 mm"]);
    let both = [("1 mm", "builds = \"all\"\ndates = \"up to 1963-08\"")];
    check("build_number = 2611\nbuild_date = \"1963-09\"", &both, "hole", &["1 mm"]);
}

#[test]
fn holes_are_between_rows_and_nowhere_else() {
    let holes = |rows: &[(&str, &str)]| -> Vec<(u32, u32)> {
        file("", rows).build_holes().iter().map(|h| (h.first, h.last)).collect()
    };
    let row = |value: &'static str, range: &'static str| (value, range);
    assert_eq!(
        holes(&[row("2 mm", "builds = \"2470-3990\""), row("1 mm", "builds = \"1001-2467\"")]),
        [(2468, 2469)]
    );
    assert_eq!(holes(&[row("1 mm", "builds = \"1-5\""), row("2 mm", "builds = \"6-9\"")]), []);
    // A row inside another does not end where it ends.
    assert_eq!(
        holes(&[
            row("1 mm", "builds = \"1-50\""),
            row("2 mm", "builds = \"10-20\""),
            row("3 mm", "builds = \"60-70\""),
            row("4 mm", "builds = \"from 72\""),
        ]),
        [(51, 59), (71, 71)]
    );
    assert_eq!(holes(&[row("1 mm", "builds = \"1-5\""), row("2 mm", "builds = \"all\"")]), []);
    assert_eq!(
        holes(&[
            row("1 mm", "builds = \"from 7\""),
            row("2 mm", "builds = \"4294967295-4294967295\"")
        ]),
        []
    );
}
