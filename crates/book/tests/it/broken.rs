//! Broken car files, each with the message it must give and the place it must give it at.
//!
//! A row takes a piece out of the demo file and puts another in. The mark `‸` in what is put in is
//! taken out again; it stands where the message must point. Everything else in the file must still
//! be read: a slip in one line costs that line.

use crate::table::{DEMO, Row, errors, losing, row, sound, warnings};
use axlewright_book::{Field, read};
use axlewright_quantity::Side;

const OUTLINE: &str = "outline = [
    \"-60, 55 mm\",
    \"250, 50 mm\",
    \"370, 38 mm\",
    \"370, -36 mm\",
    \"250, -46 mm\",
    \"-60, -55 mm\",
]";
const FITTED: &str = "fitted_diameter = \"23.0 mm\"";
const HUB: &str = "hub = \"0, 610, 0 mm\"";
const SECOND: &str = "builds = \"2468-3990\"";
const PAGE: &str = "source = \"workshop manual, section T, p. 4\"";
const LEFT_REAR: &str = "name = \"left rear\"\nat = \"20, 450 mm\"";
const LEFT: &str = "side = \"left\"\nvalue = \"35.2 deg\"\narrow = \"nose\"";

/// A fitted diameter that no bar has.
macro_rules! beyond {
    ($given:literal) => {
        concat!("`bar.fitted_diameter` is ", $given, "; it must lie between 8 mm and 60 mm")
    };
}

const LENGTH: &str = "length = \"540 mm\"";
const HEADER_OPEN: &str = "the bracket of the section is not closed";

const LINES_THAT_ARE_NOT_TOML: &[Row] = &[
    row(LENGTH, "length = ‸540 mm", "the value is not in quotes", "in quotes, \"540 mm\""),
    row(LENGTH, "length = ‸\"540 mm", "the closing quote is missing", "end the value with \""),
    row(LENGTH, "length = ‸540 mm\"", "a quote is missing", "before and after a value"),
    row(LENGTH, "length = ‸'540 mm", "the closing quote is missing", "end the value with '"),
    row(LENGTH, "length = ‸“540 mm”", "the value is not in quotes", "in quotes, \"540 mm\""),
    row(LENGTH, "‸length =", "nothing stands after `=`", "write \"\" to leave it blank"),
    row(
        LENGTH,
        "‸length \"540 mm\"",
        "there is a key here and no `=` with a value",
        "a remark begins with #",
    ),
    row(LENGTH, "length‸: \"540 mm\"", "there is a `:` where `=` belongs", "write `key = "),
    row(LENGTH, "length = ‸= \"540 mm\"", "there is a second `=`", "one value a line"),
    row(LENGTH, "‸lengt h = \"540 mm\"", "the key has a blank in it", "one word"),
    row(LENGTH, "l‸änge = \"540 mm\"", "this is no key", "plain letters"),
    row(LENGTH, "length = 540‸,5", "there is a comma in the number", "\"540.5 mm\""),
    row(LENGTH, "length = ‸0540", "the number begins with a zero", "without the zero"),
    row(
        LENGTH,
        "length = \"540 mm\" ‸as measured",
        "something is left over on this line",
        "a remark begins with #",
    ),
    row(
        LENGTH,
        "length = \"540 mm\" ‸sag = \"0 deg\"",
        "something is left over on this line",
        "one key and one value a line",
    ),
    row(LENGTH, "length = ‸\"\"\"540 mm", "the three closing quotes are missing", "one quote"),
    row(
        LENGTH,
        "length = \"540 mm\"\n‸length = \"541 mm\"",
        "`length` stands here a second time; it was first written in line 112",
        "keep one of the two",
    ),
];

#[test]
fn lines_that_are_not_toml() {
    errors(LINES_THAT_ARE_NOT_TOML);
}

const SECTIONS_AND_LISTS_THAT_ARE_NOT_TOML: &[Row] = &[
    losing(&["tyre"], row("[tyre]", "‸[tyre", HEADER_OPEN, "nothing under it")),
    losing(
        &["tyre"],
        row("[tyre]", "‸tyre]", "the bracket before the section's name is missing", "`[bar]`"),
    ),
    losing(&["tyre"], row("[tyre]", "‸[]", "the section has no name", "write `[bar]`")),
    row(
        "[eccentrics]",
        "[‸tyre]\n[eccentrics]",
        "`tyre` stands here a second time; it was first written in line 170",
        "keep one of the two",
    ),
    row(
        OUTLINE,
        "outline = ‸[\n    \"-60, 55 mm\",\n    \"250, 50 mm\",\n",
        "the bracket opened here is not closed before the next section or key",
        "close it",
    ),
    row(
        "outline = [\n    \"-60, 55 mm\",\n",
        "‸outline =\n    \"-60, 55 mm\",\n",
        "nothing stands after `=`",
        "write \"\" to leave it blank",
    ),
    row(
        "    \"370, -36 mm\",\n",
        "    \"0, 0 mm\"\n    ‸\"370, -36 mm\",\n",
        "a comma is missing",
        "between the entries",
    ),
];

