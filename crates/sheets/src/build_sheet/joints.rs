//! The torque page: one line per joint that is readable at arm's length, boxes to tick, layouts
//! with the order of tightening, cautions in front.

use axlewright_quantity::Side;
use axlewright_setup::joints::{IDS, JointScene, named};
use axlewright_setup::{Caution, Finding, Item, State, Subject, cautions};
use maud::{Markup, html};

use super::figure::{Name, figure, reasons};
use super::{Sheet, Which, drawing, open};
use crate::capital;
use crate::{format, joint_layout};

/// Findings whose figures the page itself shows: only their reasons are folded away.
const SHOWN: [&str; 7] = [
    "joint.caution",
    "joint.position",
    "joint.setting",
    "joint.order",
    "joint.warning",
    "joint.state",
    "joint.sign-off",
];

const CAPTION: &str = "Letters name the bolts; the number in each head is its turn, the same in \
    every pass; the last pass round again until none moves. Seen from the heads.";

/// A joint, or a left and a right one that ask for the same.
struct Alike<'a> {
    name: &'a str,
    scenes: Vec<&'a JointScene>,
}

/// The page; nothing where the car file has no joints.
pub(super) fn section(sheet: &mut Sheet<'_>) -> Markup {
    let all = sheet.all;
    if all.joints.is_empty() {
        return html! {};
    }
    let summary = sheet.take(Which { id: "joints.sign-off", of: None, at: None });
    let groups = alike(sheet, &all.joints);
    html! {
        section.joints id="joints" {
            h2 { "Torque page" }
            (general_cautions(&all.joints))
            @if let Some(summary) = summary {
                p.lead { (summary.why.words) }
                (reasons(summary))
            }
            (glance(sheet, &groups))
            @for group in &groups { (article(sheet, group)) }
        }
    }
}

fn peek<'a>(sheet: &Sheet<'a>, id: &str, scene: &JointScene) -> Option<&'a Finding> {
    let of = Subject::Joint(scene.joint.clone());
    sheet.peek(Which { id, of: Some(&of), at: None::<State> })
}

fn word<'a>(item: Option<&'a Item>, part: &str) -> Option<&'a str> {
    match item?.get(part)? {
        Item::Word(word) => Some(word),
        _ => None,
    }
}

/// Neighbours of one name whose settings, positions, cautions and orders are the same.
fn alike<'a>(sheet: &Sheet<'a>, scenes: &'a [JointScene]) -> Vec<Alike<'a>> {
    let mut groups: Vec<Alike<'a>> = Vec::new();
    for scene in scenes {
        let same = |other: &JointScene| {
            let value = |scene, id| peek(sheet, id, scene).map(|found: &Finding| &found.value);
            ["joint.caution", "joint.position", "joint.setting", "joint.order", "joint.warning"]
                .iter()
                .all(|id| value(other, id) == value(scene, id))
                && other.bolts == scene.bolts
        };
        match groups.last_mut() {
            Some(group)
                if group.name == scene.called
                    && scene.side.is_some()
                    && group.scenes.iter().all(|other| same(other)) =>
            {
                group.scenes.push(scene);
            }
            _ => groups.push(Alike { name: &scene.called, scenes: vec![scene] }),
        }
    }
    groups
}

/// What goes for all of them.
pub(super) fn general_cautions(scenes: &[JointScene]) -> Markup {
    html! {
        div.caution {
            p.head { "Before a wrench is set" }
            (open::cautions(&cautions::before_a_wrench(scenes)))
        }
    }
}

/// One line per joint: what to set, how the arm stands, how far the bolts are.
fn glance(sheet: &Sheet<'_>, groups: &[Alike<'_>]) -> Markup {
    html! {
        table.glance {
            thead { tr {
                th scope="col" { "Joint" } th scope="col" { "Set" } th scope="col" { "Arm" }
                th scope="col" { "Bolts" }
            } }
            tbody { @for group in groups {
                @if let Some(first) = group.scenes.first() {
                    tr {
                        th scope="row" {
                            (capital(group.name)) (sides(group))
                            @if is_warned(sheet, first) { " " small { "– see its warning" } }
                        }
                        td {
                            (reading(peek(sheet, "joint.setting", first).map(|f| &f.value)))
                            @if has_extension(sheet, first) { small { ", with its extension" } }
                        }
                        td { (position(first)) }
                        td {
                            (how_far(sheet, group))
                            @if has_faults(sheet, group) { " " small { b { "– see its bolts" } } }
                        }
                    }
                }
            } }
        }
    }
}

