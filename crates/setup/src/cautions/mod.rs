//! Everything that may hurt or kill, in one catalogue: what is told, how grave it is, by which id.
//! Terminal, sheet, page, starter file and dossier place a caution; its words stand here alone.
//!
//! | kind | where |
//! |---|---|
//! | the same for every car | the constants, and the lists of what stands before one act |
//! | with a figure of this car in it | functions, from `sign_slip` on; figures come as text |
//! | what follows from a car file | [`Assessment::cautions`](crate::Assessment::cautions) |
//!
//! The cautions of the steps are the method's, or the car file's own, and are not here. Where
//! nothing else is said, the words are common practice, no source.

mod found;

use axlewright_book::{Eccentric, Position, Safety};
use axlewright_quantity::Side;
use axlewright_sight::remark::{Remark, Weight};

use crate::finding::{Sighted, State, Subject};
use crate::joints::JointScene;

pub(crate) use found::add;

/// How grave a caution is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// To know.
    Note,
    /// May hurt, kill or break something.
    Caution,
    /// Not to go on before it is settled.
    Stop,
}

impl Severity {
    /// Its public word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Stop => "stop",
        }
    }
}

/// What may hurt or kill, said before the act.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Its id, a public name: `bar.wound`.
    pub id: &'static str,
    /// What it is about; `None` for the whole car, or for every car.
    pub of: Option<Subject>,
    /// How grave it is.
    pub severity: Severity,
    /// The words.
    pub words: String,
    /// How many bytes of the words stand out where there is bold type.
    head: usize,
}

impl Caution {
    fn new(id: &'static str, severity: Severity, head: &str, rest: &str) -> Self {
        let gap = if head.is_empty() || rest.is_empty() { "" } else { " " };
        let words = format!("{head}{gap}{rest}");
        Self { id, of: None, severity, words, head: head.len() }
    }

    pub(crate) fn about(mut self, of: Subject) -> Self {
        self.of = Some(of);
        self
    }

    /// The words that stand out, and the others.
    pub fn parts(&self) -> (&str, &str) {
        self.words.split_at_checked(self.head).unwrap_or((&self.words, ""))
    }
}

/// A caution that is the same for every car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fixed {
    /// Its id, a public name.
    pub id: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// The words that stand out where there is bold type.
    pub head: &'static str,
    /// The others.
    pub rest: &'static str,
}

impl Fixed {
    /// As one of many.
    pub fn caution(&self) -> Caution {
        Caution::new(self.id, self.severity, self.head, self.rest)
    }

    /// All of its words.
    pub fn words(&self) -> String {
        self.caution().words
    }
}

const fn fixed(
    id: &'static str,
    severity: Severity,
    head: &'static str,
    rest: &'static str,
) -> Fixed {
    Fixed { id, severity, head, rest }
}

// ---- The same for every car ----

