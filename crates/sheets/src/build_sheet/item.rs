//! The value of a finding as HTML: numbers, parts, tables.

use axlewright_setup::{Item, Leaf, teeth_words};
use maud::{Markup, html};

use crate::format::{self, Shown};
use crate::words;

/// A number with its unit and how sure it is.
pub(super) fn number(leaf: &Leaf) -> Markup {
    html! {
        (with_doubt(&format::shown(leaf), true))
        @if let Some(written) = &leaf.written { " " span.written { "written “" (written) "”" } }
    }
}

/// Where there is little room the doubt goes on a line of its own.
fn with_doubt(shown: &Shown, with_unit: bool) -> Markup {
    html! {
        span.num {
            (shown.number)
            @if with_unit { span.unit { (format::with_space(shown.unit)) } }
        }
        @if let Some(doubt) = shown.doubt(with_unit) { " " span.doubt { (doubt) } }
    }
}

/// Any item in place.
pub(super) fn item(value: &Item) -> Markup {
    match value {
        Item::Leaf(leaf) => number(leaf),
        Item::Count(n, what) => html! { span.num { (count(*n, what)) } },
        Item::Word(word) => html! { (word) },
        Item::Flag(flag) => html! { @if *flag { "yes" } @else { "no" } },
        Item::Object(parts) => object(parts),
        Item::List(rows) if rows.iter().any(|r| matches!(r, Item::Object(_))) => table(rows),
        Item::List(rows) => html! { ul { @for row in rows { li { (item(row)) } } } },
        Item::Nothing => html! { span.open { "open" } },
    }
}

/// `7 rings`, `1 tooth`, `−2 teeth`.
pub(super) fn count(n: i64, what: &str) -> String {
    if let ("teeth", Ok(teeth)) = (what, i32::try_from(n)) {
        return format!("{}{}", if n < 0 { "\u{2212}" } else { "" }, teeth_words(teeth));
    }
    let figures = format::figures(n as f64, 0);
    let one = what.strip_suffix('s').unwrap_or(what);
    match n.unsigned_abs() {
        1 => format!("{figures} {one}"),
        _ => format!("{figures} {what}").trim_end().to_owned(),
    }
}

/// A list of nothing says nothing.
fn is_empty(value: &Item) -> bool {
    matches!(value, Item::List(rows) if rows.is_empty())
}

fn object(parts: &[(&'static str, Item)]) -> Markup {
    html! {
        dl.parts {
            @for (key, value) in parts.iter().filter(|(_, value)| !is_empty(value)) {
                div { dt { (words::part(key)) } dd { (item(value)) } }
            }
        }
    }
}

/// Parts of an object under the line that already shows some of them.
pub(super) fn other_parts(value: &Item, shown: &[&str]) -> Markup {
    match value {
        Item::Object(parts) => {
            let rest: Vec<_> =
                parts.iter().filter(|(key, _)| !shown.contains(key)).cloned().collect();
            html! { @if !rest.is_empty() { (object(&rest)) } }
        }
        Item::List(rows) if !rows.is_empty() => item(value),
        _ => html! {},
    }
}

/// Rows of the same shape; a unit that all share stands in the head.
pub(super) fn table(rows: &[Item]) -> Markup {
    let Some(Item::Object(first)) = rows.iter().find(|r| matches!(r, Item::Object(_))) else {
        return html! {};
    };
    let columns: Vec<(&'static str, Option<&'static str>)> =
        first.iter().map(|(key, _)| (*key, shared_unit(rows, key))).collect();
    html! {
        div.wide tabindex="0" role="group" aria-label="table, scrolls sideways" {
            table {
                thead { tr {
                    @for (key, unit) in &columns {
                        th scope="col" {
                            (words::part(key))
                            @if let Some(unit) = unit { span.unit { ", " (unit) } }
                        }
                    }
                } }
                tbody { @for row in rows { tr {
                    @for (key, unit) in &columns { td { (cell(row.get(key), unit.is_some())) } }
                } } }
            }
        }
    }
}

fn shared_unit(rows: &[Item], key: &str) -> Option<&'static str> {
    let mut units = rows.iter().filter_map(|r| r.get(key)?.amount()).map(|a| a.kind());
    let first = units.next()?;
    units.all(|kind| kind == first).then(|| format::unit(first))
}

fn cell(value: Option<&Item>, has_unit_in_head: bool) -> Markup {
    match value {
        Some(Item::Leaf(leaf)) if has_unit_in_head => with_doubt(&format::shown(leaf), false),
        Some(value) => item(value),
        None => html! { span.open { "open" } },
    }
}
