//! Files and folders: what is read, what is written, and what is left alone.

use std::fs;
use std::path::Path;

use crate::common::run;
use tempfile::tempdir;

/// Names in a folder, sorted.
fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_car_file_that_cannot_be_read_is_explained() {
    let folder = tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::create_dir(at("folder")).unwrap();
    fs::write(at("latin.toml"), b"format = 1\n# L\xe4rche\n").unwrap();
    fs::write(at("utf16.toml"), b"\xff\xfef\0o\0r\0m\0").unwrap();
    fs::write(at("big.toml"), vec![b'#'; 4 * 1024 * 1024 + 1]).unwrap();
    let rows = [
        ("none.toml", "there is no file `none.toml`", "axlewright new"),
        ("none/car.toml", "there is no file `none/car.toml`", "check the name"),
        ("folder", "`folder` is a folder without car.toml", "name the car file itself"),
        ("latin.toml", "is not UTF-8 text, first at line 2", "save it as UTF-8"),
        ("utf16.toml", "is UTF-16 text", "save it as UTF-8"),
        ("big.toml", "is larger than 4 MiB", "name the car file itself"),
        ("latin.toml/car.toml", "cannot read `latin.toml/car.toml`", "check"),
    ];
    for (name, what, right) in rows {
        for command in ["check", "sheet"] {
            let said = run(folder.path(), &[command, name]).ends_with(3);
            assert!(said.err.contains(what), "{command} {name}: {}", said.err);
            assert!(said.err.contains(right), "{command} {name}: {}", said.err);
            assert_eq!(said.out, "");
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn what_the_system_refuses_to_read_or_write_ends_with_3() {
    let folder = tempdir().unwrap();
    // Reading its start fails for everybody, root included; so does making a folder under /sys.
    let said = run(folder.path(), &["check", "/proc/self/mem"]).ends_with(3);
    assert!(said.err.contains("cannot read `/proc/self/mem`"), "{}", said.err);
    for args in [&["new", "/sys/car"][..], &["demo", "--no-open", "--out", "/sys/car"]] {
        let said = run(folder.path(), args).ends_with(3);
        assert!(said.err.contains("cannot write `/sys/car`"), "{args:?}: {}", said.err);
    }
    fs::write(folder.path().join("file"), "").unwrap();
    for args in [&["new", "file/car"][..], &["demo", "--no-open", "--out", "file/car"]] {
        let said = run(folder.path(), args).ends_with(3);
        assert!(said.err.contains("cannot write `file/car`"), "{args:?}: {}", said.err);
    }
}

#[test]
fn a_byte_order_mark_and_dos_line_ends_are_no_problem() {
    let folder = tempdir().unwrap();
    let text = "\u{feff}format = 1\r\n[car]\r\nname = \"Larch\"\r\n";
    fs::write(folder.path().join("car.toml"), text).unwrap();
    let said = run(folder.path(), &["check", "car.toml"]).ends_with(0);
    assert!(said.out.contains("No problems"), "{}", said.out);
}

#[test]
fn new_writes_a_starter_that_has_gaps_and_no_problems_and_never_overwrites() {
    let folder = tempdir().unwrap();
    let said = run(folder.path(), &["new", "garage/my-car"]).ends_with(0);
    let path = Path::new("garage").join("my-car").join("car.toml");
    assert_eq!(said.out.trim(), path.to_str().unwrap());
    assert!(said.err.contains("axlewright check"), "{}", said.err);
    assert_eq!(names(&folder.path().join("garage/my-car")), ["car.toml"]);

    let starter = fs::read_to_string(folder.path().join(&path)).unwrap();
    for caution in ["# Work under a car can kill.", "# Car on stands, never on the jack."] {
        assert!(starter.find(caution).unwrap() < starter.find("[car]").unwrap());
    }

    let checked = run(folder.path(), &["check", path.to_str().unwrap()]).ends_with(0);
    assert!(checked.out.contains("No problems, 0 warnings."), "{}", checked.out);
    assert!(checked.out.contains("not yet"), "{}", checked.out);
    assert!(checked.out.contains("unlocks: "), "{}", checked.out);
    run(folder.path(), &["check", "--strict", path.to_str().unwrap()]).ends_with(1);
    run(folder.path(), &["sheet", "--strict", "--json", path.to_str().unwrap()]).ends_with(1);

    fs::write(folder.path().join(&path), "mine").unwrap();
    let again = run(folder.path(), &["new", "garage/my-car"]).ends_with(3);
    assert!(again.err.contains("left alone"), "{}", again.err);
    assert_eq!(fs::read_to_string(folder.path().join(&path)).unwrap(), "mine");
}

#[test]
fn the_sheet_goes_beside_the_car_file_or_where_it_is_told_to() {
    let folder = tempdir().unwrap();
    run(folder.path(), &["new", "car"]).ends_with(0);
    let said = run(folder.path(), &["sheet", "car/car.toml"]).ends_with(0);
    let path = Path::new("car").join("car-sheet.html");
    assert_eq!(said.out.trim(), path.to_str().unwrap());
    let page = fs::read_to_string(folder.path().join(&path)).unwrap();
    assert!(page.trim_start().to_lowercase().starts_with("<!doctype html>"));

    run(folder.path(), &["sheet", "car/car.toml", "--out", "other.html"]).ends_with(0);
    assert_eq!(fs::read_to_string(folder.path().join("other.html")).unwrap(), page);
    let streamed = run(folder.path(), &["sheet", "car/car.toml", "--out", "-"]).ends_with(0);
    assert_eq!(streamed.out, page);
    assert_eq!(names(&folder.path().join("car")), ["car-sheet.html", "car.toml"]);
}

#[test]
fn a_sheet_replaces_a_sheet_and_nothing_else() {
    let folder = tempdir().unwrap();
    run(folder.path(), &["new", "car"]).ends_with(0);
    let sheet = folder.path().join("sheet.html");
    let write = || run(folder.path(), &["sheet", "car/car.toml", "--out", "sheet.html"]);
    write().ends_with(0);
    let page = fs::read_to_string(&sheet).unwrap();
    // An older sheet of ours is replaced.
    fs::write(&sheet, page.replace("html", "HTML")).unwrap();
    write().ends_with(0);
    assert_eq!(fs::read_to_string(&sheet).unwrap(), page);
    // Somebody else's page is not, nor the car file itself, nor a folder.
    fs::write(&sheet, "<!doctype html><p>mine").unwrap();
    let said = write().ends_with(3);
    assert!(said.err.contains("`sheet.html` is there already"), "{}", said.err);
    assert_eq!(fs::read_to_string(&sheet).unwrap(), "<!doctype html><p>mine");
    let before = fs::read_to_string(folder.path().join("car/car.toml")).unwrap();
    run(folder.path(), &["sheet", "car/car.toml", "--out", "car/car.toml"]).ends_with(3);
    assert_eq!(fs::read_to_string(folder.path().join("car/car.toml")).unwrap(), before);
    run(folder.path(), &["sheet", "car/car.toml", "--out", "car"]).ends_with(3);
    run(folder.path(), &["sheet", "car/car.toml", "--out", "nowhere/sheet.html"]).ends_with(3);
    assert_eq!(names(folder.path()), ["car", "sheet.html"], "nothing half written is left");
    assert_eq!(names(&folder.path().join("car")), ["car.toml"]);
}

#[test]
fn no_page_is_made_from_a_car_file_with_errors() {
    let folder = tempdir().unwrap();
    fs::write(folder.path().join("car.toml"), "format = 1\n[bar]\nlength = \"54\n").unwrap();
    let said = run(folder.path(), &["sheet", "car.toml"]).ends_with(1);
    assert!(said.err.contains("car.toml:3:"), "{}", said.err);
    assert!(said.err.contains("no sheet is made"), "{}", said.err);
    assert_eq!(names(folder.path()), ["car.toml"]);
    let json = run(folder.path(), &["sheet", "car.toml", "--json"]).ends_with(1).json();
    assert_eq!(json["problems"][0]["severity"], "error");
    assert_eq!(json["problems"][0]["line"], 3);
}

#[test]
fn check_shows_every_problem_at_once_with_its_place_and_what_would_be_right() {
    let folder = tempdir().unwrap();
    let text = "format = 1\n\n[bar]\nfited_diameter = \"23 mm\"\noriginal_diameter = \"22\"\n\
                length = \"540 kg\"\n";
    fs::write(folder.path().join("car.toml"), text).unwrap();
    let said = run(folder.path(), &["check", "car.toml"]).ends_with(1);
    assert_eq!(said.err, "");
    for line in ["car.toml:4:1", "car.toml:5:", "car.toml:6:"] {
        assert!(said.out.contains(line), "{line} is missing in:\n{}", said.out);
    }
    assert!(said.out.contains("^^^^^^^^^^^^^^"), "the key is underlined:\n{}", said.out);
    assert!(said.out.contains("did you mean `fitted_diameter`"), "{}", said.out);
    assert!(said.out.contains("\n3 problems, 0 warnings.\n"), "{}", said.out);
    let json = run(folder.path(), &["check", "car.toml", "--json"]).ends_with(1).json();
    let lines: Vec<_> =
        json["problems"].as_array().unwrap().iter().map(|p| p["line"].as_u64().unwrap()).collect();
    assert_eq!(lines, [4, 5, 6]);
}

#[test]
fn files_no_person_wrote_are_answered_quickly_and_without_panic() {
    let folder = tempdir().unwrap();
    let texts = [
        String::new(),
        "\0\0\0".into(),
        "= = =\n".repeat(5_000),
        format!("format = 1\n[bar]\nlength = \"{}\"\n", "9".repeat(100_000)),
        format!("format = 1\n{}", "[[spec]]\nwhat = \"trim\"\n".repeat(2_000)),
        "[".repeat(10_000),
        "\u{1b}[31m\u{202e}\u{200b} = 1".into(),
    ];
    for (number, text) in texts.iter().enumerate() {
        fs::write(folder.path().join("car.toml"), text).unwrap();
        let said = run(folder.path(), &["check", "car.toml"]);
        assert!([0, 1].contains(&said.code), "text {number} ended with {}", said.code);
        assert!(!said.out.contains('\u{1b}'), "text {number} can move the reader's cursor");
        assert!(said.out.len() < 1_000_000, "text {number} floods the terminal");
    }
}

#[test]
fn a_byte_order_mark_is_no_part_of_the_text() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("car.toml");
    fs::write(&path, "\u{feff}format = 1\n").unwrap();
    assert_eq!(axlewright::desk::read_car_file(&path).unwrap(), "format = 1\n");
}
