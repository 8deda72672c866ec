//! Where the arm's way down ends: on the stop bolt, on the damper, in balance, or on what tears.
//!
//! Each limit is a figure of its own with a doubt of its own, and many of their inputs are the
//! same. Which of them comes first is therefore a matter of chance, and where the way ends is the
//! least of them all ([`axlewright_mechanics::chance::first`]).

use axlewright_book::Field;
use axlewright_mechanics::chance::{self, Doubtful};
use axlewright_mechanics::droop::{End, Met, StoppedBy, Stops};
use axlewright_mechanics::load::Hanging;
use axlewright_mechanics::windows::BoltBehind;
use axlewright_quantity::{Angle, Length, Ratio};

use crate::angles::{free_at, teeth_words};
use crate::engine::{Bench, Recipe, Spread};
use crate::finding::{Item, State};
use crate::look::Look;
use crate::windows::Edge;
use crate::{model, windows};

/// A limit that comes first less often than this is not named: two standard uncertainties.
pub(crate) const SELDOM: f64 = 0.023;
/// Limits this far beyond the first one cannot come first.
const FAR: Angle = Angle::deg(10.0);

/// A limit's public word.
const fn word(by: StoppedBy) -> &'static str {
    match by {
        StoppedBy::StopBolt => "stop bolt",
        StoppedBy::Damper => "damper",
        StoppedBy::Hose => "hose",
        StoppedBy::Cable => "cable",
        StoppedBy::HalfShaft => "half-shaft",
        StoppedBy::Nothing => "nothing",
    }
}

/// What stops the arm, damper and stop bolt fitted.
fn stops(look: &Look, state: State) -> Option<Vec<End>> {
    look.part(|memo| memo.stops.of(state), |look| stops_anew(look, state))
}

fn stops_anew(look: &Look, state: State) -> Option<Vec<End>> {
    let (corner, weights) = (model::corner(look), model::arm_weights(look));
    let (free, ride) = (free_at(look, state), model::ride_angle_or_stated(look));
    let bolt = windows::bolt_behind(look);
    let radius = look.get::<Length>(Field::StopBoltRadius);
    let damper = windows::fitted_damper(look);
    let (corner, weights, bolt, (damper, _)) = (corner?, weights?, bolt?, damper?);
    let on = Hanging { weights: &weights, damper: true };
    let stops = Stops { bolt: Some((&bolt, radius?)), damper: Some(&damper) };
    let free = free?;
    ride?;
    look.ok(corner.droop_ends(free, &on, &stops, &stops_met(look)?))
}

/// Where the stops are met on the way down from ride: no weight and no tooth changes that.
fn stops_met(look: &Look) -> Option<Met> {
    look.part(|memo| &memo.stops_met, stops_met_anew)
}

fn stops_met_anew(look: &Look) -> Option<Met> {
    let (bolt, (damper, _)) = (windows::bolt_behind(look)?, windows::fitted_damper(look)?);
    let radius = look.get::<Length>(Field::StopBoltRadius)?;
    let ride = model::ride_angle_or_stated(look)?;
    let stops = Stops { bolt: Some((&bolt, radius)), damper: Some(&damper) };
    let windows = |bolt: &BoltBehind, radius, range| {
        look.inputs.memo().bolt_windows((bolt.clone(), radius, range))
    };
    look.ok(stops.met_where(&model::swept(look)?.look(), ride, windows))
}

type Reaches = fn(&Look) -> Option<Vec<Edge>>;
/// What spans arm and body and tears.
const SPANS: [(StoppedBy, Reaches); 3] = [
    (StoppedBy::Hose, windows::hose),
    (StoppedBy::Cable, windows::cable),
    (StoppedBy::HalfShaft, windows::half_shaft),
];

/// Where the window that holds ride ends; at ride itself where none holds it.
fn torn(look: &Look, by: StoppedBy, reaches: Reaches) -> Option<Option<End>> {
    let windows = reaches(look)?;
    let ride = model::ride_angle_or_stated(look)?;
    let holds = windows.iter().find(|(window, ..)| window.contains(ride));
    let angle = holds.map_or(Some(ride), |(window, ..)| window.to);
    Some(angle.map(|angle| End { by, angle, force: None }))
}

