//! From the inputs of one corner to what `mechanics` computes with. Each function asks for all
//! it needs before it gives up, so that one pass finds every gap.

use std::rc::Rc;

use axlewright_book::{BushKind, Field, Hung, Lash, SpecWhat};
use axlewright_mechanics::arm::{ArmDesign, HolesMoved, PoseAt, TrailingArm};
use axlewright_mechanics::bar::{self, Bar, BarSize, FourNumbers, Section};
use axlewright_mechanics::level::{self, FlankReading, Held, PlateReading};
use axlewright_mechanics::lever::{LeverDesign, PlaneLever};
use axlewright_mechanics::linkage::{Linkage, Shift, Span};
use axlewright_mechanics::load::{Bush, Corner, Gas, Hanging, On, PlateOnBar, Weight};
use axlewright_mechanics::splines::{Ends, Splines};
use axlewright_mechanics::windows::Swept;
use axlewright_quantity::{Angle, Force, Length, Mass, Place, Ratio};

use crate::inputs::{Need, Slot};
use crate::look::Look;

/// The fitted bar in its anchor.
pub(crate) fn bar(look: &Look) -> Option<Bar> {
    look.part(|memo| &memo.bar, bar_anew)
}

fn bar_anew(look: &Look) -> Option<Bar> {
    let diameter = look.get::<Length>(Field::BarFittedDiameter);
    let bore = look.get::<Length>(Field::BarBore);
    let share = look.number_optional::<Ratio>(Slot::RateShare).unwrap_or(Ratio::one(1.0));
    if look.has(Field::BarRate) {
        let rate = look.get(Field::BarRate)?;
        let section = Section { diameter: diameter?, bore: bore? };
        return look.ok(Bar::with_rate(rate, section));
    }
    let bar = look.ok(Bar::new(bar_size(look)?))?;
    look.ok(bar.with_rate_share(share))
}

/// The fitted bar's measures.
pub(crate) fn bar_size(look: &Look) -> Option<BarSize> {
    let diameter = look.get::<Length>(Field::BarFittedDiameter);
    let bore = look.get::<Length>(Field::BarBore);
    let length = look.get::<Length>(Field::BarLength);
    let modulus = look.get(Field::BarShearModulus);
    Some(BarSize { diameter: diameter?, bore: bore?, length: length?, modulus: modulus? })
}

/// Whether the arm is known by its coordinates.
pub(crate) fn has_arm(look: &Look) -> bool {
    look.has(Field::ArmInnerPivot) || look.has(Field::ArmWheelCentre)
}

/// The arm by its coordinates.
pub(crate) fn arm_linkage(look: &Look) -> Option<TrailingArm> {
    look.part(|memo| &memo.arm, arm_anew)
}

fn arm_anew(look: &Look) -> Option<TrailingArm> {
    look.ok(TrailingArm::new(arm_design(look)?))
}

/// The arm's measures.
pub(crate) fn arm_design(look: &Look) -> Option<ArmDesign> {
    let hub = look.place(Field::ArmHub);
    let inner_pivot = look.place(Field::ArmInnerPivot);
    let hole_front = look.plate_point(Field::PlateHoleFront);
    let hole_rear = look.plate_point(Field::PlateHoleRear);
    let wheel_centre = look.place(Field::ArmWheelCentre);
    let camber = look.get::<Angle>(Field::ArmCamber);
    let toe = look.get::<Angle>(Field::ArmToe);
    let tyre_radius = look.get::<Length>(Field::TyreRadius);
    let design_angle = measured_at(look);
    Some(ArmDesign {
        hub: hub?,
        inner_pivot: inner_pivot?,
        hole_front: hole_front?,
        hole_rear: hole_rear?,
        w_moves: holes_moved(look),
        design_angle: design_angle?,
        wheel_centre: wheel_centre?,
        camber: camber?,
        toe: toe?,
        tyre_radius: tyre_radius?,
    })
}

/// Which holes the eccentric moves that moves any up and down; both until it is said.
fn holes_moved(look: &Look) -> HolesMoved {
    let word = |field| match look.optional(field) {
        Some(axlewright_book::Value::Word(word)) => axlewright_book::Shift::from_word(word),
        _ => None,
    };
    let words = [word(Field::EccentricsFrontShifts), word(Field::EccentricsRearShifts)];
    let of = |shift| words.contains(&Some(shift));
    if of(axlewright_book::Shift::FrontAlongW) {
        HolesMoved::Front
    } else if of(axlewright_book::Shift::RearAlongW) {
        HolesMoved::Rear
    } else {
        HolesMoved::Both
    }
}

