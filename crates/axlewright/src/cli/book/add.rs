//! `axlewright book add`, `photo` and `strike`: one entry each.

use std::collections::BTreeMap;
use std::io;
use std::path::PathBuf;

use axlewright_book::bolt_number;
use axlewright_book::log::{
    Attempt, Body, Bolt, Energy, Mark, Moved, Part, PartHappened, Reading, Recheck, Round, Signed,
    Step, StepHappened,
};
use clap::{Args, Subcommand};

use super::{Writing, car_name, print_json};
use crate::cli::{Failure, Outcome, typed};
use crate::desk::bench::{self, Bench};
use crate::desk::{self, say};
use crate::{Exit, Streams, json, text};

/// Write an entry: a reading, a part's event, a mark, a step, a bolt, …
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add part larch hose-left arrived
  axlewright book add mark larch \"left rear eccentric\" plate-left arm-left
  axlewright book add bolt larch hub-cover-left 2 torqued --value \"4.4 kgf m\"
  axlewright book add note larch \"rain, no work\" --by Ida

Each kind has its own help: axlewright book add bolt --help")]
pub struct Add {
    #[command(subcommand)]
    kind: Kind,
}

#[derive(Debug, Subcommand)]
enum Kind {
    Reading(OneReading),
    Part(OnePart),
    Mark(OneMark),
    Step(OneStep),
    Bolt(OneBolt),
    Attempt(OneAttempt),
    Round(OneRound),
    Moved(OneMove),
    Sign(OneSignature),
    Note(OneNote),
    Recheck(OneRecheck),
    Energy(OneEnergy),
}

impl Add {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let (writing, body) = match &self.kind {
            Kind::Reading(one) => (&one.writing, one.body()),
            Kind::Part(one) => (&one.writing, one.body()),
            Kind::Mark(one) => (&one.writing, one.body()),
            Kind::Step(one) => (&one.writing, one.body()),
            Kind::Bolt(one) => (&one.writing, one.body()),
            Kind::Attempt(one) => (&one.writing, one.body()),
            Kind::Round(one) => (&one.writing, one.body()),
            Kind::Moved(one) => (&one.writing, one.body()),
            Kind::Sign(one) => (&one.writing, one.body()),
            Kind::Note(one) => (&one.writing, one.body()),
            Kind::Recheck(one) => (&one.writing, one.body()),
            Kind::Energy(one) => (&one.writing, one.body()),
        };
        let (bench, by) = writing.open(streams)?;
        // What went in is written before the step that put it there, both or neither.
        let fitted = match &self.kind {
            Kind::Step(one) => one.fitted(&bench),
            _ => None,
        };
        for seq in bench.write_all(&by, fitted.into_iter().chain([body]).collect())? {
            tell(streams, writing, &bench, seq)?;
        }
        Ok(Exit::Fine)
    }
}

/// `entry 57: plate angle left: 35.2 deg`, or the entry as JSON.
fn tell(streams: &mut Streams<'_>, writing: &Writing, bench: &Bench, seq: u64) -> io::Result<()> {
    let view = bench.look();
    let Some(entry) = view.state().entry(seq) else { return Ok(()) };
    let answer = view.answer(&entry.body);
    if writing.hand.json {
        let mut told = json::entry(entry, None);
        if let (Some(object), Some(answer)) = (told.as_object_mut(), answer) {
            object.insert("answer".to_owned(), answer.into());
        }
        let entries = vec![told];
        return print_json(streams, car_name(bench).as_deref(), "entries", entries.into());
    }
    let words = format!("entry {seq}: {} {}", entry.body.kind(), say::in_words(&entry.body));
    text::hanging(streams.out, "", "  ", &words)?;
    answer.map_or(Ok(()), |answer| {
        text::hanging(streams.out, "  NOT AS ASKED: ", "    ", &format!("{answer}."))
    })
}

/// Write down what a gauge, tape or scale showed
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add reading larch \"sill level\" \"0.3 deg\" --side left \\
      --turned \"0.1 deg\" --arrow nose
  axlewright book add reading larch trim \"97 mm\" --side left \\
      --load \"empty, half a tank\"
  axlewright book add reading larch \"damper length\" \"371 mm\" --side left \\
      --stage \"before strip-down\"