/// Before everything.
pub const WORK: Fixed = fixed(
    "work.can-kill",
    Severity::Caution,
    "Work under a car can kill.",
    "The maker's manual, the law where you live and people licensed for this work come first. \
     Nothing here allows what they forbid; where they differ from it, stop and ask why.",
);
/// Before a body is lifted or measured.
pub const ON_STANDS: Fixed = fixed(
    "car.on-stands",
    Severity::Caution,
    "Car on stands, never on the jack.",
    "Stands on firm, level ground carry the car; the jack carries the arm and nothing else.",
);
/// Before a tape or a gauge goes under a body.
pub const MEASURING: Fixed = fixed(
    "car.measuring",
    Severity::Caution,
    "",
    "Nothing is measured under a car that hangs on a jack.",
);
/// Before anything that holds a bar is touched.
pub const BAR_WOUND: Fixed = fixed(
    "bar.wound",
    Severity::Caution,
    "A wound-up torsion bar can kill.",
    "It gives its energy back at once. Unload it before a tooth is moved or any bolt of cover, \
     plate or pivot is slackened. The stop bolt comes out only with the plate raised clear of it, \
     and the plate is held while it is out.",
);
/// Before plate or arm can move.
pub const SWING: Fixed = fixed(
    "bar.swing",
    Severity::Caution,
    "Keep the swing clear.",
    "No person and no thing in the way of plate and arm, above or below; no one under the car \
     while the arm is raised.",
);
/// Before an arm is jacked.
pub const JACK_LIFTS: Fixed = fixed(
    "jack.lifts-the-car",
    Severity::Caution,
    "The jack can lift the car off a stand.",
    "Look at the forces of raising and put the ballast on first.",
);
/// Before a wound bar is raised.
pub const JACK_SLIPS: Fixed = fixed(
    "jack.slips",
    Severity::Caution,
    "If the jack slips, the arm is thrown down.",
    "Raised, the bar winds up all the way. Keep out of the arm's path and block it before you \
     reach in; jack at the stated point only, and have the stop bolt at hand.",
);
/// Before the car moves.
pub const BRAKES: Fixed = fixed(
    "car.brakes",
    Severity::Caution,
    "Brakes",
    "are checked by a competent person before the car moves.",
);
/// Before a plan is followed.
pub const NOT_AS_WRITTEN: Fixed = fixed(
    "order.not-as-written",
    Severity::Caution,
    "If a step does not go as written, stop:",
    "do not force it, and do not skip it.",
);
/// Before every way back.
pub const UNDOING: Fixed = fixed(
    "order.undoing",
    Severity::Caution,
    "Undoing is not doing backwards in a hurry:",
    "read the caution of each step again. A wound bar is unloaded before any bolt of cover, plate \
     or pivot is slackened: once the stop bolt is out, the arm is let down at once and slowly, \
     until it hangs and the jack comes free.",
);
/// Before anyone goes under a car on its stands.
pub const ROCK_IT: Fixed = fixed(
    "stands.rock-it",
    Severity::Caution,
    "Rock the car by hand before anyone goes under it;",
    "chock what can roll.",
);
/// Beside the figures of the stands.
pub const NO_PROOF: Fixed = fixed(
    "stands.no-proof",
    Severity::Note,
    "",
    "Nothing here says that it is safe: it says what is known to bring it down.",
);
/// Before the car is driven on its new wheels.
pub const NOT_TORQUED: Fixed = fixed(
    "wheels.not-torqued",
    Severity::Caution,
    "",
    "Joints that wait for the wheels on the floor are not torqued yet: drive no further than it \
     takes to settle.",
);
/// Before the car is rolled.
pub const HANDS_OFF: Fixed = fixed(
    "wheels.hands-off",
    Severity::Caution,
    "",
    "Hands off the wheels while the car is rocked or rolled.",
);
/// Before every torque.
pub const MANUAL_DECIDES: Fixed = fixed(
    "torque.manual-decides",
    Severity::Caution,
    "The maker's manual decides",
    "on torque, order and position; what is computed here is information.",
);
/// Before a joint that holds brake, wheel or steering.
pub const SECOND_PERSON: Fixed = fixed(
    "torque.second-person",
    Severity::Caution,
    "",
    "Brake, wheel and steering joints are read by a second person and checked by a competent one \
     before the car moves.",
);
/// Before the first bolt of a joint.
pub const PASSES: Fixed = fixed(
    "torque.passes",
    Severity::Note,
    "",
    "All bolts of a joint to snug first, then in order, pass by pass. A bolt that turns on while \
     the torque no longer rises is out: renew it.",
);
const AT_RIDE: Fixed = fixed(
    "torque.at-ride",
    Severity::Caution,
    "Rubber twists with the arm:",
    "those joints only at the ride angle; snug until then.",
);
const ON_WHEELS: Fixed = fixed(
    "torque.on-wheels",
    Severity::Caution,
    "Never pull so hard on a car on stands:",
    "those joints only with the wheels on the floor; snug until then.",
);
/// In place of a setting that would break the bolt.
pub const NO_SETTING: Fixed = fixed(
    "torque.over-yield",
    Severity::Stop,
    "No setting is told:",
    "this torque pulls the bolt past its yield. Look again at torque, unit, thread and class.",
);
/// Before a bar is fitted to the side it was not set for.
pub const WRONG_SIDE: Fixed = fixed(
    "bar.wrong-side",
    Severity::Caution,
    "",
    "A bar set for one side and wound the other way can break. If it has to be, say why, and the \
     log keeps it.",
);
/// What a build sheet is not.
pub const SHEET: Fixed = fixed(
    "sheet.no-inspection",
    Severity::Note,
    "",
    "This sheet calculates. It does not inspect, and it allows nothing.",
);
/// What a dossier is not.
pub const DOSSIER: Fixed = fixed(
    "dossier.no-inspection",
    Severity::Note,
    "",
    "This dossier tells what was written down. It does not inspect, and it allows nothing.",
);