/// The plate angle at which the places on the arm were measured.
fn measured_at(look: &Look) -> Option<Angle> {
    look.get_optional(Field::ArmAt).or_else(|| look.get(Field::RidePlateAngle))
}

/// The arm as a plain lever about the bar's axis.
fn lever(look: &Look) -> Option<PlaneLever> {
    look.ok(PlaneLever::new(lever_design(look)?))
}

/// The plain lever's measures.
pub(crate) fn lever_design(look: &Look) -> Option<LeverDesign> {
    let reach = look.get::<Length>(Field::LeverHubToWheel);
    let ride_angle = look.get::<Angle>(Field::RidePlateAngle);
    let trim_at_ride = look.spec::<Length>(SpecWhat::Trim);
    // The origin is on the bar axis. Where the hub is across the car changes no plain lever, but
    // the whole car stands on it.
    let out = look.get_optional(Field::LeverHalfTrack).unwrap_or(Length::ZERO);
    let hub = Place { y: out, ..Place::mm(0.0, 0.0, 0.0) };
    // A lever's wheel stays upright, so the radius moves the contact and changes no slope.
    let tyre_radius = look.get_optional(Field::TyreRadius).unwrap_or(Length::mm(300.0));
    Some(LeverDesign {
        hub,
        reach: reach?,
        ride_angle: ride_angle?,
        trim_at_ride: trim_at_ride?,
        tyre_radius,
    })
}

/// What carries the wheel: the arm where its coordinates are known, else the lever.
pub(crate) fn linkage(look: &Look) -> Option<Linkage> {
    look.part(|memo| &memo.linkage, linkage_anew)
}

fn linkage_anew(look: &Look) -> Option<Linkage> {
    if has_arm(look) {
        arm_linkage(look).map(Linkage::from)
    } else {
        lever(look).map(Linkage::from)
    }
}

/// The linkage over all it reaches, eccentrics in the middle.
pub(crate) fn swept(look: &Look) -> Option<Rc<Swept>> {
    look.part(
        |memo| &memo.swept,
        |look| look.ok(Swept::new(linkage(look)?, Shift::default())).map(Rc::new),
    )
}

/// A part that spans body and arm, by coordinates, by three lengths, or not at all.
fn span(look: &Look, [body, arm, lengths]: [Field; 3]) -> Option<Span> {
    if !look.has(body) && !look.has(arm) && look.has(lengths) {
        return look.lengths_optional(lengths).map(Span::Lengths);
    }
    if !has_arm(look) && look.has(lengths) {
        return look.lengths_optional(lengths).map(Span::Lengths);
    }
    if !has_arm(look) {
        // Coordinates on the arm mean nothing to a plain lever: the three lengths are the way.
        return look.missing(Need::Field(lengths));
    }
    let (body, arm_at_design) = (look.place(body), look.place(arm));
    Some(Span::Points { body: body?, arm_at_design: arm_at_design? })
}

/// The damper, eye to eye.
pub(crate) fn damper(look: &Look) -> Option<Span> {
    span(look, [Field::DamperBodyEye, Field::DamperArmEye, Field::DamperLengths])
}

/// The brake hose.
pub(crate) fn hose(look: &Look) -> Option<Span> {
    span(look, [Field::HoseBodyEnd, Field::HoseArmEnd, Field::HoseLengths])
}

/// The half-shaft from joint to joint, where its lengths were read in place of coordinates.
pub(crate) fn shaft_lengths(look: &Look) -> Option<Span> {
    if has_arm(look) && look.has(Field::HalfShaftInnerJoint) {
        return None;
    }
    look.lengths_optional(Field::HalfShaftLengths).map(Span::Lengths)
}

/// The handbrake cable.
pub(crate) fn cable(look: &Look) -> Option<Span> {
    span(look, [Field::CableBodyEnd, Field::CableArmEnd, Field::CableLengths])
}

/// What the damper's gas does; nothing for a damper written as without gas.
pub(crate) fn gas(look: &Look) -> Option<Option<Gas>> {
    let force = look.get::<Force>(Field::DamperFittedGas)?;
    if force == Force::ZERO {
        return Some(None);
    }
    Some(Some(Gas { span: gas_span(look)?, force }))
}

/// The line along which a damper's gas pushes.
fn gas_span(look: &Look) -> Option<Span> {
    let by_lever = !has_arm(look) && !look.has(Field::DamperLengths);
    if !by_lever {
        return damper(look);
    }
    look.get::<Length>(Field::LeverHubToDamper).map(|reach| Span::Upright { reach })
}

