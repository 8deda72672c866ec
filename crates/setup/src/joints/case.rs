//! One joint, read as far as it can be: what is missing becomes a gap, what cannot be a fault.

use axlewright_book::{
    CarFile, Eccentric, Entry, Joint, JointKind, Locking, Pick, Position, Safety, Spec, TorqueUnit,
    Value,
};
use axlewright_mechanics::joints::engagement::{Engagement, Into};
use axlewright_mechanics::joints::sequence::Spot;
use axlewright_mechanics::joints::slip::FrictionJoint;
use axlewright_mechanics::joints::warnings::PlatingRecord;
use axlewright_mechanics::joints::{
    Adapter, Bolt, Class, Face, JointError, Layout, Strength, Surface, Thread,
};
use axlewright_quantity::{Amount, Angle, Force, Length, Ratio, Side, Spread, Torque};

use super::gaps::{Key, Waiting};
use super::scene::Nose;
use super::setting::{self, Reach};
use super::strain::{self, Strain};
use super::wrenches::Owned;
use crate::finding::Subject;

/// The torque the list asks for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Listed {
    pub(super) torque: Torque,
    /// As written; nothing where it was computed from a wanted preload.
    pub(super) written: Option<String>,
    /// How far off the list lets it be, if it says so.
    pub(super) tolerance: Option<Torque>,
    /// Its standard uncertainty, if one was written.
    pub(super) u: Option<Torque>,
    pub(super) from: String,
}

/// A joint, typed; what is not known is not there.
#[derive(Debug, Clone)]
pub(super) struct Case<'a> {
    pub(super) of: Option<Subject>,
    /// What people call it, with its side.
    pub(super) name: String,
    pub(super) from: String,
    pub(super) unit: TorqueUnit,
    pub(super) wrenches: &'a [Owned],
    pub(super) thread: Option<Thread>,
    pub(super) class: Option<Class>,
    pub(super) strength: Option<Strength>,
    pub(super) bolt: Option<Bolt>,
    pub(super) count: Option<u32>,
    pub(super) layout: Option<Layout>,
    /// Where the nose of the car is, seen from the heads.
    pub(super) nose: Option<Nose>,
    pub(super) listed: Option<Listed>,
    /// The surface today.
    pub(super) now: Option<Surface>,
    /// The surface the list assumes.
    pub(super) then: Option<Surface>,
    pub(super) adapter: Option<Adapter>,
    /// The wrench's arm, of a wrench that states none of its own.
    pub(super) arm: Option<Length>,
    pub(super) position: Option<Position>,
    pub(super) kind: Option<JointKind>,
    pub(super) rub: Option<FrictionJoint>,
    pub(super) plating: Plating,
    pub(super) engagement: Option<(Into, Engagement)>,
    pub(super) locking: Option<Locking>,
    /// A part for one use, and whether it was used before.
    pub(super) one_time: Option<bool>,
    pub(super) reused: Option<bool>,
    pub(super) safety: Option<Safety>,
    pub(super) eccentric: Option<Eccentric>,
    pub(super) caution: Option<String>,
    /// The wrench to take and what to set on it.
    pub(super) reach: Option<Reach<'a>>,
    /// What the torque does to the bolt.
    pub(super) strain: Option<Strain>,
    /// Why nothing is told to be set on a wrench, though the list has a torque.
    pub(super) withheld: Option<String>,
}

/// What is known of plating.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Plating {
    NotSaid,
    NotElectroplated,
    Electroplated(PlatingRecord),
}

impl<'a> Case<'a> {
    /// Nothing known yet.
    pub(super) fn new(name: &str, unit: TorqueUnit, wrenches: &'a [Owned]) -> Self {
        Self {
            of: None,
            name: name.to_owned(),
            from: "typed".to_owned(),
            unit,
            wrenches,
            thread: None,
            class: None,
            strength: None,
            bolt: None,
            count: None,
            layout: None,
            nose: None,
            listed: None,
            now: None,
            then: None,
            adapter: None,
            arm: None,
            position: None,
            kind: None,
            rub: None,
            plating: Plating::NotSaid,
            engagement: None,
            locking: None,
            one_time: None,
            reused: None,
            safety: None,
            eccentric: None,
            caution: None,
            reach: None,
            strain: None,
            withheld: None,
        }
    }

