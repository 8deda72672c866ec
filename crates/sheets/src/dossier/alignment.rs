//! One page for the alignment shop: what is wanted, how it stands, what moves it, room for what
//! was set.

use axlewright_setup::record::{AlignmentRow, Record};
use axlewright_setup::{Assessment, Item, Subject};
use maud::{Markup, html};

use super::{dash, figure, nothing, part as numbered, stamp, table};
use crate::build_sheet::pieces;
use crate::capital;

pub(super) fn part(found: &Assessment, record: &Record) -> Markup {
    let alignment = &record.alignment;
    let car = found.car.as_deref().unwrap_or("unnamed car");
    numbered(
        "alignment",
        "6",
        "For the alignment shop",
        html! {
            p.lead {
                (car)
                @if let Some(number) = record.build_number { ", build number " (number) }
                ". Load: " b { (alignment.load.as_deref().unwrap_or("not stated: ask the owner")) }
                ". Roll the car to and fro and let it settle before each reading."
            }
            p.soft {
                "Camber: plus is the top of the wheel further out. Toe: plus is toe-in, of this \
                 wheel alone. Trim: bar axis above wheel centre."
            }
            @if alignment.rows.is_empty() { (nothing("Nothing is known of what is wanted.")) }
            @else {
                (table(
                    &["Wheel", "Wanted", "Before strip-down", "Read last", "As left"],
                    alignment.rows.iter().map(row),
                ))
            }
            @if let Some(wheels) = found.find("car.moves", None) {
                p { b { "Worked out from the last round: " } (wheels.why.words) }
            }
            @if !alignment.rates.is_empty() {
                h3 { "What moves it" }
                p.soft {
                    "By moving the arm on its plate, at ride. "
                    @if let Some(throw) = &alignment.throw {
                        "An eccentric moves it by " (figure(throw)) " at most, each way."
                    }
                }
                div.pair { @for rate in &alignment.rates { div { (rates(rate)) } } }
            }
            (joints(found))
            div.hold {
                p { b { "Set by" } " – scales, floor and gauges used:" }
                div.sign { span { "Name" } span.rule {} span { "Day" } span.rule.short {} }
                div.sign { span { "With" } span.rule {} }
            }
        },
    )
}

fn row(row: &AlignmentRow) -> Vec<Markup> {
    let said = |said: &Option<axlewright_setup::record::Said>| match said {
        Some(said) => html! { (figure(said)) " " (stamp(&said.stamp)) },
        None => dash(),
    };
    let wanted = row.wanted.as_ref().map_or_else(dash, |(wanted, page)| {
        html! { b { (wanted) } small.how { (page) } }
    });
    let name = html! { (capital(row.what)) ", " (pieces::corner(row.corner).to_lowercase()) };
    vec![name, wanted, said(&row.before), said(&row.last), html! { span.rule {} }]
}

/// A millimetre each way, as one line each.
fn rates(rate: &axlewright_setup::Finding) -> Markup {
    let rows = rate.value.items().iter().map(|row| {
        let part = |key| row.get(key).map_or_else(|| html! { "–" }, pieces::item);
        vec![html! { (part("by")) " " (part("way")) }, part("camber"), part("toe")]
    });
    html! {
        @if let Some(of) = &rate.of { h4 { (pieces::subject(of)) } }
        (table(&["Arm moved by", "Camber", "Toe-in"], rows))
        (pieces::reasons(rate))
    }
}

/// The eccentrics' joints with their torques, which whoever sets the wheels has to loosen.
fn joints(found: &Assessment) -> Markup {
    let eccentrics: Vec<_> =
        found.joints.iter().filter(|joint| joint.eccentric.is_some()).collect();
    let rows = eccentrics.iter().map(|joint| {
        let of = Subject::Joint(joint.joint.clone());
        let value = |id: &str| found.find(id, Some(&of)).map(|finding| &finding.value);
        let setting: Option<&Item> = value("joint.setting");
        vec![html! { (joint.name) }, pieces::torque_reading(setting), pieces::arm_position(joint)]
    });
    html! {
        @if !eccentrics.is_empty() {
            h3 { "Torques of the eccentrics" }
            (table(&["Joint", "On the wrench’s scale", "Arm"], rows))
        }
    }
}