#[test]
fn sections_and_lists_that_are_not_toml() {
    errors(SECTIONS_AND_LISTS_THAT_ARE_NOT_TOML);
}

const THE_FRAME_OF_THE_FILE: &[Row] = &[
    row(
        "",
        "‸[car]\nname = \"x\"\n",
        "the file does not say which format it is written in",
        "format = 1",
    ),
    row("format = 1", "format = ‸2", "format is 2; this version reads format 1", "later one"),
    row("format = 1", "format = ‸0", "format is 0; the first format is 1", "`format = 1`"),
    row("format = 1", "format = ‸-3", "format is -3; the first format is 1", "`format = 1`"),
    row(
        "format = 1",
        "format = ‸99999999999999999999",
        "format is 99999999999999999999; this version reads format 1",
        "read it with the version",
    ),
    row("format = 1", "format = ‸\"one\"", "`format` is text; it must be a whole number", "1"),
    losing(
        &["tyre"],
        row("[tyre]", "[‸tires]", "unknown section `[tires]`", "did you mean `tyre`?"),
    ),
    losing(
        &["shell"],
        row("[shell]", "[‸boat]", "unknown section `[boat]`", "sections: car, spec, bar, ride"),
    ),
    row(
        "plunge_limit = \"22 mm\"",
        "‸plunge_limits = \"22 mm\"",
        "unknown key `plunge_limits` in `half_shaft`",
        "did you mean `plunge_limit`?",
    ),
    row(
        "[tyre]\n",
        "[tyre]\n‸free_lenght = \"3 mm\"\n",
        "unknown key `free_lenght` in `tyre`",
        "known here: radius, rate",
    ),
    row(
        "[tyre]\n",
        "[tyre]\n‸plate_angle = \"3 deg\"\n",
        "unknown key `plate_angle` in `tyre`",
        "it belongs under `[ride]`",
    ),
    row(
        "build_number = 2611",
        "‸chassis_number = 2611",
        "unknown key `chassis_number` in `car`",
        "known here: name, build_number",
    ),
    row(
        "format = 1",
        "format = 1\n‸length = \"540 mm\"",
        "unknown key `length` in `the head of the file`",
        "it belongs under `[bar]`",
    ),
    row(
        "[tyre]\n",
        "[left.‸shell]\nmass = \"500 kg\"\n[tyre]\n",
        "`shell` belongs to the whole car and cannot differ from side to side",
        "write it once, under `[shell]`",
    ),
    row(
        "[tyre]\n",
        "[left.‸tire]\nradius = \"290 mm\"\n[tyre]\n",
        "unknown section `[left.tire]`",
        "did you mean `left.tyre`?",
    ),
    row(
        "format = 1",
        "format = 1\nlever = ‸\"465 mm\"",
        "`lever` is text; it must be a section",
        "write `[lever]` on a line of its own",
    ),
    row(
        "format = 1",
        "format = 1\nright = ‸5",
        "`right` is a whole number; it must be a section",
        "`[right.bar]`",
    ),
    row(
        "",
        "format = 1\n‸[stand]\nname = \"left rear\"\n",
        "`stand` is a section; it is written as rows, each under its own `[[stand]]`",
        "in double brackets",
    ),
    row(
        "",
        "format = 1\nspec = [‸3]\n",
        "`spec` is a whole number; it is written as rows, each under its own `[[spec]]`",
        "in double brackets",
    ),
];

#[test]
fn the_frame_of_the_file() {
    errors(THE_FRAME_OF_THE_FILE);
}

