//! What was done: steps and their minutes, fits of the bars, bolts, lives of the parts.

use axlewright_setup::record::{
    BoltLine, BoltState, Fit, JointRecord, PartRecord, PartState, Record, SideAttempts, StepRecord,
};
use maud::{Markup, html};

use super::signed::{happened, is_done, signatures};
use super::{
    counted, dash, figure, nothing, part as numbered, said, stamp, stamp_to_the_minute, table,
};
use crate::attempts_chart;
use crate::build_sheet::{drawing, pieces};
use crate::capital;
use crate::format;

pub(super) fn part(record: &Record) -> Markup {
    numbered(
        "done",
        "3",
        "What was done",
        html! {
            (steps(record))
            (fits(record))
            (joints(record))
            (parts(record))
        },
    )
}

fn steps(record: &Record) -> Markup {
    let begun: Vec<&StepRecord> = record.steps.iter().filter(|step| step.now.is_some()).collect();
    let left = record.steps.iter().filter(|step| !is_done(step)).count();
    let minutes = record.minutes;
    html! {
        h3 { "Steps" }
        @if begun.is_empty() { (nothing("No step was written as begun.")) }
        @else {
            @if 0 < minutes.steps {
                p {
                    (counted(u64::from(minutes.steps), "step was", "steps were")) " timed and took "
                    b.num { (minutes.took) " min" } " together; they were thought to take "
                    b.num { (minutes.estimate) " min" } "."
                }
            }
            (table(
                &["Step", "Now", "Minutes", "Signed"],
                begun.iter().map(|step| step_row(step)),
            ))
        }
        p.soft { (counted(left as u64, "step is", "steps are")) " still to be done." }
    }
}

fn step_row(step: &StepRecord) -> Vec<Markup> {
    let now = html! {
        @if let Some((now, at)) = &step.now { (happened(*now)) " " (stamp(at)) }
    };
    let took = html! {
        @match (step.minutes, step.estimate) {
            (Some(took), Some(thought)) => span.num { (took) ", thought " (thought) },
            (Some(took), None) => span.num { (took) },
            (None, _) => (dash()),
        }
    };
    let signed = match (step.signed.is_empty(), step.hold) {
        (false, _) => signatures(&step.signed),
        (true, true) => html! { b { "hold point, not signed" } },
        (true, false) => dash(),
    };
    vec![html! { (step.title) }, now, took, signed]
}

fn fits(record: &Record) -> Markup {
    html! {
        h3 { "Fits of the bars" }
        @if record.attempts.is_empty() { (nothing("No bar was fitted and read.")) }
        @for side in &record.attempts { (fits_of(side)) }
    }
}

fn fits_of(side: &SideAttempts) -> Markup {
    html! {
        article.fits-of {
            h4 { (capital(side.side.word())) " bar" }
            (drawing(attempts_chart(side), "Each fit with its u; the dashed lines stand half a \
                vernier step from the angle wanted, which is as near as teeth can always come."))
            ol.plain { @for fit in &side.fits { li { (fit_line(fit)) } } }
            @if let Some(next) = &side.next { (pieces::key_figure(next)) }
        }
    }
}

fn fit_line(fit: &Fit) -> Markup {
    let teeth = |n: i32| format::signed(i64::from(n));
    html! {
        p {
            b { "Fit " (fit.number) "." }
            " Anchor " (teeth(fit.anchor_teeth)) ", plate " (teeth(fit.plate_teeth)) " teeth"
            @if let Some(at) = fit.anchor_at { "; anchor’s mark at tooth " (at) }
            @if let Some(at) = fit.plate_at { "; plate’s mark at tooth " (at) }
            ". Read " (said(&fit.read))
            @if let Some(told) = &fit.told { " Teeth: " (told) "." }
        }
        @if let Some(angle) = &fit.angle { (pieces::figure(angle)) }
    }
}

fn joints(record: &Record) -> Markup {
    let is_touched = |bolt: &BoltLine| bolt.state != BoltState::Open || bolt.loosened.is_some();
    let (touched, untouched): (Vec<&JointRecord>, Vec<&JointRecord>) =
        record.joints.iter().partition(|joint| joint.bolts.iter().any(is_touched));
    let names: Vec<&str> = untouched.iter().map(|joint| joint.name.as_str()).collect();
    html! {
        h3 { "Bolts" }
        @for joint in touched { (joint_record(joint)) }
        @if !names.is_empty() {
            p.open { "Nothing was written of: " (names.join(", ")) "." }
        }
    }
}

fn joint_record(joint: &JointRecord) -> Markup {
    let heads = ["Bolt", "Now", "Torque as read", "Wrench", "Arm", "When, by whom"];
    html! {
        article.joint-record {
            h4 { (joint.name) }
            (table(&heads, joint.bolts.iter().map(bolt_row)))
            @if joint.ready {
                p { "By what was written nothing forbids signing it." }
            } @else if !joint.forbids.is_empty() {
                ul.forbids { @for words in &joint.forbids { li { (capital(words)) "." } } }
            }
            @if !joint.signed.is_empty() { p { "Signed: " (signatures(&joint.signed)) } }
        }
    }
}

fn bolt_row(bolt: &BoltLine) -> Vec<Markup> {
    let word = |word: Option<&str>| word.map_or_else(dash, |word| html! { (word) });
    let when = html! {
        @if let Some(torqued) = &bolt.torqued { (stamp_to_the_minute(torqued)) }
        @if let Some(marked) = &bolt.marked { " marked: " (stamp_to_the_minute(marked)) }
        @if let Some(loosened) = &bolt.loosened { " loosened: " (stamp_to_the_minute(loosened)) }
        @if bolt.torqued.is_none() && bolt.loosened.is_none() { (dash()) }
    };
    let value = bolt.value.as_ref().map_or_else(dash, |value| {
        html! { (figure(value)) small.how { "“" (value.text) "”" } }
    });
    vec![
        html! { (bolt.bolt) },
        html! { (bolt.state.word()) },
        value,
        word(bolt.wrench.as_deref()),
        word(bolt.position),
        when,
    ]
}

/// Parts that something was written of, or that are away.
fn parts(record: &Record) -> Markup {
    let is_told = |part: &&PartRecord| {
        !part.life.is_empty() || part.place == Some(PartState::Out) || part.in_spite.is_some()
    };
    let told: Vec<&PartRecord> = record.parts.iter().filter(is_told).collect();
    let others = record.parts.len() - told.len();
    html! {
        h3 { "Parts and their lives" }
        @if told.is_empty() { (nothing("Nothing was written of any part.")) }
        @else { (table(&["Part", "Now", "What happened"], told.iter().map(|part| part_row(part)))) }
        @if 0 < others {
            p.soft {
                "Of " (counted(others as u64, "further part", "further parts"))
                " of the car file nothing was written."
            }
        }
    }
}

fn part_row(part: &PartRecord) -> Vec<Markup> {
    let now = html! {
        @match part.place { Some(place) => (place.word()), None => span.open { "not said" } }
        @if let Some(due) = &part.due { ", due " span.num { (due) } }
    };
    let life = html! {
        @if let Some(why) = &part.in_spite { p.beware { b { "Against its hand: " } (why) } }
        ul.life { @for one in &part.life { li { (one.words) " " (stamp(&one.stamp)) } } }
        @if part.life.is_empty() { (dash()) }
    };
    vec![html! { (part.name) }, now, life]
}
