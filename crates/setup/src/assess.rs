//! A car file in, an assessment out.

use axlewright_book::{Arrow, CarFile, Field};
use axlewright_mechanics::car::Pair;
use axlewright_mechanics::statistics::{self, Freedom, Part};
use axlewright_quantity::{Angle, Corner, Length, Place, Side};

use crate::engine::{Bench, Waiting};
use crate::finding::{Item, State};
use crate::inputs::{Inputs, Slot};
use crate::look::Look;
use crate::scene::{CornerScene, NamedWindow, Pose, SceneState, SplineScene};
use crate::stands;
use crate::{
    Assessment, angles, bars, cautions, checks, gaps, model, pair, raising, teeth, wheels, windows,
};

/// Everything that follows from a car file: findings where enough is known, gaps where not.
///
/// Never fails: a half-measured car is the usual case. Deterministic.
pub fn assess(car: &CarFile) -> Assessment {
    let [left, right] = Side::BOTH.map(|side| Inputs::from_car(car, side));
    of_sides(car, [&left, &right])
}

/// The same, from what is known of the two sides.
pub(crate) fn of_sides(car: &CarFile, [left, right]: [&Inputs; 2]) -> Assessment {
    let mut out =
        Assessment { car: car.name.as_ref().map(|n| n.value.clone()), ..Default::default() };
    let mut waiting = Waiting::default();
    let (set, mut stand_gaps) = stands::read(car, &mut out.problems);
    for inputs in [left, right] {
        let mut bench = Bench::corner(inputs, &mut waiting);
        angles::add(&mut bench);
        teeth::add(&mut bench);
        bars::add(&mut bench);
        windows::add(&mut bench);
        raising::add(&mut bench, set.as_ref());
        out.findings.append(&mut bench.findings);
    }
    raising::agree(&mut out, set.as_ref(), Look::plain(left).get_optional(Field::ShellBag));
    if let Some(set) = &set {
        let mut bench =
            Bench { inputs: left, of: None, findings: Vec::new(), waiting: &mut waiting };
        stands::add(&mut bench, set);
        out.findings.append(&mut bench.findings);
        out.supports = stands::scene(&Look::plain(left), set, &out.findings);
    }
    difference(&mut out, [left, right]);
    pair::add(car, &mut out);
    let sides = Pair { left, right };
    wheels::add(car, sides, &mut out, &mut waiting);
    cautions::add([left, right], &mut out);
    out.gaps = gaps::from_waiting(car, &waiting);
    out.gaps.append(&mut stand_gaps);
    out.gaps.append(&mut gaps::of_specs(car, &waiting));
    checks::add(car, [left, right], &mut out);
    for inputs in [left, right] {
        if let Some(scene) = corner_scene(inputs, &out) {
            out.corners.push(scene);
        }
    }
    out.problems.extend(waiting.faults);
    crate::joints::add(car, &mut out);
    out.cautions.extend(handed(car));
    let against = car.parts.iter().filter_map(|part| {
        let (to, why) = part.against_hand.as_ref()?;
        Some(cautions::against_hand(&part.id.value, *to, why))
    });
    out.cautions.extend(against);
    out
}

/// Whether the bars' ends and their parts tell the same of left and right.
fn handed(car: &CarFile) -> Option<cautions::Caution> {
    let Some(axlewright_book::Value::Word(preset)) =
        car.get(Field::BarPreset, Side::Left).map(|entry| &entry.value)
    else {
        return None;
    };
    let handed = *preset == axlewright_book::Preset::Handed.word();
    let bars = car.parts.iter().filter(|part| part.id.value.starts_with("bar"));
    let told: Vec<bool> = bars.map(|part| part.handed).collect();
    (!told.is_empty() && told.iter().any(|part| *part != handed)).then(|| cautions::handed(handed))
}