// ---- What stands before one act ----

fn list(all: &[Fixed]) -> Vec<Caution> {
    all.iter().map(Fixed::caution).collect()
}

/// Before a bar is touched at all: the head of the sheet.
pub fn before_a_bar() -> Vec<Caution> {
    list(&[WORK, ON_STANDS, BAR_WOUND, SWING, JACK_LIFTS, BRAKES])
}

/// Before a tooth is moved.
pub fn before_teeth() -> Vec<Caution> {
    list(&[BAR_WOUND, SWING, ON_STANDS, WORK])
}

/// Before an arm is raised of which no figure is told.
pub fn before_raising() -> Vec<Caution> {
    list(&[JACK_LIFTS, JACK_SLIPS, ON_STANDS])
}

/// Before a plan is followed.
pub fn before_the_work() -> Vec<Caution> {
    list(&[WORK, ON_STANDS, BAR_WOUND, NOT_AS_WRITTEN])
}

/// Before a step is undone.
pub fn before_undoing() -> Vec<Caution> {
    list(&[UNDOING, SWING, ON_STANDS, WORK])
}

/// Before the car stands on its wheels.
pub fn before_wheels() -> Vec<Caution> {
    list(&[BRAKES, NOT_TORQUED, HANDS_OFF])
}

/// Before a wrench is set on one of these joints; none of them where it is one bolt alone.
pub fn before_a_wrench(joints: &[JointScene]) -> Vec<Caution> {
    let mut all = list(&[MANUAL_DECIDES, SECOND_PERSON, PASSES]);
    for (position, caution) in [(Position::Ride, AT_RIDE), (Position::WheelsDown, ON_WHEELS)] {
        let asked = joints.iter().any(|joint| joint.position == Some(position));
        all.extend(asked.then(|| caution.caution()));
    }
    all
}

/// How the arm stands when a joint gets its torque; nothing where that is not known.
pub fn arm(position: Option<Position>) -> Caution {
    let (head, rest) = match position {
        None => ("Arm: not known.", "Snug only; no final torque yet."),
        Some(Position::Any | Position::BarOut) => ("", "Arm: any position"),
        Some(Position::Hang) => ("Arm hanging,", "and only there; snug until then"),
        Some(Position::StopBoltClear) => {
            ("Arm raised clear of the stop bolt,", "and only there; snug until then")
        }
        Some(Position::Ride) => ("Arm at the ride angle,", "and only there; snug until then"),
        Some(Position::WheelsDown) => ("Wheels on the floor,", "and only there; snug until then"),
    };
    Caution::new("joint.arm", Severity::Caution, head, rest)
}

/// What the failure of a joint would cost.
pub(crate) fn of_safety(safety: Safety) -> Option<Caution> {
    let (id, head, rest) = match safety {
        Safety::Brake => (
            "joint.brake",
            "Brake:",
            "a competent person checks this joint, and the brakes are proven standing before the \
             car moves.",
        ),
        Safety::Wheel => (
            "joint.wheel",
            "Wheel:",
            "if this joint lets go, a wheel is lost. A second person reads the wrench; it is \
             looked at again after the first kilometres.",
        ),
        Safety::Steering => (
            "joint.steering",
            "Steering:",
            "if this joint lets go, the car cannot be steered. A competent person checks it before \
             the car moves.",
        ),
        Safety::None => return None,
    };
    Some(Caution::new(id, Severity::Caution, head, rest))
}

/// Clamping faces that hold by friction.
pub(crate) const FRICTION: Fixed = fixed(
    "joint.friction",
    Severity::Caution,
    "Held by friction:",
    "bare, clean, dry faces. Paint or grease under a clamp creeps.",
);

/// A cotter.
pub(crate) const COTTER: Fixed = fixed(
    "joint.cotter",
    Severity::Caution,
    "A cotter locks it:",
    "a new one, never an old one bent back.",
);

