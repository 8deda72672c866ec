//! Broken joints, bolts, wrenches, parts and steps, in the same way as `broken.rs`.

use crate::table::{DEMO, Row, errors, losing, row, warnings};
use axlewright_book::{Severity, read};

const CALENDAR: &str = "[calendar]\n";
const COVER: &str = "id = \"hub-cover\"\n";
const LAYOUT: &str = "layout = [\"-48, 32 mm\", \"48, 32 mm\", \"48, -32 mm\", \"-48, -32 mm\"]";
const STICK: &str = "id = \"stick-made\"\n";
const SESSIONS: &str = "sessions = [\"Mon 19:00 180\", \"Wed 19:00 180\", \
     \"Fri 19:00 180\", \"Sat 09:00 420 every 2\"]";

/// A step more, with a slip in it.
macro_rules! step {
    ($keys:literal) => {
        concat!(
            "[[step]]\nid = \"tidy\"\nphase = \"assembly\"\nwords = \"sweep\"\n",
            $keys,
            "\n[calendar]\n"
        )
    };
}

/// A bolt's row with a slip in it.
macro_rules! bolt {
    ($keys:literal) => {
        concat!("[[bolt]]\n", $keys, "\n[calendar]\n")
    };
}

const IDS: &[Row] = &[
    losing(
        &["joint"],
        row(
            COVER,
            "id = ‸\"Hub cover\"\n",
            "`joint.id` is `Hub cover`; an id is made of small letters, digits and hyphens",
            "write \"hub-cover\"",
        ),
    ),
    row(
        CALENDAR,
        "[[part]]\nid = ‸\"\u{fc}\"\n[calendar]\n",
        "`part.id` is `\u{fc}`; an id is made of small letters, digits and hyphens",
        "as in \"hub-cover\"",
    ),
    losing(
        &["step"],
        row(
            "id = \"handover\"",
            "id = ‸17",
            "`step.id` is a whole number; it must be words in quotes",
            "\"plate-on\"",
        ),
    ),
    row(
        CALENDAR,
        "‸[[part]]\nname = \"hub cap\"\n[calendar]\n",
        "this row does not say `id`",
        "write `id = \"plate\"`",
    ),
    row(
        CALENDAR,
        "[[part]]\nid = ‸\"cap-left\"\nside = \"each\"\n[calendar]\n",
        "`part.id` is `cap-left`, and the row's side is each",
        "write id = \"cap\"",
    ),
    row(
        CALENDAR,
        "[[part]]\nid = ‸\"cap-left\"\nside = \"right\"\n[calendar]\n",
        "`part.id` is `cap-left`, and the row's side is right",
        "the side is added",
    ),
    row(
        CALENDAR,
        "[[part]]\nid = ‸\"caps-both\"\n[calendar]\n",
        "`part.id` is `caps-both`, and the row's side is none",
        "write id = \"caps\"",
    ),
    row(
        CALENDAR,
        "[[part]]\nid = ‸\"hose\"\nside = \"each\"\n[calendar]\n",
        "there are two of `hose-left` among the parts",
        "the first is in line 599",
    ),
    row(
        CALENDAR,
        "[[part]]\nid = ‸\"hose-right\"\nside = \"right\"\n[calendar]\n",
        "there are two of `hose-right` among the parts",
        "another id",
    ),
    row(
        CALENDAR,
        "[[part]]\nid = \"cap\"\nside = ‸\"both\"\n[calendar]\n",
        "`part.side` is `both`; it must be one of a few words",
        "each, left, right, none",
    ),
];