A later reading of the same thing takes the place of an earlier one. The words
that are computed with are: sill level, plate angle, trim, camber, toe, corner
weight; any other is kept.")]
struct OneReading {
    #[command(flatten)]
    writing: Writing,
    /// What was read: `plate angle`
    #[arg(value_name = "WHAT")]
    what: String,
    /// As shown, with its unit: `35.2 deg`, `35.2 deg u 0.15 deg`
    #[arg(value_name = "VALUE", allow_hyphen_values = true)]
    value: String,
    /// `left` or `right`, where it belongs to a side
    #[arg(long)]
    side: Option<String>,
    /// `LF`, `RF`, `LR` or `RR`, where it belongs to a wheel
    #[arg(long)]
    corner: Option<String>,
    #[command(flatten)]
    gauge: GaugeArgs,
    /// What was in the car
    #[arg(long, value_name = "WORDS")]
    load: Option<String>,
    /// `before strip-down` for what can never be read again
    #[arg(long, value_name = "WORDS")]
    stage: Option<String>,
}

/// How an angle was read.
#[derive(Debug, Args)]
struct GaugeArgs {
    /// As shown with the gauge turned end for end
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    turned: Option<String>,
    /// `nose` or `tail`: where the gauge's arrow pointed
    #[arg(long, value_name = "END")]
    arrow: Option<String>,
    /// What hung on the bar: `plate`, `plate and arm`, …
    #[arg(long, value_name = "WHAT")]
    hung: Option<String>,
    /// `lifted` or `hanging`: how the lash stood
    #[arg(long, value_name = "HOW")]
    lash: Option<String>,
    /// `reference line` or `edge`: where the gauge sat
    #[arg(long, value_name = "WHERE")]
    seat: Option<String>,
    /// Offset of that edge from the reference line
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true)]
    seat_offset: Option<String>,
    /// With what it was read
    #[arg(long, value_name = "NAME")]
    gauge: Option<String>,
    /// Anything else
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

impl GaugeArgs {
    fn reading(&self, what: &str, value: &str) -> Reading {
        Reading {
            what: what.to_owned(),
            value: value.to_owned(),
            turned: self.turned.clone(),
            arrow: self.arrow.clone(),
            hung: self.hung.clone(),
            lash: self.lash.clone(),
            seat: self.seat.clone(),
            seat_offset: self.seat_offset.clone(),
            gauge: self.gauge.clone(),
            note: self.note.clone(),
            ..Reading::default()
        }
    }
}

impl OneReading {
    fn body(&self) -> Body {
        Body::Reading(Reading {
            side: self.side.clone(),
            corner: self.corner.clone(),
            load: self.load.clone(),
            stage: self.stage.clone(),
            ..self.gauge.reading(&self.what, &self.value)
        })
    }
}

/// Write down what happened to a part
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add part larch bar-left inspected --verdict good
  axlewright book add part larch hose-left ordered --due 2026-12-01
  axlewright book add part larch bar-left fitted --side left
  axlewright book add part larch shim-a tagged --name \"shim, 0.5 mm\"

