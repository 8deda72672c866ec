//! The file a restorer begins with.

use crate::field::{Field, Shape};
use std::fmt::Write as _;

/// Columns of the file.
const WIDTH: usize = 96;

const HEAD: &str = "\
One car, in one file. Fill in what you know and leave the rest blank: a blank is only something
still to be measured, and every step below works without the ones after it.

    `axlewright check` says what is wrong with the file, line by line.
    `axlewright sheet` says what follows from it, and what to measure next.";

const HOW: &str = "\
How to write: quantities stand in quotes with their unit, \"540 mm\", \"30.5 deg\", \"4.6 kgf m\".
Decimals follow a point. After a value may stand how sure it is:
    \"30 deg ± 0.5 deg\"     a tolerance, limits to be met, as manuals print it
    \"30 deg u 0.15 deg\"    a standard uncertainty: about two readings in three lie within it
    \"30 deg res 0.1 deg\"   the step of the gauge it was read with

Places, seen from above:

               nose of the car
                     ^  X forward; behind the bar it is minus
                     |
    Y to the left <--+----------   zero: on the centre line, at the rear bar axis
                     |
                   tail            Z up, towards the eye; below the bar axis it is minus

The body is level while places are measured, sills checked with the level.

Give the left side; the right is taken as its mirror image. If a side differs, write its keys
again under its name, say [right.arm] or [left.bar]; places on the right have a negative Y.

Angles of the plate: below the body's own horizontal, tail down is plus. The gauge sits on a
straightedge from hub centre to bolt holes (the reference line), not on an edge: plates taper.";

const CAR: &str = r#"
[car]
# What the car is called.
name = ""
# Build or chassis number, as a number without quotes or in them: it picks the manual's row.
build_number = ""
# Year and month it was built, as in "1963-09".
build_date = ""
# What is in the car whenever a trim or a weight is stated, as in "empty, half a tank". A trim
# without it says nothing.
load_state = ""
notes = """#;

const FREE_ANGLE: &str = r#"
# What the manual says of the free angle: the plate's angle with no load on the bar.
[[spec]]
what = "free angle"
# As printed, tolerance and all, as in "30.0 deg ± 0.5 deg".
value = ""
# The build numbers it is printed for: "2468-3990", "up to 2650", "from 2600" or "all". If the
# manual has a row for other numbers too, copy the block, from [[spec]] down, for each row.
builds = ""
# The bar it was written for, and the push of the dampers of the day ("0 N" for oil ones).
bar_diameter = ""
damper_gas = ""
# Where the manual wants the gauge: "reference line" or "edge". With "edge", seat_offset is how
# much further tail-down that edge points than the reference line: trace the plate and measure.
seat = ""
seat_offset = ""
# Manual and page, so that anyone can look.
source = """#;

const READINGS: &str = r#"
# Readings, as the gauge showed them. First the body: gauge on the sill, then turned end for end on
# the same spot; the two together take the gauge's own error out. Nose up is plus. Half a degree
# here can be more than one step of the teeth, and old shells differ: read both sills.
[[reading]]
what = "sill level"
side = "left"
value = ""
# The same spot, gauge turned end for end.
turned = ""
# Which way its arrow pointed in the first reading: "nose" or "tail".
arrow = ""

[[reading]]
what = "sill level"
side = "right"
value = ""
turned = ""
arrow = ""

# Then the plate, free of load. Tail down is plus.
[[reading]]
what = "plate angle"
side = "left"
value = ""
arrow = ""
# What hung on the bar: "plate", "plate and arm" or "plate, arm and damper".
hung = ""
# "lifted": tail lifted by hand until the lash was just taken up. "hanging": let hang.
lash = ""
# "reference line", or "edge" and then seat_offset as above.
seat = ""

