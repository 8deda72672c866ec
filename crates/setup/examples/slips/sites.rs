//! Where a number stands in a car file, and what a hand may make of it.

use std::ops::Range;

use axlewright_book::{CarFile, Entry, Field, Value};
use axlewright_quantity::{Amount, Corner, Kind, Side};

/// One written value: a number, or the coordinates of a point.
#[derive(Debug, Clone)]
pub struct Site {
    /// As the program names it: `load.corner_weight`, `reading.plate-angle.left`.
    pub name: String,
    /// Its bytes in the text, quotes and all.
    pub span: Range<usize>,
    /// Its numbers, in order; a count has none.
    pub numbers: Vec<Amount>,
    /// What each number is called besides: `X`.
    pub axes: Vec<&'static str>,
    /// Whether its sign says anything.
    pub signed: bool,
}

/// What the hand did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hand {
    /// Ten times.
    Tenfold,
    /// A tenth.
    Tenth,
    /// The inch, the pound, the foot-pound or the kilogram force for what the file has.
    UnitWritten,
    /// The number was read in the other unit, and the file's unit written behind it.
    UnitRead,
    /// The other sign.
    Sign,
    /// Left for right.
    Sides,
    /// A tooth, a ring, a bolt or a turn more or less.
    Count,
    /// The gauge's arrow the other way.
    Turned,
    /// The plate's edge for its line.
    Edge,
    /// A stage of the build left out, or somebody in the car.
    Stage,
}

impl Hand {
    pub const ALL: [Self; 10] = [
        Self::Tenfold,
        Self::Tenth,
        Self::UnitWritten,
        Self::UnitRead,
        Self::Sign,
        Self::Sides,
        Self::Count,
        Self::Turned,
        Self::Edge,
        Self::Stage,
    ];

    pub const fn word(self) -> &'static str {
        match self {
            Self::Tenfold => "× 10",
            Self::Tenth => "÷ 10",
            Self::UnitWritten => "unit, as written",
            Self::UnitRead => "unit, as read",
            Self::Sign => "sign",
            Self::Sides => "left for right",
            Self::Count => "one more or less",
            Self::Turned => "gauge turned",
            Self::Edge => "edge for line",
            Self::Stage => "stage",
        }
    }
}

/// A car file with one slip in it.
#[derive(Debug, Clone)]
pub struct Slipped {
    /// The field it was made in: `arm.wheel_centre`.
    pub name: String,
    /// The number of it: `arm.wheel_centre Z`; the field itself where it has one.
    pub number: String,
    pub hand: Hand,
    /// What the number is without the slip; nothing for a word.
    pub meant: Option<Amount>,
    /// Bytes of the slip in the new text.
    pub span: Range<usize>,
    /// What was written instead.
    pub wrote: String,
    pub text: String,
}

fn amounts(value: &Value) -> (Vec<Amount>, Vec<&'static str>) {
    match value {
        Value::Amount(a) => (vec![*a], vec![""]),
        Value::Place(p) => (vec![p.x.into(), p.y.into(), p.z.into()], vec!["X", "Y", "Z"]),
        Value::SidePoint(p) => (vec![p.x.into(), p.z.into()], vec!["X", "Z"]),
        Value::PlatePoint(p) => (vec![p.u.into(), p.w.into()], vec!["u", "w"]),
        Value::Outline(points) => {
            (points.iter().flat_map(|p| [p.u.into(), p.w.into()]).collect(), Vec::new())
        }
        Value::Lengths(_) | Value::Count(_) | Value::Word(_) => (Vec::new(), Vec::new()),
    }
}

struct Sites(Vec<Site>);