const JOINTS: &[Row] = &[
    row(
        "thread = \"M24x1.5\"",
        "thread = ‸\"metric\"",
        "`joint.thread` is `metric`, which has no figure in it",
        "\"M10x1.5\"",
    ),
    row(
        "thread = \"M24x1.5\"",
        "thread = ‸24",
        "`joint.thread` is a whole number; it must be words in quotes",
        "\"M10x1.5\"",
    ),
    row(
        "class = \"8\"\n",
        "class = ‸\"high\"\n",
        "`joint.class` is `high`, which has no figure in it",
        "\"8.8\"",
    ),
    row(
        "count = 4\n",
        "count = ‸400\n",
        "`joint.count` is 400; it must lie between 1 and 64",
        "the decimal point",
    ),
    row("count = 4\n", "count = ‸0\n", "`joint.count` is 0; it must lie between 1 and 64", ""),
    row(
        LAYOUT,
        "layout = ‸[\"-48, 32 mm\", \"48, 32 mm\", \"48, -32 mm\"]",
        "`joint.layout` has 3 points, and `joint.count` is 4",
        "one point for each bolt",
    ),
    row(
        LAYOUT,
        "layout = ‸[\"-48, 32 mm\", \"48, 32 mm\", \"48, 31.5 mm\", \"-48, -32 mm\"]",
        "bolts 2 and 3 of the layout are in the same place",
        "look at the signs",
    ),
    row(
        LAYOUT,
        "layout = [\"-48, 32 mm\", \"48, 32 mm\", ‸\"48, -3200 mm\", \"-48, -32 mm\"]",
        "`joint.layout, point 3` lies -3200 mm from the layout's zero; the limit is 1000 mm",
        "the unit and the decimal point",
    ),
    row(
        LAYOUT,
        "layout = [\"-48, 32 mm\", \"48, 32 mm\", ‸\"48 mm\", \"-48, -32 mm\"]",
        "`joint.layout, point 3` is `48 mm`; it needs the two coordinates x, y",
        "-48, 32 mm",
    ),
    row(
        LAYOUT,
        "layout = [\"-48, 32 mm\", ‸\"\", \"48, -32 mm\", \"-48, -32 mm\"]",
        "`joint.layout, point 2` is blank; a list has no blanks in it",
        "take it out",
    ),
    row(
        LAYOUT,
        "layout = ‸\"a square\"",
        "`joint.layout` is text; it must be a list of points",
        "[\"-48, 32 mm\", \"48, 32 mm\"]",
    ),
    row(
        "process_record = false",
        "process_record = ‸\"no\"",
        "`joint.process_record` is text; it must be true or false, without quotes",
        "write true",
    ),
    row(
        "plated = \"zinc\"\nprocess_record = false",
        "plated = \"none\"\nprocess_record = ‸true",
        "`joint.process_record` does not belong in a row of a joint that is not plated",
        "only what was plated",
    ),
    row(
        "position = \"wheels down\"",
        "position = ‸\"wheel down\"",
        "`joint.position` is `wheel down`; it must be one of a few words",
        "did you mean `wheels down`?",
    ),
    row(
        "position = \"wheels down\"",
        "position = ‸\"bar out\"",
        "`joint.position` is `bar out`; it must be one of a few words",
        "any, hang, stop bolt clear, ride, wheels down",
    ),
    row(
        "kind = \"friction\"                # faces bare and clean; the pull on them is not \
         known yet\nfaces = 1",
        "kind = \"bearing\"\nfaces = ‸1",
        "`joint.faces` does not belong in a row of a bearing joint",
        "only a friction joint",
    ),
    row(
        "faces = 1",
        "faces = 1\nload = \"250 ‸kg\"",
        "`joint.load`: `kg` …",
        "in kgf or lbf where",
    ),
    row(
        "locking = \"cotter\"",
        "locking = ‸\"split pin\"",
        "`joint.locking` is `split pin`; it must be one of a few words",
        "nut, washer, cotter, compound, none",
    ),
    row(
        "adapter = \"60 mm\"                # the wrench alone does not get \
         there\nadapter_angle = \"0 deg\"",
        "‸adaptor = \"60 mm\"",
        "unknown key `adaptor` in `[joint]`",
        "did you mean `adapter`?",
    ),
    row(
        "locking = \"cotter\"",
        "hole = \"30 mm\"\nhead_width = ‸\"26 mm\"",
        "`joint.hole` is 30 mm and `joint.head_width` is 26 mm; it must be less",
        "bear outside the hole",
    ),
];