[[reading]]
what = "plate angle"
side = "right"
value = ""
arrow = ""
hung = ""
lash = ""
seat = """#;

const OTHER_SPECS: &str = r#"
# What else the manual says of the rear. Blank rows count for nothing.
[[spec]]
what = "trim"
# Bar axis above wheel centre, as in "95 mm ± 5 mm"; the load goes into car.load_state.
value = ""
builds = ""
source = ""

[[spec]]
what = "trim difference"
# Most that left and right may differ, as in "5 mm".
value = ""
builds = ""
source = ""

[[spec]]
what = "camber"
# Top outward is plus, as in "-0°30' ± 20'".
value = ""
builds = ""
source = ""

[[spec]]
what = "toe"
# Toe-in of one wheel is plus, as in "0°06' ± 5'".
value = ""
builds = ""
source = ""

[[spec]]
what = "damper rings"
# How many rings are on the damper's rod.
value = ""
builds = ""
source = """#;

const STANDS: &str = r#"
# The stands, three or four: copy the block for each.
[[stand]]
# As in "left rear".
name = ""
# Where it carries the car: X and Y of the saddle's middle, as in "20, 450 mm"; right is minus.
at = ""
# The body's underside there, from the bar axis: below it is minus, as in "-120 mm".
top_z = ""
# The saddle above the floor.
height = ""
# Half the width of the foot, from its middle to the edge it would tip over.
foot = ""
# Friction of the saddle on the body, as in "0.2": bare steel on paint is low, a rubber pad higher.
friction = ""
# What the maker of the stand rates it for, as in "1000 kg".
rating = """#;

const JOINTS: &str = r#"
# The unit your torque wrenches read: "N m", "kgf m" or "lbf ft".
[units]
torque = ""

# Your torque wrenches: copy the block for each.
[[wrench]]
# As in "small click wrench".
name = ""
# Its scale, as in "5 N m" and "25 N m".
from = ""
to = ""
# From the middle of the grip to the square, as in "420 mm": needed where an extension is.
length = ""
# "click" or "beam", how far off it may be, as in "4 %", and the unit on its scale.
kind = ""
tolerance = ""
unit = ""

# The joints: copy the block for each.
[[joint]]
# A short name in small letters, with hyphens, as in "hub-cover"; other rows call it by that. With
# side = "each" the row stands for two joints, hub-cover-left and hub-cover-right.
id = ""
# In words, as in "hub cover to body".
name = ""
# "each", "left", "right" or "none".
side = ""
# As in "M10x1.5", and the class on the bolt's head, as in "8.8".
thread = ""
class = ""
# How many bolts; where there are several, one point for each, seen from their heads, as in
# ["-48, 32 mm", "48, 32 mm", "48, -32 mm", "-48, -32 mm"]: it gives the order to tighten in.
count = ""
layout = []
# "outboard" or "inboard": which way the heads look, to say where the nose of the car is.
heads = ""
# As the manual prints it, in its own unit, as in "4.4 kgf m"; or leave it blank and copy the
# manual's rows, [[spec]] with what = "torque" and joint = "hub-cover".
torque = ""
torque_source = ""
# Thread and head as the list assumes them and as they are now: "dry", "oiled", "zinc-dry",
# "zinc-oiled", "phosphate-oiled", "cadmium", "greased", "moly", "graphite" or "unknown".
list_surface = ""
surface = ""
# What the bolts were plated with since, as in "zinc", or "none"; and whether the plater gave a
# record of how it was done, true or false without quotes.
plated = ""
process_record = ""
# How the arm has to stand when it is tightened for good: "any", "hang", "stop bolt clear", "ride"
# (most rubber bushes) or "wheels down".
position = ""
# "friction", if clamped faces carry the load: then what they must hold, as in "2500 N", how many
# faces rub and their friction, as in "0.15". Else "bearing", on the bolt's shank, or "fastening".
kind = ""
load = ""
faces = ""
face_friction = ""
# "nut", "washer", "cotter", "compound" or "none"; and true or false: is something in it meant to
# be used once only, and has it been used?
locking = ""
one_time = ""
reused = ""
# Where they are not the usual ones: length of thread engaged, class of the nut, outer diameter of
# the face under the head, diameter of the hole.
engagement = ""
nut_class = ""
head_width = ""
hole = ""
# If the wrench alone does not get there: how far the extension reaches, as in "60 mm", its angle
# to the wrench, and the wrench from grip to square.
adapter = ""
adapter_angle = ""
wrench_arm = ""
# "brake", "wheel", "steering" or "none": what its failure would cost.
safety = ""
# "front" or "rear", if its bolt is one of the two eccentrics; else leave it blank.
eccentric = ""
caution = ""

# What was done to a bolt: copy the block for each, later ones below earlier ones.
[[bolt]]
# As in "hub-cover-left", and which bolt of it, from 1; bolt 1 is shown as A, 2 as B.
joint = ""
bolt = ""
# "open", "snug", "torqued" or "paint-marked".
state = ""
# For a torque: to what, with which wrench, the arm at which position, and when.
value = ""
wrench = ""
position = ""
date = """#;

