//! What fits at which arm position.

use axlewright_book::Field;
use axlewright_mechanics::linkage::Span;
use axlewright_mechanics::windows::{
    BoltBehind, Bound, Cord, Damper, HalfShaft, Hole, ShaftLimit, SpanLimit, Stack, Window,
};
use axlewright_quantity::{Angle, Length, Place, Ratio};

use crate::engine::{Bench, Recipe};
use crate::finding::{Item, State};
use crate::look::Look;
use crate::say::{capital, deg};
use crate::{angles, model};

const GEOMETRY: &str = "position of the arm; own derivation, docs/method.md, windows";

/// A window in words and numbers, before it becomes an item.
pub(crate) type Edge = (Window, Option<&'static str>, Option<&'static str>);

pub(crate) fn add(bench: &mut Bench) {
    one(bench, "window.stop-bolt", "plate outline keeps its clearance from the bolt", stop_bolt);
    one(bench, "window.damper", "closed + rings ≤ ℓ(θ) ≤ open", damper);
    one(bench, "window.hose", "straight distance ≤ share × free length", hose);
    one(bench, "window.cable", "straight distance ≤ share × free length", cable);
    one(bench, "window.half-shaft", "joint angles and plunge within their limits", half_shaft);
    one(bench, "window.plate-bend", "|Y(θ) − Y(design)| ≤ limit at both holes", plate_bend);
    rings(bench);
}

/// Whether each thing fits at one plate angle, and by how much.
pub(crate) fn at(bench: &mut Bench, angle: Angle) {
    type Find = fn(&Look) -> Option<Vec<Edge>>;
    const EACH: [(&str, Find); 6] = [
        ("at.stop-bolt", stop_bolt),
        ("at.damper", damper),
        ("at.hose", hose),
        ("at.cable", cable),
        ("at.half-shaft", half_shaft),
        ("at.plate-bend", plate_bend),
    ];
    for (id, find) in EACH {
        let formula = "margin = least of θ − from and to − θ of the window";
        bench.add_judged(
            Recipe { id, at: None, formula, source: GEOMETRY },
            |look| {
                let windows = within_swing(look, find(look)?);
                let ride = look.attempt(model::ride_angle_or_stated);
                Some(occasion(angle, margin(at_ride(&windows, ride), angle)))
            },
            judge_occasion,
            |item, _| match item.get("verdict") {
                Some(Item::Word(word)) => format!("At {} it {word}.", deg(angle, 1))
                    .replace("it try it", "try it: the margin is smaller than its uncertainty"),
                _ => String::new(),
            },
        );
    }
}

/// The bolt behind the plate.
pub(crate) fn bolt_behind(look: &Look) -> Option<BoltBehind> {
    let hub = look.place(Field::ArmHub);
    let bolt = look.side_point(Field::StopBoltAt);
    let outline = look.outline();
    let (hub, bolt) = (hub?, bolt?);
    let bolt = Place { x: bolt.x, y: hub.y, z: bolt.z };
    look.ok(BoltBehind::new(hub, bolt, &outline?))
}

/// The plate angle below which the stop bolt goes in.
pub(crate) fn stop_bolt_clear(look: &Look) -> Option<Angle> {
    let windows = stop_bolt(look)?;
    let ride = model::ride_angle_or_stated(look)?;
    let around = windows.iter().find(|(window, ..)| window.contains(ride));
    match around.map(|(window, ..)| window.to) {
        Some(Some(angle)) => Some(angle),
        Some(None) => look.fault("the plate never covers the stop bolt above ride angle"),
        None => look.fault("the plate covers the stop bolt at ride angle: check its place"),
    }
}

fn stop_bolt(look: &Look) -> Option<Vec<Edge>> {
    look.part(|memo| &memo.stop_bolt, stop_bolt_anew)
}

fn stop_bolt_anew(look: &Look) -> Option<Vec<Edge>> {
    let (bolt, linkage) = (bolt_behind(look), model::linkage(look));
    let clearance = look.get::<Length>(Field::StopBoltClearance);
    let bolt = bolt?;
    linkage?;
    let range = model::swept(look)?.look().range;
    let found = look.ok(look.inputs.memo().bolt_windows((bolt, clearance?, range)))?;
    Some(
        found
            .into_iter()
            .map(|w| (w, Some("plate over the bolt"), Some("plate over the bolt")))
            .collect(),
    )
}

