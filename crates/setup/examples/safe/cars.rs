//! Cars nobody built: the demo's method on other metal.
//!
//! All lengths of one car grow or shrink together, and each by a little more of its own, so that a
//! damper still reaches and a plate still holds its holes; masses, angles, teeth and doubts are
//! drawn one by one. Some cars have another layout, and every one has figures nobody measured.

use std::fmt::Write as _;

use super::cut::{Piece, key};
use super::{Dice, SEED};

/// How a figure is drawn anew.
#[derive(Clone, Copy)]
enum How {
    /// A place in millimetres: with the car's size, each coordinate as far off again.
    Place(f64),
    /// A length: with the car's size, times a factor between the two.
    Long(f64, f64),
    /// Times a factor between the two.
    Times(f64, f64),
    /// More or less by as much.
    Plus(f64),
    /// Between the two.
    Between(f64, f64),
    /// A whole number between the two.
    Count(f64, f64),
}

use How::{Between, Count, Long, Place, Plus, Times};

/// Which figures are drawn, by table and key.
const DRAWN: [(&str, &str, How); 76] = [
    ("[bar]", "original_diameter", Times(0.88, 1.15)),
    ("[bar]", "fitted_diameter", Times(0.85, 1.25)),
    ("[bar]", "length", Times(0.75, 1.35)),
    ("[bar]", "shear_modulus", Times(0.96, 1.04)),
    ("[bar]", "allowable_shear", Times(0.7, 1.3)),
    ("[bar]", "sag", Between(0.0, 4.0)),
    ("[ride]", "plate_angle", Plus(5.0)),
    ("[splines]", "anchor_teeth", Count(24.0, 60.0)),
    ("[splines]", "plate_teeth", Count(24.0, 60.0)),
    ("[splines]", "lash", Between(0.0, 0.6)),
    ("[load]", "corner_weight", Times(0.6, 1.6)),
    ("[load]", "unsprung", Times(0.6, 1.6)),
    ("[load]", "settling", Between(0.0, 9.0)),
    ("[tyre]", "radius", Times(0.85, 1.15)),
    ("[tyre]", "rate", Times(0.6, 1.6)),
    ("[damper]", "squash", Between(30.0, 80.0)),
    ("[damper]", "body_eye", Place(6.0)),
    ("[damper]", "arm_eye", Place(6.0)),
    ("[damper.original]", "closed", Long(0.95, 1.05)),
    ("[damper.original]", "open", Long(0.95, 1.05)),
    ("[damper.original]", "gas", Between(0.0, 100.0)),
    ("[damper.original]", "rings", Count(3.0, 8.0)),
    ("[damper.fitted]", "closed", Long(0.95, 1.05)),
    ("[damper.fitted]", "open", Long(0.9, 1.15)),
    ("[damper.fitted]", "gas", Between(0.0, 400.0)),
    ("[damper.fitted]", "rings", Count(3.0, 8.0)),
    ("[plate]", "outline", Place(1.0)),
    ("[plate]", "hole_front", Place(1.0)),
    ("[plate]", "hole_rear", Place(1.0)),
    ("[plate]", "bend_limit", Between(0.0, 25.0)),
    ("[plate]", "mass", Times(0.5, 2.0)),
    ("[plate]", "mass_at", Place(5.0)),
    ("[arm]", "hub", Place(4.0)),
    ("[arm]", "inner_pivot", Place(10.0)),
    ("[arm]", "wheel_centre", Place(8.0)),
    ("[arm]", "camber", Plus(1.0)),
    ("[arm]", "toe", Plus(0.3)),
    ("[arm]", "mass", Times(0.6, 1.6)),
    ("[arm]", "mass_at", Place(20.0)),
    ("[arm]", "jack_point", Place(15.0)),
    ("[eccentrics]", "throw", Times(0.5, 1.8)),
    ("[stop_bolt]", "at", Place(8.0)),
    ("[stop_bolt]", "clearance", Times(0.6, 1.6)),
    ("[stop_bolt]", "radius", Times(0.8, 1.3)),
    ("[hose]", "body_end", Place(4.0)),
    ("[hose]", "arm_end", Place(4.0)),
    ("[hose]", "free_length", Long(0.88, 1.25)),
    ("[cable]", "body_end", Place(4.0)),
    ("[cable]", "arm_end", Place(4.0)),
    ("[cable]", "free_length", Long(0.97, 1.15)),
    ("[half_shaft]", "inner_joint", Place(8.0)),
    ("[half_shaft]", "outer_inboard", Times(0.8, 1.2)),
    ("[half_shaft]", "joint_limit", Between(12.0, 30.0)),
    ("[half_shaft]", "plunge_limit", Between(10.0, 40.0)),
    ("[shell]", "mass", Times(0.45, 1.5)),
    ("[shell]", "mass_at", Place(80.0)),
    ("[shell]", "bag", Between(5.0, 25.0)),
    ("[shell]", "push_height", Times(0.7, 1.2)),
    ("[[stand]]", "at", Place(20.0)),
    ("[[stand]]", "top_z", Times(0.8, 1.2)),
    ("[[stand]]", "height", Times(0.7, 1.2)),
    ("[[stand]]", "foot", Times(0.7, 1.4)),
    ("[[stand]]", "friction", Between(0.1, 0.45)),
    ("[[masses]]", "mass", Times(0.7, 1.4)),
    ("[front]", "corner_weight", Times(0.7, 1.4)),
    ("[front]", "unsprung", Times(0.7, 1.4)),
    ("[front]", "contact_x", Times(0.85, 1.2)),
    ("[front]", "half_track", Times(0.85, 1.2)),
    ("[front]", "wheel_rate", Times(0.6, 1.6)),
    ("[front]", "screw", Times(0.6, 1.6)),
    ("[anti_roll]", "front", Between(0.0, 15.0)),
    ("[anti_roll]", "rear", Between(0.0, 15.0)),
    ("[changeover]", "walk", Count(0.0, 6.0)),
    ("[changeover]", "jack", Count(0.0, 20.0)),
    ("[changeover]", "wash", Count(0.0, 8.0)),
    ("[changeover]", "tool", Count(0.0, 4.0)),
];