const STEPS: &str = r#"
# The parts: copy the block for each.
[[part]]
# As in "plate"; side as with joints.
id = ""
name = ""
# "arm", "plate" or "eccentric", if it is one; else leave it blank.
kind = ""
side = ""
# "on the bench", "fitted" or "out"; what is out is back so many days after the calendar's start.
state = ""
back_in_days = ""
# true, without quotes, if it is marked or set for its own side, as a bar is.
handed = ""
# Of what reaches from body to arm: "damper", "half-shaft", "hose", "cable" or "stop bolt".
spans = ""
note = ""

# The steps: copy the block for each. Their order here does not matter.
[[step]]
# As in "plate-on"; side as with joints.
id = ""
# "before strip-down", "strip-down", "inspect and order", "dry run", "assembly", "brakes",
# "on the wheels" or "bedding-in".
phase = ""
# What to do, and when it is done well.
words = ""
# What it does to arm, bar and car, in that order, as in ["holds", "raises", "removes"]; "nothing"
# for a reading or work at the bench. The order is made safe by it; docs/guide.md lists the words.
does = []
side = ""
# Where you stand, as in "left rear" or "bench"; where side = "each", "rear" or "under" will do.
station = ""
# How long it takes, and how many people.
minutes = ""
people = ""
# "clean", "dry" or "greasy"; and what is in the hand, as in "torque wrench". Blank: no matter.
hands = ""
tool = ""
# How the arm has to stand: "any", "bar out", "hang", "stop bolt clear", "ride" or "wheels down";
# or a plate angle in arm_at.
arm = ""
arm_at = ""
# Ids of the parts it uses. Where both rows are for each side, "plate" means the same side's; else
# write "plate-left", "plate-right" or "plate-both".
needs = []
# What it connects from body to arm, or takes off: words as in a part's `spans`.
fits = []
removes = []
# Ids of the joints it leaves snug or brings to their torque.
snug = []
torques = []
# Ids of the steps it comes after, where nothing above says so already.
after = []
# Where side = "each": what the right one comes after besides.
right_after = []
# true, without quotes, if it is to be signed before work goes on.
hold = ""
# What is lost for good if it is left out.
reading = ""
caution = ""
# Phase in which it is done instead, if the arm cannot stand so on the stands.
place = ""

# What changing costs, in whole minutes without a unit.
[changeover]
# To another place, raising or lowering an arm, washing, another tool.
walk = ""
jack = ""
wash = ""
tool = ""
# Ways that take another time, as in [["left rear", "right rear", 2]].
walk_between = []

[calendar]
# The first day, as in "1964-05-04".
start = ""
# When you work: day, beginning, minutes, as in ["Mon 19:00 180", "Sat 09:00 420 every 2"].
sessions = []
# Days on which a second person comes, as in ["Sat"].
helper = []"#;