A part set for one side is refused on the other, unless --in-spite says why.")]
struct OnePart {
    #[command(flatten)]
    writing: Writing,
    /// Its id in the car file, or a new one with --name
    #[arg(value_name = "PART")]
    part: String,
    /// tagged, inspected, kept, refinished, replaced, ordered, due, arrived,
    /// fitted or removed
    #[arg(value_name = "HAPPENED", value_parser = part_happened)]
    happened: PartHappened,
    /// For `fitted`: to which side
    #[arg(long)]
    side: Option<String>,
    /// For `inspected`: `good`, `doubtful` or `scrap`
    #[arg(long, value_name = "WORD")]
    verdict: Option<String>,
    /// For `ordered` and `due`: the day it is expected
    #[arg(long, value_name = "YYYY-MM-DD")]
    due: Option<String>,
    /// Fitted against its hand all the same: why
    #[arg(long, value_name = "WHY")]
    in_spite: Option<String>,
    /// Its name, for a part that is not in the car file
    #[arg(long)]
    name: Option<String>,
    /// Where from, where to, what was seen
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

fn part_happened(word: &str) -> Result<PartHappened, String> {
    let all = [
        PartHappened::Tagged,
        PartHappened::Inspected,
        PartHappened::Kept,
        PartHappened::Refinished,
        PartHappened::Replaced,
        PartHappened::Ordered,
        PartHappened::Due,
        PartHappened::Arrived,
        PartHappened::Fitted,
        PartHappened::Removed,
    ];
    let found =
        all.into_iter().find(|one| say::happened_to(*one).eq_ignore_ascii_case(word.trim()));
    found.ok_or_else(|| format!("it is one of: {}", all.map(say::happened_to).join(", ")))
}

/// That a part was put on the car.
fn fitted_to(part: &str, side: Option<axlewright_quantity::Side>) -> Body {
    let side = side.map(|side| side.word().to_owned());
    let (happened, none) = (PartHappened::Fitted, None);
    Body::Part(Part {
        part: part.to_owned(),
        happened,
        side,
        verdict: none.clone(),
        due: none.clone(),
        in_spite: none.clone(),
        name: none.clone(),
        note: none,
    })
}

impl OnePart {
    fn body(&self) -> Body {
        Body::Part(Part {
            part: self.part.clone(),
            happened: self.happened,
            side: self.side.clone(),
            verdict: self.verdict.clone(),
            due: self.due.clone(),
            in_spite: self.in_spite.clone(),
            name: self.name.clone(),
            note: self.note.clone(),
        })
    }
}

/// Write down a witness mark, or how far its halves miss each other on return
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add mark larch \"left rear eccentric\" plate-left arm-left
  axlewright book add mark larch \"left rear eccentric\" plate-left arm-left \\
      --offset \"0.5 mm rearward\"

A mark is void once a part under it was replaced or refinished; a mark on an
eccentric goes over the plate of that side too.")]
struct OneMark {
    #[command(flatten)]
    writing: Writing,
    /// Its name, unlike any other in the book
    #[arg(value_name = "MARK")]
    mark: String,
    /// One of the parts it joins
    #[arg(value_name = "PART")]
    one: String,
    /// The other
    #[arg(value_name = "PART")]
    other: String,
    /// `left` or `right`
    #[arg(long)]
    side: Option<String>,
    /// Another part that it crosses; once for each
    #[arg(long, value_name = "PART")]
    also: Vec<String>,
    /// On return: by how much the two halves miss each other, and which way
    #[arg(long, value_name = "WORDS", allow_hyphen_values = true)]
    offset: Option<String>,
    /// Anything else
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

impl OneMark {
    fn body(&self) -> Body {
        Body::Mark(Mark {
            mark: self.mark.clone(),
            between: [self.one.clone(), self.other.clone()],
            also: self.also.clone(),
            over: None,
            side: self.side.clone(),
            offset: self.offset.clone(),
            note: self.note.clone(),
        })
    }
}

/// Write down that a step was begun, done or backed out of
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add step larch bar-in-left --started
  axlewright book add step larch bar-in-left --done --minutes 20
  axlewright book add step larch bar-in-left --backed-out --note \"wrong tooth\"
  axlewright book add step larch droop-first-left --waived \\
      --note \"it came in pieces\"

Refused while a hold point before it is not done and signed, a reading before it
that cannot be taken again is not taken, or a joint is not at the torque it
brings; --in-spite says why it was done all the same.")]
struct OneStep {
    #[command(flatten)]
    writing: Writing,
    /// Its id in the car file
    #[arg(value_name = "STEP")]
    step: String,
    #[command(flatten)]
    happened: StepFlags,
    /// Minutes it took
    #[arg(long, value_name = "N", value_parser = typed::whole::<u32>)]
    minutes: Option<u32>,
    /// The part marked for one side that went in, by the mark on it: `bar-left`
    #[arg(long, value_name = "PART")]
    fitted: Option<String>,
    /// What was found at the car that opens it: `slack at rest`, `back to the paint`
    #[arg(long, value_name = "WORDS")]
    found: Option<String>,
    /// Begun or done with something against it all the same: why
    #[arg(long, value_name = "WHY")]
    in_spite: Option<String>,
    /// Anything else
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
struct StepFlags {
    /// It was begun
    #[arg(long)]
    started: bool,
    /// It is done
    #[arg(long)]
    done: bool,
    /// It was undone again
    #[arg(long)]
    backed_out: bool,
    /// What it reads cannot be read any more; --note says why
    #[arg(long)]
    waived: bool,
}

impl OneStep {
    /// That the part which was named is on the side of the step.
    fn fitted(&self, bench: &Bench) -> Option<Body> {
        let part = self.fitted.as_ref()?;
        let view = bench.look();
        let side = view.car().step(&self.step).and_then(|step| step.side);
        Some(fitted_to(part, side))
    }

