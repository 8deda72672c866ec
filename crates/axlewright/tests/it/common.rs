//! The program in a folder of its own: as a function, and as the real binary where only a process
//! will do.

use std::path::Path;
use std::process::{Command, Output, Stdio};

use anstream::StripStream;
use axlewright::Streams;

/// What a call of the program gave back.
pub struct Said {
    pub code: i32,
    pub out: String,
    pub err: String,
}

/// The program, ready to be started in `folder`: no terminal, no desktop, no colour forced on it.
pub fn program(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_axlewright"));
    command.args(args).current_dir(folder).stdin(Stdio::null());
    for name in ["NO_COLOR", "CLICOLOR_FORCE", "CLICOLOR", "DISPLAY", "WAYLAND_DISPLAY"] {
        command.env_remove(name);
    }
    command
}

/// Runs the program in `folder`, as a function. A path is told as it was typed.
pub fn run(folder: &Path, args: &[&str]) -> Said {
    let (mut out, mut err) = (StripStream::new(Vec::new()), StripStream::new(Vec::new()));
    let mut streams = Streams {
        out: &mut out,
        err: &mut err,
        desktop: false,
        terminal: false,
        watched: false,
        folder,
    };
    let exit = axlewright::run(["axlewright"].iter().chain(args), &mut streams);
    let told = |stream: StripStream<Vec<u8>>| {
        let text = String::from_utf8(stream.into_inner()).expect("what is said is UTF-8");
        text.replace(&format!("{}/", folder.display()), "")
    };
    Said { code: exit as i32, out: told(out), err: told(err) }
}

/// Code and text of an output.
pub fn said(output: Output) -> Said {
    Said {
        code: output.status.code().expect("it ended by itself"),
        out: String::from_utf8(output.stdout).expect("stdout is UTF-8"),
        err: String::from_utf8(output.stderr).expect("stderr is UTF-8"),
    }
}

impl Said {
    /// Asserts the exit code, showing everything that was said if it is another one.
    #[track_caller]
    pub fn ends_with(self, code: i32) -> Self {
        assert_eq!(self.code, code, "stdout:\n{}\nstderr:\n{}", self.out, self.err);
        self
    }

    /// The output as JSON.
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|why| panic!("{why} in:\n{}", self.out))
    }
}

/// Three pixels by two, of one shade of grey.
pub fn tiny_png(grey: u8) -> Vec<u8> {
    use image::{ExtendedColorType, ImageEncoder};
    let mut file = Vec::new();
    let encoder = image::codecs::png::PngEncoder::new(&mut file);
    encoder.write_image(&[grey; 18], 3, 2, ExtendedColorType::Rgb8).unwrap();
    file
}