const TORQUES: &[Row] = &[
    row("torque = \"32 kgf m\"", "torque = \"32 ‸kgf\"", "`joint.torque`: `kgf` …", "4.4 kgf m"),
    row(
        "torque = \"32 kgf m\"",
        "torque = ‸32",
        "`joint.torque` is the bare number 32; it needs its unit",
        "\"32 N·m\"",
    ),
    row(
        "torque = \"32 kgf m\"",
        "torque = ‸\"-32 kgf m\"",
        "`joint.torque` is -32 kgf m; it must lie between 0.1 N·m and 2000 N·m",
        "was 313.81 N·m meant?",
    ),
    row(
        "torque = \"32 kgf m\"",
        "torque = ‸\"3200 kgf m\"",
        "`joint.torque` is 3200 kgf m; it must lie between 0.1 N·m and 2000 N·m",
        "the unit and the decimal point",
    ),
    row(
        "torque = \"N m\"",
        "torque = ‸\"mm\"",
        "`units.torque` is `mm`; it must be one of a few words",
        "kgf m, N m, lbf ft",
    ),
    row(
        "torque = \"N m\"",
        "‸length = \"mm\"",
        "unknown key `length` in `units`",
        "known here: torque",
    ),
    row(
        "to = \"25 N m\"",
        "to = ‸\"2.5 N m\"",
        "`wrench.from` is 5 N·m and `wrench.to` is 2.5 N·m; it must be less",
        "from the least to the greatest",
    ),
    losing(
        &["wrench"],
        row(
            "name = \"small click wrench\"",
            "‸nmae = \"small click wrench\"",
            "unknown key `nmae` in `[wrench]`",
            "did you mean `name`?",
        ),
    ),
    losing(
        &["wrench"],
        row(
            "name = \"middle click wrench\"",
            "name = ‸\"Small click wrench\"",
            "two wrenches are called `Small click wrench`",
            "the first is in line 487",
        ),
    ),
];

const BOLTS: &[Row] = &[
    row(
        CALENDAR,
        bolt!("joint = ‸\"hub-cover\"\nbolt = 1\nstate = \"snug\""),
        "`bolt.joint` names `hub-cover`, which there is on each side",
        "write `hub-cover-left` or `hub-cover-right`",
    ),
    row(
        CALENDAR,
        bolt!("joint = ‸\"hub-cvoer-left\"\nbolt = 1\nstate = \"snug\""),
        "`bolt.joint` names `hub-cvoer-left`, and there is no such joint",
        "did you mean `hub-cover-left`?",
    ),
    row(
        CALENDAR,
        bolt!("joint = ‸\"gearbox-mount\"\nbolt = 1\nstate = \"snug\""),
        "`bolt.joint` names `gearbox-mount`, and there is no such joint",
        "known: arm-to-plate, damper-bottom",
    ),
    row(
        CALENDAR,
        bolt!("joint = ‸\"plate-bolts-left\"\nbolt = 1\nstate = \"snug\""),
        "`bolt.joint` names `plate-bolts-left`, and there is no such joint",
        "that is a part; here a joint is meant",
    ),
    row(
        CALENDAR,
        bolt!("joint = \"hub-cover-left\"\nbolt = ‸5\nstate = \"snug\""),
        "`bolt.bolt` is 5, and `hub-cover-left` has 4",
        "counted from 1",
    ),
    row(
        CALENDAR,
        bolt!("joint = \"hub-cover-left\"\nbolt = ‸0\nstate = \"snug\""),
        "`bolt.bolt` is 0; it must lie between 1 and 64",
        "",
    ),
    row(
        CALENDAR,
        "‸[[bolt]]\njoint = \"hub-cover-left\"\nstate = \"snug\"\n[calendar]\n",
        "this row does not say `bolt`",
        "write `bolt = 1`",
    ),
    row(
        CALENDAR,
        "‸[[bolt]]\njoint = \"hub-cover-left\"\nbolt = 1\n[calendar]\n",
        "this row does not say `state`",
        "torqued",
    ),
    row(
        CALENDAR,
        bolt!("joint = \"hub-cover-left\"\nbolt = 1\nstate = ‸\"tight\""),
        "`bolt.state` is `tight`; it must be one of a few words",
        "open, snug, torqued, paint-marked",
    ),
    row(
        CALENDAR,
        bolt!("joint = \"hub-cover-left\"\nbolt = 1\nstate = \"open\"\nvalue = ‸\"4 kgf m\""),
        "`bolt.value` does not belong in a row of an open bolt",
        "a loose bolt has no torque",
    ),
];

const BOLTS_DOUBTED: &[Row] = &[
    row(
        CALENDAR,
        bolt!("joint = \"hub-cover-left\"\nbolt = 1\nstate = ‸\"paint-marked\""),
        "bolt 1 of `hub-cover-left` is paint-marked, and no row above says it was torqued",
        "counts as it stood before",
    ),
    row(
        CALENDAR,
        bolt!(
            "joint = \"stop-bolt-left\"\nstate = \"torqued\"\nvalue = \"45 N m\"\n\
             wrench = ‸\"midle click wrench\""
        ),
        "`bolt.wrench` is `midle click wrench`, and nothing is called so",
        "did you mean `middle click wrench`?",
    ),
    row(
        CALENDAR,
        "[[spec]]\nwhat = \"torque\"\njoint = ‸\"inner pivto\"\nvalue = \"9.6 kgf m\"\n\
         [calendar]\n",
        "`spec.joint` is `inner pivto`, and nothing is called so",
        "did you mean `inner pivot`?",
    ),
];