    fn body(&self) -> Body {
        let flags = &self.happened;
        let happened = match (flags.started, flags.done, flags.waived) {
            (true, ..) => StepHappened::Started,
            (_, true, _) => StepHappened::Done,
            (.., true) => StepHappened::Waived,
            _ => StepHappened::BackedOut,
        };
        Body::Step(Step {
            step: self.step.clone(),
            happened,
            minutes: self.minutes,
            found: self.found.clone(),
            in_spite: self.in_spite.clone(),
            note: self.note.clone(),
        })
    }
}

/// Write down how far a bolt is
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add bolt larch hub-cover-left A snug
  axlewright book add bolt larch hub-cover-left A torqued --value \"4.4 kgf m\" \\
      --wrench \"middle click wrench\" --position hang")]
struct OneBolt {
    #[command(flatten)]
    writing: Writing,
    /// The joint's id in the car file
    #[arg(value_name = "JOINT")]
    joint: String,
    /// The bolt's letter in it, or its number, from 1
    #[arg(value_name = "BOLT", value_parser = bolt)]
    bolt: u32,
    /// `open`, `snug`, `torqued` or `paint-marked`
    #[arg(value_name = "STATE")]
    state: String,
    /// The torque, as read on the wrench
    #[arg(long, value_name = "TORQUE")]
    value: Option<String>,
    /// The wrench's name
    #[arg(long, value_name = "NAME")]
    wrench: Option<String>,
    /// How the arm stood: `hang`, `ride`, `wheels down`, …
    #[arg(long, value_name = "WORDS")]
    position: Option<String>,
}

fn bolt(text: &str) -> Result<u32, String> {
    bolt_number(text).ok_or_else(|| "a bolt is named by a letter, or by a number from 1".to_owned())
}

impl OneBolt {
    fn body(&self) -> Body {
        Body::Bolt(Bolt {
            joint: self.joint.clone(),
            bolt: self.bolt,
            state: self.state.clone(),
            value: self.value.clone(),
            wrench: self.wrench.clone(),
            position: self.position.clone(),
            ..Bolt::default()
        })
    }
}

/// Write down a fit of a bar: teeth moved, and the plate angle that followed
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright book add attempt larch left \"31.3 deg\" --anchor-teeth 2 \\
      --plate-teeth -3 --arrow nose --hung plate --lash lifted \\
      --seat \"reference line\"

Teeth are counted since the fit before, tail down positive. The reading stands
for the plate angle of that side from then on.")]
struct OneAttempt {
    #[command(flatten)]
    writing: Writing,
    /// `left` or `right`
    #[arg(value_name = "SIDE")]
    side: String,
    /// The plate angle, as the gauge showed it
    #[arg(value_name = "VALUE", allow_hyphen_values = true)]
    value: String,
    /// Teeth the bar was turned in its anchor
    #[arg(long, value_name = "N", allow_hyphen_values = true, default_value_t = 0)]
    anchor_teeth: i32,
    /// Teeth the plate was moved on the bar
    #[arg(long, value_name = "N", allow_hyphen_values = true, default_value_t = 0)]
    plate_teeth: i32,
    /// Tooth of the anchor against the body's paint mark
    #[arg(long, value_name = "N", value_parser = typed::whole::<u32>)]
    anchor_at: Option<u32>,
    /// Tooth of the plate's hub against the bar's paint mark
    #[arg(long, value_name = "N", value_parser = typed::whole::<u32>)]
    plate_at: Option<u32>,
    #[command(flatten)]
    gauge: GaugeArgs,
}

impl OneAttempt {
    fn body(&self) -> Body {
        let reading = self.gauge.reading("plate angle", &self.value);
        Body::Attempt(Attempt {
            side: self.side.clone(),
            anchor_teeth: self.anchor_teeth,
            plate_teeth: self.plate_teeth,
            anchor_at: self.anchor_at,
            plate_at: self.plate_at,
            reading: Reading { side: Some(self.side.clone()), ..reading },
        })
    }
}

/// Write down a round of readings on the wheels
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright book add round larch --load \"empty, half a tank\" --settled \\
      --weight LF=\"210 kg\" --weight RF=\"215 kg\" --trim LR=\"99 mm\" \\
      --camber LR=\"-0.3 deg\" --toe LR=\"-0.04 deg\"")]
