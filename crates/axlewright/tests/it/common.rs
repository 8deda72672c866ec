//! The real binary, run in a folder of its own.

use std::path::Path;
use std::process::{Command, Output, Stdio};

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

/// Runs the program in `folder` and waits for it.
pub fn run(folder: &Path, args: &[&str]) -> Said {
    said(program(folder, args).output().expect("the binary starts"))
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
