//! The car on its wheels: rounds, what was moved between them, re-checks.

use axlewright_quantity::Corner;
use axlewright_setup::record::{Record, RoundRecord};
use maud::{Markup, html};

use super::{dash, figure, nothing, part as numbered, stamp, table};
use crate::build_sheet::pieces;
use crate::capital;

const WHEELS: [Corner; 4] =
    [Corner::LeftFront, Corner::RightFront, Corner::LeftRear, Corner::RightRear];

pub(super) fn part(record: &Record) -> Markup {
    numbered(
        "on-its-wheels",
        "4",
        "On its wheels",
        html! {
            h3 { "Rounds" }
            @if record.rounds.is_empty() { (nothing("The car was not read on its wheels.")) }
            @for round in &record.rounds { (one(round)) }
            h3 { "Looked at again" }
            @if let Some(km) = record.came_km {
                p { "The car has come " b.num { (km) " km" } " since it was handed over." }
            }
            @if record.rechecks.is_empty() { (nothing("No re-check was written.")) }
            @else { (rechecks(record)) }
        },
    )
}

fn one(round: &RoundRecord) -> Markup {
    let heads: Vec<String> = ["Wheel".to_owned()]
        .into_iter()
        .chain(round.figures.iter().map(|figures| capital(figures.what)))
        .collect();
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let rows = WHEELS.into_iter().filter_map(|wheel| {
        let cell = |at: &[(Corner, axlewright_setup::record::Said)]| {
            at.iter().find(|(corner, _)| *corner == wheel).map(|(_, said)| figure(said))
        };
        let cells: Vec<Option<Markup>> =
            round.figures.iter().map(|figures| cell(&figures.at)).collect();
        cells.iter().any(Option::is_some).then(|| {
            let cells = cells.into_iter().map(|cell| cell.unwrap_or_else(dash));
            [html! { (pieces::corner(wheel)) }].into_iter().chain(cells).collect()
        })
    });
    html! {
        article.round {
            h4 { "Round " (round.number) }
            p {
                "Load: " (round.load.as_deref().unwrap_or("not said"))
                @if let Some(stage) = &round.stage { "; stage: " (stage) }
                @match round.settled {
                    Some(true) => "; read after lifting and pushing, each time let go",
                    Some(false) => "; not settled before reading",
                    None => "",
                }
                ". " (stamp(&round.stamp))
            }
            (table(&heads, rows))
            @if let Some(note) = &round.note { p { (note) } }
            @if !round.moved.is_empty() {
                p { b { "Moved then:" } }
                ul { @for moved in &round.moved { li { (moved.words) " " (stamp(&moved.stamp)) } } }
            }
        }
    }
}

fn rechecks(record: &Record) -> Markup {
    let rows = record.rechecks.iter().map(|recheck| {
        let due = html! {
            @if recheck.due_km.is_empty() { (dash()) }
            @for (n, km) in recheck.due_km.iter().enumerate() {
                @if 0 < n { ", " }
                span.num { (km) " km" }
            }
            @if recheck.overdue { " " b { "overdue" } }
        };
        let done = html! {
            @if recheck.done.is_empty() { span.open { "not yet" } }
            ul.life {
                @for (km, found) in &recheck.done {
                    li { span.num { (km) " km" } ": " (found.words) " " (stamp(&found.stamp)) }
                }
            }
        };
        vec![html! { (recheck.what) }, due, done]
    });
    table(&["What", "Due at", "Done"], rows)
}