/// The fitted damper and its rings.
pub(crate) fn fitted_damper(look: &Look) -> Option<(Damper, Stack)> {
    let lengths = [Field::DamperFittedClosed, Field::DamperFittedOpen];
    damper_of(look, lengths, Field::DamperFittedRings, Field::DamperFittedRingHeight)
}

fn original_damper(look: &Look) -> Option<(Damper, Stack)> {
    let lengths = [Field::DamperOriginalClosed, Field::DamperOriginalOpen];
    damper_of(look, lengths, Field::DamperOriginalRings, Field::DamperOriginalRingHeight)
}

/// Both dampers hang between the same eyes and squash their rings alike.
fn damper_of(
    look: &Look,
    lengths: [Field; 2],
    rings: Field,
    ring_height: Field,
) -> Option<(Damper, Stack)> {
    let span = model::damper(look);
    let [closed, open] = lengths.map(|field| look.get::<Length>(field));
    let rings = look.count(rings);
    let height = look.get::<Length>(ring_height);
    let squashed = look.get::<Ratio>(Field::DamperSquash);
    let damper = Damper { span: span?, closed: closed?, open: open? };
    Some((damper, Stack { rings: rings?, height: height?, squashed: squashed? }))
}

/// The plate angle at full bump, the fitted damper's rings squashed as the car file says.
pub(crate) fn full_bump(look: &Look) -> Option<Angle> {
    look.part(|memo| &memo.full_bump, full_bump_anew)
}

fn full_bump_anew(look: &Look) -> Option<Angle> {
    let (damper, linkage) = (fitted_damper(look), model::linkage(look));
    let ride = model::ride_angle_or_stated(look);
    let (damper, stack) = damper?;
    linkage?;
    look.ok(damper.full_bump(&model::swept(look)?.look(), ride?, &stack))
}

fn damper(look: &Look) -> Option<Vec<Edge>> {
    look.part(|memo| &memo.damper, damper_anew)
}

fn damper_anew(look: &Look) -> Option<Vec<Edge>> {
    let (damper, linkage) = (fitted_damper(look), model::linkage(look));
    let (damper, stack) = damper?;
    linkage?;
    let found = look.ok(damper.windows(&model::swept(look)?.look(), &stack))?;
    let words = |limit| match limit {
        SpanLimit::Shortest => "damper on its rings",
        SpanLimit::Longest => "damper fully open",
    };
    Some(found.into_iter().map(|bound| edge(bound, words)).collect())
}

fn edge<L>(bound: Bound<L>, words: impl Fn(L) -> &'static str) -> Edge {
    (bound.window, bound.from_by.map(&words), bound.to_by.map(&words))
}

/// Where the brake hose reaches.
pub(crate) fn hose(look: &Look) -> Option<Vec<Edge>> {
    look.part(|memo| &memo.hose, hose_anew)
}

fn hose_anew(look: &Look) -> Option<Vec<Edge>> {
    cord(look, model::hose(look), Field::HoseFreeLength, Field::HoseDrawnTo)
}

/// Where the handbrake cable reaches.
pub(crate) fn cable(look: &Look) -> Option<Vec<Edge>> {
    look.part(|memo| &memo.cable, cable_anew)
}

fn cable_anew(look: &Look) -> Option<Vec<Edge>> {
    cord(look, model::cable(look), Field::CableFreeLength, Field::CableDrawnTo)
}

fn cord(look: &Look, span: Option<Span>, free_length: Field, share: Field) -> Option<Vec<Edge>> {
    let linkage = model::linkage(look);
    let free_length = look.get::<Length>(free_length);
    let share = look.get::<Ratio>(share);
    let cord = Cord { span: span?, free_length: free_length?, share: share? };
    linkage?;
    let found = look.ok(model::swept(look)?.look().cord(&cord))?;
    let taut = Some("drawn as straight as it may be");
    Some(found.into_iter().map(|window| (window, taut, taut)).collect())
}

/// Where the half-shaft reaches.
pub(crate) fn half_shaft(look: &Look) -> Option<Vec<Edge>> {
    look.part(|memo| &memo.half_shaft, half_shaft_anew)
}

/// By lengths alone: the plunge, whose middle is at ride; no angle of a joint.
fn shaft_by_lengths(look: &Look, span: Span) -> Option<Vec<Edge>> {
    let linkage = model::linkage(look);
    let plunge = look.get::<Length>(Field::HalfShaftPlungeLimit);
    let (linkage, plunge) = (linkage?, plunge?);
    let ride = model::ride_angle_or_stated(look)?;
    let middle = look.ok(span.at(&linkage, model::at(ride)))?.length?;
    let (shortest, longest) = (Some(middle - plunge), Some(middle + plunge));
    let found = look.ok(model::swept(look)?.look().span(&span, shortest, longest))?;
    let words = |limit| match limit {
        SpanLimit::Shortest => "shaft pushed together",
        SpanLimit::Longest => "shaft drawn out",
    };
    Some(found.into_iter().map(|bound| edge(bound, words)).collect())
}