impl Sites {
    fn value(&mut self, name: String, entry: &Entry<Value>, signed: bool) {
        let (numbers, axes) = amounts(&entry.value);
        if matches!(entry.value, Value::Word(_)) {
            return;
        }
        self.0.push(Site { name, span: entry.span.clone(), numbers, axes, signed });
    }
    fn one(&mut self, name: String, entry: &Option<Entry<Amount>>, signed: bool) {
        let Some(entry) = entry else { return };
        let (numbers, axes) = (vec![entry.value], vec![""]);
        self.0.push(Site { name, span: entry.span.clone(), numbers, axes, signed });
    }
    fn count(&mut self, name: String, span: Range<usize>) {
        let (numbers, axes) = (Vec::new(), Vec::new());
        self.0.push(Site { name, span, numbers, axes, signed: false });
    }
}

fn has_sign(field: Field) -> bool {
    use axlewright_book::Shape;
    match field.shape() {
        Shape::Amount { low, .. } => low < 0.0,
        Shape::Count { .. } | Shape::Word(_) | Shape::Lengths => false,
        _ => true,
    }
}

/// Every number of a car file, in the order of its parts: fields, manual, readings, stands, masses,
/// rounds, joints, wrenches. Minutes of steps and days of parts are plans, and no measurements.
pub fn sites(car: &CarFile) -> Vec<Site> {
    let mut all = Sites(Vec::new());
    for field in Field::ALL {
        // Once for both sides in the demo.
        if let Some(entry) = car.get(*field, Side::Left) {
            all.value(field.path().to_owned(), entry, has_sign(*field));
        }
    }
    for spec in car.specs.iter().filter(|spec| car.holds(spec) != Some(false)) {
        let joint = spec.joint.as_ref().map_or(String::new(), |joint| format!(".{joint}"));
        let name = format!("spec.{}{joint}", spec.what.word().replace(' ', "-"));
        all.value(name.clone(), &spec.value, joint.is_empty());
        all.one(format!("{name}.bar_diameter"), &spec.bar_diameter, false);
        all.one(format!("{name}.damper_gas"), &spec.damper_gas, false);
    }
    for reading in &car.readings {
        let side = reading.side.map_or("", Side::word);
        let name = format!("reading.{}.{side}", reading.what.word().replace(' ', "-"));
        all.one(name.clone(), &Some(reading.value.clone()), true);
        all.one(format!("{name}.turned"), &reading.turned, true);
    }
    for stand in &car.stands {
        let who = stand.name.as_ref().map_or("", |name| name.value.as_str());
        if let Some(at) = &stand.at {
            let (numbers, axes) = (vec![at.value.x.into(), at.value.y.into()], vec!["X", "Y"]);
            let name = format!("stand.{who}.at");
            all.0.push(Site { name, span: at.span.clone(), numbers, axes, signed: true });
        }
        all.one(format!("stand.{who}.top_z"), &stand.top_z, true);
        all.one(format!("stand.{who}.height"), &stand.height, false);
        all.one(format!("stand.{who}.foot"), &stand.foot, false);
        all.one(format!("stand.{who}.rating"), &stand.rating, false);
    }
    for mass in &car.masses {
        let who = &mass.name.value;
        all.one(format!("masses.{who}.mass"), &mass.mass, false);
        if let Some(at) = &mass.at {
            let (numbers, axes) = (vec![at.value.x.into(), at.value.y.into()], vec!["X", "Y"]);
            let name = format!("masses.{who}.at");
            all.0.push(Site { name, span: at.span.clone(), numbers, axes, signed: true });
        }
    }
    for (at, round) in car.rounds.iter().enumerate() {
        let parts = [
            ("weight", &round.weight, false),
            ("trim", &round.trim, true),
            ("camber", &round.camber, true),
            ("toe", &round.toe, true),
        ];
        for (what, of, signed) in parts {
            for (corner, entry) in of {
                let name = format!("round {}.{what}.{}", at + 1, corner.code());
                all.one(name, &Some(entry.clone()), signed);
            }
        }
    }
    jobs(car, &mut all);
    // A line that stands for both sides is one line.
    let mut once: Vec<Site> = Vec::new();
    for site in all.0 {
        if !once.iter().any(|seen| seen.span == site.span) {
            once.push(site);
        }
    }
    once
}