/// Whether there is a warning that is not left to the manual anyway.
fn is_warned(sheet: &Sheet<'_>, scene: &JointScene) -> bool {
    let rows = peek(sheet, "joint.warning", scene).map_or(&[][..], |found| found.value.items());
    rows.iter().any(|row| word(Some(row), "id") != Some("changed-surface"))
}

/// Whether a bolt of them is not as it should be, beyond not being done yet.
fn has_faults(sheet: &Sheet<'_>, group: &Alike<'_>) -> bool {
    group.scenes.iter().any(|scene| {
        let state = peek(sheet, "joint.state", scene).map_or(&[][..], |found| found.value.items());
        state.iter().any(|row| !faults(sheet, scene, row.get("bolt")).is_empty())
    })
}

fn has_extension(sheet: &Sheet<'_>, scene: &JointScene) -> bool {
    let setting = peek(sheet, "joint.setting", scene).map(|found| &found.value);
    setting.and_then(|value| value.get("adapter")).and_then(Item::amount).is_some()
}

/// `, left and right`.
fn sides(group: &Alike<'_>) -> String {
    let side = match group.scenes.as_slice() {
        [only] => side(only),
        _ => "left and right",
    };
    if side.is_empty() { String::new() } else { format!(", {side}") }
}

/// `4 open`, or `left 4 open, right 4 torqued`.
fn how_far(sheet: &Sheet<'_>, group: &Alike<'_>) -> String {
    let states = ["open", "snug", "torqued", "paint-marked"];
    let counted = |scene: &JointScene| {
        let rows = peek(sheet, "joint.state", scene).map_or(&[][..], |found| found.value.items());
        let of =
            |state: &str| rows.iter().filter(|r| word(Some(r), "state") == Some(state)).count();
        let parts = states.iter().map(|state| (of(state), state)).filter(|(n, _)| 0 < *n);
        let single = rows.len() == 1;
        let say = |(n, state): (usize, &&str)| {
            if single { (*state).to_owned() } else { format!("{n} {state}") }
        };
        let parts: Vec<String> = parts.map(say).collect();
        if parts.is_empty() { "not known".to_owned() } else { parts.join(", ") }
    };
    let all: Vec<(&str, String)> =
        group.scenes.iter().map(|scene| (side(scene), counted(scene))).collect();
    match all.as_slice() {
        [] => String::new(),
        [(_, only)] => only.clone(),
        [(_, first), rest @ ..] if rest.iter().all(|(_, other)| other == first) => {
            format!("each {first}")
        }
        several => {
            let said: Vec<String> =
                several.iter().map(|(side, counts)| format!("{side} {counts}")).collect();
            said.join("; ")
        }
    }
}

fn article(sheet: &mut Sheet<'_>, group: &Alike<'_>) -> Markup {
    let Some(first) = group.scenes.first().copied() else { return html! {} };
    let setting = peek(sheet, "joint.setting", first).map(|found| &found.value);
    let layouts = group.scenes.iter().filter(|scene| 2 < scene.layout.len());
    let drawings: Vec<_> = layouts.filter_map(|scene| joint_layout(scene)).collect();
    html! {
        article.joint {
            h3 {
                (capital(group.name)) (sides(group))
                @if !first.bolts.is_empty() { " " span.soft { (first.bolts) } }
            }
            (own_cautions(first))
            div.at-arms-length {
                p.reading { (reading(setting)) }
                p.arm { (position(first)) }
            }
            (how(setting))
            (missing(sheet, first, setting.is_none()))
            (warnings(sheet, first))
            @if drawings.is_empty() { (ticks(sheet, group)) } @else {
                div.beside {
                    (ticks(sheet, group))
                    div { @for layout in drawings { (drawing(Some(layout), CAPTION)) } }
                }
            }
            @for scene in &group.scenes { (folded(sheet, scene, 1 < group.scenes.len())) }
        }
    }
}

/// The joint's own cautions; the one on the manual stands above all joints.
fn own_cautions(scene: &JointScene) -> Markup {
    let own = scene.cautions.iter().filter(|one| one.id != cautions::MANUAL_DECIDES.id);
    let own: Vec<&Caution> = own.collect();
    html! {
        @if !own.is_empty() {
            ul.beware { @for caution in own { li data-caution=(caution.id) { (caution.words) } } }
        }
    }
}

/// The side of a joint in a word; nothing where it has none.
fn side(scene: &JointScene) -> &'static str {
    scene.side.map_or("", Side::word)
}