const NUMBERS_AND_UNITS: &[Row] = &[
    row(
        LENGTH,
        "length = ‸540",
        "`bar.length` is the bare number 540; it needs its unit",
        "\"540 mm\"",
    ),
    row(
        "shear_modulus = \"78.5 GPa\"",
        "shear_modulus = ‸78500.0",
        "`bar.shear_modulus` is the bare number 78500.0; it needs its unit",
        "\"78500.0 MPa\"",
    ),
    row(LENGTH, "length = ‸nan", "`bar.length` is nan, which is no number", "\"540 mm\""),
    row(LENGTH, "length = ‸-inf", "`bar.length` is -inf, which is no number", "leave it blank"),
    row(LENGTH, "length = ‸1e400", "`bar.length` is 1e400, which is no number", "\"540 mm\""),
    row(LENGTH, "length = \"‸nan mm\"", "`bar.length`: `nan` …", "point for the decimals"),
    row(LENGTH, "length = \"‸540\"", "`bar.length`: `540` …", "\"540 mm\""),
    row(LENGTH, "length = \"540 ‸kg\"", "`bar.length`: `kg` …", "\"540 mm\""),
    row(LENGTH, "length = \"540 ‸mn\"", "`bar.length`: unknown unit `mn`…", "\"540 mm\""),
    row(LENGTH, "length = \"‸540,5 mm\"", "`bar.length`: `540,5` …", "decimals follow a point"),
    row(
        LENGTH,
        "length = ‸true",
        "`bar.length` is true or false; it must be a quantity in quotes",
        "\"540 mm\"",
    ),
    row(
        LENGTH,
        "length = ‸[\"540 mm\"]",
        "`bar.length` is a list; it must be a quantity in quotes",
        "\"540 mm\"",
    ),
    row(
        LENGTH,
        "length = ‸1963-09-01",
        "`bar.length` is a date; it must be a quantity in quotes",
        "\"540 mm\"",
    ),
    row(LENGTH, "length = \"540 mm ‸±\"", "`bar.length`: …", "a tolerance"),
    row(LENGTH, "length = \"540 mm ± ‸-1 mm\"", "`bar.length`: …", "a tolerance"),
    row(
        "build_date = \"1963-09\"",
        "build_date = ‸\"September 1963\"",
        "`car.build_date` is `September 1963`, which is no month of a year",
        "\"1963-09\"",
    ),
    row(
        "build_date = \"1963-09\"",
        "build_date = ‸\"1963-13\"",
        "`car.build_date` is `1963-13`, which is no month of a year",
        "year and month",
    ),
    row(
        "build_number = 2611",
        "build_number = ‸\"no. 2611\"",
        "`car.build_number` is text; it must be a whole number",
        "2611",
    ),
];

#[test]
fn numbers_and_units() {
    errors(NUMBERS_AND_UNITS);
}

const RANGES_AND_SIGNS: &[Row] = &[
    row(FITTED, "fitted_diameter = ‸\"2.3 mm\"", beyond!("2.3 mm"), "was 23 mm or 2.3 in meant?"),
    row(FITTED, "fitted_diameter = ‸\"230 mm\"", beyond!("230 mm"), "was 23 mm"),
    row(FITTED, "fitted_diameter = ‸\"0.906 mm\"", beyond!("0.906 mm"), "0.906 in meant?"),
    row(FITTED, "fitted_diameter = ‸\"23 in\"", beyond!("23 in"), "was 58.42 mm or 23 mm meant?"),
    row(FITTED, "fitted_diameter = ‸\"-23 mm\"", beyond!("-23 mm"), "was 23 mm meant?"),
    row(FITTED, "fitted_diameter = ‸\"0 mm\"", beyond!("0 mm"), "decimal point"),
    row(FITTED, "fitted_diameter = ‸\"23 m\"", beyond!("23 m"), "decimal point"),
    row(
        "shear_modulus = \"78.5 GPa\"",
        "shear_modulus = ‸\"78.5 MPa\"",
        "`bar.shear_modulus` is 78.5 MPa; it must lie between 60000 MPa and 90000 MPa",
        "was 78500 MPa meant?",
    ),
    row(
        "squash = \"50 %\"",
        "squash = ‸\"150 %\"",
        "`damper.squash` is 150 %; it must lie between 0.1 and 1",
        "decimal point",
    ),
    row(
        "squash = \"50 %\"",
        "squash = ‸50",
        "`damper.squash` is 50; it must lie between 0.1 and 1",
        "was 0.5 meant?",
    ),
    row(
        "anchor_teeth = 38",
        "anchor_teeth = ‸0",
        "`splines.anchor_teeth` is 0; it must lie between 4 and 200",
        "",
    ),
    row(
        "anchor_teeth = 38",
        "anchor_teeth = ‸-38",
        "`splines.anchor_teeth` is -38; it must lie between 4 and 200",
        "the sign",
    ),
    row(
        "anchor_teeth = 38",
        "anchor_teeth = ‸99999999999999999999",
        "`splines.anchor_teeth` is 99999999999999999999; it must lie between 4 and 200",
        "",
    ),
    row(
        "anchor_teeth = 38",
        "anchor_teeth = ‸38.5",
        "`splines.anchor_teeth` is a bare number; it must be a whole number",
        "write 38",
    ),
    row(
        "lash = \"0.1 deg\"",
        "lash = ‸\"-0.1 deg\"",
        "`splines.lash` is -0.1 deg; it must lie between 0 deg and 5 deg",
        "was 0.1 deg meant?",
    ),
    row(
        "plate_angle = \"11.0 deg\"",
        "plate_angle = ‸\"110 deg\"",
        "`ride.plate_angle` is 110 deg; it must lie between -45 deg and 60 deg",
        "was 11 deg meant?",
    ),
    row(
        "gas = \"120 N ± 20 N\"",
        "gas = ‸\"-120 N ± 20 N\"",
        "`damper.fitted.gas` is -120 N ± 20 N; it must lie between 0 N and 2000 N",
        "was 120 N meant?",
    ),
    row(
        "corner_weight = \"280 kg\"",
        "corner_weight = ‸\"-280 kg\"",
        "`load.corner_weight` is -280 kg; it must lie between 20 kg and 2000 kg",
        "was 280 kg meant?",
    ),
];