const PARTS: &[Row] = &[
    row(
        "state = \"out\"\nback_in_days = 4\n",
        "state = \"out\"\nback_in_days = ‸-4\n",
        "`part.back_in_days` is -4; it must lie between 0 and 730",
        "the sign",
    ),
    row(
        "state = \"out\"\nback_in_days = 4\n",
        "state = \"fitted\"\nback_in_days = ‸4\n",
        "`part.back_in_days` does not belong in a row of a fitted part",
        "only what is out comes back",
    ),
    row(
        "state = \"out\"\nback_in_days = 4\n",
        "state = ‸\"ordered\"\n",
        "`part.state` is `ordered`; it must be one of a few words",
        "on the bench, fitted, out",
    ),
    row(
        "spans = \"cable\"",
        "spans = ‸\"handbrake cable\"",
        "`part.spans` is `handbrake cable`; it must be one of a few words",
        "damper, half-shaft, hose, cable, stop bolt",
    ),
];

const STEPS: &[Row] = &[
    losing(
        &["step"],
        row(
            CALENDAR,
            "‸[[step]]\nid = \"tidy\"\nwords = \"sweep the floor\"\n[calendar]\n",
            "this row does not say `phase`",
            "write `phase = \"assembly\"`",
        ),
    ),
    row(
        CALENDAR,
        "‸[[step]]\nid = \"tidy\"\nphase = \"assembly\"\nwords = \" \"\n[calendar]\n",
        "this row does not say `words`",
        "write `words = ",
    ),
    row(
        CALENDAR,
        "[[step]]\nid = \"tidy\"\nphase = ‸\"assembling\"\nwords = \"sweep\"\n[calendar]\n",
        "`step.phase` is `assembling`; it must be one of a few words",
        "did you mean `assembly`?",
    ),
    row(
        STICK,
        "id = \"stick-made\"\n‸after_that = \"x\"\n",
        "unknown key `after_that` in `[step]`",
        "known here: id, phase",
    ),
    row(
        CALENDAR,
        step!("minutes = ‸-5"),
        "`step.minutes` is -5; it must lie between 1 and 1440",
        "the sign",
    ),
    row(
        CALENDAR,
        step!("minutes = ‸1e3"),
        "`step.minutes` is a bare number; it must be a whole number",
        "write 10",
    ),
    row(
        CALENDAR,
        step!("minutes = ‸\"a while\""),
        "`step.minutes` is text; it must be a whole number",
        "write 10",
    ),
    row(
        CALENDAR,
        step!("hold = ‸1"),
        "`step.hold` is a whole number; it must be true or false, without quotes",
        "write true",
    ),
    row(
        CALENDAR,
        step!("hands = ‸\"gresy\""),
        "`step.hands` is `gresy`; it must be one of a few words",
        "did you mean `greasy`?",
    ),
    row(
        CALENDAR,
        step!("arm = \"ride\"\narm_at = ‸\"11 deg\""),
        "`step.arm_at` does not belong in a row of a step with `arm`",
        "a second time",
    ),
    row(
        CALENDAR,
        step!("arm_at = ‸\"95 deg\""),
        "`step.arm_at` is 95 deg; it must lie between -45 deg and 60 deg",
        "was 9.5 deg meant?",
    ),
    row(
        CALENDAR,
        step!("fits = [‸\"dampers\"]"),
        "`step.fits, entry 1` is `dampers`; it must be one of a few words",
        "did you mean `damper`?",
    ),
    row(
        CALENDAR,
        step!("fits = [\"hose\"]\nremoves = [‸\"hose\"]"),
        "the step both fits and removes the hose",
        "make two steps of it",
    ),
    row(
        CALENDAR,
        step!("side = \"each\"\nstation = ‸\"left rear\""),
        "`step.station` is `left rear`, which names a side; the step's side is each",
        "the side is added",
    ),
    row(
        CALENDAR,
        step!("side = \"right\"\nstation = ‸\"Under  LEFT\""),
        "`step.station` is `under left`, which names a side; the step's side is right",
        "the step's own side",
    ),
];