/// Everything that ends the way down.
fn ends(look: &Look, state: State) -> Option<Vec<End>> {
    let mut ends = stops(look, state)?;
    for (by, reaches) in SPANS {
        ends.extend(look.attempt(|look| torn(look, by, reaches)).flatten());
    }
    Some(ends)
}

/// Where the finished corner stops, with the bar at its target and nothing that tears in the way.
pub(crate) fn stopped_at(look: &Look) -> Option<Angle> {
    stops(look, State::Target)?.into_iter().map(|end| end.angle).reduce(Angle::min)
}

/// What spans arm and body and is not measured, so that nobody looks at it.
fn not_known(look: &Look) -> Vec<&'static str> {
    let unknown = SPANS.iter().filter(|(_, reaches)| look.attempt(reaches).is_none());
    unknown.map(|(by, _)| word(*by)).collect()
}

pub(crate) fn add(bench: &mut Bench, state: State) {
    let recipe = Recipe {
        id: "droop",
        at: Some(state),
        formula: "least of plate on stop bolt, damper open, balance, hose, cable and half-shaft at \
                  their ends, its mean and u by Clark; F = M/(−dc/dθ) or M/(dℓ/dθ)",
        source: "virtual work, own derivation; C. E. Clark 1961 for the least; docs/method.md",
    };
    let mut near = bench.plain(|look| ends(look, state)).unwrap_or_default();
    near.sort_by(|a, b| a.angle.to_rad().total_cmp(&b.angle.to_rad()));
    let far = near.first().map_or(Angle::ZERO, |first| first.angle + FAR);
    near.retain(|end| end.angle <= far || end.by == StoppedBy::StopBolt);
    let unknown = bench.plain(|look| Some(not_known(look))).unwrap_or_default();
    bench.add_weighed(
        recipe,
        |look| {
            let found = ends(look, state)?;
            let of = |end: &End| found.iter().find(|one| one.by == end.by).copied();
            Some(figures(&near.iter().map(of).collect::<Option<Vec<End>>>()?))
        },
        |item, spread| judge(item, spread, &near, &unknown),
        |item, _| words(item, state),
    );
}

/// The first of them in front, then each.
fn figures(near: &[End]) -> Item {
    let first = near.first();
    let each = near.iter().map(|end| {
        Item::Object(vec![
            ("by", Item::Word(word(end.by).to_owned())),
            ("angle", Item::leaf(end.angle)),
            ("force", Item::maybe(end.force)),
        ])
    });
    Item::Object(vec![
        ("angle", Item::maybe(first.map(|end| end.angle))),
        ("stopped_by", Item::Nothing),
        ("or", Item::Nothing),
        ("force", Item::maybe(first.and_then(|end| end.force))),
        ("limits", Item::List(each.collect())),
    ])
}

/// How far each input moves each limit: the leaves in the order of [`figures`].
fn limits(spread: &Spread, near: &[End]) -> Option<Vec<Doubtful>> {
    let mut leaf = 1 + usize::from(near.first()?.force.is_some());
    let mut all = Vec::new();
    for end in near {
        let parts = spread.of_leaf(leaf)?.into_iter().map(Angle::from_si).collect();
        all.push(Doubtful { at: end.angle, parts });
        leaf += 1 + usize::from(end.force.is_some());
    }
    Some(all)
}

/// The chance of a limit that tears to come before every stop.
fn before_stops(limits: &[Doubtful], near: &[End], at: usize) -> Option<Ratio> {
    let stops = limits.iter().zip(near).filter(|(_, end)| end.by.is_stop());
    let mine = limits.get(at)?.clone();
    let with: Vec<Doubtful> =
        std::iter::once(mine).chain(stops.map(|(limit, _)| limit.clone())).collect();
    chance::first(&with)?.chances.first().copied()
}