/// The figure on the wrench's scale, or what there is in its place.
pub(super) fn reading(setting: Option<&Item>) -> Markup {
    let beyond = setting.and_then(|value| value.get("beyond"));
    let end = |name| beyond.and_then(|b| b.get(name)).and_then(Item::amount).map(|a| a.shown());
    if let (Some(least), Some(most)) = (end("top_least"), end("top_most")) {
        return html! {
            b { "Borrow a wrench" }
            small {
                " whose scale ends between " (format::figures(least.ceil(), 0)) " and "
                (format::figures(most.floor(), 0)) " N·m"
            }
        };
    }
    if let Some(why) = word(setting, "withheld") {
        return html! { b { "Nothing to be set" } small { " " (why) } };
    }
    match word(setting, "reading") {
        Some(reading) => html! {
            b.num { (reading) }
            @if let Some(name) = word(setting, "wrench") { small { " on the " (name) } }
        },
        None => html! { b { "Not known yet" } },
    }
}

/// How the arm stands when a joint gets its torque.
pub(super) fn position(scene: &JointScene) -> Markup {
    let arm = cautions::arm(scene.position);
    html! { span data-caution=(arm.id) { (open::caution_words(&arm)) } }
}

/// Where the figure comes from, the extension, and the passes.
pub(super) fn how(setting: Option<&Item>) -> Markup {
    let Some(value) = setting else { return html! {} };
    let leaf = value.get("torque").and_then(Item::as_leaf);
    let written = leaf.and_then(|leaf| leaf.written.as_deref());
    let shown = |part: &str| value.get(part).and_then(Item::amount).map(format::printed);
    let number = |part: &str| shown(part).map(|mm| format!("{} mm", format::figures(mm, 0)));
    let last = word(Some(value), "wrench");
    let passes = value.get("passes").map_or(&[][..], Item::items);
    html! {
        p.how {
            @if let Some(written) = written { "List: " (written) }
            @if let Some(torque) = word(Some(value), "preferred") { " = " (torque) " at the bolt" }
            @if let Some(adapter) = number("adapter") {
                ". " b { "With the extension of " (adapter) }
                @if let Some(arm) = number("wrench_arm") { ", hand at " (arm) }
            }
            "."
        }
        @if 1 < passes.len() {
            p.how {
                "Passes: "
                @for (n, pass) in passes.iter().enumerate() {
                    @if n > 0 { ", " }
                    @match word(Some(pass), "reading") {
                        Some(reading) => {
                            span.num { (reading) }
                            @if let Some(name) = word(Some(pass), "wrench") {
                                @if Some(name) != last { " (" (name) ")" }
                            }
                        }
                        None => { "by hand" }
                    }
                }
                "."
            }
        }
    }
}

/// What this joint waits for, as links into the list of gaps.
fn missing(sheet: &Sheet<'_>, scene: &JointScene, no_setting: bool) -> Markup {
    let side = |id: &str| {
        let left = id.strip_suffix("-left");
        left.or_else(|| id.strip_suffix("-right")).unwrap_or(id).to_owned()
    };
    let prefixes = [format!("joint.{}.", scene.joint), format!("joint.{}.", side(&scene.joint))];
    let gaps: Vec<_> = sheet
        .all
        .gaps
        .iter()
        .enumerate()
        .filter(|(_, gap)| prefixes.iter().any(|prefix| gap.id.starts_with(prefix)))
        .collect();
    html! {
        @if no_setting || !gaps.is_empty() {
            p.waits {
                @if no_setting { b { "No torque yet. " } }
                @if !gaps.is_empty() { "Still open: " }
                @for (n, (number, gap)) in gaps.iter().enumerate() {
                    @if n > 0 { ", " }
                    a href={ "#gap-" (number) } { (gap.measure) }
                }
                @if !gaps.is_empty() { "." }
            }
        }
    }
}

fn warnings(sheet: &Sheet<'_>, scene: &JointScene) -> Markup {
    let rows = peek(sheet, "joint.warning", scene).map_or(&[][..], |found| found.value.items());
    html! {
        @if !rows.is_empty() {
            ul.warned {
                @for row in rows {
                    li data-warning=[word(Some(row), "id")] {
                        span.what { (capital(word(Some(row), "words").unwrap_or_default())) "." }
                        " " (capital(word(Some(row), "advice").unwrap_or_default())) "."
                    }
                }
            }
        }
    }
}

