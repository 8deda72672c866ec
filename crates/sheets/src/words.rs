//! What findings and their parts are called on paper.

use axlewright_quantity::Corner;
use axlewright_setup::{State, Subject};

/// A finding's title in plain words; its id where there is none.
#[expect(clippy::too_many_lines, reason = "one table of names")]
pub(crate) fn title(id: &str) -> &str {
    match id {
        "bar.rate" => "Torsion bar rate",
        "bar.shear-at-ride" => "Shear stress in the bar at ride",
        "bar.shear-at-full-bump" => "Shear stress in the bar at full bump",
        "free-angle.manual" => "Free angle by the manual",
        "free-angle.by-four-numbers" => "Free angle from four numbers",
        "free-angle.target" => "Free angle this car needs",
        "free-angle.now" => "Free angle now",
        "free-angle.left-right" => "Left plate further tail down than right",
        "trim.at-manual-angle" => "Trim the manual's angle would give",
        "vernier.step" => "Vernier step",
        "vernier.trim-per-step" => "Trim per vernier step",
        "wheel-rate" => "Wheel rate at ride",
        "ride-frequency" => "Natural frequency at ride",
        "body.level" => "Body level",
        "hang.plate" => "Plate alone hangs at",
        "hang.arm" => "Plate with arm hangs at",
        "index.choices" => "Teeth to choose from",
        "screw.change" => "What the screw has to bring",
        "window.stop-bolt" => "Stop bolt goes in",
        "window.damper" => "Damper reaches",
        "window.hose" => "Brake hose reaches",
        "window.cable" => "Handbrake cable reaches",
        "window.half-shaft" => "Half-shaft runs free",
        "window.plate-bend" => "Plate bend stays allowed",
        "at.stop-bolt" => "Stop bolt",
        "at.damper" => "Damper",
        "at.hose" => "Brake hose",
        "at.cable" => "Handbrake cable",
        "at.half-shaft" => "Half-shaft",
        "at.plate-bend" => "Plate bend",
        "at.hold" => "Jack force to hold it there",
        "damper.rings" => "Stop rings on the damper",
        "raise.stop-bolt" => "Raising to the stop bolt",
        "droop" => "What stops the droop",
        "ride.stick" => "Ride stick, eye to eye",
        "stands" => "Load on the stand",
        "stands.upset" => "Least push that upsets the car",
        "travel" => "Table over wheel travel",
        "joint.caution" => "Cautions",
        "joint.position" => "Arm position for the final torque",
        "joint.setting" => "Torque and wrench",
        "joint.order" => "Order of tightening",
        "joint.warning" => "Warnings",
        "joint.preload" => "Pull of each bolt",
        "joint.utilisation" => "Use of the bolt's strength",
        "joint.state" => "How far the bolts are",
        "joint.sign-off" => "What forbids signing off",
        "joints.sign-off" => "Signing off all joints",
        "attempt.angle" => "Unloaded plate angle after the fit",
        "attempt.next" => "Where it stands, and what next",
        "mark.worth" => "What the offset is worth",
        "mark.rate" => "A millimetre between arm and plate",
        "car.expected" => "What the car should read",
        "car.stages" => "What a half-built car shows",
        "car.state" => "What the round says",
        "car.moves" => "Corrections",
        "car.looks-like" => "What else the round may show",
        "car.read-first" => "To be read first",
        "car.bar-hours" => "Work on a bar",
        "car.rear-only" => "By the rear figures alone",
        "car.after" => "What it should read after them",
        "car.hand-over" => "Hand-over to alignment",
        "car.forecast" => "Where builds land",
        "car.budget" => "Which measurement helps most",
        "car.roll-share" => "Front share of the roll stiffness",
        "car.suspect-reading" => "Readings that fit nothing",
        "car.rechecks" => "Look again",
        "cross-check" => "Two ways that disagree",
        "order.sequence" => "How the order was found",
        "order.safety" => "What was proved of it and what is not known",
        "order.cost" => "Time for all of it",
        "order.arcs" => "What comes before what",
        "order.now" => "What can be done now",
        "order.blocked-by" => "What waits for something",
        "order.finish" => "Finished on",
        other => other,
    }
}

