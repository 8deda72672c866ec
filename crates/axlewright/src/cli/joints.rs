//! `axlewright joints`: every joint's wrench, setting, order, arm position and bolts; what to
//! beware of; and, one level below, what the torque does to the bolt.

use std::io::{self, Write};

use axlewright_quantity::Side;
use axlewright_setup::joints::{JointScene, bolt_letter, forbids_words};
use axlewright_setup::{Assessment, Finding, Item, Subject, cautions};
use clap::Args;

use super::car::{Begun, CarCall};
use super::{NOTE_U, Outcome};
use crate::{Streams, text};

/// Set the wrench: every joint's torque, order, arm position and how far its bolts are
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright joints my-car/car.toml             what to set, in which order
  axlewright joints my-car/car.toml --theory    and what that does to the bolts
  axlewright joints my-car/car.toml --json      every joint as JSON

How far each bolt is comes from the [[bolt]] rows of the car file. The maker's
manual decides; a computed torque is information.")]
pub struct Joints {
    #[command(flatten)]
    car: CarCall,
    /// Say how much each bolt pulls, what that asks of it, and how it is known
    #[arg(long)]
    theory: bool,
}

impl Joints {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let view = self.car.open()?;
        let found = &of_joints(view.assessment());
        let exit = match self.car.begin(streams, &view, found, view.faults())? {
            Begun::Over(exit) => return Ok(exit),
            Begun::GoOn(exit) => exit,
        };
        let out = &mut *streams.out;
        if found.joints.is_empty() {
            writeln!(out, "No joints in this car file: each is a [[joint]] row.")?;
            return Ok(exit);
        }
        text::cautions(out, &cautions::before_a_wrench(&found.joints))?;
        simple(out, found)?;
        warnings(out, found)?;
        gaps(out, found)?;
        if let Some(left) = found.find("joints.sign-off", None) {
            text::heading(out, "Signing off")?;
            text::paragraph(out, "", &left.why.words)?;
            forbids(out, found)?;
        }
        if self.theory {
            theory(out, found)?;
        } else {
            writeln!(out, "\nHow much each bolt pulls, and why: --theory")?;
        }
        Ok(exit)
    }
}

/// The part of an assessment that is about joints.
fn of_joints(all: &Assessment) -> Assessment {
    let is_gap = |id: &str| {
        id.starts_with("joint.") || id.starts_with("wrench") || id.starts_with("spec.torque")
    };
    let findings = all.findings.iter().filter(|found| found.id.starts_with("joint"));
    let gaps = all.gaps.iter().filter(|gap| is_gap(&gap.id));
    Assessment {
        car: all.car.clone(),
        findings: findings.cloned().collect(),
        gaps: gaps.cloned().collect(),
        problems: all.problems.clone(),
        cautions: all.cautions.clone(),
        joints: all.joints.clone(),
        ..Assessment::default()
    }
}

fn find<'a>(all: &'a Assessment, id: &str, scene: &JointScene) -> Option<&'a Finding> {
    all.find(id, Some(&Subject::Joint(scene.joint.clone())))
}

fn word<'a>(item: Option<&'a Item>, part: &str) -> Option<&'a str> {
    match item?.get(part)? {
        Item::Word(word) => Some(word),
        _ => None,
    }
}

