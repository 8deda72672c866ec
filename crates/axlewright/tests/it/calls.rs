//! Calls as such: help, exit codes, colour, streams that are closed or full.

use std::process::Stdio;

use crate::common::{program, run, said};
use tempfile::tempdir;

const COMMANDS: [&[&str]; 9] = [
    &["demo"],
    &["new"],
    &["check"],
    &["sheet"],
    &["index"],
    &["bar"],
    &["bar", "change"],
    &["level"],
    &["order"],
];

const INDEX: [&str; 9] =
    ["index", "--anchor-teeth", "45", "--plate-teeth", "50", "--now", "20.1", "--target", "22.4"];

#[test]
fn help_goes_to_stdout_with_an_example_and_fits_eighty_columns() {
    let folder = tempdir().unwrap();
    for command in COMMANDS {
        let args: Vec<&str> = command.iter().copied().chain(["--help"]).collect();
        let said = run(folder.path(), &args).ends_with(0);
        assert!(said.out.contains(&format!("\n  axlewright {}", command.join(" "))), "{command:?}");
        assert_eq!(said.err, "");
        for line in said.out.lines().filter(|line| !line.starts_with("Usage:")) {
            assert!(line.chars().count() <= 80, "{command:?}: {line}");
        }
    }
    let whole = run(folder.path(), &["--help"]).ends_with(0);
    assert!(whole.out.contains("Exit codes: 0 fine"));
    assert!(run(folder.path(), &["--version"]).ends_with(0).out.starts_with("axlewright "));
}

#[test]
fn wrong_calls_end_with_2_and_say_so_on_stderr() {
    let calls: [(&[&str], &str); 12] = [
        (&[], "Usage: axlewright"),
        (&["frobnicate"], "frobnicate"),
        (&["check"], "<CAR>"),
        (&["sheet"], "<CAR>"),
        (&["new"], "<FOLDER>"),
        (&["index", "--anchor-teeth", "45"], "--plate-teeth"),
        (&["bar"], "--diameter"),
        (&["bar", "--diameter", "23"], "--length"),
        (&["bar", "--diameter", "thick", "--length", "540", "--modulus", "78"], "thick"),
        (&["bar", "--diameter", "23 deg", "--length", "540", "--modulus", "78"], "23 deg"),
        (&["level", "--first", "0.3", "--turned", "0.1", "--plate", "35"], "--arrow"),
        (&["level", "--first", "nan", "--turned", "0.1"], "nan"),
    ];
    let folder = tempdir().unwrap();
    for (args, words) in calls {
        let said = run(folder.path(), args).ends_with(2);
        assert!(said.err.contains(words), "{args:?} said only: {}", said.err);
        assert_eq!(said.out, "", "{args:?}");
    }
}

#[test]
fn teeth_are_whole_numbers_that_are_not_negative() {
    let folder = tempdir().unwrap();
    for teeth in ["-45", "45.5", "many", "99999999999"] {
        let args = ["index", "--anchor-teeth", teeth, "--plate-teeth", "50", "--now", "1"];
        let args: Vec<&str> = args.into_iter().chain(["--target", "2"]).collect();
        let said = run(folder.path(), &args).ends_with(2);
        assert!(said.err.contains("anchor-teeth") || said.err.contains(teeth), "{}", said.err);
    }
}

#[test]
fn no_colour_where_no_terminal_is_and_colour_where_it_is_forced() {
    let folder = tempdir().unwrap();
    std::fs::write(folder.path().join("bad.toml"), "format = 1\n[bar]\ndiametre = \"23 mm\"\n")
        .unwrap();
    let calls: [&[&str]; 5] =
        [&["check", "bad.toml"], &["check", "none.toml"], &["--help"], &["frobnicate"], &INDEX];
    for args in calls {
        let said = said(program(folder.path(), args).output().unwrap());
        assert!(!said.out.contains('\u{1b}') && !said.err.contains('\u{1b}'), "{args:?}");
    }
    let mut forced = program(folder.path(), &["check", "bad.toml"]);
    let forced = said(forced.env("CLICOLOR_FORCE", "1").output().unwrap()).ends_with(1);
    assert!(forced.out.contains('\u{1b}'), "colour was asked for");
    let mut refused = program(folder.path(), &["check", "bad.toml"]);
    let refused = refused.env("NO_COLOR", "1").output().unwrap();
    assert!(!said(refused).out.contains('\u{1b}'));
}

#[test]
fn whoever_stops_reading_causes_no_error() {
    let folder = tempdir().unwrap();
    for args in [&INDEX[..], &["--help"], &["demo", "--no-open"]] {
        let mut child = program(folder.path(), args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let said = said(child.wait_with_output().unwrap()).ends_with(0);
        assert_eq!(said.err, "", "{args:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_stdout_is_an_error() {
    let folder = tempdir().unwrap();
    let json: Vec<&str> = INDEX.into_iter().chain(["--json"]).collect();
    for args in [&INDEX[..], &json, &["--help"]] {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = program(folder.path(), args).stdout(full).stderr(Stdio::piped()).output();
        let said = said(output.unwrap()).ends_with(3);
        assert!(said.err.contains("cannot write the output"), "{args:?}: {}", said.err);
    }
}