/// What a part of a finding is called; its key with spaces where there is no better name.
pub(crate) fn part(key: &str) -> String {
    match key {
        "anchor_teeth" => "teeth at the anchor".into(),
        "plate_teeth" => "teeth at the plate".into(),
        "ends" => "ends to draw".into(),
        "change" => "change of free angle".into(),
        "error" => "off the target".into(),
        "off" => "off the target".into(),
        "after" => "plate angle after it".into(),
        "read_again" => "read again first".into(),
        "trim" => "trim, settled".into(),
        "trim_when_new" => "trim when new".into(),
        "within_tolerance" => "within tolerance".into(),
        "with_tyre" => "with the tyre".into(),
        "share_of_allowable" => "of the allowable".into(),
        "shear" => "shear stress".into(),
        "limited_by_from" => "lower end set by".into(),
        "limited_by_to" => "upper end set by".into(),
        "from_travel" => "wheel travel there, from".into(),
        "to_travel" => "wheel travel there, to".into(),
        "original_travel" => "wheel travel to the rings, original".into(),
        "sold_with" => "sold with".into(),
        "contact_angle" => "plate angle at ring contact".into(),
        "from_angle" => "from, hanging".into(),
        "lift" => "lift at the jack point".into(),
        "force" => "force".into(),
        "energy" => "energy in the bar".into(),
        "stand_before" => "nearest stand before".into(),
        "stand_after" => "nearest stand with the jack".into(),
        "lifts_car" => "lifts the car off a stand".into(),
        "ballast_with_margin" => "ballast over each rear stand, doubts counted in".into(),
        "may" => "judgement".into(),
        "barred_by" => "not yet, because".into(),
        "try_first" => "offer the bolt up first".into(),
        "counted_from" => "counted from".into(),
        "stopped_by" => "stopped by".into(),
        "limits" => "each limit".into(),
        "or" => "or else by".into(),
        "highest" => "surely by".into(),
        "clear_by" => "clear of the bolt by".into(),
        "chance" => "chance to be the first".into(),
        "before_stop" => "chance to come before a stop".into(),
        "not_known" => "not looked at".into(),
        "share_of_rating" => "of its rating".into(),
        "hang_target" => "hang at target".into(),
        "hang_now" => "hang now".into(),
        "original_angle" => "plate angle there, original".into(),
        "rows" => "by number of rings".into(),
        "plate_angle" => "plate angle".into(),
        "toe" => "toe-in".into(),
        "contact_x" => "contact point forward".into(),
        "damper" => "damper length".into(),
        "hose" => "hose distance".into(),
        "plate_bend" => "plate bend".into(),
        "load" => "wheel load".into(),
        "gives_way" => "gives way first".into(),
        "of_yield" => "of yield, pull and twist".into(),
        "of_proof" => "of the proof load".into(),
        "of_yield_most" => "of yield with the least friction".into(),
        "of_proof_least" => "of the proof load with the most friction".into(),
        "cross_weight" => "cross weight".into(),
        "trim_read" => "trim, as a tape reads it".into(),
        "trim_settled" => "trim once settled".into(),
        "trim_difference" => "trim, left less right".into(),
        "front_share" => "front share".into(),
        "tightening_factor" => "most over least, wrench included".into(),
        "reduced_stress" => "pull and twist together".into(),
        other => other.replace('_', " "),
    }
}

/// The part a finding is known by: what stands on its line.
pub(crate) const fn main_parts() -> &'static [&'static str] {
    &["shear", "frequency", "rings", "force", "estimate", "angle", "cross_weight", "front_share"]
}

/// `Left rear`.
pub(crate) const fn corner(corner: Corner) -> &'static str {
    match corner {
        Corner::LeftFront => "Left front",
        Corner::RightFront => "Right front",
        Corner::LeftRear => "Left rear",
        Corner::RightRear => "Right rear",
    }
}

/// What a window is for, in few words; its id where there are none.
pub(crate) fn window(id: &str) -> &str {
    match id {
        "window.stop-bolt" => "stop bolt",
        "window.damper" => "damper",
        "window.hose" => "brake hose",
        "window.cable" => "handbrake cable",
        "window.half-shaft" => "half-shaft",
        "window.plate-bend" => "plate bend",
        other => other,
    }
}

/// Whom a finding is about.
pub(crate) fn subject(subject: &Subject) -> String {
    match subject {
        Subject::Corner(c) => corner(*c).to_owned(),
        Subject::Stand(name) => format!("stand {name}"),
        Subject::Step(id) => format!("step {id}"),
        Subject::Joint(id) => format!("joint {id}"),
        Subject::Sighted(what) => what.to_string(),
    }
}

/// With which teeth: at target, with the free angle the car needs; now, those the bar sits on.
pub(crate) const fn state(state: State) -> &'static str {
    match state {
        State::Target => "at target",
        State::Now => "now",
    }
}

/// A state as the public interface writes it.
pub(crate) const fn state_code(state: State) -> &'static str {
    match state {
        State::Target => "target",
        State::Now => "now",
    }
}