/// Left against right is much surer than either alone: the gauge's own error drops out.
fn difference(out: &mut Assessment, [left, right]: [&Inputs; 2]) {
    let now = |inputs| model::free_now(&Look::plain(inputs));
    let (Some(a), Some(b)) = (now(left), now(right)) else { return };
    let mut slots = vec![Slot::PlateReading, Slot::BodySlope];
    // Each side took out its own estimate of the gauge's error. Read the same way round, one gauge
    // has one error and it drops out of the difference, so what was taken out is put back.
    let offset = |inputs| {
        Look::plain(inputs).number_optional::<Angle>(Slot::GaugeOffset).unwrap_or(Angle::ZERO)
    };
    let apart = match (left.reading.arrow, right.reading.arrow) {
        (Some(Arrow::Nose), Some(Arrow::Nose)) => a - b + (offset(left) - offset(right)),
        (Some(Arrow::Tail), Some(Arrow::Tail)) => a - b - (offset(left) - offset(right)),
        _ => {
            slots.push(Slot::GaugeOffset);
            a - b
        }
    };
    let part = |inputs: &Inputs, slot| {
        let u = Angle::try_from(inputs.known(slot)?.0.u?).ok()?;
        Some(Part { u, freedom: Freedom::Infinite })
    };
    let each =
        [left, right].into_iter().flat_map(|inputs| slots.iter().map(move |s| part(inputs, *s)));
    let parts: Option<Vec<Part<Angle>>> = each.collect();
    let u = parts.and_then(|parts| statistics::combine(&parts).ok());
    let mut value = Item::leaf(apart);
    if let Item::Leaf(leaf) = &mut value {
        leaf.u = u.map(|combined| combined.u.into());
    }
    let apart = apart.to_deg();
    out.findings.push(crate::Finding {
        id: "free-angle.left-right",
        of: None,
        at: Some(State::Now),
        value,
        why: crate::Why {
            words: format!(
                "Unloaded, the left plate stands {:.1}° {} than the right. {}",
                apart.abs(),
                if 0.0 < apart { "further tail down" } else { "less tail down" },
                if left.reading.arrow == right.reading.arrow {
                    "This difference is surer than either angle: with one gauge read the same way \
                     round, its own error drops out."
                } else {
                    "The gauge stood one way round on the left and the other on the right, so its \
                     own error counts twice: read both the same way round."
                },
            ),
            formula: "θ_left − θ_right; u² = Σ u²(reading) + u²(sill) of both sides",
            source: "JCGM 100:2008, 5.1.2; docs/method.md, level",
            inputs: Vec::new(),
        },
    });
}

/// What the drawings of a corner are made from, once there is a hub and a plate to draw.
fn corner_scene(inputs: &Inputs, out: &Assessment) -> Option<CornerScene> {
    let look = Look::plain(inputs);
    let corner = Corner::rear(inputs.side);
    let hub = look.place(Field::ArmHub)?;
    let bolt = look.attempt(|look| {
        let at = look.side_point(Field::StopBoltAt)?;
        let at = Place { x: at.x, y: hub.y, z: at.z };
        let clearance: Length = look.get(Field::StopBoltClearance)?;
        Some((at, clearance, look.get::<Length>(Field::StopBoltRadius)?))
    });
    let holes = [Field::PlateHoleFront, Field::PlateHoleRear];
    let angles = [
        ("hang now", look.attempt(|look| angles::hang_arm_at(look, State::Now))),
        ("hang at target", look.attempt(|look| angles::hang_arm_at(look, State::Target))),
        ("stop bolt clear", look.attempt(windows::stop_bolt_clear)),
        ("ride", look.attempt(model::ride_angle_or_stated)),
        ("full bump", look.attempt(windows::full_bump)),
    ];
    let states = angles.into_iter().filter_map(|(name, angle)| {
        let angle = angle?;
        Some(SceneState { name, angle, pose: look.attempt(|look| pose(look, angle)) })
    });
    Some(CornerScene {
        corner,
        hub,
        outline: look.outline()?,
        holes: holes.iter().filter_map(|hole| look.plate_point(*hole)).collect(),
        tyre_radius: look.get_optional(Field::TyreRadius),
        stop_bolt: bolt,
        damper_body: look.attempt(|look| look.place(Field::DamperBodyEye)),
        states: states.collect(),
        windows: named_windows(corner, out),
        splines: splines_scene(&look, corner, out),
    })
}