#[test]
fn ranges_and_signs() {
    errors(RANGES_AND_SIGNS);
}

const WORDS: &[Row] = &[
    row(
        "preset = \"handed\"",
        "preset = ‸\"handded\"",
        "`bar.preset` is `handded`; it must be one of a few words",
        "did you mean `handed`? known here: handed, none",
    ),
    row(
        "adjuster = \"splines\"",
        "adjuster = ‸\"ratchet\"",
        "`splines.adjuster` is `ratchet`; it must be one of a few words",
        "known here: splines, anchor only, plate only, screw",
    ),
    row(
        "kind = \"greased\"",
        "kind = ‸3",
        "`bush.kind` is a whole number; it must be one of a few words, in quotes",
        "\"greased\"",
    ),
    row(
        "front_shifts = \"both holes along u\"",
        "front_shifts = ‸\"both holes\"",
        "`eccentrics.front_shifts` is `both holes`; it must be one of a few words",
        "both holes along u, both holes along w",
    ),
    row(
        "name = \"Larch 1300\"",
        "name = ‸1300",
        "`car.name` is a whole number; it must be words in quotes",
        "\"Larch 1300\"",
    ),
];

#[test]
fn words() {
    errors(WORDS);
}

const PLACES: &[Row] = &[
    row(HUB, "hub = \"‸0, 610 mm\"", "`arm.hub`: …", "0, 610, 0 mm"),
    row(
        HUB,
        "hub = ‸[0, 610, 0]",
        "`arm.hub` is a list; it must be a place in quotes",
        "\"0, 610, 0 mm\"",
    ),
    row(
        HUB,
        "hub = ‸610",
        "`arm.hub` is a whole number; it must be a place in quotes",
        "\"0, 610, 0 mm\"",
    ),
    row(
        HUB,
        "hub = ‸\"0, -610, 0 mm\"",
        "`arm.hub` has Y -610 mm, on the right of the car, and stands for the left side",
        "are the sides swapped?",
    ),
    row(
        "[eccentrics]",
        "[right.arm]\nhub = ‸\"0, 612, 0 mm\"\n[eccentrics]",
        "`right.arm.hub` has Y 612 mm, on the left of the car, and stands for the right side",
        "the right side has negative Y",
    ),
    row(
        "[eccentrics]",
        "[left.damper]\nbody_eye = ‸\"-470, -560, 250 mm\"\n[eccentrics]",
        "`left.damper.body_eye` has Y -560 mm, on the right of the car, and stands for the \
             left side",
        "the left side has positive Y",
    ),
    row(
        "wheel_centre = \"-455, 668, -95 mm\"",
        "wheel_centre = ‸\"-455, 668, -95 m\"",
        "`arm.wheel_centre` lies -455000 mm from the bar axis along X; the limit is 6000 mm",
        "look at the unit",
    ),
    row(
        "at = \"-214, -146 mm\"",
        "at = ‸\"-214, 550, -146 mm\"",
        "`stop_bolt.at` is `-214, 550, -146 mm`; it needs the two coordinates X, Z",
        "\"-214, -146 mm\"",
    ),
    row(
        "hole_front = \"250, 6 mm\"",
        "hole_front = \"‸250,6 mm\"",
        "`plate.hole_front`: `250,6` …",
        "250, 6 mm",
    ),
];

#[test]
fn places() {
    errors(PLACES);
}

const BARS_LOADS_AND_DAMPERS_THAT_CANNOT_BE: &[Row] = &[
    row(
        "bore = \"0 mm\"",
        "bore = ‸\"24 mm\"",
        "`bar.bore` is 24 mm and `bar.fitted_diameter` is 23 mm; it must be less",
        "\"0 mm\" for a solid one",
    ),
    row(
        "unsprung = \"36 kg\"",
        "unsprung = ‸\"280 kg\"",
        "`load.unsprung` is 280 kg and `load.corner_weight` is 280 kg; it must be less",
        "a part of the corner weight",
    ),
    row(
        "open = \"462 mm\"",
        "open = ‸\"260 mm\"",
        "`damper.original.closed` is 262 mm and `damper.original.open` is 260 mm; it must be \
             less",
        "closed is pushed in",
    ),
    row(
        "open = \"474 mm\"",
        "open = ‸\"252 mm\"",
        "`damper.fitted.closed` is 252 mm and `damper.fitted.open` is 252 mm; it must be less",
        "open is pulled out",
    ),
    row(
        "rings = 7",
        "rings = ‸20",
        "20 rings of 12 mm on 252 mm leave no travel before 474 mm",
        "ring count",
    ),
    row(
        "kind = \"greased\"",
        "kind = \"greased\"\nrate = ‸\"4 N·m/deg\"",
        "`bush.kind` is greased and `bush.rate` is 4 N·m/deg",
        "a greased bush adds no rate",
    ),
    row(
        "value = \"30.0 deg ± 0.5 deg\"",
        "value = ‸\"10.0 deg ± 0.5 deg\"",
        "the free angle 10 deg is not below the ride angle 11 deg: the bar would carry nothing",
        "angles count tail down",
    ),
];