fn half_shaft_anew(look: &Look) -> Option<Vec<Edge>> {
    if let Some(span) = model::shaft_lengths(look) {
        return shaft_by_lengths(look, span);
    }
    let linkage = model::arm_linkage(look);
    let inner = look.place(Field::HalfShaftInnerJoint);
    let inboard = look.get::<Length>(Field::HalfShaftOuterInboard);
    let joint_max = look.get::<Angle>(Field::HalfShaftJointLimit);
    let plunge_max = look.get::<Length>(Field::HalfShaftPlungeLimit);
    let (arm, inboard) = (linkage?, inboard?);
    let shaft = HalfShaft {
        inner: inner?,
        outer_at_design: arm.on_axle(inboard),
        joint_max: joint_max?,
        plunge_max: plunge_max?,
    };
    let found = look.ok(model::swept(look)?.look().half_shaft(&shaft))?;
    let words = |limit| match limit {
        ShaftLimit::InnerJoint => "inner joint at its greatest angle",
        ShaftLimit::OuterJoint => "outer joint at its greatest angle",
        ShaftLimit::PushedIn => "shaft pushed together",
        ShaftLimit::DrawnOut => "shaft drawn out",
    };
    Some(found.into_iter().map(|bound| edge(bound, words)).collect())
}

fn plate_bend(look: &Look) -> Option<Vec<Edge>> {
    look.part(|memo| &memo.plate_bend, plate_bend_anew)
}

fn plate_bend_anew(look: &Look) -> Option<Vec<Edge>> {
    let (arm, limit) = (model::arm_linkage(look), look.get::<Length>(Field::PlateBendLimit));
    arm?;
    let found = look.ok(model::swept(look)?.look().plate_bend(limit?))?;
    let words = |hole| match hole {
        Hole::Front => "plate bent as far as it may be at the front hole",
        Hole::Rear => "plate bent as far as it may be at the rear hole",
    };
    Some(found.into_iter().map(|bound| edge(bound, words)).collect())
}

/// Where the corner will be while the part has to go in, by name.
fn occasions(look: &Look) -> [(&'static str, Option<Angle>); 3] {
    let hang = |state| look.attempt(|look| angles::hang_arm_at(look, state));
    [
        ("hang_target", hang(State::Target)),
        ("hang_now", hang(State::Now)),
        ("ride", look.attempt(model::ride_angle_or_stated)),
    ]
}

/// The doubt of a margin whose inputs carry none: own choice, what a tape and a plumb line leave.
pub(crate) const UNSURE: Angle = Angle::deg(3.0);

/// How far beyond the lowest it hangs an arm may be let down by hand: own choice.
const BEYOND: Angle = Angle::deg(5.0);

/// Only the windows an arm can come to: geometry knows places far below where it hangs.
fn within_swing(look: &Look, windows: Vec<Edge>) -> Vec<Edge> {
    let lowest = occasions(look).into_iter().filter_map(|(_, angle)| angle).reduce(Angle::max);
    let Some(lowest) = lowest else { return windows };
    let near = |(window, ..): &Edge| window.from.is_none_or(|from| from <= lowest + BEYOND);
    if windows.iter().any(near) { windows.into_iter().filter(near).collect() } else { windows }
}

/// How far inside a window an angle is; nothing when it has no ends.
fn inside(window: &Window, angle: Angle) -> Option<Angle> {
    let below = window.from.map(|from| angle - from);
    let above = window.to.map(|to| to - angle);
    match (below, above) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (one, other) => one.or(other),
    }
}

/// The window the car uses: the one that holds ride, or else the nearest to it. Beyond another's
/// edge the part goes in as well, and the arm never comes to ride with it.
fn at_ride(windows: &[Edge], ride: Option<Angle>) -> &[Edge] {
    let Some(ride) = ride else { return windows };
    let far = |edge: &Edge| inside(&edge.0, ride).map_or(f64::INFINITY, Angle::to_rad);
    let nearest = (0..windows.len()).max_by(|a, b| {
        let of = |at: &usize| windows.get(*at).map_or(f64::NEG_INFINITY, far);
        of(a).total_cmp(&of(b))
    });
    nearest.and_then(|at| windows.get(at..=at)).unwrap_or(windows)
}

