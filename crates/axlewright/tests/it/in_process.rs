//! The program as a function: no process, streams in memory.

use std::path::Path;

use axlewright::{Exit, Streams, run};

fn call(args: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("axlewright").chain(args.iter().copied());
    let folder = Path::new("");
    let mut streams = Streams {
        out: &mut out,
        err: &mut err,
        desktop: false,
        terminal: false,
        watched: false,
        folder,
    };
    let exit = run(args, &mut streams);
    (exit, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

/// A stream that fails in a given way.
struct Broken(std::io::ErrorKind);

impl std::io::Write for Broken {
    fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
        Err(self.0.into())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

const BAR: [&str; 9] = ["bar", "change", "--manual", "30", "--ride", "11", "--old", "22", "--new"];

#[test]
fn the_four_endings() {
    let fine: Vec<&str> = BAR.into_iter().chain(["23"]).collect();
    let (exit, out, err) = call(&fine);
    assert_eq!((exit, err.as_str()), (Exit::Fine, ""));
    assert!(out.starts_with("Free angle with the new bars: "), "{out}");
    let nonsense: Vec<&str> = BAR.into_iter().chain(["0 mm"]).collect();
    assert_eq!(call(&nonsense).0, Exit::Problems);
    assert_eq!(call(&BAR).0, Exit::WrongCall);
    assert_eq!(call(&["check", "there/is/no/such/file.toml"]).0, Exit::Disk);
}

#[test]
fn numbers_of_the_endings() {
    let numbers = [Exit::Fine, Exit::Problems, Exit::WrongCall, Exit::Disk].map(|exit| exit as u8);
    assert_eq!(numbers, [0, 1, 2, 3]);
}

#[test]
fn a_closed_pipe_is_fine_and_a_full_disk_is_not() {
    let rows = [
        (std::io::ErrorKind::BrokenPipe, Exit::Fine, false),
        (std::io::ErrorKind::StorageFull, Exit::Disk, true),
    ];
    for (kind, expected, explained) in rows {
        let mut err = Vec::new();
        let mut out = Broken(kind);
        let args = ["axlewright"].into_iter().chain(BAR).chain(["23"]);
        let exit = run(
            args,
            &mut Streams {
                out: &mut out,
                err: &mut err,
                desktop: false,
                terminal: false,
                watched: false,
                folder: Path::new(""),
            },
        );
        assert_eq!(exit, expected, "{kind}");
        assert_eq!(!err.is_empty(), explained, "{kind}");
    }
}
