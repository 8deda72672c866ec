//! `axlewright demo`: the invented demo car, its build sheet, and its main findings in words.

use std::io::{self, Write};
use std::path::PathBuf;

use axlewright_quantity::{Corner, Side};
use axlewright_setup::{Assessment, Finding, Item, State, Subject, cautions};
use clap::Args;

use super::serve::{How, writer};
use super::{NOTE_U, Outcome};
use crate::desk::bench::Bench;
use crate::{Exit, Streams, desk, text};

/// See what comes out: the demo car's files, its main findings, and the page on the bench
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright demo
  axlewright demo --lan
  axlewright demo --out larch --once

Writes car.toml, car-sheet.html and a book with half the job in it into the
folder. With a terminal it then opens that book's page and serves it until
Ctrl-C; without one, or with --once, it ends after the files. Files that were
not made by this command, and a book that is there, are left alone.")]
pub struct Demo {
    /// The folder for the files; made if it is not there
    #[arg(long, value_name = "FOLDER", default_value = "larch-1300-demo")]
    out: PathBuf,
    /// Write the files and end, even with a terminal
    #[arg(long)]
    once: bool,
    /// Serve the page even without a terminal
    #[arg(long, conflicts_with = "once")]
    serve: bool,
    #[command(flatten)]
    how: How,
}