/// How far inside the windows an angle is; nothing when no limit is in reach.
fn margin(windows: &[Edge], angle: Angle) -> Option<Angle> {
    if windows.iter().any(|(window, ..)| window.from.is_none() && window.to.is_none()) {
        return None;
    }
    let margins = windows.iter().filter_map(|(window, ..)| inside(window, angle));
    margins.reduce(Angle::max).or(Some(Angle::deg(-90.0)))
}

fn fits(look: &Look, windows: &[Edge]) -> Item {
    let mut parts = Vec::new();
    let occasions = occasions(look);
    let ride = occasions.iter().find(|(name, _)| *name == "ride").and_then(|(_, angle)| *angle);
    let windows = at_ride(windows, ride);
    for (name, angle) in occasions {
        let Some(angle) = angle else {
            parts.push((name, Item::Nothing));
            continue;
        };
        parts.push((name, occasion(angle, margin(windows, angle))));
    }
    Item::Object(parts)
}

/// An angle with its margin; what is far from every limit fits, the rest is judged later.
fn occasion(angle: Angle, margin: Option<Angle>) -> Item {
    let verdict = if margin.is_none() { "fits" } else { "" };
    Item::Object(vec![
        ("angle", Item::leaf(angle)),
        ("margin", Item::maybe(margin)),
        ("verdict", Item::Word(verdict.to_owned())),
    ])
}

fn travel_to(look: &Look, angle: Option<Angle>) -> Item {
    let travel = angle.and_then(|angle| {
        look.attempt(|look| {
            let (linkage, ride) = (model::linkage(look)?, model::ride_angle_or_stated(look)?);
            look.ok(linkage.travel(model::at(ride), model::at(angle)))
        })
    });
    Item::maybe(travel)
}

fn window_item(look: &Look, (window, from_by, to_by): &Edge) -> Vec<(&'static str, Item)> {
    let by = |at: Option<Angle>, words: Option<&str>| match (at, words) {
        (Some(_), Some(words)) => Item::Word(words.to_owned()),
        _ => Item::Nothing,
    };
    vec![
        ("from", Item::maybe(window.from)),
        ("to", Item::maybe(window.to)),
        ("from_travel", travel_to(look, window.from)),
        ("to_travel", travel_to(look, window.to)),
        ("limited_by_from", by(window.from, *from_by)),
        ("limited_by_to", by(window.to, *to_by)),
    ]
}