const WHEELS: &str = r#"
# What the springs carry, so that a half-built car can be told from a wrong one: copy the block for
# each, in the order in which it is built. Wheels, brakes and what hangs on them are left out.
[[masses]]
# As in "engine and gearbox"; "stage" if it stays on the car, "load" for a driver or luggage.
name = ""
kind = ""
# How heavy, and where its centre is: X and Y from above, as in "-480, 0 mm", and its height above
# the bar axis.
mass = ""
at = ""
z = ""

# A check that says two figures disagree though both are right: its name, and why. It then holds
# nothing back.
[[set_aside]]
check = ""
reason = ""

# The car on its wheels, rolled and settled: copy the block for each round, below the ones before.
[[round]]
# What was in the car, and which stage it is in: "finished", or the name of the last stage above.
load = ""
stage = ""
# As in { LF = "210 kg", RF = "215 kg", LR = "288 kg", RR = "272 kg" }.
weight = ""
# As in { LR = "99 mm", RR = "94 mm" }: bar axis above wheel centre.
trim = ""
# As in { LR = "-0.30 deg", RR = "-0.60 deg" }: top outward is plus.
camber = ""
# As in { LR = "-0.04 deg", RR = "0.22 deg" }: toe-in of that wheel is plus.
toe = ""
# true, without quotes, if trim is the mean of lift-and-let-go and push-and-let-go.
settled = ""
# What was moved afterwards, as in [["LR", "anchor", "-2"], ["LF", "front screw", "0.5"]]: teeth
# with tail down plus, turns of a screw with the body going up plus.
moved_after = []
date = """#;

/// What stands above a section.
struct Section {
    path: &'static str,
    words: &'static str,
}

const SECTIONS: &[Section] = &[
    Section { path: "bar", words: "The bars. The first two lines pay at once; the others wait." },
    Section { path: "ride", words: "How the plate stands on the road." },
    Section {
        path: "splines",
        words: "The teeth. Turning the bar at its anchor and the plate on the bar by different \
                teeth gives far finer steps than either end alone.",
    },
    Section { path: "lever", words: "Two distances that do until there are coordinates." },
    Section { path: "load", words: "What rests on one rear wheel." },
    Section { path: "tyre", words: "The rear tyres." },
    Section { path: "bush", words: "What the plate turns in." },
    Section { path: "damper.original", words: "The dampers the car was built with." },
    Section { path: "damper.fitted", words: "The dampers going on." },
    Section {
        path: "damper",
        words: "Where the damper sits: three lengths are enough, coordinates are better.",
    },
    Section { path: "plate", words: "The spring plate, on the bench." },
    Section { path: "stop_bolt", words: "The bolt behind the plate that ends its droop." },
    Section { path: "hose", words: "The brake hose, which must never be taut or twisted." },
    Section { path: "cable", words: "The handbrake cable." },
    Section { path: "half_shaft", words: "The half-shaft; it goes in after engine and gearbox." },
    Section { path: "shell", words: "The body as it stands on the stands now." },
    Section {
        path: "arm",
        words: "The arm, measured with the bar out and no load on it, blocked so that it cannot \
                drop.",
    },
    Section { path: "eccentrics", words: "The two bolts that set camber and toe." },
    Section {
        path: "front",
        words: "The front of the car, as far as it bears on the rear. If left and right differ, \
                write [left.front] and [right.front].",
    },
    Section { path: "anti_roll", words: "Anti-roll bars." },
    Section {
        path: "floor",
        words: "The floor under the wheels; blank, it is taken as flat, and said so.",
    },
    Section { path: "toe", words: "How toe is read." },
    Section {
        path: "uncertainty",
        words: "How sure your measures are, for every one above that does not say so itself: \
                standard uncertainties, about two readings in three within them.",
    },
];

/// The commented car file with every value blank: sections in the order in which they pay, each
/// measurement with how to take it, how good it must be and what it makes possible. `beware` is
/// what may hurt or kill, a paragraph each, near its head.
pub fn starter(beware: &[String]) -> String {
    let mut out = String::new();
    head(HEAD, &mut out);
    for words in beware {
        out.push_str("#\n");
        remark("", words, &mut out);
    }
    out.push_str("#\n");
    head(HOW, &mut out);
    out.push_str("\nformat = 1\n");
    let mut rung = 0;
    for section in SECTIONS {
        let first = Field::of_section(section.path).map(Field::rung).min().unwrap_or(rung);
        if section.path == "uncertainty" {
            rule("How sure it all is", &mut out);
        } else if rung < first {
            rung = first;
            rule(rung_title(rung), &mut out);
        }
        if section.path == "bar" {
            block(CAR, &mut out);
            block(FREE_ANGLE, &mut out);
        }
        self::section(section, &mut out);
        match section.path {
            "splines" => block(READINGS, &mut out),
            "load" => block(OTHER_SPECS, &mut out),
            "shell" => block(STANDS, &mut out),
            "toe" => block(WHEELS, &mut out),
            _ => {}
        }
    }
    rule("The joints: settings, order, and what is still open", &mut out);
    block(JOINTS, &mut out);
    rule("The work: its order, and when it is done", &mut out);
    block(STEPS, &mut out);
    out
}

fn head(text: &str, out: &mut String) {
    for line in text.lines() {
        let line = format!("# {line}");
        let _ = writeln!(out, "{}", line.trim_end());
    }
}

fn rung_title(rung: u8) -> &'static str {
    match rung {
        1 => "Step 1: four numbers give the new free angle, to about a degree",
        2 => "Step 2: tooth counts and a reading say which teeth to move",
        3 => "Step 3: some ten more give trim, stress, and what a half-built car should show",
        4 => "Step 4: three lengths each say what fits at which angle, and masses what it takes",
        5 => "Step 5: coordinates give camber and toe, and make all the rest surer",
        _ => "Step 6: the car on its wheels: what it should read, and what to correct",
    }
}

fn rule(title: &str, out: &mut String) {
    let line = "=".repeat(WIDTH - 2);
    let _ = write!(out, "\n# {line}\n# {title}\n# {line}\n");
}

fn block(text: &str, out: &mut String) {
    let _ = write!(out, "\n{}\n", text.trim());
}

fn section(section: &Section, out: &mut String) {
    out.push('\n');
    remark("", section.words, out);
    let _ = writeln!(out, "[{}]", section.path);
    for field in Field::of_section(section.path) {
        let mut name = field.name().to_owned();
        if let Some(first) = name.get(..1).map(str::to_uppercase) {
            name.replace_range(..1, &first);
        }
        out.push('\n');
        remark("", &format!("{name}."), out);
        remark("  ", field.how(), out);
        remark("  Good enough: ", field.good_enough(), out);
        remark("  Gives: ", field.unlocks(), out);
        let is_list = matches!(field.shape(), Shape::Outline | Shape::Lengths);
        let (example, blank) = match (is_list, field.shape()) {
            (true, _) => (field.example().to_owned(), "[]"),
            (false, Shape::Count { .. }) => (field.example().to_owned(), "\"\""),
            _ => (format!("\"{}\"", field.example()), "\"\""),
        };
        remark("  As in: ", &format!("{} = {example}", field.key()), out);
        let _ = writeln!(out, "{} = {blank}", field.key());
    }
}

/// A remark, broken into lines; those after the first stand under its words.
pub(crate) fn remark(lead: &str, text: &str, out: &mut String) {
    let indent = " ".repeat(lead.len());
    let mut line = format!("# {lead}");
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && WIDTH < line.chars().count() + 1 + word.chars().count() {
            let _ = writeln!(out, "{line}");
            line = format!("# {indent}");
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    let _ = writeln!(out, "{line}");
}