impl Demo {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let demo = desk::write_demo(&self.out)?;
        let out = &mut *streams.out;
        tell(out, &demo.assessment)?;
        text::heading(out, "The build sheet")?;
        writeln!(out, "  {}", demo.sheet.display())?;
        text::paragraph(
            out,
            "  ",
            &format!(
                "Open it in any browser. It was made from `{}`: change a figure there, copy the \
                 file, or start your own car with `axlewright new my-car`.",
                demo.car.display()
            ),
        )?;
        text::heading(out, "The book")?;
        let book = demo.book.display();
        let words = "The same car half put together: what was read, marked, fitted and signed.";
        text::paragraph(out, "  ", words)?;
        writeln!(out, "    axlewright book log {book}")?;
        writeln!(out, "    axlewright order {book} --have bench")?;
        writeln!(out, "    axlewright serve {book}")?;
        let exit = super::car::verdict(&demo.faults, &demo.assessment, false);
        if exit != Exit::Fine {
            for fault in &demo.faults {
                super::complain(streams.err, &fault.what, fault.right.as_deref())?;
            }
        }
        if self.once || !(streams.terminal || self.serve) {
            return Ok(exit);
        }
        text::heading(streams.out, "The page on the bench")?;
        let by = writer(None);
        let bench = Bench::own(&demo.book, &by)?;
        self.how.serve(bench, by, streams)
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
    text::cautions(out, &cautions::before_teeth())?;
    tell_free_angle(out, car)?;
    tell_teeth(out, car)?;
    tell_windows(out, car)?;
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
    if let Some(apart) = car.find("free-angle.left-right", None) {
        text::paragraph(out, "  ", &apart.why.words)?;
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
    if let Some(both) = car.find("index.both-sides", None) {
        text::hanging(out, "  both:  ", "         ", &both.why.words)?;
    }
    Ok(())
}

/// Both times raising is looked at, the teeth as they are first: what counts before the act.
const TIMES: [(State, &str); 2] = [(State::Now, "teeth as now"), (State::Target, "at the target")];

fn tell_raising(out: &mut dyn Write, car: &Assessment) -> io::Result<()> {
    text::heading(out, "Raising the arm until the stop bolt goes in")?;
    let raise = |side, at| find(car, "raise.stop-bolt", side, Some(at)).map(|found| &found.value);
    let part = |side, at, name| raise(side, at).and_then(|value| value.get(name));
    text::caution(out, &cautions::JACK_SLIPS.caution())?;
    let lifts = |side, at| part(side, at, "lifts_car") == Some(&Item::Flag(true));
    let is_barred =
        |side, at| matches!(part(side, at, "barred_by"), Some(Item::Word(why)) if !why.is_empty());
    for (at, _) in TIMES {
        for side in Side::BOTH.into_iter().filter(|side| lifts(*side, at)) {
            let (stand, push) = (part(side, at, "stand"), part(side, at, "force"));
            let stand = format!("the {} stand", text::cell(stand));
            let advice = text::cell(part(side, at, "advice"));
            let told = cautions::jack(&with_u(push), &stand, true, &advice);
            text::warned(out, &format!("{side}: {}", told.words))?;
        }
        for side in Side::BOTH.into_iter().filter(|side| is_barred(*side, at)) {
            let advice = text::cell(part(side, at, "advice"));
            text::warned(out, &format!("{side}: {advice}"))?;
        }
    }
    writeln!(out)?;
    for (at, when) in TIMES {
        let row = |name: &str, key: &'static str| both(name, |side| with_u(part(side, at, key)));
        let after = |side| match lifts(side, at) {
            true => "lifts off".to_owned(),
            false => with_u(part(side, at, "stand_after")),
        };
        let rows = [
            both(when, |side| side.word().to_owned()),
            both("judgement", |side| text::cell(part(side, at, "may"))),
            row("jack force", "force"),
            row("lift at the jack", "lift"),
            row("energy in the bar", "energy"),
            row("nearest stand before", "stand_before"),
            both("nearest stand after", after),
            row("ballast per rear stand", "ballast_with_margin"),
        ];
        text::table(out, "  ", &rows)?;
        writeln!(out)?;
    }
    Ok(())
}

const WINDOWS: [(&str, &str); 6] = [
    ("window.stop-bolt", "stop bolt"),
    ("window.damper", "damper"),
    ("window.hose", "brake hose"),
    ("window.cable", "handbrake cable"),
    ("window.half-shaft", "half-shaft"),
    ("window.plate-bend", "plate, bending"),
];

fn tell_windows(out: &mut dyn Write, car: &Assessment) -> io::Result<()> {
    text::heading(out, "What fits at which plate angle, in degrees")?;
    let [left, right] = Side::BOTH.map(|side| window_rows(car, side));
    if left == right {
        writeln!(out, "  both sides")?;
        return text::table(out, "  ", &left);
    }
    for (side, rows) in Side::BOTH.iter().zip([left, right]) {
        writeln!(out, "  {side}")?;
        text::table(out, "  ", &rows)?;
    }
    Ok(())
}

fn window_rows(car: &Assessment, side: Side) -> Vec<Vec<String>> {
    let heads = ["", "fits", "hangs as now", "at target", "at ride"];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    for (id, name) in WINDOWS {
        let Some(found) = find(car, id, side, None) else { continue };
        let verdict = |state| {
            let fit = found.value.get("fit").and_then(|fit| fit.get(state));
            text::cell(fit.and_then(|fit| fit.get("verdict")))
        };
        let fits = spans(&found.value);
        let [now, target, ride] = ["hang_now", "hang_target", "ride"].map(verdict);
        rows.push(vec![name.to_owned(), fits, now, target, ride]);
    }
    rows
}

/// `to 20.9, from 48.6`: the angles at which something fits, in degrees.
fn spans(value: &Item) -> String {
    let one = std::slice::from_ref(value);
    let all = value.get("windows").map_or(one, Item::items);
    let end = |span: &Item, name| {
        let angle = span.get(name).and_then(Item::amount);
        angle.map(|angle| format!("{:.1}", angle.shown()))
    };
    let words = all.iter().map(|span| match (end(span, "from"), end(span, "to")) {
        (Some(from), Some(to)) => format!("{from} to {to}"),
        (Some(from), None) => format!("from {from}"),
        (None, Some(to)) => format!("to {to}"),
        (None, None) => "always".to_owned(),
    });
    let words: Vec<String> = words.collect();
    if words.is_empty() { "never".to_owned() } else { words.join(", ") }
}

fn tell_gaps(out: &mut dyn Write, car: &Assessment) -> io::Result<()> {
    let count = text::counted(car.gaps.len(), "gap");
    text::heading(out, &format!("Still to be measured or looked up: {count}"))?;
    for gap in &car.gaps {
        text::hanging(out, "  * ", "    ", &format!("{}: {}", gap.id, gap.measure))?;
    }
    Ok(())
}