fn one(
    bench: &mut Bench,
    id: &'static str,
    formula: &'static str,
    find: impl Fn(&Look) -> Option<Vec<Edge>>,
) {
    let recipe = Recipe { id, at: None, formula, source: GEOMETRY };
    bench.add_judged(
        recipe,
        |look| {
            let windows = within_swing(look, find(look)?);
            let fit = fits(look, &windows);
            let mut items: Vec<Vec<(&'static str, Item)>> =
                windows.iter().map(|edge| window_item(look, edge)).collect();
            match items.as_mut_slice() {
                [only] => {
                    let mut only = std::mem::take(only);
                    only.push(("fit", fit));
                    Some(Item::Object(only))
                }
                _ => {
                    let list = items.into_iter().map(Item::Object).collect();
                    Some(Item::Object(vec![("windows", Item::List(list)), ("fit", fit)]))
                }
            }
        },
        judge,
        |item, _| words(item),
    );
}

/// A fit by less than its uncertainty is "try it".
///
/// # Source
/// Own rule: one standard uncertainty, so that about one in six "fits" at the very limit would
/// not; docs/method.md, windows.
fn judge(item: &mut Item) {
    let Some(Item::Object(occasions)) = item.get_mut("fit") else { return };
    for (_, occasion) in occasions {
        judge_occasion(occasion);
    }
}

fn judge_occasion(occasion: &mut Item) {
    let Some(leaf) = occasion.get("margin").and_then(Item::as_leaf) else { return };
    // Where nobody said how sure the figures are, only a wide margin is believed.
    let u = leaf.u.map_or(UNSURE.to_rad(), |u| u.to_si());
    let margin = leaf.value.to_si();
    let verdict = if margin.abs() < u {
        "try it"
    } else if margin < 0.0 {
        "does not fit"
    } else {
        "fits"
    };
    if let Some(word) = occasion.get_mut("verdict") {
        *word = Item::Word(verdict.to_owned());
    }
}

fn words(item: &Item) -> String {
    let verdict = |name: &str| match item.get("fit").and_then(|f| f.get(name)) {
        Some(occasion) => match occasion.get("verdict") {
            Some(Item::Word(word)) => Some((word.clone(), occasion.get("angle").cloned())),
            _ => None,
        },
        None => None,
    };
    let mut said = Vec::new();
    for (name, words) in [
        ("hang_target", "hanging with the arm on, at the target"),
        ("hang_now", "hanging with the arm on, as the teeth are now"),
        ("ride", "at ride"),
    ] {
        if let Some((word, angle)) = verdict(name) {
            let angle = angle.and_then(|a| a.amount()).and_then(|a| Angle::try_from(a).ok());
            let word = if word == "try it" { word } else { format!("it {word}") };
            said.push(format!("{words} ({}) {word}", deg(angle.unwrap_or(Angle::ZERO), 1)));
        }
    }
    if said.is_empty() { String::new() } else { format!("{}.", capital(&said.join("; "))) }
}

fn rings(bench: &mut Bench) {
    let recipe = Recipe {
        id: "damper.rings",
        at: None,
        formula: "ℓ(θ) = closed + n·height; n whose wheel travel is nearest the original's",
        source: GEOMETRY,
    };
    bench.add(
        recipe,
        |look| {
            let (new, old) = (fitted_damper(look), original_damper(look));
            let (linkage, ride) = (model::linkage(look), model::ride_angle_or_stated(look));
            let ((new, stack), (old, old_stack)) = (new?, old?);
            linkage?;
            let swept = model::swept(look)?;
            let over = swept.look();
            let most = Stack { rings: stack.rings.saturating_add(3), ..stack };
            let choice = look.ok(new.rings_like(&over, ride?, (&old, &old_stack), &most))?;
            let rows = choice.choices.iter().filter(|row| stack.rings.abs_diff(row.rings) <= 3);
            let rows = rows.map(|row| {
                Item::Object(vec![
                    ("rings", Item::Count(i64::from(row.rings), "rings")),
                    ("contact_angle", Item::leaf(row.angle)),
                    ("travel", Item::leaf(row.travel)),
                ])
            });
            Some(Item::Object(vec![
                ("rings", Item::Count(i64::from(choice.best.rings), "rings")),
                ("original_travel", Item::leaf(choice.original.travel)),
                ("original_angle", Item::leaf(choice.original.angle)),
                ("travel", Item::leaf(choice.best.travel)),
                ("sold_with", Item::Count(i64::from(stack.rings), "rings")),
                ("rows", Item::List(rows.collect())),
            ]))
        },
        |item, _| rings_words(item),
    );
}

fn rings_words(item: &Item) -> String {
    let number = |name: &str| item.get(name).and_then(Item::amount).map_or(f64::NAN, |a| a.shown());
    let count = |name: &str| match item.get(name) {
        Some(Item::Count(count, _)) => *count,
        _ => 0,
    };
    let (best, sold) = (count("rings"), count("sold_with"));
    let action = match best.cmp(&sold) {
        std::cmp::Ordering::Equal => format!("Keep the {sold} rings the damper was sold with"),
        std::cmp::Ordering::Less => format!("Take {} of its {sold} rings off", sold - best),
        std::cmp::Ordering::Greater => format!("Add {} to its {sold} rings", best - sold),
    };
    format!(
        "{action}: with {best} it meets them at {:.0} mm of wheel travel above ride, the original \
         at {:.0} mm.",
        number("travel"),
        number("original_travel"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Beyond the plate's far side the bolt goes in as well, and the arm never comes up again.
    #[test]
    fn only_the_window_that_holds_ride_counts() {
        let edge = |from: Option<f64>, to: Option<f64>| -> Edge {
            (Window { from: from.map(Angle::deg), to: to.map(Angle::deg) }, None, None)
        };
        let windows = [edge(Some(64.6), None), edge(None, Some(20.9))];
        let at = |ride: Option<f64>, angle: f64| {
            let used = at_ride(&windows, ride.map(Angle::deg));
            margin(used, Angle::deg(angle)).map(Angle::to_deg)
        };
        assert!((at(Some(11.0), 69.9).unwrap() + 49.0).abs() < 1e-9);
        assert!((at(Some(11.0), 15.0).unwrap() - 5.9).abs() < 1e-9);
        // Where no window holds ride, the nearest one.
        assert!((at(Some(25.0), 20.0).unwrap() - 0.9).abs() < 1e-9);
        assert!((at(None, 69.9).unwrap() - 5.3).abs() < 1e-9);
    }
}