    /// How many bolts, as the formulas count them.
    pub(super) fn bolts(&self) -> usize {
        self.count.map_or(1, |count| usize::try_from(count).unwrap_or(1))
    }
}

/// A surface as people write it: `zinc, oiled` is `zinc-oiled`.
pub(super) fn surface(text: &str) -> Result<Surface, JointError> {
    let words: Vec<&str> = text.split([' ', ',', '_', '-']).filter(|w| !w.is_empty()).collect();
    // Where neither spelling is one, the message quotes the text as it was written.
    Surface::parse(&words.join("-")).or_else(|_| Surface::parse(text))
}

/// Whether a coat, as people write it, comes from a bath with a current through it. What is not
/// known to come without one counts as coming with it: that is the safe side.
pub(super) fn is_electroplated(text: &str) -> bool {
    const WITHOUT: [&str; 12] = [
        "none",
        "no",
        "not plated",
        "bare",
        "black",
        "paint",
        "oil",
        "phosph",
        "zinc flake",
        "hot dip",
        "hot-dip",
        "dip",
    ];
    let text = text.trim().to_lowercase();
    !WITHOUT.iter().any(|word| text.starts_with(word))
}

/// What the file says of one joint.
struct Reader<'a> {
    joint: &'a Joint,
    waiting: &'a mut Waiting,
}

impl Reader<'_> {
    fn missing<T>(&mut self, key: Key) -> Option<T> {
        self.waiting.missing(self.joint, key);
        None
    }

    /// The value, or a fault in words.
    fn ok<T>(&mut self, result: Result<T, JointError>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                self.waiting.fault(self.joint, &error);
                None
            }
        }
    }
}

fn quantity<Q: TryFrom<Amount>>(entry: Option<&Entry<Amount>>) -> Option<Q> {
    Q::try_from(entry?.value).ok()
}

/// Reads a joint of the car file.
pub(super) fn from_car<'a>(
    car: &CarFile,
    joint: &Joint,
    wrenches: &'a [Owned],
    waiting: &mut Waiting,
) -> Case<'a> {
    let unit = car.torque_unit.unwrap_or(TorqueUnit::NM);
    let mut case = Case::new(&name_of(joint), unit, wrenches);
    case.of = Some(Subject::Joint(joint.id.value.clone()));
    case.from = match joint.line {
        0 => "the method".to_owned(),
        line => format!("car file, line {line}"),
    };
    let mut reader = Reader { joint, waiting };
    read_bolt(&mut case, &mut reader);
    read_layout(&mut case, &mut reader);
    case.listed = listed(car, &mut reader);
    read_surfaces(&mut case, &mut reader);
    read_reach(&mut case, &mut reader);
    read_rest(&mut case, &mut reader);
    case.reach = reader.ok(setting::reach(&case)).flatten();
    case.strain = reader.ok(strain::strain(&case)).flatten();
    case.withheld = wrong_row(joint).or_else(|| setting::over_yield(&case));
    case
}

/// Something in the joint's row that changes the setting and could not be read: left out, another
/// figure would be told.
fn wrong_row(joint: &Joint) -> Option<String> {
    if lacks_extension(joint) {
        return Some(
            "its row has the angle of an extension and not its length, which changes the setting: \
             measure it first"
                .to_owned(),
        );
    }
    let first = joint.unread.first()?;
    Some(format!(
        "`{first}` in its row cannot be read and would change the setting: put it right first"
    ))
}

/// Whether an extension is spoken of whose length is not known.
fn lacks_extension(joint: &Joint) -> bool {
    joint.adapter.is_none() && joint.adapter_angle.is_some() && joint.unread.is_empty()
}

/// What people call it, with its side.
pub(super) fn name_of(joint: &Joint) -> String {
    let name = joint.called();
    match joint.side {
        Some(Side::Left) => format!("{name}, left"),
        Some(Side::Right) => format!("{name}, right"),
        None => name.to_owned(),
    }
}