/// Tables of which one in ten cars knows nothing at all.
const MAY_LACK: [&str; 12] = [
    "[hose]",
    "[cable]",
    "[half_shaft]",
    "[stop_bolt]",
    "[shell]",
    "[damper.fitted]",
    "[damper.original]",
    "[eccentrics]",
    "[load]",
    "[bush]",
    "[front]",
    "[uncertainty]",
];
/// What a car with nothing but two distances does not have.
const NOT_PLAIN: [&str; 7] =
    ["[arm]", "[plate]", "[hose]", "[cable]", "[half_shaft]", "[eccentrics]", "[stop_bolt]"];

/// How a car differs from the demo's beyond its figures.
#[derive(Default)]
struct Layout {
    is_plain_lever: bool,
    has_rubber: bool,
    is_hollow: bool,
    has_rate_only: bool,
    has_three_stands: bool,
    has_two_bars: bool,
    was_never_read: bool,
    lacks: Vec<&'static str>,
}

impl Layout {
    fn drawn(dice: &mut Dice) -> Self {
        Self {
            is_plain_lever: dice.happens(0.12),
            has_rubber: dice.happens(0.3),
            is_hollow: dice.happens(0.2),
            has_rate_only: dice.happens(0.15),
            has_three_stands: dice.happens(0.2),
            has_two_bars: dice.happens(0.15),
            was_never_read: dice.happens(0.2),
            lacks: MAY_LACK.into_iter().filter(|_| dice.happens(0.1)).collect(),
        }
    }

    /// What is told of it beside its number.
    fn words(&self) -> String {
        let all = [
            (self.is_plain_lever, "plain lever"),
            (self.has_rubber, "rubber bush"),
            (self.is_hollow, "hollow bar"),
            (self.has_rate_only, "rate only"),
            (self.has_three_stands, "three stands"),
            (self.has_two_bars, "two bars"),
            (self.was_never_read, "never read"),
            (!self.lacks.is_empty(), "tables missing"),
        ];
        let words: Vec<&str> = all.iter().filter(|(is, _)| *is).map(|(_, word)| *word).collect();
        if words.is_empty() { "like the demo".to_owned() } else { words.join(", ") }
    }

    fn has(&self, piece: &Piece) -> bool {
        let table = piece.table.as_str();
        let is_damper_place = table == "[damper]" && piece.text.contains("_eye");
        let is_lever = NOT_PLAIN.contains(&table) || is_damper_place;
        let is_read = table == "[[reading]]" || table == "[[round]]";
        !(self.lacks.contains(&table)
            || self.is_plain_lever && is_lever
            || self.was_never_read && is_read)
    }
}

/// A car by its number: what it is like, and its file.
pub fn car(pieces: &[Piece], number: u64) -> (String, String) {
    let mut dice = Dice::new(SEED, number, 2);
    let layout = Layout::drawn(&mut dice);
    let size = 1.0 + dice.within(0.15);
    let mut text = String::new();
    for piece in pieces.iter().filter(|piece| layout.has(piece)) {
        let is_of_car = piece.is_figure && piece.table != "[[joint]]" && piece.table != "[[step]]";
        if is_of_car && dice.happens(0.08) {
            continue;
        }
        text +=
            &of_layout(piece, &layout, &mut dice).unwrap_or_else(|| drawn(piece, size, &mut dice));
    }
    (layout.words(), with_layout(text, &layout, &mut dice))
}

fn between((low, high): (f64, f64), dice: &mut Dice) -> f64 {
    low + (high - low) * dice.even()
}