const BARS_LOADS_AND_DAMPERS_THAT_CANNOT_BE_DOUBTED: &[Row] = &[
    row(
        LENGTH,
        "length = \"540 mm\"\nrate = ‸\"69.7 N·m/deg\"",
        "both `bar.rate` and `bar.length` with `bar.shear_modulus` are given",
        "the rate is what will be used",
    ),
    row(
        "original_diameter = \"22.0 mm\"\nfitted_diameter = ",
        "original_diameter = \"12.0 mm\"\nfitted_diameter = ‸",
        "`bar.original_diameter` is 12 mm and `bar.fitted_diameter` 23 mm",
        "measure both again",
    ),
    row(
        "body_eye = \"-470, 560, 250 mm\"\narm_eye = ",
        "body_eye = \"-470, 560, 450 mm\"\narm_eye = ‸",
        "the damper's bolts are 563.49 mm apart; it reaches from 252 mm to 474 mm",
        "measure the two bolts",
    ),
];

#[test]
fn bars_loads_and_dampers_that_cannot_be() {
    errors(BARS_LOADS_AND_DAMPERS_THAT_CANNOT_BE);
    warnings(BARS_LOADS_AND_DAMPERS_THAT_CANNOT_BE_DOUBTED);
}

const ARMS_AND_REACHES_THAT_CANNOT_BE: &[Row] = &[
    row(
        "inner_pivot = \"-55, 235, -20 mm\"",
        "inner_pivot = ‸\"-55, 635, -20 mm\"",
        "the inner pivot, 635 mm from the centre line, is not inboard of the hub, 610 mm",
        "between the centre line and the hub",
    ),
    row(
        "wheel_centre = \"-455, 668, -95 mm\"",
        "wheel_centre = ‸\"455, 668, -95 mm\"",
        "the wheel centre, X 455 mm, is not behind the hub, X 0 mm",
        "behind the bar it is minus",
    ),
    row(
        "jack_point = \"-440, 600, -150 mm\"",
        "jack_point = ‸\"440, 600, -150 mm\"",
        "the jack point, X 440 mm, is not behind the bar axis, X 0 mm",
        "only there a jack raises the arm",
    ),
    row(
        "inner_joint = \"-455, 170, -70 mm\"",
        "inner_joint = ‸\"-455, 770, -70 mm\"",
        "the shaft's inner joint, 770 mm from the centre line, is not inboard of the wheel, \
             668 mm",
        "between the centre line and the wheel",
    ),
    row(
        "arm_end = \"-260, 430, -30 mm\"",
        "arm_end = ‸\"-150, 400, 30 mm\"",
        "`hose.body_end` and `hose.arm_end` are the same place",
        "measure one of the two again",
    ),
    row(
        "free_length = \"166 mm ± 2 mm\"",
        "free_length = ‸\"116 mm\"",
        "`hose.free_length` is 116 mm, and its ends are 128.84 mm apart",
        "measure the length",
    ),
    row(
        "free_length = \"452 mm\"",
        "free_length = ‸\"352 mm\"",
        "`cable.free_length` is 352 mm, and its ends are 424.09 mm apart",
        "measure the length",
    ),
];

const ARMS_AND_REACHES_THAT_CANNOT_BE_DOUBTED: &[Row] = &[
    row(
        "hub = \"0, 610, 0 mm\"",
        "hub = ‸\"40, 610, 0 mm\"",
        "the hub is at X 40 mm, Z 0 mm; X and Z are counted from the bar axis, which is its \
             centre",
        "so that the hub has 0 and 0",
    ),
    row(
        "wheel_centre = \"-455, 668, -95 mm\"",
        "wheel_centre = ‸\"-455, 568, -95 mm\"",
        "the wheel centre, 568 mm from the centre line, is inboard of the hub, 610 mm",
        "further out",
    ),
    row(
        "[load]",
        "[lever]\nhub_to_wheel = ‸\"500 mm\"\n[load]",
        "`lever.hub_to_wheel` is 500 mm, and the coordinates put the wheel 464.81 mm from the \
             hub",
        "the coordinates are used",
    ),
];