/// What the original damper's gas does; nothing where it is not known, or was none.
pub(crate) fn original_gas(look: &Look) -> Option<Gas> {
    let force = look.get_optional::<Force>(Field::DamperOriginalGas)?;
    if force == Force::ZERO {
        return None;
    }
    // That it is not known opens no gap: the fitted damper asks for its place itself.
    Some(Gas { span: look.attempt(gas_span)?, force })
}

/// The rubber bush, if the hub is carried by one.
pub(crate) fn bush(look: &Look) -> Option<Option<Bush>> {
    let kind = look.word(Field::BushKind)?;
    if kind != BushKind::Rubber.word() {
        return Some(None);
    }
    let (rate, neutral) = (look.get(Field::BushRate), look.get(Field::BushNeutralAngle));
    Some(Some(Bush { rate: rate?, neutral: neutral? }))
}

/// The corner as it stands on the road.
pub(crate) fn corner(look: &Look) -> Option<Corner> {
    look.part(|memo| &memo.corner, corner_anew)
}

fn corner_anew(look: &Look) -> Option<Corner> {
    let (bar, linkage, gas, bush) = (bar(look), linkage(look), gas(look), bush(look));
    Some(Corner {
        linkage: linkage?,
        bar_rate: bar?.rate(),
        gas: gas?,
        bush: bush?,
        shift: Shift::default(),
    })
}

/// The corner with no damper's push, as it hangs on the stands while it is put together.
pub(crate) fn corner_without_gas(look: &Look) -> Option<Corner> {
    look.part(|memo| &memo.corner_without_gas, corner_without_gas_anew)
}

fn corner_without_gas_anew(look: &Look) -> Option<Corner> {
    let (bar, linkage, bush) = (bar(look), linkage(look), bush(look));
    let (linkage, bar_rate) = (linkage?, bar?.rate());
    Some(Corner { linkage, bar_rate, gas: None, bush: bush?, shift: Shift::default() })
}

/// The load the spring carries at ride: corner weight less what the bar does not carry.
pub(crate) fn spring_load(look: &Look) -> Option<Force> {
    let weight = look.get::<Mass>(Field::LoadCornerWeight);
    let unsprung = look.get::<Mass>(Field::LoadUnsprung);
    let (weight, unsprung) = (weight?, unsprung?);
    if weight <= unsprung {
        return look.fault("the corner weight is not more than its unsprung part");
    }
    Some((weight - unsprung).weight())
}

/// The trim the manual asks for, in the load it asks it for.
pub(crate) fn trim(look: &Look) -> Option<Length> {
    if look.inputs.load_state.is_none() {
        look.missing::<()>(Need::LoadState);
    }
    let trim = look.spec(SpecWhat::Trim);
    look.inputs.load_state.as_ref().and(trim)
}

/// The plate angle at that trim.
pub(crate) fn ride_angle(look: &Look) -> Option<Angle> {
    look.part(|memo| &memo.ride_angle, ride_angle_anew)
}

fn ride_angle_anew(look: &Look) -> Option<Angle> {
    let (linkage, trim) = (linkage(look), trim(look));
    look.ok(linkage?.angle_at_trim(trim?, Shift::default()))
}

/// The plate angle at ride where that much is known, else the stated one.
pub(crate) fn ride_angle_or_stated(look: &Look) -> Option<Angle> {
    look.attempt(ride_angle).or_else(|| look.get(Field::RidePlateAngle))
}

/// The free angle this car must hang at: it settles to the manual's trim once new bars and
/// bushes have given what they give.
pub(crate) fn free_target(look: &Look) -> Option<Angle> {
    look.part(|memo| &memo.free_target, free_target_anew)
}

fn free_target_anew(look: &Look) -> Option<Angle> {
    let (corner, load, trim) = (corner(look), spring_load(look), trim(look));
    let settling = look.get::<Length>(Field::LoadSettling);
    let (corner, load) = (corner?, load?);
    let angle = look.ok(corner.angle_at_trim(trim? + settling?))?;
    look.ok(corner.free_angle_for(angle, load))
}

/// The free angle once new parts have settled: in balance with the load at the manual's trim. Where
/// that much is not known, the one to aim for.
pub(crate) fn free_settled(look: &Look) -> Option<Angle> {
    look.part(|memo| &memo.free_settled, free_settled_anew)
}