/// One row per bolt, in the order of tightening, with boxes for pencil or as the file has them.
fn ticks(sheet: &Sheet<'_>, group: &Alike<'_>) -> Markup {
    let rows: Vec<(&JointScene, &Item)> = group
        .scenes
        .iter()
        .flat_map(|scene| in_order(sheet, scene).into_iter().map(move |row| (*scene, row)))
        .collect();
    let sides = 1 < group.scenes.len();
    html! {
        @if !rows.is_empty() {
            table.ticks {
                thead { tr {
                    th scope="col" { "In order" } th scope="col" { "Is" }
                    th scope="col" { "Snug" } th scope="col" { "Torqued" }
                    th scope="col" { "Marked" }
                } }
                tbody { @for (scene, row) in rows { (tick_row(sheet, scene, row, sides)) } }
            }
        }
    }
}

/// The rows of `joint.state`, in the order of tightening where that is known.
fn in_order<'a>(sheet: &Sheet<'a>, scene: &JointScene) -> Vec<&'a Item> {
    let state = peek(sheet, "joint.state", scene).map_or(&[][..], |found| found.value.items());
    let order = peek(sheet, "joint.order", scene).and_then(|found| found.value.get("bolts"));
    let order = order.map_or(&[][..], Item::items);
    let mut rows: Vec<&Item> = state.iter().collect();
    let turn = |row: &&Item| {
        let bolt = row.get("bolt");
        order.iter().position(|one| Some(one) == bolt).unwrap_or(usize::MAX)
    };
    rows.sort_by_key(turn);
    rows
}

fn tick_row(sheet: &Sheet<'_>, scene: &JointScene, row: &Item, sides: bool) -> Markup {
    let state = word(Some(row), "state").unwrap_or("not known");
    let reached = ["open", "snug", "torqued", "paint-marked"];
    let far = reached.iter().position(|word| *word == state).unwrap_or(0);
    // A torque that nobody asked for brings a bolt no further than snug.
    let far = if word(Some(row), "fault").is_some() { far.min(1) } else { far };
    let number = match row.get("bolt") {
        Some(Item::Count(number, _)) => named(*number),
        _ => String::new(),
    };
    let side = if sides { side(scene) } else { "" };
    let several = 1 < peek(sheet, "joint.state", scene).map_or(0, |f| f.value.items().len());
    let name = match (side, several) {
        ("", _) => number,
        (side, false) => side.to_owned(),
        (side, true) => format!("{side}, {number}"),
    };
    let written = row.get("value").and_then(Item::as_leaf).and_then(|leaf| leaf.written.as_deref());
    let faults = faults(sheet, scene, row.get("bolt"));
    html! {
        tr {
            th scope="row" { (name) }
            td {
                b { (state) }
                @if let Some(written) = written { " " span.soft { (written) } }
                @for words in faults { p.fault { (words) } }
            }
            @for (step, what) in ["snug", "torqued", "marked"].iter().enumerate() {
                td { (tick(step < far, what)) }
            }
        }
    }
}

/// A box with a cross in it or not; the words for those who do not see it.
fn tick(done: bool, what: &str) -> Markup {
    let label = if done { format!("{what}: done") } else { format!("{what}: not yet") };
    html! { span.box role="img" aria-label=(label) { @if done { "×" } } }
}

/// What forbids signing off this bolt beyond what its state says.
fn faults<'a>(sheet: &Sheet<'a>, scene: &JointScene, bolt: Option<&Item>) -> Vec<&'a str> {
    let found = peek(sheet, "joint.sign-off", scene).and_then(|f| f.value.get("forbids"));
    let rows = found.map_or(&[][..], Item::items);
    rows.iter()
        .filter(|row| row.get("bolt") == bolt)
        .filter(|row| !matches!(word(Some(row), "reason"), Some("open" | "snug")))
        .filter_map(|row| word(Some(row), "words"))
        .collect()
}

/// Reasons, preload and utilisation, one tap below.
fn folded(sheet: &mut Sheet<'_>, scene: &JointScene, several: bool) -> Markup {
    let of = Subject::Joint(scene.joint.clone());
    let found = sheet.take_all(&IDS, Some(&of));
    let (shown, theory): (Vec<&Finding>, Vec<&Finding>) =
        found.into_iter().partition(|finding| SHOWN.contains(&finding.id));
    let side = side(scene);
    html! {
        @if !shown.is_empty() || !theory.is_empty() {
            details.theory {
                summary {
                    span.name {
                        "How much the bolts pull, and why"
                        @if several && !side.is_empty() { ", " (side) }
                    }
                    span.value {}
                    span.why-mark { "open" }
                }
                @for finding in theory { (figure(finding, Name::Short)) }
                @for finding in shown { (reasons(finding)) }
            }
        }
    }
}