#[test]
fn arms_and_reaches_that_cannot_be() {
    errors(ARMS_AND_REACHES_THAT_CANNOT_BE);
    warnings(ARMS_AND_REACHES_THAT_CANNOT_BE_DOUBTED);
}

const OUTLINES_AND_LENGTHS_THAT_CANNOT_BE: &[Row] = &[
    row(
        OUTLINE,
        "outline = ‸[\"-60, 55 mm\", \"250, 50 mm\"]",
        "`plate.outline` has 2 points; an outline needs at least 3",
        "once round",
    ),
    row(
        OUTLINE,
        "outline = ‸[\"-60, 55 mm\", \"370, -40 mm\", \"370, 40 mm\", \"-60, -55 mm\"]",
        "the outline crosses itself between its sides 1 and 3",
        "in order, once round",
    ),
    row(
        OUTLINE,
        "outline = ‸[\"0, 0 mm\", \"100, 0 mm\", \"200, 0 mm\"]",
        "the outline encloses nothing",
        "trace the plate",
    ),
    row(
        OUTLINE,
        "outline = ‸[\"60, 55 mm\", \"370, 40 mm\", \"370, -40 mm\", \"60, -55 mm\"]",
        "the hub, u 0 and w 0, lies outside the outline",
        "counted from the hub",
    ),
    row(
        OUTLINE,
        "outline = ‸\"a trapezium\"",
        "`plate.outline` is text; it must be a list of points",
        "[\"-60, 55 mm\"",
    ),
    row(
        "    \"250, 50 mm\",\n",
        "    ‸\"\",\n",
        "`plate.outline, point 2` is blank; a list has no blanks in it",
        "take it out",
    ),
    row(
        "    \"250, 50 mm\",\n",
        "    \"250, 50 ‸mn\",\n",
        "`plate.outline, point 2`: unknown unit `mn`…",
        "250, 50 mm",
    ),
    row(
        "hole_rear = \"330, 6 mm\"",
        "hole_rear = ‸\"430, 6 mm\"",
        "`plate.hole_rear` lies outside the outline",
        "from one tracing",
    ),
    row(
        "hole_front = \"250, 6 mm\"\nhole_rear = \"330, 6 mm\"",
        "hole_front = \"330, 6 mm\"\nhole_rear = ‸\"250, 6 mm\"",
        "the front hole, u 330 mm, is not nearer the hub than the rear one, u 250 mm",
        "from the hub to the tail",
    ),
    row(
        "drawn_to = \"95 %\"",
        "drawn_to = \"95 %\"\nlengths = ‸[\"121 mm at 5 deg\", \"129 mm at 11 deg\"]",
        "`hose.lengths` has 2 lengths; it needs three, at three different plate angles",
        "400 mm at 25 deg",
    ),
    row(
        "drawn_to = \"95 %\"",
        "drawn_to = \"95 %\"\nlengths = ‸[\"121 mm at 5 deg\", \"129 mm at 11 deg\", \"129 mm \
             at 11.0 deg\"]",
        "`hose.lengths` gives two lengths at 11 deg",
        "three different angles",
    ),
    row(
        "drawn_to = \"95 %\"",
        "drawn_to = \"95 %\"\nlengths = [\"121 mm at 5 deg\", ‸\"129 mm\", \"152 mm at 25 \
             deg\"]",
        "`hose.lengths, entry 2` gives `129 mm`, which is not a length at a plate angle",
        "400 mm at 25 deg",
    ),
    row(
        "drawn_to = \"95 %\"",
        "drawn_to = \"95 %\"\nlengths = [\"121 mm at 5 deg\", ‸\"129 mm at 11 mm\", \"152 mm \
             at 25 deg\"]",
        "`hose.lengths, entry 2`: `mm` …",
        "352 mm at 11 deg",
    ),
];

#[test]
fn outlines_and_lengths_that_cannot_be() {
    errors(OUTLINES_AND_LENGTHS_THAT_CANNOT_BE);
}