fn read_bolt(case: &mut Case, reader: &mut Reader) {
    let joint = reader.joint;
    case.thread = match &joint.thread {
        Some(thread) => reader.ok(Thread::parse(&thread.value)),
        None => reader.missing(Key::Thread),
    };
    case.class = match &joint.class {
        Some(class) => reader.ok(Class::parse(&class.value)),
        None => reader.missing(Key::Class),
    };
    let Some(thread) = case.thread else { return };
    case.strength = case.class.and_then(|class| reader.ok(class.strength(&thread)));
    let outer = quantity::<Length>(joint.head_width.as_ref());
    let hole = quantity::<Length>(joint.hole.as_ref());
    let face = match (Face::hexagon(&thread), outer, hole) {
        (Ok(face), None, None) => Some(face),
        (Ok(face), outer, hole) => reader.ok(Face::new(
            outer.unwrap_or_else(|| face.outer()),
            hole.unwrap_or_else(|| face.hole()),
        )),
        (Err(_), Some(outer), Some(hole)) => reader.ok(Face::new(outer, hole)),
        (Err(_), None, _) => reader.missing(Key::HeadWidth),
        (Err(_), _, None) => reader.missing(Key::Hole),
    };
    case.bolt = face.and_then(|face| reader.ok(Bolt::new(thread, face)));
}

fn read_layout(case: &mut Case, reader: &mut Reader) {
    let joint = reader.joint;
    case.count = joint.bolt_count();
    if case.count.is_none() {
        let _: Option<()> = reader.missing(Key::Count);
    }
    case.layout = match &joint.layout {
        Some(layout) => {
            let spots = layout.value.iter().map(|at| Spot { x: at.x, y: at.y }).collect();
            reader.ok(Layout::new(spots))
        }
        None if case.count.is_some_and(|count| 2 < count) => reader.missing(Key::Layout),
        None => None,
    };
}

const DIFFER: &str = "several rows hold for this car and differ";

/// The torque of the joint's own row, else of the manual's row that holds for this car.
fn listed(car: &CarFile, reader: &mut Reader) -> Option<Listed> {
    let joint = reader.joint;
    let row = car.torque_row(joint);
    if let Some(entry) = &joint.torque {
        let torque = Torque::try_from(entry.value).ok()?;
        match row {
            Pick::One(spec) if spec.value.value != Value::Amount(entry.value) => {
                let why = "says something else than its own torque";
                reader.waiting.torque_rows(joint, why, &[spec]);
            }
            Pick::Overlap(rows) => reader.waiting.torque_rows(joint, DIFFER, &rows),
            _ => {}
        }
        let line = format!("car file, line {}", entry.line);
        let from = joint.torque_source.as_ref().map_or_else(
            || format!("{line}, no source named"),
            |source| format!("{} ({line})", source.value),
        );
        return Some(with_spread(torque, &entry.text, entry.spread, from));
    }
    match row {
        Pick::One(spec) => from_spec(spec),
        Pick::NoRow => reader.missing(Key::Torque),
        Pick::Overlap(rows) => {
            reader.waiting.torque_rows(joint, DIFFER, &rows);
            None
        }
        Pick::Hole(rows) => {
            reader.waiting.torque_rows(joint, "no row holds for this car", &rows);
            None
        }
        Pick::NoBuildNumber(rows) => {
            let why = "the car's build number, which picks, is not known";
            reader.waiting.torque_rows(joint, why, &rows);
            None
        }
    }
}

fn from_spec(spec: &Spec) -> Option<Listed> {
    let Value::Amount(amount) = spec.value.value else { return None };
    let torque = Torque::try_from(amount).ok()?;
    let line = format!("car file, line {}", spec.line);
    let from = spec.source.as_ref().map_or_else(
        || format!("{line}, no source named"),
        |source| format!("{} ({line})", source.value),
    );
    Some(with_spread(torque, &spec.value.text, spec.value.spread, from))
}

fn with_spread(torque: Torque, text: &str, spread: Option<Spread>, from: String) -> Listed {
    let (tolerance, u) = match spread {
        Some(Spread::Tolerance(half)) => (Torque::try_from(half).ok(), None),
        Some(other) => (None, Torque::try_from(other.standard_uncertainty()).ok()),
        None => (None, None),
    };
    Listed { torque, written: Some(text.to_owned()), tolerance, u, from }
}

