//! The file a newcomer begins with.

use axlewright_book::{CarFile, Field, Pick, ProblemKind, SpecWhat, read, starter};
use axlewright_quantity::Side;

#[test]
fn the_starter_file_reads_back_without_a_problem_and_holds_nothing() {
    let (car, problems) = read(&starter(&[]));
    assert!(problems.is_empty(), "{problems:#?}");
    let mut empty = CarFile::default();
    empty.format = 1;
    assert_eq!(car, empty);
}

#[test]
fn every_field_stands_in_it_once_with_its_texts() {
    let text = starter(&[]);
    let one_line = text.replace("\n#", " ").split_whitespace().collect::<Vec<_>>().join(" ");
    for field in Field::ALL {
        for words in [field.how(), field.good_enough(), field.unlocks()] {
            let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(one_line.contains(&words), "{field}: `{words}` is not in the starter file");
        }
        let header = format!("\n[{}]\n", field.section());
        let section = text.split_once(&header).map(|(_, after)| after);
        let section = section.and_then(|after| after.split("\n[").next()).unwrap_or_default();
        let blank = format!("\n{} = ", field.key());
        assert_eq!(section.matches(&blank).count(), 1, "{field} in its section");
    }
}

#[test]
fn sections_come_in_the_order_of_the_rungs() {
    let mut sections: Vec<&str> = Vec::new();
    for field in Field::ALL {
        if sections.last() != Some(&field.section()) {
            sections.push(field.section());
        }
    }
    let rungs: Vec<u8> = sections
        .iter()
        .filter(|s| **s != "uncertainty")
        .map(|s| Field::of_section(s).map(Field::rung).min().unwrap_or(0))
        .collect();
    assert!(rungs.is_sorted(), "{sections:?} {rungs:?}");
    let text = starter(&[]);
    let places: Vec<Option<usize>> =
        sections.iter().map(|s| text.find(&format!("\n[{s}]\n"))).collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?}");
}

#[test]
fn every_example_can_be_written_where_it_stands() {
    for field in Field::ALL {
        let example = field.example();
        let bare = example.starts_with('[') || example.bytes().all(|b| b.is_ascii_digit());
        let value = if bare { example.to_owned() } else { format!("\"{example}\"") };
        let text = format!("format = 1\n[{}]\n{} = {value}\n", field.section(), field.key());
        let (car, problems) = read(&text);
        assert!(problems.is_empty(), "{field}: {problems:#?}");
        assert!(car.get(*field, Side::Left).is_some(), "{field}");
    }
}

/// Writes a value into the first blank of that key after a marker.
fn fill(text: &str, after: &str, key: &str, value: &str) -> String {
    let at = text.find(after).expect("the marker is there");
    let blank = format!("\n{key} = \"\"");
    let key_at = at + text[at..].find(&blank).expect("the blank is there");
    format!("{}\n{key} = {value}{}", &text[..key_at], &text[key_at + blank.len()..])
}

#[test]
fn six_numbers_are_a_file_without_problems() {
    let mut text = starter(&[]);
    text = fill(&text, "what = \"free angle\"", "value", "\"30 deg\"");
    text = fill(&text, "\n[bar]", "original_diameter", "\"22 mm\"");
    text = fill(&text, "\n[bar]", "fitted_diameter", "\"23 mm\"");
    text = fill(&text, "\n[ride]", "plate_angle", "\"11 deg\"");
    text = fill(&text, "\n[splines]", "anchor_teeth", "38");
    text = fill(&text, "\n[splines]", "plate_teeth", "\"42\"");
    let (car, problems) = read(&text);
    assert!(problems.is_empty(), "{problems:#?}");
    assert!(matches!(car.pick(SpecWhat::FreeAngle), Pick::One(_)));
    assert_eq!(car.count(Field::SplinesPlateTeeth, Side::Right), Some(42));
    assert_eq!(car.specs.len(), 1);
}

#[test]
fn lines_fit_a_page() {
    let long: Vec<String> =
        starter(&[]).lines().filter(|l| l.chars().count() > 100).map(str::to_owned).collect();
    assert!(long.is_empty(), "{long:#?}");
}

/// What the reader knows of a section or a row that is not in the table of fields.
fn known(header: &str) -> Vec<&'static str> {
    let (_, problems) = read(&format!("format = 1\n{header}\nqqqqqqqqqq = 1\n"));
    let kinds = problems.into_iter().map(|p| p.kind);
    kinds
        .filter_map(|kind| match kind {
            ProblemKind::UnknownKey { known, .. } => Some(known),
            _ => None,
        })
        .next()
        .unwrap_or_default()
}

#[test]
fn every_key_of_joints_and_steps_stands_in_it_blank() {
    let text = starter(&[]);
    for header in [
        "[units]",
        "[[joint]]",
        "[[bolt]]",
        "[[wrench]]",
        "[[part]]",
        "[[step]]",
        "[changeover]",
        "[calendar]",
    ] {
        let keys = known(header);
        assert!(!keys.is_empty(), "{header}");
        let section = text.split_once(&format!("\n{header}\n")).map(|(_, after)| after);
        let section = section.and_then(|after| after.split("\n[").next()).unwrap_or_default();
        // A row of one's own is never struck: `strike` is for what a method holds.
        for key in keys.into_iter().filter(|key| *key != "strike") {
            let blanks = ["\"\"", "[]"].map(|blank| format!("\n{key} = {blank}\n"));
            let found: usize =
                blanks.iter().map(|blank| format!("\n{section}\n").matches(blank).count()).sum();
            assert_eq!(found, 1, "{key} in {header}");
        }
    }
}

#[test]
fn a_joint_filled_in_is_a_file_without_problems() {
    let mut text = starter(&[]);
    for (key, value) in [
        ("id", "\"hub-cover\""),
        ("side", "\"each\""),
        ("thread", "\"M10x1.5\""),
        ("class", "\"8.8\""),
        ("count", "4"),
        ("torque", "\"4.4 kgf m\""),
        ("plated", "\"zinc\""),
        ("process_record", "false"),
    ] {
        text = fill(&text, "\n[[joint]]", key, value);
    }
    text = fill(&text, "\n[[bolt]]", "joint", "\"hub-cover-left\"");
    text = fill(&text, "\n[[bolt]]", "bolt", "2");
    text = fill(&text, "\n[[bolt]]", "state", "\"snug\"");
    let (car, problems) = read(&text);
    assert!(problems.is_empty(), "{problems:#?}");
    assert_eq!((car.joints.len(), car.bolts.len()), (2, 1));
}