fn jobs(car: &CarFile, all: &mut Sites) {
    for joint in &car.joints {
        let id = joint.id.value.trim_end_matches("-left").trim_end_matches("-right");
        all.one(format!("joint.{id}.torque"), &joint.torque, false);
        all.one(format!("joint.{id}.adapter"), &joint.adapter, false);
        all.one(format!("joint.{id}.wrench_arm"), &joint.wrench_arm, false);
        if let Some(count) = &joint.count {
            all.count(format!("joint.{id}.count"), count.span.clone());
        }
    }
    for wrench in &car.wrenches {
        let name = &wrench.name.value;
        all.one(format!("wrench.{name}.from"), &wrench.from, false);
        all.one(format!("wrench.{name}.to"), &wrench.to, false);
        all.one(format!("wrench.{name}.length"), &wrench.length, false);
    }
}

/// Where the numbers stand in a text.
fn tokens(text: &str) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        let starts = bytes[at].is_ascii_digit()
            || (bytes[at] == b'-' && bytes.get(at + 1).is_some_and(u8::is_ascii_digit));
        if !starts {
            at += 1;
            continue;
        }
        let from = at;
        at += 1;
        while at < bytes.len() && (bytes[at].is_ascii_digit() || bytes[at] == b'.') {
            at += 1;
        }
        found.push(from..at);
    }
    found
}