/// The bolt of an eccentric.
pub(crate) fn of_eccentric(which: Eccentric) -> Caution {
    let head = format!("The {which} eccentric sets the wheel:");
    let rest = "it is turned with its bolt eased, never drawn while the bar is wound. Its mark is \
                looked at again after the torque.";
    Caution::new("joint.eccentric", Severity::Caution, &head, rest)
}

/// The owner's own words about a joint.
pub(crate) fn own(words: &str) -> Caution {
    Caution::new("joint.own", Severity::Caution, "", words)
}

// ---- With figures of this car ----

/// A plate reading whose sign looks like a slip: the free angle it gives, and how far off that is.
pub(crate) fn sign_slip(side: Side, free: &str, off: &str) -> Caution {
    let head = format!("{side} rear: was the sign written as the gauge shows it?");
    let rest = format!(
        "The plate reading gives a free angle of {free}, {off} from where it should be, and with \
         the other sign it would be near. With the arrow to the tail, a plate whose tail hangs \
         down reads minus."
    );
    Caution::new("reading.sign", Severity::Stop, &head, &rest)
}

/// Two ways to one quantity disagree: that they do, and what may be wrong.
pub(crate) fn cross_check(head: &str, rest: &str) -> Caution {
    Caution::new(crate::CrossCheck::ID, Severity::Stop, head, rest)
}

/// Two ways are further from each other than one sound pair in eighty is.
pub(crate) fn nearly_disagree(head: &str, rest: &str) -> Caution {
    Caution::new("cross-check.note", Severity::Note, head, rest)
}

/// The same where the owner has set the check aside: which one, and his reason.
pub(crate) fn set_aside(head: &str, check: &str, reason: &str) -> Caution {
    let rest = format!("The check `{check}` is set aside: {reason}");
    Caution::new("cross-check.set-aside", Severity::Caution, head, &rest)
}

/// The bars are made for one side each, and their parts do not say so; or the other way round.
pub(crate) fn handed(bars: bool) -> Caution {
    let (head, rest) = if bars {
        (
            "The bars are handed, and no part of them says which is which.",
            "A bar on the wrong side is wound against its set and can crack. Write handed = true \
             at the part, so that each is asked for by its side.",
        )
    } else {
        (
            "The bars are written as not handed, and their part is.",
            "Look for L and R, arrows or paint at the ends again: a handed bar on the wrong side \
             can crack.",
        )
    };
    Caution::new("bar.handed", Severity::Caution, head, rest)
}

/// A reading on the wheels that fits no cause, in the words of its finding.
pub(crate) fn suspect(words: &str) -> Caution {
    Caution::new("round.suspect-reading", Severity::Caution, "", words)
}

/// A round that shows another state than it says.
pub(crate) fn looks_like(head: &str, rest: &str, check: &str) -> Caution {
    let rest = format!(
        "{}Nothing is told to be turned before that is settled: put the right stage, load or \
         reading into the round; or, if it is as written, write a [[set_aside]] with check = \
         \"{check}\" and the reason.",
        if rest.is_empty() { String::new() } else { format!("{} ", rest.trim_start()) },
    );
    Caution::new(LOOKS_LIKE, Severity::Stop, head, &rest)
}

/// The id of the caution that stands where a round shows another state than it says.
pub const LOOKS_LIKE: &str = "round.looks-like";

/// A caution about a subject, or about the whole car.
pub(crate) fn of(caution: Caution, subject: Option<Subject>) -> Caution {
    Caution { of: subject, ..caution }
}

/// A bar that was plated: what speaks against it, and what to do.
pub(crate) fn plated(words: &str, advice: &str) -> Caution {
    Caution::new("bar.plated", Severity::Stop, &format!("{words}:"), &format!("{advice}."))
}

/// A bar that was ground or stamped.
pub(crate) fn ground(side: Side) -> Caution {
    let head = format!("The {side} bar was ground or stamped:");
    let rest = "a nick in spring steel is where it breaks. Do not load it before a competent \
                person has looked for cracks.";
    Caution::new("bar.ground", Severity::Stop, &head, rest)
}