fn judge(item: &mut Item, spread: &Spread, near: &[End], unknown: &[&str]) {
    let limits = limits(spread, near);
    let found = limits.as_deref().and_then(chance::first);
    // Where the doubts are not known, the values alone decide.
    let surely = |at: usize| Ratio::one(f64::from(u8::from(at == 0)));
    let chances: Vec<Ratio> = match &found {
        Some(first) => first.chances.clone(),
        None => (0..near.len()).map(surely).collect(),
    };
    let likeliest = (0..near.len())
        .reduce(|best, at| if chances.get(best) < chances.get(at) { at } else { best });
    let Some(by) = likeliest.and_then(|at| near.get(at)).map(|end| end.by) else { return };
    let others = near.iter().zip(&chances).filter(|(e, c)| e.by != by && SELDOM <= c.to_one());
    let others: Vec<Item> = others.map(|(end, _)| Item::Word(word(end.by).to_owned())).collect();
    let mut force = Item::Nothing;
    if let Some(Item::List(rows)) = item.get_mut("limits") {
        for (at, row) in rows.iter_mut().enumerate() {
            let (Some(end), Some(chance)) = (near.get(at), chances.get(at)) else { continue };
            if Some(at) == likeliest {
                force = row.get("force").cloned().unwrap_or(Item::Nothing);
            }
            let before = limits.as_deref().and_then(|all| before_stops(all, near, at));
            let sooner = near.iter().take(at).all(|other| !other.by.is_stop());
            let before = before.unwrap_or_else(|| surely(usize::from(!sooner)));
            let Item::Object(parts) = row else { continue };
            parts.push(("chance", Item::maybe(found.is_some().then_some(*chance))));
            if !end.by.is_stop() {
                parts.push(("before_stop", Item::leaf(before)));
            }
        }
    }
    put(item, "stopped_by", Item::Word(word(by).to_owned()));
    put(item, "or", Item::List(others));
    put(item, "force", force);
    if let (Some(first), Some(Item::Leaf(leaf))) = (found, item.get_mut("angle")) {
        leaf.value = first.at.into();
        leaf.u = (Angle::ZERO < first.u).then(|| first.u.into());
    }
    let unknown = unknown.iter().map(|name| Item::Word((*name).to_owned()));
    if let Item::Object(parts) = item {
        parts.push(("not_known", Item::List(unknown.collect())));
    }
}

fn put(item: &mut Item, name: &str, value: Item) {
    if let Some(part) = item.get_mut(name) {
        *part = value;
    }
}

fn said(item: Option<&Item>) -> &str {
    match item {
        Some(Item::Word(word)) => word,
        _ => "",
    }
}

fn shown(item: &Item, name: &str) -> Option<f64> {
    item.get(name).and_then(Item::amount).map(|amount| amount.shown())
}

fn words(item: &Item, state: State) -> String {
    let angle = shown(item, "angle").unwrap_or(f64::NAN);
    let (by, teeth) = (said(item.get("stopped_by")), teeth_words(state));
    let fitted = "With damper and stop bolt fitted and no wheel,";
    let mut words = match (by, shown(item, "force")) {
        ("nothing", _) => format!("{fitted} the arm hangs free at {angle:.1}°, {teeth}."),
        (_, Some(force)) => {
            format!(
                "{fitted} the {by} stops the arm at {angle:.1}° and bears {force:.0} N, {teeth}."
            )
        }
        _ => format!("The {by} ends the arm's way down at {angle:.1}°, before any stop, {teeth}."),
    };
    let rows = item.get("limits").map(Item::items).unwrap_or_default();
    for other in item.get("or").map(Item::items).unwrap_or_default() {
        let Some(row) = rows.iter().find(|row| row.get("by") == Some(other)) else { continue };
        let often = shown(row, "chance").unwrap_or(f64::NAN) * 100.0;
        let it = match said(Some(other)) {
            "nothing" => "nothing, and it hangs free".to_owned(),
            name => format!("the {name}"),
        };
        let bears = match shown(row, "force") {
            Some(force) if 0.0 < force => format!(", which then bears {force:.0} N"),
            _ => String::new(),
        };
        words += &format!(" Their doubts overlap: {often:.0} times in 100 it is {it}{bears}.");
    }
    let unknown: Vec<&str> = item
        .get("not_known")
        .map(Item::items)
        .unwrap_or_default()
        .iter()
        .map(|i| said(Some(i)))
        .collect();
    if !unknown.is_empty() {
        words += &format!(" Not measured, so not looked at: {}.", unknown.join(", "));
    }
    words
}
