//! What a person expects of a program on his machine: pages for `man`, shells that know it.

use std::process::Command;

use super::common::{program, run, said};

#[test]
fn a_manual_page_for_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let told = run(folder.path(), &["man", "--out", "man1"]).ends_with(0);
    let mut names: Vec<String> = std::fs::read_dir(folder.path().join("man1"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(told.err.trim(), format!("{} pages.", names.len()));
    for name in ["axlewright.1", "axlewright-order.1", "axlewright-book-add.1"] {
        assert!(names.iter().any(|n| n == name), "{name} is not among {names:?}");
    }
    let page = std::fs::read_to_string(folder.path().join("man1/axlewright-check.1")).unwrap();
    assert!(page.contains(".TH axlewright-check 1"), "{page}");
    assert!(page.contains("\\-\\-strict"), "{page}");
    // Twice is as good as once; what somebody else wrote is left alone.
    run(folder.path(), &["man", "--out", "man1"]).ends_with(0);
    std::fs::write(folder.path().join("man1/axlewright.1"), "my own").unwrap();
    let refused = run(folder.path(), &["man", "--out", "man1"]).ends_with(3);
    assert!(refused.err.contains("left alone"), "{}", refused.err);
}

#[test]
fn the_page_of_the_program_goes_to_the_output() {
    let folder = tempfile::tempdir().unwrap();
    let told = run(folder.path(), &["man"]).ends_with(0);
    assert!(told.out.contains(".TH axlewright 1"), "{}", told.out);
}

/// The script is what bash takes: it offers the commands that begin so.
#[test]
fn bash_finishes_a_command() {
    let folder = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish"] {
        let script = run(folder.path(), &["completions", shell]).ends_with(0).out;
        assert!(script.contains("axlewright") && script.contains("forecast"), "{shell}");
    }
    let script = said(program(folder.path(), &["completions", "bash"]).output().unwrap());
    std::fs::write(folder.path().join("script"), &script.ends_with(0).out).unwrap();
    let ask = "source ./script; COMP_WORDS=(axlewright fore); COMP_CWORD=1; \
               _axlewright axlewright fore axlewright; echo \"${COMPREPLY[*]}\"";
    let mut bash = Command::new("bash");
    let answer = bash.args(["-c", ask]).current_dir(folder.path()).output().unwrap();
    assert_eq!(said(answer).ends_with(0).out.trim(), "forecast");
    let refused = run(folder.path(), &["completions", "tcsh"]).ends_with(2);
    assert!(refused.err.contains("fish"), "{}", refused.err);
}
