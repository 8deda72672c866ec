//! The sheet as a person sees it: checked in a real browser, and laid down as pictures.

mod browser;
mod checks;

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::stage::{Report, Tally, cargo, run, write};
use crate::tools::test_tools;
use crate::{Wrong, page, root};
use browser::{Browser, View, from_base64};

/// Where people read the sheet: in the hand under the car, and at the table before it.
const VIEWS: &[View] = &[
    View { name: "phone-light", width: 390, height: 844, scale: 2.0, phone: true, dark: false },
    View { name: "phone-dark", width: 390, height: 844, scale: 2.0, phone: true, dark: true },
    View { name: "laptop-light", width: 1366, height: 900, scale: 1.0, phone: false, dark: false },
    View { name: "laptop-dark", width: 1366, height: 900, scale: 1.0, phone: false, dark: true },
];

/// A sheet of paper: name, width and height in inches, and in PDF points.
pub struct Paper {
    pub name: &'static str,
    pub inches: (f64, f64),
    pub points: (f64, f64),
}

/// ISO 216 A4 is 210 × 297 mm, Letter 8½ × 11 in; a point is 1/72 in.
const PAPERS: &[Paper] = &[
    Paper { name: "a4", inches: (8.267_717, 11.692_913), points: (595.28, 841.89) },
    Paper { name: "letter", inches: (8.5, 11.0), points: (612.0, 792.0) },
];
/// Pictures of a long page are cut into pieces of this height.
const PIECE: f64 = 2_600.0;

pub fn run_chore(arguments: &[String]) -> Result<Report, Wrong> {
    let given = match arguments {
        [] => None,
        [page] if page == "--page" => return screens(),
        [file] if !file.starts_with('-') => Some(PathBuf::from(file)),
        _ => return Err(Wrong("one HTML file, --page, or nothing for the demo sheet".to_owned())),
    };
    let mut report = Report::default();
    let mut sheet = Err("no sheet".to_owned());
    report.stage("tools", |_| test_tools());
    report.stage("sheet", |_| {
        sheet = match given {
            Some(file) => Ok(file),
            None => demo_sheet(),
        };
        sheet.as_ref().map(|_| ()).map_err(Clone::clone)
    });
    if let Ok(sheet) = sheet {
        report.stage("pictures", |_| pictures(&sheet));
        report.stage("checks", |tests| check_sheet(&sheet, tests));
    }
    report.close();
    Ok(report)
}

fn screens() -> Result<Report, Wrong> {
    let mut report = Report::default();
    report.stage("tools", |_| test_tools());
    report.stage("pictures", |_| page::pictures(None));
    report.close();
    Ok(report)
}

/// Writes the demo's sheet and says where it stands.
pub fn demo_sheet() -> Result<PathBuf, String> {
    let folder = root().join("target").join("look").join("demo");
    let _ = std::fs::remove_dir_all(&folder);
    let call = ["run", "--quiet", "--locked", "--", "demo", "--once", "--no-open", "--out"];
    run(cargo().args(call).arg(&folder))?;
    let mut pages: Vec<PathBuf> = std::fs::read_dir(&folder)
        .map_err(|error| format!("{}: {error}", folder.display()))?
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "html"))
        .collect();
    pages.sort();
    pages.into_iter().next().ok_or_else(|| "the demo wrote no .html file".to_owned())
}

/// Looks at a sheet in every view and on both papers; each thing looked for counts as one test.
pub fn check_sheet(sheet: &Path, tests: &mut Tally) -> Result<(), String> {
    let found = look(&mut Browser::start()?, sheet)?;
    for (what, problems) in &found {
        if problems.is_empty() {
            tests.passed += 1;
            println!("   ok      {what}");
            continue;
        }
        tests.failed += 1;
        println!("   FAILED  {what}");
        for problem in problems.iter().take(12) {
            println!("           {problem}");
        }
        if problems.len() > 12 {
            println!("           and {} more", problems.len() - 12);
        }
    }
    let failed = found.iter().filter(|(_, problems)| !problems.is_empty()).count();
    if failed == 0 { Ok(()) } else { Err(format!("{failed} of {} checks failed", found.len())) }
}

/// What was looked for, each with what is wrong with it.
type Found = Vec<(String, Vec<String>)>;

