//! Values against each other: what cannot be so, seen without any mechanics.

use super::{Reader, outline};
use crate::car_file::{CarFile, Entry, Value};
use crate::field::Field;
use crate::problem::{ProblemKind, shown};
use crate::words::{BushKind, SpecWhat};
use axlewright_quantity::{Amount, Angle, Length, Place, PlatePoint, Side};
use std::ops::Range;

/// All that is found, with the span it is said of.
type Found = Vec<(ProblemKind, Range<usize>)>;

pub(super) fn together(reader: &mut Reader<'_>) {
    let mut found = Found::new();
    for side in Side::BOTH {
        let look = Look { car: &reader.car, side };
        look.bars(&mut found);
        look.loads(&mut found);
        look.dampers(&mut found);
        look.arm(&mut found);
        look.spans(&mut found);
        look.plate(&mut found);
    }
    // What is written once for both sides is found twice, and said once.
    let mut said = Found::new();
    for one in found {
        if !said.contains(&one) {
            said.push(one);
        }
    }
    for (kind, span) in said {
        reader.problem(kind, span);
    }
}

/// One side of the car.
#[derive(Clone, Copy)]
struct Look<'a> {
    car: &'a CarFile,
    side: Side,
}

/// A value and where it was written.
#[derive(Clone)]
struct At<T> {
    value: T,
    span: Range<usize>,
}

