//! Free angles, body level, and where the plate hangs.

use axlewright_book::{Field, SpecWhat};
use axlewright_quantity::{Angle, Length};

use crate::engine::{Bench, Recipe};
use crate::finding::{Item, State};
use crate::inputs::{Need, Slot};
use crate::look::Look;
use crate::model;
use crate::say::{deg, deg_signed, mm};

const DERIVED: &str = "virtual work; own derivation, docs/method.md";

/// The free angle with the teeth of that state.
pub(crate) fn free_at(look: &Look, state: State) -> Option<Angle> {
    match state {
        State::Target => model::free_goal(look),
        State::Now => model::free_now(look),
    }
}

/// Where plate and arm hang with the teeth of that state, no damper fitted.
pub(crate) fn hang_arm_at(look: &Look, state: State) -> Option<Angle> {
    look.part(|memo| memo.hang_arm.of(state), |look| model::hang_arm(look, free_at(look, state)?))
}

/// In words, which teeth a state means.
pub(crate) const fn teeth_words(state: State) -> &'static str {
    match state {
        State::Target => "once the bar sits at its target",
        State::Now => "on the teeth the bar sits on now",
    }
}

pub(crate) fn add(bench: &mut Bench) {
    body_level(bench);
    manual(bench);
    four_numbers(bench);
    target(bench);
    trim_at_manual(bench);
    now(bench);
    for state in [State::Target, State::Now] {
        hang_plate(bench, state);
        hang_arm(bench, state);
    }
}

fn body_level(bench: &mut Bench) {
    let side = bench.inputs.side;
    let recipe = Recipe {
        id: "body.level",
        at: None,
        formula: "β = (r₁ − r₂)/2, gauge shows o = (r₁ + r₂)/2 on a level face",
        source: "reversal of a level; own derivation, docs/method.md",
    };
    bench.add(
        recipe,
        |look| Some(Item::leaf(look.number::<Angle>(Slot::BodySlope, Need::Level)?)),
        |item, look| {
            let slope = item.amount().map_or(0.0, |a| a.shown());
            let offset = look.number_optional::<Angle>(Slot::GaugeOffset).unwrap_or(Angle::ZERO);
            let way = if slope < 0.0 { "nose down" } else { "nose up" };
            format!(
                "The {side} sill stands {:.2}° {way}; the gauge itself shows {} on a level face. \
                 Both are taken out of every plate angle on this side.",
                slope.abs(),
                deg_signed(offset, 2),
            )
        },
    );
}

pub(crate) fn manual(bench: &mut Bench) {
    let recipe = Recipe {
        id: "free-angle.manual",
        at: None,
        formula: "as printed, the row picked by build number",
        source: "the car file's row of the manual",
    };
    bench.add(
        recipe,
        |look| Some(Item::leaf(look.spec::<Angle>(SpecWhat::FreeAngle)?)),
        |_, look| {
            let bar = look.attempt(model::manual_bar);
            let written = bar.map_or(String::new(), |d| format!(", written for {} bars", mm(d, 1)));
            format!("The manual's free angle for this build number{written}.")
        },
    );
    if let Some(finding) = bench.findings.last_mut()
        && finding.id == "free-angle.manual"
        && let Item::Leaf(leaf) = &mut finding.value
    {
        let known = bench.inputs.numbers.get(&Slot::Spec(SpecWhat::FreeAngle));
        leaf.written = known.map(|known| known.text.clone());
    }
}