const ROWS_OF_THE_MANUAL: &[Row] = &[
    losing(
        &["spec"],
        row(
            SECOND,
            "builds = ‸\"3990-2468\"",
            "`spec.builds` is `3990-2468`, which runs backwards",
            "first comes first",
        ),
    ),
    losing(
        &["spec"],
        row(
            SECOND,
            "builds = ‸\"second series\"",
            "`spec.builds` is `second series`, which is no range of build numbers",
            "\"up to 2650\"",
        ),
    ),
    losing(
        &["spec"],
        row(
            SECOND,
            "builds = ‸2468",
            "`spec.builds` is a whole number; it must be words in quotes",
            "\"2468-3990\"",
        ),
    ),
    losing(
        &["spec"],
        row(
            SECOND,
            "dates = ‸\"1964-03 to 1962-08\"",
            "`spec.dates` is `1964-03 to 1962-08`, which runs backwards",
            "first comes first",
        ),
    ),
    losing(
        &["spec"],
        row(
            SECOND,
            "dates = ‸\"1964\"",
            "`spec.dates` is `1964`, which is no range of months",
            "1962-08 to 1964-03",
        ),
    ),
    row(
        PAGE,
        "source = \"workshop manual, section T, p. 4\"\n‸sauce = \"p. 4\"",
        "unknown key `sauce` in `[spec]`",
        "did you mean `source`?",
    ),
    row(
        PAGE,
        "source = \"workshop manual, section T, p. 4\"\n‸[[spec]]\nvalue = \"4.6 kgf m\"\n\
             builds = \"all\"",
        "this row does not say `what`",
        "write `what = \"free angle\"`",
    ),
    row(
        PAGE,
        "source = \"workshop manual, section T, p. 4\"\n‸[[spec]]\nwhat = \"torque\"\nvalue = \
             \"4.5 kgf m\"\nbuilds = \"all\"",
        "this row does not say `joint`",
        "hub cover",
    ),
    row(
        "what = \"trim\"",
        "what = \"trim\"\njoint = ‸\"hub cover\"",
        "`spec.joint` does not belong in a row of trim",
        "only a torque names its joint",
    ),
    row(
        "what = \"toe\"",
        "what = \"toe\"\nseat = ‸\"reference line\"",
        "`spec.seat` does not belong in a row of toe",
        "only a free angle",
    ),
    losing(
        &["spec"],
        row(
            "what = \"camber\"",
            "what = ‸\"chamber\"",
            "`spec.what` is `chamber`; it must be one of a few words",
            "did you mean `camber`?",
        ),
    ),
    losing(
        &["spec"],
        row(
            "[calendar]\n",
            "[[spec]]\nwhat = \"damper rings\"\nvalue = ‸6.5\nbuilds = \"all\"\n\
             source = \"a page\"\n[calendar]\n",
            "`spec.value` is a bare number; it must be a whole number",
            "write 6",
        ),
    ),
    losing(
        &["spec"],
        row(
            "value = \"5 mm\"",
            "value = ‸\"-5 mm\"",
            "`spec.value` is -5 mm; it must lie between 0 mm and 100 mm",
            "was 5 mm meant?",
        ),
    ),
];

const ROWS_OF_THE_MANUAL_DOUBTED: &[Row] = &[
    row(
        "",
        "format = 1\n[[spec]]\nwhat = \"trim\"\nvalue = \"95 mm\"\nbuilds = \"all\"\n‸[[spec]]\n\
         what = \"trim\"\nvalue = \"96 mm\"\n",
        "this row, one of several of its kind, does not say for which cars it holds",
        "write the range the manual prints",
    ),
    row(
        PAGE,
        "source = \"workshop manual, section T, p. 4\"\n‸[[spec]]\nwhat = \"torque\"\njoint = \
             \"Stop bolt\"\nvalue = \"4.6 kgf m\"\nbuilds = \"2470-3990\"\nsource = \"workshop \
             manual, section T, p. 4\"",
        "this row says the same as the one in line 99, word for word",
        "keep one of them",
    ),
];

const STANDS: &[Row] = &[
    row(
        LEFT_REAR,
        "name = \"left rear\"\nat = ‸\"1500, 480 mm\"",
        "stand `left rear` stands where the one in line 266 stands",
        "look at the signs",
    ),
    row(
        LEFT_REAR,
        "name = ‸\"Left front\"\nat = \"20, 450 mm\"",
        "two stands are called `Left front`",
        "the first is in line 266",
    ),
    row(
        LEFT_REAR,
        "name = \"left rear\"\nat = ‸\"20, -300 mm\"",
        "stand `left rear` is named for the left and stands on the right, Y -300 mm",
        "look at the sign",
    ),
    row(
        LEFT_REAR,
        "name = \"left rear\"\nat = ‸\"20, 450, -120 mm\"",
        "`stand.at` is `20, 450, -120 mm`; it needs the two coordinates X, Y",
        "\"20, 450 mm\"",
    ),
    row(
        LEFT_REAR,
        "name = \"left rear\"\nat = \"20, 450 mm\"\n‸hight = \"480 mm\"",
        "unknown key `hight` in `[stand]`",
        "did you mean `height`?",
    ),
    row(
        "at = \"20, 450 mm\"\ntop_z = \"-120 mm\"",
        "at = \"20, 450 mm\"\ntop_z = ‸\"-120 m\"",
        "`stand.top_z` is -120 m; it must lie between -1500 mm and 1500 mm",
        "the unit and the decimal point",
    ),
];