fn free_settled_anew(look: &Look) -> Option<Angle> {
    let settled = |look: &Look| {
        let (corner, load, trim) = (corner(look), spring_load(look), trim(look));
        let (corner, load) = (corner?, load?);
        let angle = look.ok(corner.angle_at_trim(trim?))?;
        look.ok(corner.free_angle_for(angle, load))
    };
    look.attempt(settled).or_else(|| free_goal(look))
}

/// The diameter of the bar the manual's free angle was written for.
pub(crate) fn manual_bar(look: &Look) -> Option<Length> {
    look.number_optional(Slot::SpecBar).or_else(|| look.get(Field::BarOriginalDiameter))
}

/// The manual's free angle on the reference line. Where the row does not say its seat, it is
/// taken as printed: a change of bar moves it by the same on any seat.
pub(crate) fn manual_free(look: &Look) -> Option<Angle> {
    let printed = look.spec::<Angle>(SpecWhat::FreeAngle)?;
    Some(printed - look.inputs.spec_seat.unwrap_or(Angle::ZERO))
}

/// The solid bar as stiff as the fitted one: (d⁴ − bore⁴)^¼. Solid until a bore is known.
pub(crate) fn as_if_solid(look: &Look) -> Option<Length> {
    let outside = look.get::<Length>(Field::BarFittedDiameter)?;
    let bore = look.get_optional::<Length>(Field::BarBore).unwrap_or(Length::ZERO);
    if bore == Length::ZERO {
        return Some(outside);
    }
    if outside <= bore {
        return look.fault("the bore is not less than the bar's diameter");
    }
    let fourth = outside.to_mm().powi(4) - bore.to_mm().powi(4);
    Some(Length::mm(fourth.sqrt().sqrt()))
}

/// The free angle after a bar change, from four numbers; with a hollow bar its bore is a fifth.
pub(crate) fn four_numbers(look: &Look) -> Option<Angle> {
    let manual_free = manual_free(look);
    let ride = look.get::<Angle>(Field::RidePlateAngle);
    let old_diameter = manual_bar(look);
    let new_diameter = as_if_solid(look);
    let angle = look.ok(bar::free_angle_after_bar_change(FourNumbers {
        manual_free: manual_free?,
        ride: ride?,
        old_diameter: old_diameter?,
        new_diameter: new_diameter?,
    }))?;
    Some(angle + look.number_optional(Slot::FourNumbersModel).unwrap_or(Angle::ZERO))
}

/// The free angle to aim for: the full one, or the one from four numbers until then. A typed
/// target goes before both.
pub(crate) fn free_goal(look: &Look) -> Option<Angle> {
    if let Some(typed) = look.number_optional(Slot::Goal) {
        return Some(typed);
    }
    look.attempt(free_target).or_else(|| four_numbers(look))
}

/// The trim a free angle gives after settling.
pub(crate) fn settled_trim(look: &Look, free: Angle) -> Option<Length> {
    let settling = look.get::<Length>(Field::LoadSettling);
    Some(first_trim(look, free)? - settling?)
}

/// The trim a free angle gives when the car first stands on its wheels.
pub(crate) fn first_trim(look: &Look, free: Angle) -> Option<Length> {
    let (corner, load) = (corner(look), spring_load(look));
    let (corner, load) = (corner?, load?);
    let angle = look.ok(corner.angle_for(free, load))?;
    look.ok(corner.trim(angle))
}

/// The plate angle that was read, on the loaded flanks, and what then hung on the bar.
fn plate_angle_read(look: &Look) -> Option<(Angle, Held)> {
    let shown = look.number::<Angle>(Slot::PlateReading, Need::PlateReading);
    let gauge_offset = look.number::<Angle>(Slot::GaugeOffset, Need::Level);
    let body_slope = look.number::<Angle>(Slot::BodySlope, Need::Level);
    let facts = look.inputs.reading;
    let (mut seat, mut held, mut arrow) = (facts.seat, None, None);
    if shown.is_some() {
        seat = facts.seat.or_else(|| look.missing(Need::ReadingSeat));
        arrow = facts.arrow.or_else(|| look.missing(Need::ReadingArrow));
        held = match facts.lash {
            Some(Lash::Lifted) => Some(Held::Lifted),
            Some(Lash::Hanging) => Some(Held::Hanging),
            None => look.missing(Need::ReadingLash),
        };
        if facts.hung.is_none() {
            look.missing::<()>(Need::ReadingHung);
        }
    }
    let lash = match held {
        Some(Held::Hanging) => look.get::<Angle>(Field::SplinesLash),
        _ => Some(Angle::ZERO),
    };
    let arrow = match arrow? {
        axlewright_book::Arrow::Nose => level::Arrow::Nose,
        axlewright_book::Arrow::Tail => level::Arrow::Tail,
    };
    let reading = PlateReading {
        shown: shown?,
        arrow,
        gauge_offset: gauge_offset?,
        body_slope: body_slope?,
        seat: seat?,
    };
    let angle = look.ok(reading.plate_angle())?;
    let flank = FlankReading { angle, lash: lash?, held: held? };
    Some((look.ok(flank.on_loaded_flank())?, held?))
}

