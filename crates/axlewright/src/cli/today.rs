//! `axlewright today`: what the car should read on its wheels as it stands now.

use std::io::{self, Write};

use axlewright_setup::Assessment;
use axlewright_setup::wheels;
use clap::Args;

use super::car::{Begun, CarCall, add_faults};
use super::trim::{number, plain, word};
use super::{NOTE_U, Outcome};
use crate::desk::Fault;
use crate::{Streams, text};

/// Say what the car should read today: half built, finished, with a driver
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright today my-car/car.toml --stage shell
  axlewright today my-car/car.toml --stage engine --load driver
  axlewright today my-car/car.toml --load driver

Stages and loads are the [[masses]] rows of the car file, each stage with all
those before it; a name may be cut short where only one begins so. Without
--stage the finished car is meant. A half-built car stands high: that is no
fault of its bars.")]
pub struct Today {
    #[command(flatten)]
    car: CarCall,
    /// The last stage that is on the car [default: finished]
    #[arg(long, value_name = "STAGE")]
    stage: Option<String>,
    /// What is in it besides; may be given several times
    #[arg(long, value_name = "LOAD", value_delimiter = ',')]
    load: Vec<String>,
    /// Say how it is known: formula, source and every input
    #[arg(long)]
    why: bool,
}

impl Today {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let view = self.car.open()?;
        let facts = view.assessment();
        let mut faults = view.faults().to_vec();
        let asked = wheels::today(view.car(), facts, self.stage.as_deref(), &self.load);
        let found = asked.unwrap_or_else(|unknown| {
            let mut fault = Fault::of_the_whole(&unknown.to_string());
            fault.right = Some(unknown.hint());
            faults.push(fault);
            Assessment { car: facts.car.clone(), ..Assessment::default() }
        });
        add_faults(&mut faults, &found);
        let exit = match self.car.begin(streams, &view, &found, &faults)? {
            Begun::Over(exit) => return Ok(exit),
            Begun::GoOn(exit) => exit,
        };
        answer(streams.out, &found, self.why)?;
        Ok(exit)
    }
}

fn answer(out: &mut dyn Write, found: &Assessment, why: bool) -> io::Result<()> {
    if let Some(expected) = found.find("car.expected", None) {
        let value = &expected.value;
        let (stage, load) = (word(value, "stage"), word(value, "load"));
        let comma = if load.is_empty() { "" } else { ", " };
        let car = found.car.as_deref().unwrap_or("The car");
        writeln!(out, "{car}, {stage}{comma}{load}: what it should read")?;
        writeln!(out)?;
        let of = |what: &str, corner: &str| value.get(what).and_then(|item| item.get(corner));
        let row = |name: &str, what: &str| {
            const CORNERS: [&str; 4] = ["LF", "RF", "LR", "RR"];
            let cells = CORNERS.iter().map(|corner| plain(of(what, corner)));
            let leaves = CORNERS.iter().filter_map(|corner| of(what, corner)?.as_leaf());
            // The largest of the four speaks for all: they hardly differ.
            let u = leaves
                .filter_map(|leaf| leaf.u)
                .max_by(|a, b| a.to_si().total_cmp(&b.to_si()))
                .map_or_else(|| "-".to_owned(), |u| text::value(u, Some(u)));
            let name = std::iter::once(name.to_owned());
            name.chain(cells).chain(std::iter::once(u)).collect::<Vec<String>>()
        };
        let heads = ["", "LF", "RF", "LR", "RR", "u"];
        let mut rows = vec![heads.map(str::to_owned).to_vec()];
        rows.push(row("weight", "weight"));
        rows.push(row("trim", "trim_read"));
        rows.push(row("trim, settled", "trim_settled"));
        rows.push(row("plate angle", "plate_angle"));
        rows.push(row("camber", "camber"));
        rows.push(row("toe-in", "toe"));
        text::table(out, "  ", &rows)?;
        writeln!(out)?;
        let whole = [("total", "total"), ("cross weight", "cross_weight"), ("nose up", "nose_up")];
        for (name, key) in whole {
            writeln!(out, "  {name}: {}", number(value.get(key)))?;
        }
        writeln!(out)?;
        text::paragraph(out, "", NOTE_U)?;
        writeln!(out)?;
        if why {
            text::how_known(out, expected)?;
        } else {
            text::paragraph(out, "", &expected.why.words)?;
            writeln!(out, "\nHow it is known: --why")?;
        }
    }
    found.gaps.iter().try_for_each(|gap| text::gap(out, gap))
}
