//! Programs that the tests need: looked for, installed where that is possible, never skipped.

use std::process::Command;

use crate::stage::{found, output, run};

/// A program, and the Debian package that brings it.
struct Tool {
    program: &'static str,
    package: &'static str,
}

/// The browser, which brings a typeface with it, and the readers of what it prints; what refuses
/// the store's calls to the disk, what reads a book without the program, what leads the browser.
const TOOLS: &[Tool] = &[
    Tool { program: "chromium", package: "chromium" },
    Tool { program: "pdftotext", package: "poppler-utils" },
    Tool { program: "pdftoppm", package: "poppler-utils" },
    Tool { program: "strace", package: "strace" },
    Tool { program: "python3", package: "python3" },
    Tool { program: "node", package: "nodejs" },
    Tool { program: "npm", package: "npm" },
];

/// Makes sure that the tools are there, with apt-get when this is a Debian machine and we
/// are root; says what to install by hand where it is not.
pub fn test_tools() -> Result<(), String> {
    let mut packages: Vec<&str> =
        TOOLS.iter().filter(|tool| !found(tool.program)).map(|tool| tool.package).collect();
    if packages.is_empty() {
        return Ok(());
    }
    packages.dedup();
    let by_hand = format!("install by hand: {}", packages.join(" "));
    let root = output(Command::new("id").arg("-u")).is_ok_and(|id| id.trim() == "0");
    if !root || !found("apt-get") {
        return Err(by_hand);
    }
    apt(&["update", "-q"]).map_err(|why| format!("{why}; {by_hand}"))?;
    let mut install = vec!["install", "-q", "--yes", "--no-install-recommends"];
    install.extend(&packages);
    apt(&install).map_err(|why| format!("{why}; {by_hand}"))?;
    match TOOLS.iter().find(|tool| !found(tool.program)) {
        None => Ok(()),
        Some(tool) => Err(format!("{} did not bring {}", tool.package, tool.program)),
    }
}

fn apt(arguments: &[&str]) -> Result<(), String> {
    // Another installation may be at work: wait for it instead of failing.
    let wait = ["-o", "DPkg::Lock::Timeout=300", "-o", "Acquire::Retries=3"];
    let mut command = Command::new("apt-get");
    run(command.args(wait).args(arguments).env("DEBIAN_FRONTEND", "noninteractive"))
}
