//! The joints: what to set, in which order, how the arm has to stand, how far each bolt is.

use axlewright_book::log::{Body, Bolt};
use axlewright_book::{BoltState, Position};
use axlewright_setup::joints::{IDS, JointScene, named};
use axlewright_setup::{Assessment, Finding, Item, Subject};
use axlewright_sheets::{capital, count, joint_layout, pieces, word};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use super::sign;
use crate::desk::bench::View;
use crate::web::fields::{Fill, Look, Wrong};
use crate::web::form::{Fields, Sent, escape};
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages::{self as page};
use crate::web::prefs::{Prefs, Torque};
use crate::web::site::Shared;
use crate::web::writing::Form;

/// Findings whose figure says something on one line.
const FIGURES: [&str; 3] = ["joint.setting", "joint.preload", "joint.utilisation"];

/// How far a bolt can be, in order.
const STATES: [&str; 4] = ["open", "snug", "torqued", "paint-marked"];

/// Where a joint's screen is.
pub(super) fn path(id: &str) -> String {
    format!("/joints/{}", escape(id))
}

/// `GET /joints`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    let torque = prefs.torque;
    let key = format!("\n{}", torque.word());
    site.screen(&prefs, Screen::Joints, key, move |view| body(view, torque)).await
}

/// `GET /joints/{joint}`
pub async fn joint(State(site): State<Shared>, prefs: Prefs, Path(id): Path<String>) -> Response {
    if !is_known(&site.bench.look(), &id) {
        return guard::nowhere().await;
    }
    let torque = prefs.torque;
    let key = format!("{id}\n{}", torque.word());
    let make = move |view: &View| one(view, &id, torque, &Fill::default());
    site.screen(&prefs, Screen::Joints, key, make).await
}

fn is_known(view: &View, id: &str) -> bool {
    view.assessment().joints.iter().any(|scene| scene.joint == id)
}

/// `POST /joints/{joint}`: one bolt goes one state on, or back to open.
pub async fn write(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(id): Path<String>,
    Sent(sent): Sent,
) -> Response {
    let view = site.bench.look();
    if !is_known(&view, &id) {
        return guard::nowhere().await;
    }
    let said = said(&id, &sent);
    let torque = prefs.torque;
    let (name, then) = (form_name(&id), format!("{}#bolts", path(&id)));
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Joints, name, sent, then };
    form.write(said, move |view, fill| one(view, &id, torque, fill)).await
}

fn form_name(id: &str) -> String {
    format!("joint-{id}")
}

/// What a tap on a bolt says.
fn said(id: &str, sent: &Fields) -> Result<Body, Wrong> {
    let go = sent.get("go").and_then(|go| go.split_once(' '));
    let bolt = go.and_then(|(bolt, state)| Some((bolt.parse::<u32>().ok()?, state)));
    let Some((bolt, state)) = bolt else {
        return Err(Wrong::new("go", "which bolt is not said", "tap the button beside it"));
    };
    let is_torqued = BoltState::from_word(state) == Some(BoltState::Torqued);
    let value = sent.text("value").filter(|_| is_torqued);
    Ok(Body::Bolt(Bolt {
        joint: id.to_owned(),
        bolt,
        state: state.to_owned(),
        value,
        wrench: sent.text("wrench").filter(|_| is_torqued),
        position: sent.text("position").filter(|_| is_torqued),
        ..Bolt::default()
    }))
}

fn found<'a>(all: &'a Assessment, id: &str, joint: &str) -> Option<&'a Finding> {
    page::find(all, id, Some(&Subject::Joint(joint.to_owned())), None)
}

fn of<'a>(all: &'a Assessment, id: &str, joint: &str) -> Option<&'a Item> {
    found(all, id, joint).map(|finding| &finding.value)
}