/// A piece as the car's layout wants it; nothing where its figure alone is drawn.
fn of_layout(piece: &Piece, layout: &Layout, dice: &mut Dice) -> Option<String> {
    match (piece.table.as_str(), key(piece)) {
        ("[bush]", "kind") if layout.has_rubber => {
            let (rate, at) = (between((1.0, 8.0), dice), between((6.0, 16.0), dice));
            let mut text = "kind = \"rubber\"\n".to_owned();
            let told = [("rate", rate, "N m/deg"), ("neutral_angle", at, "deg")];
            for (key, value, unit) in told {
                if dice.happens(0.7) {
                    let _ = writeln!(text, "{key} = \"{value:.1} {unit}\"");
                }
            }
            Some(text)
        }
        ("[bar]", "bore") if layout.is_hollow => {
            Some(format!("bore = \"{:.1} mm\"\n", between((4.0, 15.0), dice)))
        }
        ("[bar]", "shear_modulus") if layout.has_rate_only => Some(String::new()),
        ("[bar]", "length") if layout.has_rate_only => {
            Some(format!("rate = \"{:.1} N m/deg\"\n", between((40.0, 140.0), dice)))
        }
        ("[splines]", "adjuster") => {
            let all = ["splines", "splines", "anchor only", "plate only", "screw"];
            Some(format!("adjuster = \"{}\"\n", dice.one_of(&all)?))
        }
        ("[bar]", "preset") => {
            Some(format!("preset = \"{}\"\n", dice.one_of(&["handed", "none"])?))
        }
        ("[[reading]]", "value") => Some(scaled(&piece.text, 1, |old| old + dice.within(1.5))),
        ("[[reading]]", "hung") => {
            let all = ["plate", "plate", "plate and arm"];
            Some(format!("hung = \"{}\"\n", dice.one_of(&all)?))
        }
        ("[uncertainty]", _) if piece.is_figure => {
            Some(scaled(&piece.text, 1, |old| old * between((0.4, 2.5), dice)))
        }
        _ => None,
    }
}

/// What a layout adds to the file, and what it takes as a whole.
fn with_layout(text: String, layout: &Layout, dice: &mut Dice) -> String {
    let mut text = text;
    if layout.has_three_stands {
        let mut blocks: Vec<&str> = text.split("[[stand]]").collect();
        if blocks.len() == 5 {
            blocks.remove(2);
        }
        text = blocks.join("[[stand]]").replacen("name = \"left front\"", "name = \"nose\"", 1);
    }
    if layout.has_two_bars {
        let _ =
            writeln!(text, "\n[left.bar]\nfitted_diameter = \"{:.1} mm\"", 23.0 + dice.within(1.5));
    }
    if layout.is_plain_lever {
        let lengths = [("hub_to_wheel", 465.0), ("hub_to_damper", 536.0), ("half_track", 668.0)];
        text += "\n[lever]\n";
        for (key, length) in lengths {
            let _ = writeln!(text, "{key} = \"{:.0} mm\"", length * (1.0 + dice.within(0.2)));
        }
    }
    text
}

/// A piece with its figure drawn anew, where it is one of those that are.
fn drawn(piece: &Piece, size: f64, dice: &mut Dice) -> String {
    let row = DRAWN.iter().find(|(table, name, _)| *table == piece.table && *name == key(piece));
    let Some((_, _, how)) = row else { return piece.text.clone() };
    let text = &piece.text;
    match *how {
        Place(off) => scaled(text, usize::MAX, |old| old * size + dice.within(off)),
        Long(low, high) => scaled(text, 1, |old| old * size * between((low, high), dice)),
        Times(low, high) => scaled(text, 1, |old| old * between((low, high), dice)),
        Plus(off) => scaled(text, 1, |old| old + dice.within(off)),
        Between(low, high) => scaled(text, 1, |_| between((low, high), dice)),
        Count(low, high) => {
            format!("{} = {:.0}\n", key(piece), between((low, high), dice))
        }
    }
}

/// The first numbers behind the equals sign, each made another by `f`; comments go.
fn scaled(text: &str, many: usize, mut f: impl FnMut(f64) -> f64) -> String {
    let Some((key, value)) = text.split_once('=') else { return text.to_owned() };
    let lines = value.lines().map(|line| line.split('#').next().unwrap_or_default());
    let mut out = format!("{key}=");
    let mut left = many;
    for line in lines {
        let mut number = String::new();
        for letter in line.chars().chain(['\n']) {
            let goes_on = letter.is_ascii_digit() || letter == '.' && !number.is_empty();
            if goes_on || letter == '-' && number.is_empty() {
                number.push(letter);
                continue;
            }
            match number.parse::<f64>().ok().filter(|_| 0 < left) {
                Some(old) => {
                    left -= 1;
                    let _ = write!(out, "{:.2}", f(old));
                }
                None => out += &number,
            }
            number.clear();
            out.push(letter);
        }
    }
    out
}