pub(crate) fn four_numbers(bench: &mut Bench) {
    let recipe = Recipe {
        id: "free-angle.by-four-numbers",
        at: None,
        formula: "θ₀ = θ_ride + (θ_manual − θ_ride)·d_old⁴/(d_new⁴ − bore⁴)",
        source: "bar rate grows with d⁴ (torsion of a round bar); docs/method.md",
    };
    bench.add(
        recipe,
        |look| Some(Item::leaf(model::four_numbers(look)?)),
        |item, look| {
            let angle = item.amount().map_or(0.0, |a| a.shown());
            let manual = look.spec::<Angle>(SpecWhat::FreeAngle).unwrap_or(Angle::ZERO);
            let change = angle - manual.to_deg();
            if change.abs() < 0.05 {
                return "The bars are as the manual's, so its free angle stands as far as the bars \
                        go. Good to about a degree."
                    .to_owned();
            }
            let solid = look.attempt(model::as_if_solid);
            let stiffer = model::manual_bar(look).zip(solid).is_none_or(|(old, new)| old < new);
            let hollow = solid != look.get_optional::<Length>(Field::BarFittedDiameter);
            let (bar, way) = match (stiffer, hollow) {
                (true, false) => ("thicker", "twists less under the same load"),
                (false, false) => ("thinner", "twists more under the same load"),
                (true, true) => ("stiffer, its bore taken in,", "twists less"),
                (false, true) => ("softer, its bore taken in,", "twists more"),
            };
            format!(
                "The fitted bar is {bar} than the manual's and {way}, so the plate must hang \
                 {:.1}° {} than the manual says. Good to about a degree; it checks everything \
                 below.",
                change.abs(),
                if change < 0.0 { "less tail down" } else { "more tail down" },
            )
        },
    );
}

fn target(bench: &mut Bench) {
    let recipe = Recipe {
        id: "free-angle.target",
        at: None,
        formula: "θ₀ = θ + (F·(−dz/dθ) − k_b(θ_b − θ) − P·dℓ/dθ)/k at the manual's trim + settling",
        source: DERIVED,
    };
    bench.add(
        recipe,
        |look| Some(Item::leaf(model::free_target(look)?)),
        |item, look| {
            let target = Angle::deg(item.amount().map_or(f64::NAN, |a| a.shown()));
            target_words(look, target).unwrap_or_default()
        },
    );
}

/// Where the difference to the manual's angle comes from, each part computed.
fn target_words(look: &Look, target: Angle) -> Option<String> {
    let trim = model::trim(look)?;
    let settling = look.get::<Length>(Field::LoadSettling)?;
    let mut words = format!(
        "With the unloaded plate at {} this car settles to the manual's trim of {}",
        deg(target, 1),
        mm(trim, 0),
    );
    if settling != Length::ZERO {
        words += &format!(" once new parts have given their {}", mm(settling, 0));
    }
    words += ".";
    let Some(manual) = look.spec::<Angle>(SpecWhat::FreeAngle) else { return Some(words) };
    let off = target - manual;
    if off.to_deg().abs() < 0.25 {
        words += " That is the manual's angle within a quarter of a degree.";
        return Some(words);
    }
    words += &format!(
        " The manual's {} is {} too {} for it:",
        deg(manual, 1),
        deg(off.abs(), 1),
        if off < Angle::ZERO { "far tail down" } else { "far tail up" },
    );
    let mut parts = Vec::new();
    let mut rest = off;
    if let Some(by_bar) = look.attempt(model::four_numbers).map(|a| a - manual)
        && 0.05 <= by_bar.to_deg().abs()
    {
        parts.push(format!("the bars' diameter makes {}", deg_signed(by_bar, 1)));
        rest = rest - by_bar;
    }
    if let Some(by_gas) = look.attempt(gas_part)
        && 0.05 <= by_gas.to_deg().abs()
    {
        parts.push(format!("the dampers' gas {}", deg_signed(by_gas, 1)));
        rest = rest - by_gas;
    }
    if let Some(by_settling) = look.attempt(settling_part)
        && 0.05 <= by_settling.to_deg().abs()
    {
        parts.push(format!("the settling allowance {}", deg_signed(by_settling, 1)));
        rest = rest - by_settling;
    }
    parts.push(format!("this car's own weight and geometry {}", deg_signed(rest, 1)));
    Some(format!("{words} {}.", parts.join(", ")))
}

/// How much of the target the damper's gas takes, beside the push of the damper the manual's angle
/// was written for.
pub(crate) fn gas_part(look: &Look) -> Option<Angle> {
    let mut corner = model::corner(look)?;
    let load = model::spring_load(look)?;
    let angle = look.ok(corner.angle_at_trim(model::trim(look)?))?;
    let with = look.ok(corner.free_angle_for(angle, load))?;
    corner.gas = model::original_gas(look);
    Some(with - look.ok(corner.free_angle_for(angle, load))?)
}

/// How much of the target the settling allowance adds.
pub(crate) fn settling_part(look: &Look) -> Option<Angle> {
    let corner = model::corner(look)?;
    let load = model::spring_load(look)?;
    let angle = look.ok(corner.angle_at_trim(model::trim(look)?))?;
    Some(model::free_target(look)? - look.ok(corner.free_angle_for(angle, load))?)
}