fn body(view: &View, torque: Torque) -> Markup {
    let all = view.assessment();
    if all.joints.is_empty() {
        return html! { p.lead { "The car file lists no joints yet." }
        p { a.button href="/car" { "To the car file" } } };
    }
    let summary = page::find(all, "joints.sign-off", None, None);
    html! {
        (pieces::torque_cautions(&all.joints))
        @if let Some(summary) = summary {
            p.lead { (summary.why.words) } (page::why_link(summary))
        }
        ul.links.sided.joint-list {
            @for scene in &all.joints {
                li { a href=(path(&scene.joint)) {
                    (pieces::side_tab(scene.side))
                    b { (capital(&scene.name)) }
                    span.reading { (reading(of(all, "joint.setting", &scene.joint), torque)) }
                    span { (pieces::arm_position(scene)) " · "
                        (how_far(all, &scene.joint))
                        @if is_warned(all, &scene.joint) { b { " · see its warning" } }
                    }
                } }
            }
        }
    }
}

fn rows<'a>(all: &'a Assessment, id: &str, joint: &str) -> &'a [Item] {
    of(all, id, joint).map(Item::items).unwrap_or_default()
}

fn is_warned(all: &Assessment, joint: &str) -> bool {
    !rows(all, "joint.warning", joint).is_empty()
}

/// `2 of 4 torqued, 2 snug`.
fn how_far(all: &Assessment, joint: &str) -> String {
    let bolts = rows(all, "joint.state", joint);
    let counted = |state: &str| bolts.iter().filter(|r| word(r, "state") == Some(state)).count();
    let wrong = bolts.iter().filter(|row| word(row, "fault").is_some()).count();
    let said: Vec<String> = STATES
        .iter()
        .map(|state| (counted(state), state))
        .filter(|(n, _)| 0 < *n)
        .map(|(n, state)| if bolts.len() == 1 { (*state).into() } else { format!("{n} {state}") })
        .collect();
    match (said.is_empty(), wrong) {
        (true, _) => "bolts not known".to_owned(),
        (_, 0) => said.join(", "),
        (_, wrong) => format!("{}; {wrong} not as asked", said.join(", ")),
    }
}

fn one(view: &View, id: &str, torque: Torque, fill: &Fill) -> Markup {
    let all = view.assessment();
    let Some(scene) = all.joints.iter().find(|scene| scene.joint == id) else { return html! {} };
    let setting = of(all, "joint.setting", id);
    let layout = if 2 < scene.layout.len() { joint_layout(scene) } else { None };
    let subject = Subject::Joint(id.to_owned());
    html! {
        h2 { (capital(&scene.name)) }
        @if !scene.bolts.is_empty() { p.soft { (scene.bolts) } }
        (page::cautions("Before the wrench", &scene.cautions))
        (warnings(all, id))
        div.joint {
            div.at-arms-length {
                p.reading { (reading(setting, torque)) }
                p.arm { (pieces::arm_position(scene)) }
            }
            (pieces::torque_passes(setting))
        }
        (pieces::drawing(layout, "Letters name the bolts; the number in each head is its turn, \
            the same in every pass. Seen from the heads."))
        (page::may_write(view))
        (bolts(view, scene, fill))
        @if is_ready(all, id) { (sign::section(view, id, fill)) }
        section {
            h2 { "Reasons" }
            @for finding in page::find_all(all, &IDS, Some(&subject)) {
                @if FIGURES.contains(&finding.id) { (page::line(finding)) }
                @else { (page::line_bare(finding)) }
            }
        }
        p { a.button href="/joints" { "All joints" } }
    }
}

/// What to set, or what the list says, as this device wants it first.
fn reading(setting: Option<&Item>, torque: Torque) -> Markup {
    let leaf = setting.and_then(|value| value.get("torque")).and_then(Item::as_leaf);
    let written = leaf.and_then(|leaf| leaf.written.as_deref());
    html! {
        @match (torque, written) {
            (Torque::List, Some(written)) => {
                b.num { (written) } small { " by the list; set " }
                span.second { (pieces::torque_reading(setting)) }
            }
            _ => (pieces::torque_reading(setting)),
        }
    }
}

/// Whether nothing forbids signing it.
fn is_ready(all: &Assessment, id: &str) -> bool {
    let verdict = of(all, "joint.sign-off", id);
    verdict.and_then(|value| value.get("ready")) == Some(&Item::Flag(true))
}