struct OneRound {
    #[command(flatten)]
    writing: Writing,
    /// What was in the car
    #[arg(long, value_name = "WORDS")]
    load: String,
    /// `finished`, or the build stage's name
    #[arg(long, value_name = "WORDS")]
    stage: Option<String>,
    /// Weight on a wheel's scale; once for each
    #[arg(long, value_name = "CORNER=KG", value_parser = at_corner)]
    weight: Vec<(String, String)>,
    /// Trim at a wheel; once for each
    #[arg(long, value_name = "CORNER=MM", value_parser = at_corner)]
    trim: Vec<(String, String)>,
    /// Camber of a wheel; once for each
    #[arg(long, value_name = "CORNER=DEG", value_parser = at_corner)]
    camber: Vec<(String, String)>,
    /// Toe-in of a wheel; once for each
    #[arg(long, value_name = "CORNER=DEG", value_parser = at_corner)]
    toe: Vec<(String, String)>,
    /// Read after lift-and-release and push-and-release
    #[arg(long)]
    settled: bool,
    /// Anything else
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

fn at_corner(text: &str) -> Result<(String, String), String> {
    let parts = text.split_once('=').map(|(at, value)| (at.trim(), value.trim()));
    let parts = parts.filter(|(at, value)| !at.is_empty() && !value.is_empty());
    let parts = parts.map(|(at, value)| (at.to_owned(), value.to_owned()));
    parts.ok_or_else(|| "a corner and a value with its unit, `LR=99 mm`".to_owned())
}

impl OneRound {
    fn body(&self) -> Body {
        let map = |pairs: &[(String, String)]| -> BTreeMap<String, String> {
            pairs.iter().cloned().collect()
        };
        Body::Round(Round {
            load: self.load.clone(),
            stage: self.stage.clone(),
            weight: map(&self.weight),
            trim: map(&self.trim),
            camber: map(&self.camber),
            toe: map(&self.toe),
            settled: self.settled.then_some(true),
            note: self.note.clone(),
        })
    }
}

/// Write down a correction between two rounds
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add moved larch LR plate -1               teeth
  axlewright book add moved larch LF \"front screw\" 0.25     turns
  axlewright book add moved larch LR \"rear eccentric\" \"1.2 mm\"")]
struct OneMove {
    #[command(flatten)]
    writing: Writing,
    /// `LF`, `RF`, `LR` or `RR`
    #[arg(value_name = "CORNER")]
    corner: String,
    /// anchor, plate, front eccentric, rear eccentric or front screw
    #[arg(value_name = "ADJUSTER")]
    adjuster: String,
    /// Teeth (tail down positive), turns (up positive) or a distance
    #[arg(value_name = "BY", allow_hyphen_values = true)]
    amount: String,
}

impl OneMove {
    fn body(&self) -> Body {
        Body::Moved(Moved {
            corner: self.corner.clone(),
            adjuster: self.adjuster.clone(),
            by: self.amount.clone(),
        })
    }
}

/// Sign a hold point, a joint or the whole job
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add sign larch plate-read-left --name Ida --as restorer
  axlewright book add sign larch job --name \"K. Berg\" --as inspector

Refused while something it covers is open. --in-spite says why it is signed all
the same; the dossier then says what was open, and never that it holds. A step
is signed only once it is done.")]
struct OneSignature {
    #[command(flatten)]
    writing: Writing,
    /// The step's or joint's id, or `job`
    #[arg(value_name = "OF")]
    of: String,
    /// Who signs, by name
    #[arg(long)]
    name: String,
    /// As what: `restorer`, `inspector`
    #[arg(long = "as", value_name = "WORD")]
    as_what: Option<String>,
    /// Signed with something open all the same: why
    #[arg(long, value_name = "WHY")]
    in_spite: Option<String>,
    /// Anything else
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

impl OneSignature {
    fn body(&self) -> Body {
        Body::Signed(Signed {
            of: self.of.clone(),
            name: self.name.clone(),
            as_what: self.as_what.clone(),
            in_spite: self.in_spite.clone(),
            note: self.note.clone(),
        })
    }
}

/// Write down anything worth keeping
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add note larch \"rain, no work\"
  axlewright book add note larch \"rust flakes inside\" --about anchor-check-left")]