const NAMES_IN_STEPS: &[Row] = &[
    row(
        CALENDAR,
        step!("after = [‸\"tidy\"]"),
        "the step `tidy` comes after itself",
        "name the step before it",
    ),
    row(
        CALENDAR,
        step!("side = \"each\"\nafter = [‸\"tidy-left\"]"),
        "the step `tidy-left` comes after itself",
        "rows of their own",
    ),
    row(
        CALENDAR,
        step!("after = [‸\"plate-on\"]"),
        "`step.after, entry 1` names `plate-on`, which there is on each side",
        "write `plate-on-left`, `plate-on-right` or `plate-on-both`",
    ),
    row(
        CALENDAR,
        step!("after = [\"settle\", ‸\"setle\"]"),
        "`step.after, entry 2` names `setle`, and there is no such step",
        "did you mean `settle`?",
    ),
    row(
        CALENDAR,
        step!("after = [‸\"settle-left\"]"),
        "`step.after, entry 1` names `settle-left`, and there is no such step",
        "known: ",
    ),
    row(
        CALENDAR,
        step!("needs = ‸\"plate-boltz-both\""),
        "`step.needs` names `plate-boltz-both`, and there is no such part",
        "did you mean `plate-bolts-both`?",
    ),
    row(
        CALENDAR,
        step!("torques = [‸\"plate-on-left\"]"),
        "`step.torques, entry 1` names `plate-on-left`, and there is no such joint",
        "that is a step; here a joint is meant",
    ),
    row(
        CALENDAR,
        step!("side = \"each\"\nneeds = [‸\"bar-left\"]"),
        "`step.needs, entry 1` names `bar-left`, which is not on the right, as the step is",
        "name what is on the right",
    ),
    row(
        CALENDAR,
        step!("side = \"left\"\nsnug = [‸\"hub-nut-both\"]"),
        "`step.snug, entry 1` names `hub-nut-both`, which is not on the left, as the step is",
        "side = \"none\"",
    ),
    row(
        CALENDAR,
        step!("needs = [‸[3]]"),
        "`step.needs, entry 1` is a list; it must be words in quotes",
        "plate",
    ),
    row(
        CALENDAR,
        step!("needs = [\"grease\", ‸\"\"]"),
        "`step.needs, entry 2` is blank; a list has no blanks in it",
        "take it out",
    ),
    row(
        CALENDAR,
        step!("needs = ‸3"),
        "`step.needs` is a whole number; it must be a list of ids of parts",
        "[\"plate\"]",
    ),
];

const NAMES_DOUBTED: &[Row] = &[row(
    CALENDAR,
    step!("side = \"left\"\nneeds = [\"bar\", ‸\"bar-left\"]"),
    "`step.needs, entry 2` names `bar-left` a second time",
    "once is enough",
)];