impl<'a> Look<'a> {
    fn entry(self, field: Field) -> Option<&'a Entry<Value>> {
        self.car.get(field, self.side)
    }
    fn amount(self, field: Field) -> Option<At<Amount>> {
        let value = self.car.amount(field, self.side)?;
        Some(At { value, span: self.entry(field)?.span.clone() })
    }
    fn length(self, field: Field) -> Option<At<Length>> {
        let At { value, span } = self.amount(field)?;
        Some(At { value: Length::try_from(value).ok()?, span })
    }
    fn place(self, field: Field) -> Option<At<Place>> {
        let value = self.car.place(field, self.side)?;
        Some(At { value, span: self.entry(field)?.span.clone() })
    }
    fn plate_point(self, field: Field) -> Option<At<PlatePoint>> {
        let value = self.car.plate_point(field, self.side)?;
        Some(At { value, span: self.entry(field)?.span.clone() })
    }

    /// The first must be less than the second.
    fn less(self, smaller: Field, greater: Field, why: &'static str, found: &mut Found) {
        let (Some(small), Some(great)) = (self.amount(smaller), self.amount(greater)) else {
            return;
        };
        if small.value.to_si() < great.value.to_si() {
            return;
        }
        let kind = ProblemKind::NotLess {
            smaller,
            small: shown(small.value),
            greater,
            great: shown(great.value),
            why,
        };
        found.push((kind, later(&small.span, &great.span)));
    }

    fn bars(self, found: &mut Found) {
        let why = "the bore is the hole along the bar; write \"0 mm\" for a solid one";
        self.less(Field::BarBore, Field::BarFittedDiameter, why, found);
        let measures = [Field::BarLength, Field::BarShearModulus].map(|f| self.entry(f));
        if let (Some(rate), [Some(_), Some(_)]) = (self.entry(Field::BarRate), measures) {
            found.push((ProblemKind::RateTwice, rate.span.clone()));
        }
        let (original, fitted) = (Field::BarOriginalDiameter, Field::BarFittedDiameter);
        if let (Some(original), Some(fitted)) = (self.length(original), self.length(fitted)) {
            let share = fitted.value / original.value;
            if !(0.6..=1.6).contains(&share) {
                let kind = ProblemKind::BarsFarApart {
                    original: shown(original.value.into()),
                    fitted: shown(fitted.value.into()),
                };
                found.push((kind, later(&original.span, &fitted.span)));
            }
        }
        let greased = self.car.word(Field::BushKind, self.side) == Some(BushKind::Greased.word());
        if let Some(rate) = self.amount(Field::BushRate)
            && greased
            && 0.0 < rate.value.to_si()
        {
            let kind = ProblemKind::GreasedWithRate { rate: shown(rate.value) };
            found.push((kind, rate.span));
        }
        self.free_angles(found);
    }

    fn free_angles(self, found: &mut Found) {
        let Some(ride) = self.car.angle(Field::RidePlateAngle, self.side) else { return };
        for spec in self.car.specs_of(SpecWhat::FreeAngle) {
            let Value::Amount(amount) = spec.value.value else { continue };
            let Ok(free) = Angle::try_from(amount) else { continue };
            if free <= ride {
                let (free, ride) = (shown(free.into()), shown(ride.into()));
                let kind = ProblemKind::FreeNotBelowRide { free, ride };
                found.push((kind, spec.value.span.clone()));
            }
        }
    }

    fn loads(self, found: &mut Found) {
        let why = "the unsprung part is a part of the corner weight";
        self.less(Field::LoadUnsprung, Field::LoadCornerWeight, why, found);
    }

    fn dampers(self, found: &mut Found) {
        use Field as F;
        let why = "closed is pushed in, open is pulled out";
        self.less(F::DamperOriginalClosed, F::DamperOriginalOpen, why, found);
        self.less(F::DamperFittedClosed, F::DamperFittedOpen, why, found);
        let original = [F::DamperOriginalRings, F::DamperOriginalRingHeight];
        self.rings(original, F::DamperOriginalClosed, F::DamperOriginalOpen, found);
        let fitted = [F::DamperFittedRings, F::DamperFittedRingHeight];
        self.rings(fitted, F::DamperFittedClosed, F::DamperFittedOpen, found);
        // At any other angle than ride the damper may well be off the car.
        if self.entry(F::ArmAt).is_some() {
            return;
        }
        let (Some(body), Some(arm)) = (self.place(F::DamperBodyEye), self.place(F::DamperArmEye))
        else {
            return;
        };
        let (closed, open) = (F::DamperFittedClosed, F::DamperFittedOpen);
        let (Some(closed), Some(open)) = (self.length(closed), self.length(open)) else { return };
        let apart = distance(body.value, arm.value);
        let reaches = closed.value <= apart && apart <= open.value;
        if !reaches && closed.value < open.value && Length::mm(1.0) <= apart {
            let [apart, closed, open] = [apart, closed.value, open.value].map(|l| shown(l.into()));
            let kind = ProblemKind::DamperOutOfReach { apart, closed, open };
            found.push((kind, later(&body.span, &arm.span)));
        }
    }

    fn rings(self, [rings, height]: [Field; 2], closed: Field, open: Field, found: &mut Found) {
        let Some(count) = self.car.count(rings, self.side) else { return };
        let Some(span) = self.entry(rings).map(|e| e.span.clone()) else { return };
        let lengths = [height, closed, open].map(|f| self.length(f).map(|l| l.value));
        let [Some(height), Some(closed), Some(open)] = lengths else { return };
        if closed < open && open <= closed + height * f64::from(count) {
            let [height, closed, open] = [height, closed, open].map(|l| shown(l.into()));
            let kind = ProblemKind::NoTravel { rings: count, height, closed, open };
            found.push((kind, span));
        }
    }

    fn arm(self, found: &mut Found) {
        let hub = self.place(Field::ArmHub);
        let wheel = self.place(Field::ArmWheelCentre);
        if let Some(hub) = &hub {
            let off = Length::mm(20.0);
            if off < hub.value.x.abs() || off < hub.value.z.abs() {
                let [x, z] = [hub.value.x, hub.value.z].map(|l| shown(l.into()));
                found.push((ProblemKind::HubOffAxis { x, z }, hub.span.clone()));
            }
        }
        if let (Some(hub), Some(pivot)) = (&hub, self.place(Field::ArmInnerPivot))
            && hub.value.y <= pivot.value.y
        {
            let kind = ProblemKind::PivotOutboard { pivot: out(pivot.value), hub: out(hub.value) };
            found.push((kind, pivot.span));
        }
        if let (Some(hub), Some(wheel)) = (&hub, &wheel) {
            if hub.value.x <= wheel.value.x {
                let [wheel_x, hub_x] = [wheel, hub].map(|p| shown(p.value.x.into()));
                let kind = ProblemKind::WheelNotBehind { wheel: wheel_x, hub: hub_x };
                found.push((kind, wheel.span.clone()));
            }
            if wheel.value.y < hub.value.y {
                let (wheel_y, hub_y) = (out(wheel.value), out(hub.value));
                let kind = ProblemKind::WheelInboard { wheel: wheel_y, hub: hub_y };
                found.push((kind, wheel.span.clone()));
            }
            self.lever(hub, wheel, found);
        }
        self.jack(hub.as_ref(), found);
        if let (Some(wheel), Some(joint)) = (&wheel, self.place(Field::HalfShaftInnerJoint))
            && wheel.value.y <= joint.value.y
        {
            let (joint_y, wheel_y) = (out(joint.value), out(wheel.value));
            let kind = ProblemKind::JointOutboard { joint: joint_y, wheel: wheel_y };
            found.push((kind, joint.span));
        }
    }

    /// The bar axis is where X starts, also where the hub is not measured.
    fn jack(self, hub: Option<&At<Place>>, found: &mut Found) {
        let Some(jack) = self.place(Field::ArmJackPoint) else { return };
        let hub = hub.map_or(Length::ZERO, |hub| hub.value.x);
        if hub <= jack.value.x {
            let [jack_x, hub] = [jack.value.x, hub].map(|x| shown(x.into()));
            found.push((ProblemKind::JackNotBehind { jack: jack_x, hub }, jack.span));
        }
    }

    fn lever(self, hub: &At<Place>, wheel: &At<Place>, found: &mut Found) {
        let Some(lever) = self.length(Field::LeverHubToWheel) else { return };
        let (dx, dz) = (wheel.value.x - hub.value.x, wheel.value.z - hub.value.z);
        let apart = Length::mm(dx.to_mm().hypot(dz.to_mm()));
        if apart * 0.03 < (apart - lever.value).abs() {
            let [lever_text, apart] = [lever.value, apart].map(|l| shown(l.into()));
            let kind = ProblemKind::LeverDiffers { lever: lever_text, apart };
            found.push((kind, lever.span));
        }
    }

    /// What reaches from the body to the arm.
    fn spans(self, found: &mut Found) {
        use Field as F;
        let pairs = [
            (F::DamperBodyEye, F::DamperArmEye, None),
            (F::HoseBodyEnd, F::HoseArmEnd, Some(F::HoseFreeLength)),
            (F::CableBodyEnd, F::CableArmEnd, Some(F::CableFreeLength)),
            (F::HalfShaftInnerJoint, F::ArmWheelCentre, None),
            (F::ArmHub, F::ArmWheelCentre, None),
        ];
        for (one, other, free) in pairs {
            let (Some(a), Some(b)) = (self.place(one), self.place(other)) else { continue };
            let apart = distance(a.value, b.value);
            if apart < Length::mm(1.0) {
                found.push((ProblemKind::SamePlace { one, other }, later(&a.span, &b.span)));
            }
            let at_ride = self.entry(F::ArmAt).is_none();
            let free = free.and_then(|key| self.length(key).map(|l| (key, l)));
            if let Some((key, free)) = free.filter(|(_, l)| at_ride && l.value < apart) {
                let [length, apart] = [free.value, apart].map(|l| shown(l.into()));
                found.push((ProblemKind::TooShort { key, length, apart }, free.span));
            }
        }
    }

    fn plate(self, found: &mut Found) {
        let front = self.plate_point(Field::PlateHoleFront);
        let rear = self.plate_point(Field::PlateHoleRear);
        if let (Some(front), Some(rear)) = (&front, &rear)
            && rear.value.u <= front.value.u
        {
            let [front_u, rear_u] = [front, rear].map(|p| shown(p.value.u.into()));
            let kind = ProblemKind::HolesSwapped { front: front_u, rear: rear_u };
            found.push((kind, later(&front.span, &rear.span)));
        }
        let Some(points) = self.car.outline(Field::PlateOutline, self.side) else { return };
        let Some(span) = self.entry(Field::PlateOutline).map(|e| e.span.clone()) else { return };
        if outline::area(points) < 1.0 {
            return found.push((ProblemKind::OutlineFlat, span));
        }
        if let Some((first, second)) = outline::crossing(points) {
            return found.push((ProblemKind::OutlineCrosses { first, second }, span));
        }
        if !outline::contains(points, PlatePoint::default()) {
            return found.push((ProblemKind::HubOutside, span));
        }
        let holes = [(Field::PlateHoleFront, front), (Field::PlateHoleRear, rear)];
        for (key, hole) in holes {
            if let Some(hole) = hole.filter(|h| !outline::contains(points, h.value)) {
                found.push((ProblemKind::HoleOutside { key }, hole.span));
            }
        }
    }
}

fn distance(a: Place, b: Place) -> Length {
    let [x, y, z] = [a.x - b.x, a.y - b.y, a.z - b.z].map(Length::to_mm);
    Length::mm(x.hypot(y).hypot(z))
}

/// Of two places in the text, the later: there the contradiction shows.
fn later(a: &Range<usize>, b: &Range<usize>) -> Range<usize> {
    if a.start < b.start { b.clone() } else { a.clone() }
}

/// How far out from the centre line, on either side.
fn out(place: Place) -> String {
    shown(place.y.into())
}