/// A bar that bears more than it may.
pub(crate) fn overstressed(side: Side, why: &str) -> Caution {
    let rest = format!("{why} Do not drive it: other bars, or other rings.");
    Caution::new("bar.overstressed", Severity::Stop, &format!("{side} rear:"), &rest)
}

/// What spans arm and body and ends before anything stops the arm: what, its plate angle and that
/// of the stop as shown to a person, and whether it is sooner than not.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tears {
    pub(crate) part: String,
    pub(crate) from: String,
    pub(crate) to: String,
    pub(crate) surely: bool,
}

impl Tears {
    /// The caution, with which teeth where it is not with either.
    pub(crate) fn caution(&self, side: Side, at: Option<State>) -> Caution {
        let (id, ends, other) = match self.part.as_str() {
            "hose" => ("droop.hose", "is taut", "A longer hose, or another stop"),
            "cable" => ("droop.cable", "is taut", "A longer cable, or another stop"),
            _ => ("droop.half-shaft", "is at its end", "Another stop, or a shaft that reaches"),
        };
        let teeth = at.map_or(String::new(), |at| format!(", {}", crate::angles::teeth_words(at)));
        let Self { part, from, to, surely } = self;
        if *surely {
            let head = format!(
                "{side} rear: the {part} {ends} from {from}, the arm droops to {to}{teeth}: it \
                 will tear."
            );
            let rest = format!("{other}. Until then it is off whenever the arm can come down.");
            return Caution::new(id, Severity::Stop, &head, &rest);
        }
        let head = format!(
            "{side} rear: the {part} {ends} from {from}, the arm droops to {to}{teeth}: too near \
             to tell, it may tear."
        );
        let rest = format!("Look at it with the arm on its stop. {other}, and the doubt is gone.");
        Caution::new(id, Severity::Caution, &head, &rest)
    }
}

/// A stand that would have to pull.
pub(crate) fn pulls(name: &str) -> Caution {
    let head = format!("The {name} stand carries nothing:");
    let rest = "the body lies on the others and tips over them. Move the stands, or put weight \
                over it, before anybody goes near.";
    Caution::new("stands.pulls", Severity::Stop, &head, rest)
}

/// A stand that carries less than twice the doubt of it.
pub(crate) fn may_pull(name: &str) -> Caution {
    let head = format!("The {name} stand may carry nothing:");
    let rest = "its load is less than twice the doubt of mass and centre. Move the stands, or put \
                weight over it.";
    Caution::new("stands.may-pull", Severity::Caution, &head, rest)
}

/// A bar that may bear more than it may, by its doubt: what it bears, and how sure that is.
pub(crate) fn near_its_limit(side: Side, why: &str, doubt: &str) -> Caution {
    let rest = format!(
        "{why} That is known to {doubt} (u): it may be more than it may bear. Measure again what \
         decides it, or fit other bars or other rings."
    );
    Caution::new("bar.near-its-limit", Severity::Caution, &format!("{side} rear:"), &rest)
}

/// Teeth that come no nearer than this trim, which the manual does not allow.
pub(crate) fn too_coarse(side: Side, trim: &str) -> Caution {
    let head = format!("{side} rear: these teeth cannot do it.");
    let rest = format!(
        "The nearest choice settles the car at {trim}, outside the manual's tolerance. Count the \
         teeth of both ends again; ends with equal counts have no vernier."
    );
    Caution::new(TOO_COARSE, Severity::Caution, &head, &rest)
}

/// The id of the caution that stands with teeth too coarse for the manual's tolerance.
pub(crate) const TOO_COARSE: &str = "teeth.too-coarse";

/// No pair of choices of teeth keeps the trims as near to each other as the manual asks.
pub(crate) fn trims_apart(allowed: &str) -> Caution {
    let rest = format!(
        "No listed choice of teeth brings both sides within {allowed} of each other, as the \
         manual asks."
    );
    Caution::new("teeth.trims-apart", Severity::Caution, "", &rest)
}

/// Teeth that are counted from the manual's angle.
pub(crate) fn no_reading() -> Caution {
    let head = "Counted from the manual's angle: no reading is entered yet.";
    Caution::new(NO_READING, Severity::Caution, head, "Read the plate before you draw a bar.")
}

/// The id of the caution that stands with teeth counted without a reading.
pub const NO_READING: &str = "teeth.no-reading";