const TIME: &[Row] = &[
    row(
        "jack = 6",
        "jack = ‸-6",
        "`changeover.jack` is -6; it must lie between 0 and 240",
        "the sign",
    ),
    row("jack = 6", "‸jak = 6", "unknown key `jak` in `changeover`", "did you mean `jack`?"),
    row(
        "[\"nose\", \"left rear\", 2]",
        "‸[\"nose\", \"left rear\"]",
        "`changeover.walk_between, entry 5` is a list of less than three; a way is two stations \
         and the minutes between them",
        "[\"left rear\", \"right rear\", 2]",
    ),
    row(
        "[\"nose\", \"left rear\", 2]",
        "‸[\"nose\", \"Nose\", 2]",
        "the way from `nose` leads to itself",
        "name two stations",
    ),
    row(
        "[\"nose\", \"left rear\", 2]",
        "‸[\"right rear\", \"left rear\", 3]",
        "the way between `right rear` and `left rear` is given twice",
        "keep the one in line",
    ),
    row(
        "[\"nose\", \"left rear\", 2]",
        "[\"nose\", \"left rear\", ‸2000]",
        "`changeover.walk_between, entry 5` is 2000; it must lie between 0 and 240",
        "",
    ),
    row(
        "start = \"1964-05-04\"",
        "start = ‸\"1964-02-30\"",
        "`calendar.start` is `1964-02-30`, which is no day",
        "\"1964-05-04\"",
    ),
    row(
        "start = \"1964-05-04\"",
        "start = ‸\"next Monday\"",
        "`calendar.start` is `next Monday`, which is no day",
        "year, month and day",
    ),
    row(
        SESSIONS,
        "sessions = [‸\"Sat 9 to 5\"]",
        "`calendar.sessions, entry 1` is `Sat 9 to 5`, which is no time to work in",
        "",
    ),
    row(
        SESSIONS,
        "sessions = [\"Sat 09:00 420\", ‸\"Mon 22:00 180\"]",
        "`calendar.sessions, entry 2` is `Mon 22:00 180`, which is no time to work in",
        "over before midnight",
    ),
    row(
        SESSIONS,
        "sessions = [\"Sat 09:00 420\", ‸\"Sat 08:00 90 every 2\"]",
        "`Sat 09:00 420` begins before `Sat 08:00 90 every 2` is over",
        "one session of the two",
    ),
    row(
        "helper = [\"Sat\"]",
        "helper = [‸\"Saturday\"]",
        "`calendar.helper, entry 1` is `Saturday`; it must be one of a few words",
        "did you mean `Sat`?",
    ),
    row(
        CALENDAR,
        "[calendar]\n‸holidays = \"August\"\n",
        "unknown key `holidays` in `calendar`",
        "known here: start, sessions, helper",
    ),
    row(
        "[load]",
        "[left.‸step]\nid = \"x\"\n[load]",
        "`step` belongs to the whole car and cannot differ from side to side",
        "write it once, under `[step]`",
    ),
    row(
        "",
        "format = 1\n‸[joint]\nid = \"x\"\n",
        "`joint` is a section; it is written as rows, each under its own `[[joint]]`",
        "in double brackets",
    ),
];

const TIME_DOUBTED: &[Row] = &[
    row(
        "helper = [\"Sat\"]",
        "helper = [\"Sat\", ‸\"Sun\"]",
        "a second person comes on Sun, and there is no session on that day",
        "write a session for it",
    ),
    row(
        "[\"nose\", \"left rear\", 2]",
        "[‸\"nosee\", \"left rear\", 2]",
        "`changeover.walk_between, entry 5` names `nosee`, and no step is done there",
        "did you mean `nose`?",
    ),
];

/// A text over several lines that is not closed costs its own lines, not the rows up to the next
/// such text.
const LONG_TEXTS: &[Row] = &[losing(
    &["step"],
    row(
        "[calendar]\n",
        "[[step]]\nid = \"tidy\"\nphase = \"assembly\"\nwords = ‸\"\"\"\n    Sweep.\n    Again.\n\
         side = \"none\"\n[calendar]\n",
        "the three closing quotes are missing",
        "with three quotes",
    ),
)];

#[test]
fn ids() {
    errors(IDS);
}

#[test]
fn joints() {
    errors(JOINTS);
}

#[test]
fn torques() {
    errors(TORQUES);
}

#[test]
fn bolts() {
    errors(BOLTS);
    warnings(BOLTS_DOUBTED);
}

#[test]
fn parts() {
    errors(PARTS);
}

#[test]
fn steps() {
    errors(STEPS);
}

#[test]
fn names_in_steps() {
    errors(NAMES_IN_STEPS);
    warnings(NAMES_DOUBTED);
}

#[test]
fn time() {
    errors(TIME);
    warnings(TIME_DOUBTED);
}

#[test]
fn long_texts() {
    errors(LONG_TEXTS);
}

/// What a slip in one row takes with it is told of once, not again wherever the row is named.
#[test]
fn a_name_that_a_slip_has_hidden_is_not_called_unknown() {
    for (find, put) in [
        ("id = \"hub-cover\"", "id = hub-cover"),
        ("id = \"settle\"", "id = \"settle"),
        ("[[part]]\nid = \"plate\"", "[[part]\nid = \"plate\""),
        ("id = \"plate-bolts\"", "id \"plate-bolts\""),
    ] {
        assert_eq!(DEMO.matches(find).count(), 1, "{find}");
        let (_, problems) = read(&DEMO.replacen(find, put, 1));
        let slips = problems.iter().filter(|p| p.severity == Severity::Error);
        let said: Vec<&str> = slips.map(|p| p.what.as_str()).collect();
        let unknown = said.iter().any(|what| what.contains("there is no such"));
        assert!(!unknown && (1..=2).contains(&said.len()), "{put}: {said:#?}");
    }
}