fn look(browser: &mut Browser, sheet: &Path) -> Result<Found, String> {
    let address = address(sheet)?;
    let mut found = Found::new();
    for view in VIEWS {
        // One device pixel per CSS pixel, so that boxes and pictures have the same grid.
        let view = View { scale: 1.0, ..*view };
        let named = checks::on_screen(browser, &address, view)?;
        found.extend(named.into_iter().map(|(what, bad)| (format!("{}: {what}", view.name), bad)));
    }
    for paper in PAPERS {
        let named = checks::on_paper(browser, &address, paper)?;
        found.extend(named.into_iter().map(|(what, bad)| (format!("{}: {what}", paper.name), bad)));
    }
    Ok(found)
}

/// Proves on samples that each check passes a good page and catches the fault it is there for.
pub fn prove_checks(tests: &mut Tally) -> Result<(), String> {
    let samples: &[(&str, &[&str])] = &[
        ("good.html", &[]),
        ("sideways.html", &["no sideways scrolling"]),
        ("no-viewport-line.html", &["layout width"]),
        ("small-letters.html", &["letters of 12 px or more"]),
        ("pale.html", &["contrast of 4.5:1 or more"]),
        ("calls-out.html", &["nothing asked for outside", "no complaints"]),
        ("nameless-drawing.html", &["title, language and named drawings"]),
        ("torn-caution.html", &["what belongs together on one page"]),
        ("lone-heading.html", &["what belongs together on one page"]),
        ("label-outside.html", &["no word cut off"]),
        (
            "bad-print.html",
            &["drawings kept whole", "no empty page", "no word cut off", "every word printed"],
        ),
    ];
    let mut browser = Browser::start()?;
    let mut wrong = Vec::new();
    for (sample, wanted) in samples {
        let found = look(&mut browser, &root().join("crates/xtask/samples").join(sample))?;
        let caught =
            |what: &str| found.iter().any(|(name, bad)| !bad.is_empty() && name.ends_with(what));
        let mut failures: Vec<String> = wanted
            .iter()
            .filter(|what| !caught(what))
            .map(|what| format!("{sample}: `{what}` did not catch its fault"))
            .collect();
        let unexpected = found.iter().filter(|(name, bad)| {
            !bad.is_empty() && !wanted.iter().any(|what| name.ends_with(what))
        });
        failures.extend(unexpected.map(|(name, bad)| format!("{sample}: {name}: {bad:?}")));
        if failures.is_empty() {
            tests.passed += 1;
            println!("   ok      {sample}");
        } else {
            tests.failed += 1;
            println!("   FAILED  {}", failures.join("\n           "));
            wrong.push(*sample);
        }
    }
    if wrong.is_empty() { Ok(()) } else { Err(format!("samples: {}", wrong.join(", "))) }
}

/// Lays pictures of the sheet under `target/look/`: every view whole and in pieces, and every
/// printed page.
fn pictures(sheet: &Path) -> Result<(), String> {
    let address = address(sheet)?;
    let folder = root().join("target").join("look");
    for old in std::fs::read_dir(&folder).into_iter().flatten().flatten() {
        if old.path().extension().is_some_and(|ending| ending == "png" || ending == "pdf") {
            let _ = std::fs::remove_file(old.path());
        }
    }
    let mut browser = Browser::start()?;
    for view in VIEWS {
        let mut page = browser.open(&address, *view)?;
        let (width, height) = (f64::from(view.width), f64::from(view.height));
        let first = from_base64(&page.picture(0.0, width, height)?);
        write(&folder.join(format!("{}.png", view.name)), &first)?;
        let whole = page.value("document.documentElement.scrollHeight")?.as_f64().unwrap_or(height);
        let (mut top, mut piece) = (0.0, 1);
        while top < whole {
            let part = from_base64(&page.picture(top, width, PIECE.min(whole - top))?);
            write(&folder.join(format!("{}-piece-{piece}.png", view.name)), &part)?;
            top += PIECE;
            piece += 1;
        }
    }
    for paper in PAPERS {
        let mut page = browser.open(&address, VIEWS[2])?;
        let file = folder.join(format!("{}.pdf", paper.name));
        write(&file, &from_base64(&page.print(paper.inches.0, paper.inches.1)?))?;
        let mut command = Command::new("pdftoppm");
        command.args(["-r", "80", "-png"]).arg(&file).arg(folder.join(paper.name));
        run(&mut command)?;
    }
    println!("   pictures in {}", folder.display());
    Ok(())
}

fn address(sheet: &Path) -> Result<String, String> {
    let whole = sheet.canonicalize().map_err(|error| format!("{}: {error}", sheet.display()))?;
    Ok(format!("file://{}", whole.display().to_string().replace('%', "%25").replace(' ', "%20")))
}