/// What the change of bars does to the car on the road: the shares before and after, and whether
/// the rear resists roll more than it did.
pub(crate) fn roll_share(shares: &str, rear_gained: bool) -> Caution {
    let rest = if rear_gained {
        "The rear resists roll more than before: in a fast bend the tail lets go sooner. Drive it \
         gently until you know it, the more so in the wet. Other bars than the maker's may need \
         approval where the car is registered: ask the inspector before it goes on the road."
    } else {
        "The rear resists roll less than before: in a fast bend the car runs wide sooner. Drive it \
         gently until you know it. Other bars than the maker's may need approval where the car is \
         registered: ask the inspector before it goes on the road."
    };
    Caution::new(ROLL_SHARE, Severity::Caution, "", &format!("{shares} {rest}"))
}

/// The id of the caution that stands where the car goes on the road.
pub const ROLL_SHARE: &str = "car.roll-share";

/// What comes before an arm is raised where the stands do not bear it.
pub(crate) const RAISED_FIRST: &str = "more weight in the shell, or other teeth";

/// A bar of which nobody remembers what it carries.
pub(crate) const FOUND_OUT_FIRST: &str = "treat it as wound: car on its stands, jack and second \
    hold under the arm. Let it down softly until the jack comes free and the arm, lifted by hand, \
    returns to one place; with the arm off, wag the plate. Then say that the line of the energy is \
    as told";

/// Raising where no figure is known, in words that go on from what they stand after.
pub(crate) const BY_CARDS: &str = "no figure is known for it. Engine in, or bags over both rear \
    stands; a strip of card under both rear saddles and one front saddle across. Raise in short \
    strokes: the first card that slides means stop, down, more weight";

/// An arm that is raised without a figure, after why there is none.
pub(crate) fn by_cards(why: &str) -> Caution {
    Caution::new("raise.by-cards", Severity::Caution, why, &format!("{BY_CARDS}."))
}

/// An arm that is not to be raised: with which teeth, and why, one sentence without its full stop.
pub fn not_yet(at: State, why: &str) -> Caution {
    let head = format!("NOT YET, {}: {why}.", crate::angles::teeth_words(at));
    Caution::new("raise.not-yet", Severity::Stop, &head, &format!("First: {RAISED_FIRST}."))
}

/// What was judged of raising, in the words of the finding.
pub fn raising(advice: &str) -> Caution {
    Caution::new("raise.advice", Severity::Caution, "", advice)
}

/// What the bar throws if the jack slips, as shown to a person, and with which teeth.
pub fn raised(energy: &str, at: Option<State>) -> Caution {
    let teeth = match at {
        Some(State::Now) => ", on the teeth as they are now,",
        _ => "",
    };
    let head = format!("Raised{teeth} the bar holds {energy}.");
    let rest = "If the jack slips, the arm throws it all at whatever is in its way. Swing path \
                clear; block the arm before you reach in.";
    Caution::new("raise.energy", Severity::Caution, &head, rest)
}

/// What the bar holds with the arm at a plate angle, as shown to a person.
pub fn held(energy: &str) -> Caution {
    let head = format!("The bar then holds {energy}.");
    let rest = "Keep out of the arm's path; the jack carries the arm and nothing else.";
    Caution::new("hold.energy", Severity::Caution, &head, rest)
}

/// What the jack does to the car: its push, the stand nearest to it, whether that one comes free,
/// and what to do.
pub fn jack(push: &str, stand: &str, lifts: bool, advice: &str) -> Caution {
    let (id, head, rest) = match lifts {
        true => (
            "raise.lifts-the-car",
            format!("The jack pushes with {push} and takes the car off {stand}."),
            advice.to_owned(),
        ),
        false => (
            "raise.takes-load",
            format!("The jack pushes up with {push}"),
            format!("and takes load off the stands; watch {stand}. {advice}"),
        ),
    };
    Caution::new(id, Severity::Caution, &head, rest.trim_end())
}