/// What holds at one plate angle of one rear corner: what fits there and by how much, what the jack
/// has to bear, and the corner drawn with the arm in that position. `assessed` is what the car file
/// leads to. Not a part of the assessment: it answers a question somebody asks.
///
/// # Valid for
/// Any angle; what the arm cannot come to has no force and no place.
pub fn at_angle(car: &CarFile, assessed: &Assessment, side: Side, angle: Angle) -> Assessment {
    let inputs = Inputs::from_car(car, side);
    let mut waiting = Waiting::default();
    let mut bench = Bench::corner(&inputs, &mut waiting);
    windows::at(&mut bench, angle);
    let (set, _) = stands::read(car, &mut Vec::new());
    raising::at(&mut bench, assessed, set.as_ref(), angle);
    let findings = bench.findings;
    let look = Look::plain(&inputs);
    let corner = Corner::rear(side);
    let scene = assessed.corners.iter().find(|scene| scene.corner == corner).cloned();
    let corners = scene.map(|mut scene| {
        let pose = look.attempt(|look| pose(look, angle));
        scene.states.push(SceneState { name: "here", angle, pose });
        scene
    });
    Assessment {
        car: assessed.car.clone(),
        findings,
        corners: corners.into_iter().collect(),
        ..Assessment::default()
    }
}

fn pose(look: &Look, angle: Angle) -> Option<Pose> {
    let linkage = model::linkage(look)?;
    let stance = look.ok(linkage.stance(model::at(angle)))?;
    let carried = |field| look.attempt(|look| look.place(field)).map(|at| stance.carry(at));
    Some(Pose {
        wheel_centre: stance.wheel_centre,
        contact: stance.contact,
        damper_arm: carried(Field::DamperArmEye),
        jack_point: carried(Field::ArmJackPoint),
    })
}

fn named_windows(corner: Corner, out: &Assessment) -> Vec<NamedWindow> {
    let of = Some(crate::Subject::Corner(corner));
    let names = [
        ("stop bolt", "window.stop-bolt"),
        ("damper", "window.damper"),
        ("hose", "window.hose"),
        ("cable", "window.cable"),
        ("half-shaft", "window.half-shaft"),
        ("plate bend", "window.plate-bend"),
    ];
    let found = names.into_iter().filter_map(|(name, id)| {
        let finding = out.find(id, of.as_ref())?;
        let end = |item: &Item, name| {
            item.get(name).and_then(Item::amount).and_then(|a| Angle::try_from(a).ok())
        };
        let spans = match finding.value.get("windows") {
            Some(list) => list.items().iter().map(|w| (end(w, "from"), end(w, "to"))).collect(),
            None => vec![(end(&finding.value, "from"), end(&finding.value, "to"))],
        };
        Some(NamedWindow { name, spans })
    });
    found.collect()
}

fn splines_scene(look: &Look, corner: Corner, out: &Assessment) -> Option<SplineScene> {
    let splines = look.attempt(model::splines)?;
    let choices = out.find("index.choices", Some(&crate::Subject::Corner(corner)))?;
    let best = choices.value.items().first()?;
    let teeth = |name| match best.get(name) {
        Some(Item::Count(count, _)) => i32::try_from(*count).ok(),
        _ => None,
    };
    let angle = |name| best.get(name).and_then(Item::amount).and_then(|a| Angle::try_from(a).ok());
    let (after, change, error) = (angle("angle")?, angle("change")?, angle("error")?);
    Some(SplineScene {
        side: corner.side(),
        anchor_teeth: splines.anchor_teeth(),
        plate_teeth: splines.plate_teeth(),
        anchor_move: teeth("anchor_teeth")?,
        plate_move: teeth("plate_teeth")?,
        now: after - change,
        after,
        target: after - error,
    })
}