fn read_surfaces(case: &mut Case, reader: &mut Reader) {
    let joint = reader.joint;
    case.now = match &joint.surface {
        Some(now) => reader.ok(surface(&now.value)),
        None => reader.missing(Key::Surface),
    };
    case.then = joint.list_surface.as_ref().and_then(|then| reader.ok(surface(&then.value)));
    let hard = case.strength.is_some_and(|strength| {
        use axlewright_mechanics::joints::warnings::PlatingBand;
        PlatingBand::of(strength.hardness_most) != PlatingBand::Free
    }) && case.class.is_some_and(|class| !class.is_nut());
    case.plating = match &joint.plated {
        None if hard => {
            let _: Option<()> = reader.missing(Key::Plated);
            Plating::NotSaid
        }
        None => Plating::NotSaid,
        Some(coat) if !is_electroplated(&coat.value) => Plating::NotElectroplated,
        Some(_) => {
            if hard && joint.process_record.is_none() {
                let _: Option<()> = reader.missing(Key::ProcessRecord);
            }
            Plating::Electroplated(match joint.process_record {
                Some(true) => PlatingRecord::ProvenProcess,
                _ => PlatingRecord::None,
            })
        }
    };
}

/// How the wrench gets there.
fn read_reach(case: &mut Case, reader: &mut Reader) {
    let joint = reader.joint;
    case.arm = quantity(joint.wrench_arm.as_ref());
    if lacks_extension(joint) {
        let _: Option<()> = reader.missing(Key::Adapter);
    }
    let Some(reach) = quantity::<Length>(joint.adapter.as_ref()) else { return };
    let angle = quantity::<Angle>(joint.adapter_angle.as_ref()).unwrap_or(Angle::ZERO);
    case.adapter = reader.ok(Adapter::new(reach, angle));
    let stated = |owned: &Owned| owned.wrench.arm().is_some();
    if case.arm.is_none() && !case.wrenches.is_empty() && !case.wrenches.iter().any(stated) {
        let _: Option<()> = reader.missing(Key::WrenchArm);
    }
}

fn read_rest(case: &mut Case, reader: &mut Reader) {
    let joint = reader.joint;
    case.position = joint.position.or_else(|| reader.missing(Key::Position));
    case.kind = joint.kind;
    if joint.kind == Some(JointKind::Friction) {
        case.rub = friction_joint(case, reader);
    }
    case.engagement = match (case.thread, case.class, quantity(joint.engagement.as_ref())) {
        (Some(thread), Some(class), Some(length)) => {
            // What a blind hole is cut into the file cannot say; steel asks for the least.
            let into = if joint.nut_class.is_some() { Into::Nut } else { Into::Steel };
            reader.ok(into.engagement(&thread, class, length)).map(|found| (into, found))
        }
        _ => None,
    };
    case.locking = joint.locking;
    case.one_time = joint.one_time;
    case.reused = joint.reused;
    if joint.one_time == Some(true) && joint.reused.is_none() {
        let _: Option<()> = reader.missing(Key::Reused);
    }
    case.nose = joint.side.zip(joint.heads).map(|(side, heads)| Nose::seen(side, heads));
    case.safety = joint.safety;
    case.eccentric = joint.eccentric;
    case.caution = joint.caution.as_ref().map(|caution| caution.value.clone());
}

fn friction_joint(case: &Case, reader: &mut Reader) -> Option<FrictionJoint> {
    let joint = reader.joint;
    let load = quantity::<Force>(joint.load.as_ref()).or_else(|| reader.missing(Key::Load));
    let faces = joint.faces.as_ref().map(|faces| usize::try_from(faces.value).unwrap_or(0));
    let faces = faces.or_else(|| reader.missing(Key::Faces));
    let friction = quantity::<Ratio>(joint.face_friction.as_ref())
        .or_else(|| reader.missing(Key::FaceFriction));
    case.count?;
    reader.ok(FrictionJoint::new(case.bolts(), faces?, friction?, load?))
}