/// The unloaded bar's plate angle as the teeth stand now: what hung on the bar is taken out.
/// An angle typed as such goes before it.
pub(crate) fn free_now(look: &Look) -> Option<Angle> {
    look.part(|memo| &memo.free_now, free_now_anew)
}

fn free_now_anew(look: &Look) -> Option<Angle> {
    if let Some(typed) = look.number_optional(Slot::Start) {
        return Some(typed);
    }
    let (angle, held) = plate_angle_read(look)?;
    let hung = look.inputs.reading.hung.or_else(|| look.missing(Need::ReadingHung))?;
    // Lifted until the lash is just taken up, the hand carries everything and the bar nothing;
    // unless a rubber bush presses the tail up harder than the weight pulls it down: then the
    // splines lie on those flanks by themselves, and the bar bears what is left over.
    if held == Held::Lifted {
        if bush(look)?.is_none() {
            return Some(angle);
        }
        let left_alone = look.ok(plate_on_bar(look)?.free_from_hanging(angle))?;
        return Some(angle.max(left_alone));
    }
    match hung {
        Hung::Plate => look.ok(plate_on_bar(look)?.free_from_hanging(angle)),
        Hung::PlateAndArm => {
            let (corner, weights) = (corner_without_gas(look), arm_weights(look));
            let hanging = Hanging { weights: &weights?, damper: false };
            look.ok(corner?.free_from_hanging(angle, &hanging))
        }
        Hung::PlateArmAndDamper => {
            let (corner, weights) = (corner(look), arm_weights(look));
            let hanging = Hanging { weights: &weights?, damper: true };
            look.ok(corner?.free_from_hanging(angle, &hanging))
        }
    }
}

/// The plate alone on the bar.
pub(crate) fn plate_on_bar(look: &Look) -> Option<PlateOnBar> {
    let (bar, bush) = (bar(look), bush(look));
    let mass = look.get::<Mass>(Field::PlateMass);
    let centre = look.plate_point(Field::PlateMassAt);
    Some(PlateOnBar { bar_rate: bar?.rate(), bush: bush?, mass: mass?, centre: centre? })
}

/// Plate and arm, as they hang on the bar.
pub(crate) fn arm_weights(look: &Look) -> Option<Vec<Weight>> {
    let plate_mass = look.get::<Mass>(Field::PlateMass);
    let plate_at = look.plate_point(Field::PlateMassAt);
    let arm_mass = look.get::<Mass>(Field::ArmMass);
    let arm_at = look.place(Field::ArmMassAt);
    Some(vec![
        Weight { mass: plate_mass?, on: On::Plate(plate_at?) },
        Weight { mass: arm_mass?, on: On::Arm(arm_at?) },
    ])
}

/// Where plate and arm hang for a free angle, no damper fitted.
pub(crate) fn hang_arm(look: &Look, free: Angle) -> Option<Angle> {
    let (corner, weights) = (corner_without_gas(look), arm_weights(look));
    let hanging = Hanging { weights: &weights?, damper: false };
    look.ok(corner?.hang(free, &hanging))
}

/// Both ends' teeth.
pub(crate) fn splines(look: &Look) -> Option<Splines> {
    let anchor = look.count(Field::SplinesAnchorTeeth);
    let plate = look.count(Field::SplinesPlateTeeth);
    look.ok(Splines::new(anchor?, plate?))
}

/// Which ends may be moved; by teeth at both unless the file says otherwise.
pub(crate) fn ends(look: &Look) -> Ends {
    use axlewright_book::Adjuster;
    let word = match look.optional(Field::SplinesAdjuster) {
        Some(axlewright_book::Value::Word(word)) => Adjuster::from_word(word),
        _ => None,
    };
    match word {
        Some(Adjuster::AnchorOnly) => Ends::AnchorOnly,
        Some(Adjuster::PlateOnly) => Ends::PlateOnly,
        _ => Ends::Both,
    }
}

/// The linkage's place at a plate angle, eccentrics in the middle.
pub(crate) const fn at(angle: Angle) -> PoseAt {
    PoseAt::angle(angle)
}