/// The least push that brings the car off its stands: the push, which way, what gives way.
pub fn comes_off(push: &str, direction: &str, gives_way: &str) -> Caution {
    let head = format!("The car can come off at {push}");
    let rest = format!(
        "pushed {direction}: {gives_way}. A man on a long bar pulls 500 to 700 N. Loosen what is \
         tight before the car goes up, or with the wheels on the ground."
    );
    Caution::new("stands.comes-off", Severity::Caution, &head, &rest)
}

/// What spoils a photograph that is measured by, or may: its words are those of `sight`.
pub(crate) fn photograph(remark: &Remark, names: &[String]) -> Caution {
    let (what, hint) = (&remark.what, remark.what.hint());
    let severity = match what.weight() {
        Weight::Note => Severity::Note,
        Weight::Warning => Severity::Caution,
    };
    let Some(name) = remark.shot.and_then(|shot| names.get(shot)) else {
        return Caution::new(what.id(), severity, "", &format!("{what}: {hint}"));
    };
    let of = Subject::Sighted(Sighted::Photo(name.clone()));
    Caution::new(what.id(), severity, "", &format!("{name}: {what}: {hint}")).about(of)
}

/// A bolt whose torque is not what list and wrench give; `fault` says what was expected.
pub(crate) fn not_as_asked(joint: &str, bolt: &str, fault: &str) -> Caution {
    let head = format!("{joint}, {bolt}: its torque is not as asked.");
    let rest = format!("It was {fault}. The bolt does not count as tight until that is settled.");
    Caution::new("joint.not-as-asked", Severity::Stop, &crate::capital(&head), &rest)
}

/// A part that is on the side it is not marked for; `why` is what whoever fitted it said.
pub(crate) fn against_hand(part: &str, to: Side, why: &str) -> Caution {
    let head = format!("`{part}` is on the {to}, the side it is not marked for.");
    let rest = format!("Whoever fitted it wrote: {why}. {}", WRONG_SIDE.rest);
    Caution::new("part.wrong-side", Severity::Stop, &head, &rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every caution that is the same for every car.
    const ALL: [Fixed; 25] = [
        WORK,
        ON_STANDS,
        MEASURING,
        BAR_WOUND,
        SWING,
        JACK_LIFTS,
        JACK_SLIPS,
        BRAKES,
        NOT_AS_WRITTEN,
        UNDOING,
        ROCK_IT,
        NO_PROOF,
        NOT_TORQUED,
        HANDS_OFF,
        MANUAL_DECIDES,
        SECOND_PERSON,
        PASSES,
        AT_RIDE,
        ON_WHEELS,
        NO_SETTING,
        WRONG_SIDE,
        SHEET,
        DOSSIER,
        FRICTION,
        COTTER,
    ];

    #[test]
    fn every_id_is_there_once_and_every_caution_has_words() {
        let mut ids: Vec<&str> = ALL.iter().map(|fixed| fixed.id).collect();
        ids.sort_unstable();
        let all = ids.len();
        ids.dedup();
        assert_eq!(ids.len(), all);
        for caution in ALL {
            assert!(!caution.words().is_empty(), "{}", caution.id);
            assert_eq!(caution.words().trim(), caution.words(), "{}", caution.id);
        }
    }

    #[test]
    fn the_words_that_stand_out_come_first_and_nothing_is_lost() {
        for caution in before_a_bar().iter().chain(&before_wheels()) {
            let (head, rest) = caution.parts();
            assert_eq!(format!("{head}{rest}"), caution.words);
        }
        assert_eq!(jack("920 N", "the rear stand", true, "").parts().1, "");
    }

    /// What the strictest telling said is in the one that is left.
    #[test]
    fn the_one_telling_is_the_strictest() {
        let all = |cautions: Vec<Caution>| -> String {
            cautions.into_iter().map(|caution| caution.words + " ").collect()
        };
        for (told, parts) in [
            (all(before_teeth()), ["can kill", "never on the jack", "plate is held"]),
            (all(before_the_work()), ["can kill", "never on the jack", "gives its energy back"]),
            (all(before_undoing()), ["at once and slowly", "never on the jack", "Keep the swing"]),
        ] {
            for part in parts {
                assert!(told.contains(part), "{part} in {told}");
            }
        }
        for position in [Position::Hang, Position::StopBoltClear, Position::Ride] {
            assert!(arm(Some(position)).words.contains("only there; snug until then"));
        }
    }
}