/// A number as a hand writes it.
fn written(number: f64) -> String {
    let text = format!("{number:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The other units of a kind: the file's, the one meant, and how many of the file's make one.
fn units(text: &str, kind: Kind) -> Vec<(&'static str, &'static str, f64)> {
    let torque = [("kgf m", 9.80665), ("N m", 1.0), ("lbf ft", 1.355_817_948)];
    match kind {
        Kind::Length if text.contains("mm") => vec![("mm", "in", 25.4)],
        Kind::Mass if text.contains("kg") => vec![("kg", "lb", 0.453_592_37)],
        Kind::Force if text.contains(" N") => vec![(" N", " lbf", 4.448_221_615_260_5)],
        Kind::Torque => {
            let Some(own) = torque.into_iter().find(|(unit, _)| text.contains(unit)) else {
                return Vec::new();
            };
            let others = torque.into_iter().filter(|other| other.0 != own.0);
            others.map(|(other, si)| (own.0, other, si / own.1)).collect()
        }
        _ => Vec::new(),
    }
}

struct Slips<'a> {
    text: &'a str,
    made: Vec<Slipped>,
}

impl Slips<'_> {
    fn put(&mut self, site: &Site, part: Option<usize>, hand: Hand, value: &str) {
        let mut text = self.text.to_owned();
        text.replace_range(site.span.clone(), value);
        let axis = part.and_then(|part| site.axes.get(part)).filter(|axis| !axis.is_empty());
        let number = axis.map_or_else(|| site.name.clone(), |axis| format!("{} {axis}", site.name));
        let meant = part.and_then(|part| site.numbers.get(part)).copied();
        let span = site.span.start..site.span.start + value.len();
        let (name, wrote) = (site.name.clone(), value.to_owned());
        self.made.push(Slipped { name, number, hand, meant, span, wrote, text });
    }

    /// One number put in another's place.
    fn number(&mut self, site: &Site, part: usize, hand: Hand, make: impl Fn(f64) -> f64) {
        let own = self.text[site.span.clone()].to_owned();
        let dms = own.contains('°');
        let Some(token) = tokens(&own).into_iter().nth(if dms { 0 } else { part }) else { return };
        let mut value = own.clone();
        if dms {
            // Degrees and minutes: written anew in degrees.
            let end = own.find('\'').map_or(own.len(), |at| at + 1);
            let number = site.numbers[part].shown();
            value.replace_range(token.start..end, &format!("{} deg", written(make(number))));
        } else {
            let Ok(number) = own[token.clone()].parse::<f64>() else { return };
            let (was, new) = (written(number), written(make(number)));
            if was == new {
                return;
            }
            value.replace_range(token, &new);
        }
        self.put(site, Some(part), hand, &value);
    }

    fn of_site(&mut self, site: &Site) {
        for part in 0..site.numbers.len() {
            if site.numbers[part].to_si() == 0.0 {
                continue;
            }
            self.number(site, part, Hand::Tenfold, |n| n * 10.0);
            self.number(site, part, Hand::Tenth, |n| n / 10.0);
            if site.signed {
                self.number(site, part, Hand::Sign, |n| -n);
            }
        }
        if site.numbers.is_empty() {
            self.counted(site);
        }
        self.units(site);
    }

    /// Every number of the value at once, since one unit stands behind them.
    fn units(&mut self, site: &Site) {
        let Some(kind) = site.numbers.first().map(|a| a.kind()) else { return };
        if site.numbers.iter().all(|n| n.to_si() == 0.0) {
            return;
        }
        let own = self.text[site.span.clone()].to_owned();
        let part = (site.numbers.len() == 1).then_some(0);
        for (unit, other, factor) in units(&own, kind) {
            self.put(site, part, Hand::UnitWritten, &own.replacen(unit, other, 1));
            let mut value = own.clone();
            let found = tokens(&own);
            let count = if site.axes.is_empty() { found.len() } else { site.numbers.len() };
            for token in found.into_iter().take(count).rev() {
                let Ok(number) = own[token.clone()].parse::<f64>() else { return };
                value.replace_range(token, &written(number / factor));
            }
            self.put(site, part, Hand::UnitRead, &value);
        }
    }

    fn counted(&mut self, site: &Site) {
        let own = self.text[site.span.clone()].to_owned();
        let Some(token) = tokens(&own).into_iter().next() else { return };
        let Ok(number) = own[token.clone()].parse::<f64>() else { return };
        for by in [-1.0, 1.0] {
            let mut value = own.clone();
            value.replace_range(token.clone(), &written(number + by));
            self.put(site, None, Hand::Count, &value);
        }
    }

    /// Two values that stand in each other's place.
    fn swapped(&mut self, one: &Site, other: &Site) {
        let text = |site: &Site| self.text[site.span.clone()].to_owned();
        let (a, b) = (text(one), text(other));
        if a == b {
            return;
        }
        let (first, second) =
            if one.span.start < other.span.start { (one, other) } else { (other, one) };
        let mut whole = self.text.to_owned();
        whole.replace_range(second.span.clone(), &text(first));
        whole.replace_range(first.span.clone(), &text(second));
        let span = first.span.start..first.span.start + text(second).len();
        self.made.push(Slipped {
            name: one.name.clone(),
            number: one.name.clone(),
            hand: Hand::Sides,
            meant: one.numbers.first().copied(),
            span,
            wrote: b,
            text: whole,
        });
    }

    fn turned(&mut self, site: &Site) {
        const NOSE: &str = "arrow = \"nose\"";
        let row = &self.text[site.span.end..];
        let end = row.find("\n[").unwrap_or(row.len());
        let Some(at) = row[..end].find(NOSE) else { return };
        let at = site.span.end + at;
        let mut text = self.text.to_owned();
        text.replace_range(at..at + NOSE.len(), "arrow = \"tail\"");
        self.made.push(Slipped {
            name: site.name.clone(),
            number: format!("{}.arrow", site.name),
            hand: Hand::Turned,
            meant: None,
            span: at..at + NOSE.len(),
            wrote: "tail".to_owned(),
            text,
        });
    }

    fn edges(&mut self, site: &Site, edges: &[f64]) {
        for tail_down in edges {
            self.number(site, 0, Hand::Edge, |n| n + tail_down);
        }
    }

    fn left_out(&mut self, stage: &str) {
        let row = format!("[[masses]]\nname = \"{stage}\"");
        let Some(from) = self.text.find(&row) else { return };
        let rest = &self.text[from + 3..];
        let end = rest.find("\n[").map_or(self.text.len(), |at| from + 3 + at + 1);
        let mut text = self.text.to_owned();
        text.replace_range(from..end, "");
        let name = format!("masses.{stage}.mass");
        self.made.push(Slipped {
            number: format!("masses.{stage}"),
            name,
            hand: Hand::Stage,
            meant: None,
            span: from..from,
            wrote: "left out".to_owned(),
            text,
        });
    }
}

