//! The car on its stands.

use axlewright_setup::{Finding, Item, Subject, cautions};
use maud::{Markup, html};

use super::figure::{Name, figure, key_figure};
use super::{Sheet, Which, drawing, open};
use crate::{format, stands_plan};

/// Loads on the stands and what upsets them; cautions first.
pub(super) fn section(sheet: &mut Sheet<'_>) -> Markup {
    let of: Vec<Subject> = sheet
        .all
        .findings
        .iter()
        .filter(|f| f.id == "stands")
        .filter_map(|f| f.of.clone())
        .collect();
    let stands: Vec<&Finding> = of
        .iter()
        .filter_map(|of| sheet.take(Which { id: "stands", of: Some(of), at: None }))
        .collect();
    let upset = sheet.take(Which { id: "stands.upset", of: None, at: None });
    let waiting = sheet.waiting(&["stands.upset"], None);
    let plan = sheet.all.supports.as_ref().and_then(stands_plan);
    if stands.is_empty() && upset.is_none() && plan.is_none() && waiting.0.is_empty() {
        return html! {};
    }
    html! {
        section.stands {
            h2 { "The car on its stands" }
            (caution(upset))
            (drawing(plan, "Loads in newtons: estimate, and the least and most that uneven \
                ground can make of it. An arrow is as long as the push that can bring the car \
                off is strong."))
            @for finding in stands { (figure(finding, Name::WithSubject)) }
            @if let Some(upset) = upset { (key_figure(upset, Name::Short)) }
            (waiting)
        }
    }
}

pub(super) fn caution(upset: Option<&Finding>) -> Markup {
    let pushes = upset.map(|f| f.value.items()).unwrap_or_default();
    let force = |row: &&Item| row.get("push").and_then(Item::amount).map(format::printed);
    let least = pushes
        .iter()
        .filter(|row| force(row).is_some())
        .min_by(|a, b| force(a).unwrap_or(f64::MAX).total_cmp(&force(b).unwrap_or(f64::MAX)));
    let word = |row: &Item, key| match row.get(key) {
        Some(Item::Word(word)) => word.clone(),
        _ => String::new(),
    };
    let push = least.and_then(|row| row.get("push")).and_then(Item::as_leaf);
    let comes_off = least.zip(push).map(|(row, push)| {
        let most = row.get("highest").and_then(Item::as_leaf);
        let most = most.map_or(String::new(), |most| {
            format!(" (to {}, by friction and load)", format::shown(most).text())
        });
        let push = format!("{}{most}", format::shown(push).text());
        cautions::comes_off(&push, &word(row, "direction"), &word(row, "gives_way"))
    });
    let others = [cautions::ROCK_IT.caution(), cautions::NO_PROOF.caution()];
    html! {
        div.caution { (open::cautions(comes_off.iter().chain(&others))) }
    }
}