const STANDS_DOUBTED: &[Row] = &[row(
    "",
    "format = 1\n‸[[stand]]\nname = \"left rear\"\nat = \"20, 450 mm\"\n",
    "1 stands; loads can be worked out for three or four",
    "three or four",
)];

const READINGS: &[Row] = &[
    row(
        LEFT,
        "side = ‸\"offside\"\nvalue = \"35.2 deg\"\narrow = \"nose\"",
        "`reading.side` is `offside`; it must be one of a few words",
        "left, right",
    ),
    row(
        LEFT,
        "side = \"left\"\nvalue = \"35.2 deg\"\narrow = ‸\"front\"",
        "`reading.arrow` is `front`; it must be one of a few words",
        "nose, tail",
    ),
    row(
        LEFT,
        "side = \"left\"\nvalue = ‸\"352 deg\"\narrow = \"nose\"",
        "`reading.value` is 352 deg; it must lie between -60 deg and 90 deg",
        "was 35.2 deg meant?",
    ),
    row(
        LEFT,
        "side = \"left\"\nvalue = \"35.2 ‸mm\"\narrow = \"nose\"",
        "`reading.value`: `mm` …",
        "35.2 deg",
    ),
    row(
        LEFT,
        "side = \"left\"\ncorner = ‸\"RR\"\nvalue = \"35.2 deg\"\narrow = \"nose\"",
        "`reading.corner` does not belong in a row of plate angle",
        "different sides",
    ),
    row(
        "[load]",
        "‸[[reading]]\nwhat = \"trim\"\nvalue = \"97 mm\"\n[load]",
        "this row does not say `side`",
        "write `side = \"left\"`",
    ),
    row(
        "[load]",
        "[[reading]]\nwhat = \"trim\"\nside = \"left\"\nvalue = \"97 mm\"\nhung = ‸\"plate\"\n\
             [load]",
        "`reading.hung` does not belong in a row of trim",
        "only a plate angle",
    ),
    row(
        "[load]",
        "[[reading]]\nwhat = \"trim\"\nside = \"left\"\nvalue = \"97 mm\"\narrow = ‸\"nose\"\n\
             [load]",
        "`reading.arrow` does not belong in a row of trim",
        "only a level or a plate angle",
    ),
    row(
        "[load]",
        "[[reading]]\nwhat = ‸\"plateangle\"\nside = \"left\"\nvalue = \"35 deg\"\n[load]",
        "`reading.what` is `plateangle`; it must be one of a few words",
        "did you mean `plate angle`?",
    ),
];

#[test]
fn rows_of_the_manual() {
    errors(ROWS_OF_THE_MANUAL);
    warnings(ROWS_OF_THE_MANUAL_DOUBTED);
}

#[test]
fn stands() {
    errors(STANDS);
    warnings(STANDS_DOUBTED);
}

#[test]
fn readings() {
    errors(READINGS);
}

#[test]
fn files_beyond_all_measure() {
    let (_, problems) = read(&"# long\n".repeat(200_000));
    assert_eq!(problems.len(), 1);
    assert_eq!(problems[0].what, "the file is 1400000 bytes long; the limit is 262144 bytes");

    let rows = "[[reading]]\nwhat = \"trim\"\nside = \"left\"\nvalue = \"97 mm\"\n".repeat(401);
    let (car, problems) = read(&format!("format = 1\n{rows}"));
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].what, "401 rows of `[[reading]]`; the limit is 400");
    assert_eq!(car.readings.len(), 400);

    let (_, problems) = read(&format!("format = 1\n{}", "a = b c\n".repeat(500)));
    let last = problems.last().expect("there are problems");
    assert_eq!(last.what, "more than 60 lines cannot be read; the rest is not looked at");
}

#[test]
fn several_slips_are_told_at_once_in_the_order_of_the_text() {
    let text = DEMO
        .replace("fitted_diameter = \"23.0 mm\"", "fitted_diameter = \"2.3 mm\"")
        .replace("plate_angle = \"11.0 deg\"", "plate_angle = 11.0")
        .replace("anchor_teeth = 38", "anchor_teeth 38")
        .replace("[tyre]", "[tire]")
        .replace("open = \"474 mm\"", "open = \"244 mm\"");
    let (car, problems) = read(&text);
    sound(&text, &problems);
    let said: Vec<&str> = problems.iter().map(|p| p.what.as_str()).collect();
    assert_eq!(
        said,
        [
            "`bar.fitted_diameter` is 2.3 mm; it must lie between 8 mm and 60 mm",
            "`ride.plate_angle` is the bare number 11.0; it needs its unit",
            "there is a key here and no `=` with a value",
            "unknown section `[tire]`",
            "`damper.fitted.closed` is 252 mm and `damper.fitted.open` is 244 mm; it must be less",
        ]
    );
    assert_eq!(car.count(Field::SplinesPlateTeeth, Side::Left), Some(42));
}
