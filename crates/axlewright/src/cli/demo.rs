//! `axlewright demo`: the invented demo car, its build sheet, and its main findings in words.

use std::io::{self, Write};
use std::path::PathBuf;

use axlewright_quantity::{Corner, Side};
use axlewright_setup::{Assessment, Finding, Item, State, Subject};
use clap::Args;

use super::{CAUTION_TEETH, NOTE_U, Outcome, check};
use crate::{Exit, Streams, desk, text};

/// See what comes out: the demo car's files and its main findings
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright demo
  axlewright demo --out /tmp/larch --no-open

Writes car.toml and car-sheet.html into the folder and, with a terminal on a
desktop, opens the sheet in the browser. Files that were not made by this
command are left alone.")]
pub struct Demo {
    /// The folder for the two files; made if it is not there
    #[arg(long, value_name = "FOLDER", default_value = "larch-1300-demo")]
    out: PathBuf,
    /// Do not open the sheet in the browser
    #[arg(long)]
    no_open: bool,
}

impl Demo {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let demo = desk::write_demo(&self.out)?;
        let out = &mut *streams.out;
        tell(out, &demo.assessment)?;
        text::heading(out, "The build sheet")?;
        writeln!(out, "  {}", demo.sheet.display())?;
        let is_open = streams.desktop && !self.no_open && desk::open_on_desktop(&demo.sheet);
        let how = if is_open { "It opens in your browser." } else { "Open it in any browser." };
        text::paragraph(
            out,
            "  ",
            &format!(
                "{how} It was made from `{}`: change a figure there, copy the file, or start \
                 your own car with `axlewright new my-car`.",
                demo.car.display()
            ),
        )?;
        let exit = check::verdict(&demo.faults, &demo.assessment, false);
        if exit != Exit::Fine {
            for fault in &demo.faults {
                super::complain(streams.err, &fault.what, fault.right.as_deref())?;
            }
        }
        Ok(exit)
    }
}

/// The main findings in the order of the work, cautions first.
fn tell(out: &mut dyn Write, car: &Assessment) -> io::Result<()> {
    writeln!(out, "{}", car.car.as_deref().unwrap_or("The demo car"))?;
    text::paragraph(
        out,
        "",
        "An invented car with invented figures: a stripped shell on four stands, thicker torsion \
         bars than the manual was written for, gas dampers instead of oil.",
    )?;
    writeln!(out)?;
    text::caution(out, CAUTION_TEETH)?;
    tell_free_angle(out, car)?;
    tell_teeth(out, car)?;
    tell_raising(out, car)?;
    tell_gaps(out, car)
}

fn of(side: Side) -> Subject {
    Subject::Corner(Corner::rear(side))
}

/// The finding for that side, or for the whole car.
fn find<'a>(car: &'a Assessment, id: &str, side: Side, at: Option<State>) -> Option<&'a Finding> {
    let is_it = |finding: &&Finding| {
        finding.id == id
            && (finding.of.is_none() || finding.of.as_ref() == Some(&of(side)))
            && (at.is_none() || finding.at == at)
    };
    car.findings.iter().find(is_it)
}

fn with_u(item: Option<&Item>) -> String {
    match item.and_then(Item::as_leaf) {
        Some(leaf) => text::value_and_u(leaf.value, leaf.u),
        None => text::cell(item),
    }
}

/// One row of a table: a name, then left and right.
fn both(name: &str, of_side: impl Fn(Side) -> String) -> Vec<String> {
    let mut row = vec![name.to_owned()];
    row.extend(Side::BOTH.map(of_side));
    row
}

fn tell_free_angle(out: &mut dyn Write, car: &Assessment) -> io::Result<()> {
    text::heading(out, "The free angle: where the plate hangs with no load on the bar")?;
    let flat = |id: &'static str| {
        move |side: Side| with_u(find(car, id, side, None).map(|found| &found.value))
    };
    let rows = [
        both("", |side| side.word().to_owned()),
        both("as the manual has it", flat("free-angle.manual")),
        both("from four numbers only", flat("free-angle.by-four-numbers")),
        both("right for this car", flat("free-angle.target")),
        both("as it is now", flat("free-angle.now")),
        both("trim at the manual's angle", flat("trim.at-manual-angle")),
    ];
    text::table(out, "  ", &rows)?;
    writeln!(out)?;
    if let Some(target) = find(car, "free-angle.target", Side::Left, None) {
        text::hanging(out, "  Why: ", "       ", &target.why.words)?;
    }
    text::hanging(out, "  ", "     ", NOTE_U)
}

fn tell_teeth(out: &mut dyn Write, car: &Assessment) -> io::Result<()> {
    text::heading(out, "Which teeth to choose")?;
    for side in Side::BOTH {
        let found = find(car, "index.choices", side, None);
        let Some(best) = found.and_then(|found| found.value.items().first()) else {
            writeln!(out, "  {side}: not known yet")?;
            continue;
        };
        let angle = with_u(best.get("angle"));
        let trim = with_u(best.get("trim"));
        let words = text::cell(best.get("words"));
        let name = format!("  {:7}", format!("{side}:"));
        text::hanging(out, &name, "         ", &words)?;
        text::paragraph(out, "         ", &format!("Free angle then {angle}; trim {trim}."))?;
    }
    Ok(())
}

fn tell_raising(out: &mut dyn Write, car: &Assessment) -> io::Result<()> {
    text::heading(out, "Raising the arm until the stop bolt goes in")?;
    let raise = |side, at| find(car, "raise.stop-bolt", side, Some(at)).map(|found| &found.value);
    let part = |side, at, name| raise(side, at).and_then(|value| value.get(name));
    text::caution(
        out,
        "The arm stores energy all the way up. Keep out of its path, jack under the stated point \
         only, and have the stop bolt at hand.",
    )?;
    for (at, when) in [
        (State::Now, "with the teeth as they are now"),
        (
            State::Target,
            "once on \
         the chosen teeth",
        ),
    ] {
        for side in Side::BOTH {
            if part(side, at, "lifts_car") == Some(&Item::Flag(true)) {
                let stand = text::cell(part(side, at, "stand"));
                let ballast = with_u(part(side, at, "ballast"));
                text::caution(
                    out,
                    &format!(
                        "{side}, {when}: the jack takes the car off the stand `{stand}`. Ballast \
                         over each rear stand first: {ballast}."
                    ),
                )?;
            }
        }
    }
    writeln!(out)?;
    for (at, when) in [(State::Now, "teeth as now"), (State::Target, "teeth as chosen")] {
        let row = |name: &str, key: &'static str| both(name, |side| with_u(part(side, at, key)));
        let rows = [
            both(when, |side| side.word().to_owned()),
            row("jack force", "force"),
            row("lift at the jack", "lift"),
            row("energy in the bar", "energy"),
            row("nearest stand before", "stand_before"),
            row("nearest stand after", "stand_after"),
            row("ballast per rear stand", "ballast"),
        ];
        text::table(out, "  ", &rows)?;
        writeln!(out)?;
    }
    Ok(())
}

fn tell_gaps(out: &mut dyn Write, car: &Assessment) -> io::Result<()> {
    let count = text::counted(car.gaps.len(), "gap");
    text::heading(out, &format!("Still to be measured or looked up: {count}"))?;
    for gap in &car.gaps {
        text::hanging(out, "  * ", "    ", &format!("{}: {}", gap.id, gap.measure))?;
    }
    Ok(())
}