fn warnings(all: &Assessment, id: &str) -> Markup {
    let rows = rows(all, "joint.warning", id);
    html! {
        @if !rows.is_empty() {
            ul.warned { @for row in rows { li {
                span.what { (capital(word(row, "words").unwrap_or_default())) "." } " "
                (capital(word(row, "advice").unwrap_or_default())) "."
            } } }
        }
    }
}

/// The bolts in the order of tightening, each with how far it is and the tap that brings it on.
fn bolts(view: &View, scene: &JointScene, fill: &Fill) -> Markup {
    let (all, id) = (view.assessment(), &scene.joint);
    let order = of(all, "joint.order", id).and_then(|order| order.get("bolts"));
    let order = order.map(Item::items).unwrap_or_default();
    let mut states: Vec<&Item> = rows(all, "joint.state", id).iter().collect();
    states.sort_by_key(|row| {
        let bolt = row.get("bolt");
        order.iter().position(|one| Some(one) == bolt).unwrap_or(usize::MAX)
    });
    let name = form_name(id);
    let typed = fill.of(&name);
    let wrenches: Vec<&str> =
        view.car().wrenches.iter().map(|wrench| wrench.name.value.as_str()).collect();
    let torque = of(all, "joint.setting", id).and_then(|s| s.get("torque"));
    let written = torque.and_then(Item::as_leaf).and_then(|leaf| leaf.written.as_deref());
    // Nothing stands in the field beforehand: one tap would log a torque that nobody read.
    let hint = match written {
        Some(list) => format!("The list has {list}; write what the wrench read, with its unit"),
        None => "Write what the wrench read, with its unit".to_owned(),
    };
    let turn = |row: &Item| {
        let at = order.iter().position(|one| Some(one) == row.get("bolt"))?;
        (1 < order.len()).then_some(at + 1)
    };
    html! {
        section id="bolts" {
            h2 { "Bolt by bolt, in order" }
            form method="post" action=(path(id)) data-key=(typed.key()) {
                (typed.head())
                (typed.words("position", "How the arm stands now", Position::OF_JOINTS,
                    Some("not said")))
                (typed.words("wrench", "Wrench", &wrenches, Some("not said")))
                (typed.text("value", "Torque reached at the bolt", Look { hint: &hint,
                    quiet: true, ..Look::default() }))
                ol.bolts { @for row in states { li { (bolt(all, id, row, turn(row))) } } }
            }
        }
    }
}

/// One bolt: when its turn comes, as in its head in the drawing, how far it is, what is next.
fn bolt(all: &Assessment, id: &str, row: &Item, turn: Option<usize>) -> Markup {
    let number = count(row, "bolt").unwrap_or(0);
    let name = capital(&named(number));
    let state = word(row, "state").unwrap_or("not known");
    let written = row.get("value").and_then(Item::as_leaf).and_then(|leaf| leaf.written.as_deref());
    let forbids = of(all, "joint.sign-off", id).and_then(|value| value.get("forbids"));
    let faults = forbids.map(Item::items).unwrap_or_default().iter();
    let faults = faults
        .filter(|fault| fault.get("bolt") == row.get("bolt"))
        .filter(|fault| !matches!(word(fault, "reason"), Some("open" | "snug")))
        .filter_map(|fault| word(fault, "words"));
    let at = STATES.iter().position(|known| *known == state).unwrap_or(0);
    html! {
        p.bolt {
            b { (name) } @if let Some(turn) = turn { span { "· turn " (turn) } }
            span.state { "· " (state) }
            @if let Some(written) = written { span.soft { (written) } }
        }
        @for fault in faults { p.fault { (fault) } }
        p.taps {
            @if let Some(next) = STATES.get(at + 1) {
                button.tap type="submit" name="go" value={ (number) " " (next) } {
                    (name) ": " (next)
                }
            }
            @if 0 < at {
                button type="submit" name="go" value={ (number) " open" } { "Loosened again" }
            }
        }
    }
}