fn trim_at_manual(bench: &mut Bench) {
    let recipe = Recipe {
        id: "trim.at-manual-angle",
        at: None,
        formula: "F·(−dz/dθ) = k(θ₀ − θ) + k_b(θ_b − θ) + P·dℓ/dθ, trim(θ) − settling",
        source: DERIVED,
    };
    bench.add(
        recipe,
        |look| {
            let manual = model::manual_free(look);
            let ready = model::settled_trim(look, manual.unwrap_or(Angle::ZERO));
            manual?;
            Some(Item::leaf(ready?))
        },
        |item, look| {
            let at_manual = item.amount().map_or(f64::NAN, |a| a.shown());
            let Some(trim) = look.attempt(model::trim) else {
                return "The trim this car would settle to at the manual's free angle.".to_owned();
            };
            let over = at_manual - trim.to_mm();
            format!(
                "At the manual's free angle this car would stand at {at_manual:.0} mm, {:.0} mm \
                 too {} (the manual asks for {}).",
                over.abs(),
                if 0.0 < over { "high" } else { "low" },
                mm(trim, 0),
            )
        },
    );
}

fn now(bench: &mut Bench) {
    let side = bench.inputs.side;
    let recipe = Recipe {
        id: "free-angle.now",
        at: None,
        formula: "θ = ±(ρ − o) − β − seat, less lash and the twist by what hung on the bar",
        source: "docs/method.md, level and free angle",
    };
    bench.add(
        recipe,
        |look| Some(Item::leaf(model::free_now(look)?)),
        |item, look| {
            let angle = item.amount().map_or(f64::NAN, |a| a.shown());
            let lifted = look.inputs.reading.lash == Some(axlewright_book::Lash::Lifted);
            let weight = if lifted {
                "It was read with the tail lifted until the lash was just taken up, so hand and \
                 not bar carried the plate and nothing is to be taken out."
            } else {
                "What hung on the bar, and the lash, are taken out."
            };
            format!("Left alone, the {side} plate stands at {angle:.1}° unloaded. {weight}")
        },
    );
}

fn hang_plate(bench: &mut Bench, state: State) {
    let recipe = Recipe {
        id: "hang.plate",
        at: Some(state),
        formula: "k(θ₀ − θ) + m·g·(−dz/dθ) = 0 for the plate alone",
        source: DERIVED,
    };
    bench.add(
        recipe,
        |look| {
            let (plate, free) = (model::plate_on_bar(look), free_at(look, state));
            Some(Item::leaf(look.ok(plate?.hang(free?))?))
        },
        |item, look| {
            let angle = item.amount().map_or(f64::NAN, |a| a.shown());
            let teeth = teeth_words(state);
            let lash = look.get_optional::<Angle>(Field::SplinesLash).unwrap_or(Angle::ZERO);
            let play = if lash == Angle::ZERO {
                String::new()
            } else {
                format!(", and {} more for the lash", deg(lash, 1))
            };
            let free = look.attempt(|look| free_at(look, state)).map_or(String::new(), |free| {
                format!(
                    " Lifted until the lash is just taken up, it shows the free angle, {}.",
                    deg(free, 1)
                )
            });
            format!(
                "The plate alone will hang at {angle:.1}°{play}, {teeth}: its own weight is in \
                 that.{free}"
            )
        },
    );
}

fn hang_arm(bench: &mut Bench, state: State) {
    let recipe = Recipe {
        id: "hang.arm",
        at: Some(state),
        formula: "k(θ₀ − θ) + Σ m·g·(−dz/dθ) = 0 for plate and arm, no damper, no wheel",
        source: DERIVED,
    };
    bench.add(
        recipe,
        |look| {
            let free = free_at(look, state);
            let ready = model::hang_arm(look, free.unwrap_or(Angle::deg(25.0)));
            free?;
            Some(Item::leaf(ready?))
        },
        |item, _| {
            let angle = item.amount().map_or(f64::NAN, |a| a.shown());
            let teeth = teeth_words(state);
            format!("With the arm bolted on and nothing else, it hangs at {angle:.1}° {teeth}.")
        },
    );
}