/// What the hands need for one joint, or for a left and a right one alike.
struct Block<'a> {
    first: &'a JointScene,
    /// Caution, wrench, passes, order, arm: what stands in front, and the words.
    lines: Vec<(&'static str, String)>,
    /// How far the bolts are, joint by joint.
    states: Vec<(&'a JointScene, String)>,
}

fn block<'a>(all: &'a Assessment, scene: &'a JointScene) -> Block<'a> {
    let mut lines = Vec::new();
    // The manual's own stands above all joints.
    for caution in scene.cautions.iter().filter(|one| one.id != cautions::MANUAL_DECIDES.id) {
        lines.push(("CAUTION", caution.words.clone()));
    }
    let setting = find(all, "joint.setting", scene);
    lines.push(("wrench", wrench_line(setting)));
    lines.extend(setting.map(|found| ("list", list_of(&found.value))));
    lines.extend(passes_line(setting).map(|line| ("passes", line)));
    lines.extend(order_line(find(all, "joint.order", scene)).map(|line| ("order", line)));
    let arm = cautions::arm(scene.position);
    let (head, rest) = arm.parts();
    lines.push(("arm", format!("{}{rest}", head.to_uppercase()).trim_start().to_owned()));
    let state = find(all, "joint.state", scene).map(|found| bolts_line(&found.value));
    let states = state.into_iter().map(|line| (scene, line)).collect();
    Block { first: scene, lines, states }
}

/// What the hands need, one line each; said once where left and right are alike.
fn simple(out: &mut dyn Write, all: &Assessment) -> io::Result<()> {
    let mut blocks: Vec<Block> = Vec::new();
    for scene in &all.joints {
        let next = block(all, scene);
        match blocks.last_mut() {
            Some(last)
                if last.first.called == scene.called
                    && last.first.bolts == scene.bolts
                    && last.lines == next.lines =>
            {
                last.states.extend(next.states);
            }
            _ => blocks.push(next),
        }
    }
    for block in &blocks {
        let (both, first) = (1 < block.states.len(), block.first);
        let name = if both { &first.called } else { &first.name };
        let sides = if both { ", left and right" } else { "" };
        let gap = if first.bolts.is_empty() { "" } else { ": " };
        writeln!(out, "\n{name}{sides}{gap}{}", first.bolts)?;
        for (what, words) in &block.lines {
            text::hanging(out, &format!("  {what:<10}"), "            ", words)?;
        }
        for (scene, words) in &block.states {
            let side = scene.side.filter(|_| both).map_or("bolts", Side::word);
            text::hanging(out, &format!("  {side:<10}"), "            ", words)?;
        }
    }
    Ok(())
}

/// `set 44.6 N·m on the middle click wrench with the 60 mm extension, hand at 420 mm`.
pub fn wrench_line(setting: Option<&Finding>) -> String {
    let Some(value) = setting.map(|found| &found.value) else {
        return "not known: the list's torque is missing".to_owned();
    };
    if let Some(why) = word(Some(value), "withheld") {
        return format!("{} {why}", cautions::NO_SETTING.head.to_uppercase());
    }
    if let Some(beyond) = value.get("beyond").filter(|beyond| **beyond != Item::Nothing) {
        let end = |name| beyond.get(name).and_then(Item::amount).map(|amount| amount.shown());
        return format!(
            "BORROW ONE whose scale ends between {:.0} and {:.0} N·m: none at hand reaches this",
            end("top_least").unwrap_or(f64::NAN).ceil(),
            end("top_most").unwrap_or(f64::NAN).floor(),
        );
    }
    let Some(reading) = word(Some(value), "reading") else {
        return "cannot be said yet: the arm of the wrench is missing".to_owned();
    };
    let on = word(Some(value), "wrench").map_or(String::new(), |name| format!(" on the {name}"));
    let with = value.get("adapter").and_then(Item::amount).map_or(String::new(), |adapter| {
        let arm = value.get("wrench_arm").and_then(Item::amount);
        let arm = arm.map_or(String::new(), |arm| format!(", hand at {:.0} mm", arm.shown()));
        format!(" with the {:.0} mm extension{arm}", adapter.shown())
    });
    format!("set {reading}{on}{with}")
}

/// `4.4 kgf m = 43.1 N·m`; in the owner's unit behind it.
fn list_of(value: &Item) -> String {
    let leaf = value.get("torque").and_then(Item::as_leaf);
    let shown = word(Some(value), "preferred").unwrap_or("-");
    match leaf.and_then(|leaf| leaf.written.as_deref()) {
        Some(written) => format!("{written} = {shown}"),
        None => format!("none; {shown} computed for the preload"),
    }
}

fn passes_line(setting: Option<&Finding>) -> Option<String> {
    let value = &setting?.value;
    let passes = value.get("passes")?.items();
    if passes.len() < 2 {
        return None;
    }
    let last = word(Some(value), "wrench");
    let one = |pass: &Item| {
        let share = pass.get("share").and_then(Item::amount).map(text::percent);
        let share = share.unwrap_or_default();
        let Some(reading) = word(Some(pass), "reading") else {
            return format!("{share} by hand");
        };
        match word(Some(pass), "wrench") {
            Some(name) if Some(name) != last => format!("{share} {reading} on the {name}"),
            _ => format!("{share} {reading}"),
        }
    };
    Some(passes.iter().map(one).collect::<Vec<_>>().join(", then "))
}

fn order_line(order: Option<&Finding>) -> Option<String> {
    let bolts = order?.value.get("bolts")?.items();
    if bolts.len() < 2 {
        return None;
    }
    let letters: Vec<String> = bolts.iter().map(|bolt| letter(Some(bolt))).collect();
    Some(format!("bolts {} in every pass", letters.join(" - ")))
}

/// A bolt by its letter.
fn letter(bolt: Option<&Item>) -> String {
    match bolt {
        Some(Item::Count(number, _)) => bolt_letter(u32::try_from(*number).unwrap_or(0)),
        _ => "-".to_owned(),
    }
}

/// `1 [ ] open, 2 [x] torqued 4.4 kgf m`: a tick for what has its torque, and the word.
fn bolts_line(state: &Item) -> String {
    let one = |row: &Item| {
        let state = word(Some(row), "state").unwrap_or("-");
        let is_asked = word(Some(row), "fault").is_none();
        let is_tight = matches!(state, "torqued" | "paint-marked");
        let tick = if is_tight && is_asked { "[x]" } else { "[ ]" };
        let value = row.get("value").and_then(Item::as_leaf);
        let value = value.and_then(|leaf| leaf.written.as_deref());
        let value = value.map_or(String::new(), |value| format!(" {value}"));
        let not = if is_asked { "" } else { ", not as asked" };
        format!("{} {tick} {state}{value}{not}", letter(row.get("bolt")))
    };
    match state.items() {
        [] => "how many there are is not known".to_owned(),
        rows => rows.iter().map(one).collect::<Vec<_>>().join(", "),
    }
}

/// Every warning once, with the joints it is about.
fn warnings(out: &mut dyn Write, all: &Assessment) -> io::Result<()> {
    let mut rows: Vec<(&str, &str, &str, Vec<&JointScene>)> = Vec::new();
    for scene in &all.joints {
        for row in find(all, "joint.warning", scene).map_or(&[][..], |f| f.value.items()) {
            let part = |name| word(Some(row), name).unwrap_or_default();
            let (id, said, advice) = (part("id"), part("words"), part("advice"));
            match rows.iter_mut().find(|(i, s, _, _)| *i == id && *s == said) {
                Some((_, _, _, joints)) => joints.push(scene),
                None => rows.push((id, said, advice, vec![scene])),
            }
        }
    }
    // What the manual decides anyway comes last.
    rows.sort_by_key(|(id, ..)| *id == "changed-surface");
    text::heading(out, &format!("Warnings: {}", rows.len()))?;
    if rows.is_empty() {
        writeln!(out, "None. That does not make the joints right.")?;
    }
    for (id, said, advice, joints) in rows {
        let joints = sides_joined(&joints);
        text::hanging(out, "  ! ", "    ", &format!("{joints} ({id}): {said}."))?;
        text::hanging(out, "    do: ", "        ", advice)?;
    }
    Ok(())
}

fn gaps(out: &mut dyn Write, all: &Assessment) -> io::Result<()> {
    if all.gaps.is_empty() {
        return Ok(());
    }
    text::heading(out, &text::counted(all.gaps.len(), "gap"))?;
    all.gaps.iter().try_for_each(|gap| text::gap(out, gap))
}

/// What forbids signing off, joint by joint; those not begun in one line.
fn forbids(out: &mut dyn Write, all: &Assessment) -> io::Result<()> {
    let mut not_begun: Vec<&JointScene> = Vec::new();
    for scene in &all.joints {
        let found = find(all, "joint.sign-off", scene);
        let rows = found.and_then(|f| f.value.get("forbids")).map_or(&[][..], Item::items);
        let said: Vec<String> = rows.iter().map(forbids_words).collect();
        if !rows.is_empty() && rows.iter().all(|row| word(Some(row), "reason") == Some("open")) {
            not_begun.push(scene);
        } else if !said.is_empty() {
            text::hanging(out, "  - ", "    ", &format!("{}: {}", scene.name, said.join("; ")))?;
        }
    }
    if not_begun.is_empty() {
        return Ok(());
    }
    text::hanging(out, "  - ", "    ", &format!("every bolt open: {}", sides_joined(&not_begun)))
}

/// `stop bolt, left and right; hub nut, left`.
fn sides_joined(scenes: &[&JointScene]) -> String {
    let mut said: Vec<String> = Vec::new();
    let mut rest = scenes;
    while let [first, more @ ..] = rest {
        match more {
            [second, others @ ..] if first.called == second.called && first.side != second.side => {
                said.push(format!("{}, left and right", first.called));
                rest = others;
            }
            _ => {
                said.push(first.name.clone());
                rest = more;
            }
        }
    }
    said.join("; ")
}

/// Preload and what it asks of the bolt, with reasons.
fn theory(out: &mut dyn Write, all: &Assessment) -> io::Result<()> {
    text::heading(out, "What the torque does to the bolts")?;
    text::paragraph(out, "", NOTE_U)?;
    for scene in &all.joints {
        let strained = ["joint.preload", "joint.utilisation"];
        let found: Vec<&Finding> = strained.iter().filter_map(|id| find(all, id, scene)).collect();
        if found.is_empty() {
            continue;
        }
        writeln!(out, "\n{}", scene.name)?;
        for finding in found {
            strain(out, finding)?;
        }
    }
    Ok(())
}

/// The figures of a preload or a utilisation, then how they are known.
pub fn strain(out: &mut dyn Write, finding: &Finding) -> io::Result<()> {
    let Item::Object(parts) = &finding.value else { return Ok(()) };
    let rows: Vec<Vec<String>> = parts
        .iter()
        .filter_map(|(name, item)| {
            let leaf = item.as_leaf()?;
            let is_share = name.starts_with("of_");
            let shown = if is_share {
                text::percent_and_u(leaf.value, leaf.u)
            } else {
                text::value_and_u(leaf.value, leaf.u)
            };
            Some(vec![part_words(name).to_owned(), shown])
        })
        .collect();
    text::table(out, "  ", &rows)?;
    text::how_known(out, finding)
}

fn part_words(part: &str) -> &str {
    match part {
        "preload" => "preload of each bolt",
        "least" => "with the most friction",
        "most" => "with the least friction",
        "tightening_factor" => "tightening factor, wrench included",
        "of_yield" => "pull and twist, of yield",
        "of_proof" => "pull, of the proof load",
        "of_yield_most" => "of yield with the least friction",
        "of_proof_least" => "of proof with the most friction",
        "reduced_stress" => "pull and twist together",
        other => other,
    }
}
