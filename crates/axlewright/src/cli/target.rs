//! `axlewright target`: the sheets to print for measuring with photographs.

use std::path::PathBuf;

use axlewright_sheets::{target_html, target_svg};
use axlewright_sight::sheet::{Kind, Page, Paper};
use clap::{Args, ValueEnum};

use super::{Failure, Outcome};
use crate::{Exit, Streams, desk, text};

/// Print sheets of tags, to measure with photographs
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright target --sheet body --out body.html
  axlewright target --sheet plate --paper letter --out plate.svg

Print at 100 %, not fitted to the page, and measure both check lengths with a
rule. One sheet each is enough; the four kinds are told apart by their tags.
Then take photographs, and: axlewright measure PHOTO…")]
pub struct Target {
    /// The paper it is printed on
    #[arg(long, value_enum, default_value_t = PaperWord::A4)]
    paper: PaperWord,
    /// What the sheet is for
    #[arg(long, value_enum, default_value_t = KindWord::Body)]
    sheet: KindWord,
    /// Where it goes: FILE.svg or FILE.html; `-` is the output, as SVG
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum PaperWord {
    /// 210 × 297 mm
    A4,
    /// 8.5 × 11 in
    Letter,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum KindWord {
    /// On the body, its line along the sill
    Body,
    /// On the spring plate, its line along the reference line
    Plate,
    /// On the floor
    Floor,
    /// Pairs of strips across a joint: how far it moved
    Strip,
}

impl Target {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let paper = match self.paper {
            PaperWord::A4 => Paper::A4,
            PaperWord::Letter => Paper::Letter,
        };
        let kind = match self.sheet {
            KindWord::Body => Kind::Body,
            KindWord::Plate => Kind::Plate,
            KindWord::Floor => Kind::Floor,
            KindWord::Strip => Kind::Strip,
        };
        let page = Page::new(kind, paper);
        if self.out.as_os_str() == "-" {
            write!(streams.out, "{}", target_svg(&page))?;
            return Ok(Exit::Fine);
        }
        let ending = self.out.extension().and_then(|ending| ending.to_str());
        let made = match ending.map(str::to_ascii_lowercase).as_deref() {
            Some("svg") => target_svg(&page),
            Some("html" | "htm") => target_html(&page),
            _ => {
                return Err(Failure::Call {
                    what: format!("`{}` says not what kind of file it is", self.out.display()),
                    right: "end the name in .svg or .html".to_owned(),
                });
            }
        };
        desk::write_sheet(&desk::own(made), &self.out)?;
        writeln!(streams.out, "{}", self.out.display())?;
        text::paragraph(
            streams.err,
            "",
            "Print it at 100 %, not fitted to the page, and measure both check lengths with a \
             rule.",
        )?;
        Ok(Exit::Fine)
    }
}