struct OneNote {
    #[command(flatten)]
    writing: Writing,
    /// The words
    #[arg(value_name = "WORDS")]
    text: String,
    /// What it is about: an id or free words
    #[arg(long, value_name = "WHAT", default_value = "")]
    about: String,
}

impl OneNote {
    fn body(&self) -> Body {
        Body::Note { about: self.about.clone(), text: self.text.clone() }
    }
}

/// Plan a re-check by distance, write that it was done, or how far the car has come
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add recheck larch trim --due-km 500
  axlewright book add recheck larch trim --done-km 510 --found \"97 and 95 mm\"
  axlewright book add recheck larch --done-km 120            how far the car is")]
struct OneRecheck {
    #[command(flatten)]
    writing: Writing,
    /// What is looked at
    #[arg(value_name = "WHAT", default_value = "", hide_default_value = true)]
    what: String,
    /// Kilometres since hand-over at which it is due
    #[arg(long, value_name = "N")]
    due_km: Option<u32>,
    /// Kilometres since hand-over at which it was done
    #[arg(long, value_name = "N")]
    done_km: Option<u32>,
    /// What was found
    #[arg(long, value_name = "WORDS")]
    found: Option<String>,
}

impl OneRecheck {
    fn body(&self) -> Body {
        Body::Recheck(Recheck {
            what: self.what.clone(),
            due_km: self.due_km,
            done_km: self.done_km,
            found: self.found.clone(),
        })
    }
}

/// Say whether the energy is where it is told to be
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book add energy larch \"as told\"
  axlewright book add energy larch \"not remembered\" --side left

Look first thing each evening. A bar that nobody remembers is wound: what is
done only to an unloaded bar is NOT YET, until somebody has found out what it
carries and says that the line of the energy is as told.")]
struct OneEnergy {
    #[command(flatten)]
    writing: Writing,
    /// `as told` or `not remembered`
    #[arg(value_name = "SAID")]
    said: String,
    /// `left` or `right`; of both sides where it is left out
    #[arg(long)]
    side: Option<String>,
    /// Anything else
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

impl OneEnergy {
    fn body(&self) -> Body {
        let (said, side) = (self.said.clone(), self.side.clone());
        Body::Energy(Energy { said, side, note: self.note.clone() })
    }
}

/// Take a photo into the book
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book photo larch mark.jpg --for \"left rear eccentric\" --when before
  axlewright book photo larch bar.png --for bar-left --note \"nick at the end\"

JPEG, PNG or WebP. Where and when it was taken and with what is taken off the
photo before it is kept; the picture itself is not changed.")]
pub struct PhotoOf {
    #[command(flatten)]
    writing: Writing,
    /// The photo's file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// What it shows: a mark, part, step or joint by its id, or free words
    #[arg(long = "for", value_name = "WHAT")]
    of: String,
    /// `before` or `after`, for a pair
    #[arg(long)]
    when: Option<String>,
    /// Anything else
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

impl PhotoOf {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let bytes = desk::book::read_photo(&self.file)?;
        let (bench, by) = self.writing.open(streams)?;
        let (of, when, note) = (self.of.clone(), self.when.clone(), self.note.clone());
        let written = bench.photo(&by, &bytes, bench::PhotoOf { of, when, note })?;
        tell(streams, &self.writing, &bench, written.seq)?;
        Ok(Exit::Fine)
    }
}

/// Strike an entry out: it stays in the log and counts no more
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book strike larch 57 --why \"read on the wrong side\"
  axlewright book strike larch 58 --why \"it was right after all\"

A strike is an entry too: striking it brings the first one back.")]
pub struct Strike {
    #[command(flatten)]
    writing: Writing,
    /// The number of the entry
    #[arg(value_name = "ENTRY", value_parser = typed::whole::<u64>)]
    seq: u64,
    /// Why it does not count
    #[arg(long, value_name = "WORDS")]
    why: String,
}

impl Strike {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let (bench, by) = self.writing.open(streams)?;
        let written = bench.strike(&by, self.seq, &self.why)?;
        tell(streams, &self.writing, &bench, written.seq)?;
        let view = bench.look();
        if let Some(entry) = view.state().entry(self.seq).filter(|_| !self.writing.hand.json) {
            let what = format!("struck: {} {}", entry.body.kind(), say::in_words(&entry.body));
            text::hanging(streams.out, "  ", "    ", &what)?;
        }
        Ok::<_, Failure>(Exit::Fine)
    }
}
