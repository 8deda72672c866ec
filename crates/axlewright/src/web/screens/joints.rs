//! The joints: what to set, in which order, how the arm has to stand, how far each bolt is.

use axlewright_setup::joints::{IDS, JointScene};
use axlewright_setup::{Assessment, Finding, Item, Subject};
use axlewright_sheets::{count, joint_layout, pieces, word};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::form::escape;
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages::{self as page};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

/// How far a bolt can be, in order.
const STATES: [&str; 4] = ["open", "snug", "torqued", "paint-marked"];

/// Where a joint's screen is.
pub(super) fn path(id: &str) -> String {
    format!("/joints/{}", escape(id))
}

/// `GET /joints`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Joints, String::new(), body).await
}

/// `GET /joints/{joint}`
pub async fn joint(State(site): State<Shared>, prefs: Prefs, Path(id): Path<String>) -> Response {
    let is_known = site.bench.look().assessment().joints.iter().any(|scene| scene.joint == id);
    if !is_known {
        return guard::nowhere().await;
    }
    site.screen(&prefs, Screen::Joints, id.clone(), move |view| one(view, &id)).await
}

fn found<'a>(all: &'a Assessment, id: &str, joint: &str) -> Option<&'a Finding> {
    page::find(all, id, Some(&Subject::Joint(joint.to_owned())), None)
}

fn of<'a>(all: &'a Assessment, id: &str, joint: &str) -> Option<&'a Item> {
    found(all, id, joint).map(|finding| &finding.value)
}

fn body(view: &View) -> Markup {
    let all = view.assessment();
    if all.joints.is_empty() {
        return html! { p.lead { "The car file lists no joints yet." }
        p { a.button href="/car" { "To the car file" } } };
    }
    let positions: Vec<&str> = all
        .joints
        .iter()
        .filter_map(|scene| match of(all, "joint.position", &scene.joint) {
            Some(Item::Word(word)) => Some(word.as_str()),
            _ => None,
        })
        .collect();
    let summary = page::find(all, "joints.sign-off", None, None);
    html! {
        (pieces::torque_cautions(&positions))
        @if let Some(summary) = summary {
            p.lead { (summary.why.words) } (page::why_link(summary))
        }
        ul.links.joint-list {
            @for scene in &all.joints {
                li { a href=(path(&scene.joint)) {
                    b { (capital(&scene.name)) }
                    span.reading { (pieces::torque_reading(of(all, "joint.setting", &scene.joint))) }
                    span { (pieces::arm_position(of(all, "joint.position", &scene.joint))) " · "
                        (how_far(all, &scene.joint))
                        @if is_warned(all, &scene.joint) { b { " · see its warning" } }
                    }
                } }
            }
        }
    }
}

fn capital(text: &str) -> String {
    axlewright_sheets::capital(text)
}

fn rows<'a>(all: &'a Assessment, id: &str, joint: &str) -> &'a [Item] {
    of(all, id, joint).map(Item::items).unwrap_or_default()
}

fn is_warned(all: &Assessment, joint: &str) -> bool {
    let warnings = rows(all, "joint.warning", joint);
    warnings.iter().any(|row| word(row, "id") != Some("changed-surface"))
}

/// `2 of 4 torqued, 2 snug`.
fn how_far(all: &Assessment, joint: &str) -> String {
    let bolts = rows(all, "joint.state", joint);
    let counted = |state: &str| bolts.iter().filter(|r| word(r, "state") == Some(state)).count();
    let said: Vec<String> = STATES
        .iter()
        .map(|state| (counted(state), state))
        .filter(|(n, _)| 0 < *n)
        .map(|(n, state)| if bolts.len() == 1 { (*state).into() } else { format!("{n} {state}") })
        .collect();
    if said.is_empty() { "bolts not known".to_owned() } else { said.join(", ") }
}

fn one(view: &View, id: &str) -> Markup {
    let all = view.assessment();
    let Some(scene) = all.joints.iter().find(|scene| scene.joint == id) else { return html! {} };
    let setting = of(all, "joint.setting", id);
    let cautions: Vec<&str> = rows(all, "joint.caution", id)
        .iter()
        .filter_map(|item| if let Item::Word(words) = item { Some(words.as_str()) } else { None })
        .collect();
    let layout = if 2 < scene.layout.len() { joint_layout(scene) } else { None };
    let subject = Subject::Joint(id.to_owned());
    html! {
        h2 { (capital(&scene.name)) }
        @if !scene.bolts.is_empty() { p.soft { (scene.bolts) } }
        (page::caution("Before the wrench", &cautions))
        div.joint {
            div.at-arms-length {
                p.reading { (pieces::torque_reading(setting)) }
                p.arm { (pieces::arm_position(of(all, "joint.position", id))) }
            }
            (pieces::torque_passes(setting))
        }
        (warnings(all, id))
        (pieces::drawing(layout, "In each head its turn, the same in every pass. Seen from the \
            heads."))
        (bolts(all, scene))
        (page::lines("Reasons", &page::find_all(all, &IDS, Some(&subject))))
        p { a.button href="/joints" { "All joints" } }
    }
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

/// The bolts in the order of tightening, each with how far it is.
fn bolts(all: &Assessment, scene: &JointScene) -> Markup {
    let id = &scene.joint;
    let order = of(all, "joint.order", id).and_then(|order| order.get("bolts"));
    let order = order.map(Item::items).unwrap_or_default();
    let mut states: Vec<&Item> = rows(all, "joint.state", id).iter().collect();
    states.sort_by_key(|row| {
        let bolt = row.get("bolt");
        order.iter().position(|one| Some(one) == bolt).unwrap_or(usize::MAX)
    });
    html! {
        section id="bolts" {
            h2 { "Bolt by bolt, in order" }
            ol.bolts {
                @for row in states { li { (bolt(all, id, row)) } }
            }
        }
    }
}

fn bolt(all: &Assessment, id: &str, row: &Item) -> Markup {
    let number = count(row, "bolt").unwrap_or(0);
    let state = word(row, "state").unwrap_or("not known");
    let written = row.get("value").and_then(Item::as_leaf).and_then(|leaf| leaf.written.as_deref());
    let forbids = of(all, "joint.sign-off", id).and_then(|value| value.get("forbids"));
    let faults = forbids.map(Item::items).unwrap_or_default().iter();
    let faults = faults
        .filter(|fault| fault.get("bolt") == row.get("bolt"))
        .filter(|fault| !matches!(word(fault, "reason"), Some("open" | "snug")))
        .filter_map(|fault| word(fault, "words"));
    html! {
        p.bolt {
            b { "Bolt " (number) } span.state { (state) }
            @if let Some(written) = written { span.soft { (written) } }
        }
        @for fault in faults { p.fault { (fault) } }
    }
}