/// Angles of the plate's long edges against the line through hub and holes, tail further down.
fn edges(car: &CarFile) -> Vec<f64> {
    let Some(points) = car.outline(Field::PlateOutline, Side::Left) else { return Vec::new() };
    let next = points.iter().skip(1).chain(points.first());
    let long = points.iter().zip(next).filter(|(a, b)| 200.0 < (a.u - b.u).to_mm().abs());
    long.map(|(a, b)| (-(b.w - a.w).to_mm() / (b.u - a.u).to_mm()).atan().to_degrees()).collect()
}

/// What a corner weight becomes with somebody in the car, or with a stage not yet there.
fn stages(car: &CarFile, rear: bool) -> Vec<f64> {
    let wheel = car.place(Field::ArmWheelCentre, Side::Left).map_or(0.0, |p| p.x.to_mm());
    let front = car.length(Field::FrontContactX, Side::Left).map_or(1.0, |x| x.to_mm());
    let rows = car.masses.iter().filter_map(|row| {
        let (mass, at) = (row.mass.as_ref()?.value.shown(), row.at.as_ref()?.value.x.to_mm());
        let to_rear = (front - at) / (front - wheel);
        let share = if rear { to_rear } else { 1.0 - to_rear };
        let sign = if row.kind == axlewright_book::MassKind::Load { 1.0 } else { -1.0 };
        Some(sign * mass * share / 2.0)
    });
    rows.collect()
}

/// Every slip in every number.
pub fn slips(text: &str, car: &CarFile) -> Vec<Slipped> {
    let all = sites(car);
    let mut slips = Slips { text, made: Vec::new() };
    let edges = edges(car);
    for site in &all {
        slips.of_site(site);
        let plate = site.name.starts_with("reading.plate-angle");
        if plate || site.name.starts_with("reading.sill-level") && !site.name.ends_with("turned") {
            slips.turned(site);
        }
        if plate || ["ride.plate_angle", "spec.free-angle"].contains(&site.name.as_str()) {
            slips.edges(site, &edges);
        }
        for (name, rear) in [("load.corner_weight", true), ("front.corner_weight", false)] {
            if site.name == name {
                for more in stages(car, rear) {
                    slips.number(site, 0, Hand::Stage, |n| n + more);
                }
            }
        }
    }
    for (one, other) in pairs(&all) {
        slips.swapped(one, other);
    }
    for row in car.masses.iter().filter(|r| r.kind == axlewright_book::MassKind::Stage) {
        slips.left_out(&row.name.value);
    }
    slips.made
}

/// Numbers of which each side has its own.
fn pairs(all: &[Site]) -> Vec<(&Site, &Site)> {
    let twin = |name: &str| -> Option<String> {
        if name.contains(".left") {
            return Some(name.replacen(".left", ".right", 1));
        }
        let left = Corner::ALL.into_iter().find(|c| name.ends_with(c.code()))?;
        let right = left.code().replacen('L', "R", 1);
        name.strip_suffix(left.code())
            .filter(|_| left.side() == Side::Left)
            .map(|stem| format!("{stem}{right}"))
    };
    let find = |name: String| all.iter().find(|site| site.name == name);
    all.iter().filter_map(|site| Some((site, find(twin(&site.name)?)?))).collect()
}
