//! What photographs of printed sheets say, as findings.
//!
//! The adjustment is `axlewright-sight`'s; here its figures get their ids, their words and, where
//! it is said how the body's sheet lies on the car, the car's axes.

use axlewright_quantity::{Amount, Angle, Length, Pixels, Place, Ratio, Side};
use axlewright_sight::figures::{SEAT, Spot, Stand, Sure, seat_doubt};
use axlewright_sight::measure::{MeasureError, Measured, Residual, measure};
use axlewright_sight::sheet::{Kind, SheetId};
use axlewright_sight::shot::Question;

use crate::finding::{Finding, Input, Item, Leaf, Sighted, Subject, Why};
use crate::{Assessment, cautions};

/// Photographs to measure by, with what is asked of them.
#[derive(Debug, Clone, Default)]
pub struct Photographs {
    /// Names of the photographs, as the person calls them.
    pub names: Vec<String>,
    /// The photographs and the points tapped in them.
    pub question: Question,
    /// Earlier ones, before something was moved: names and photographs.
    pub before: Option<(Vec<String>, Question)>,
    /// Lines through points, by the points' names, to be held against the first sheet's line.
    pub lines: Vec<Vec<String>>,
    /// How far each end of a sheet's line may lie off its edge; half a millimetre if not said.
    pub seat: Option<Length>,
    /// Where the first sheet is on the car.
    pub on_car: Option<OnCar>,
}

/// How the body's sheet lies on the car: its line along the sill, level with the body, the paper
/// upright and square across the car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnCar {
    /// Where the mark in the middle of its line is.
    pub at: Place,
    /// Which side it is on, seen from outside.
    pub side: Side,
}

/// How upright and how square a sheet on a sill stands; chosen, no source: a spirit level on card.
const LEAN: Angle = Angle::deg(0.3);

const ADJUSTED: &str = "p = lens(R·w + t), least squares over all corners and taps";
const BY: &str = "bundle adjustment, docs/method.md";

/// Everything that photographs say.
pub fn photographs(ask: &Photographs) -> Assessment {
    let mut out = Assessment::default();
    let Some(measured) = adjusted(&ask.question, &ask.names, &mut out) else { return out };
    let before = ask.before.as_ref().and_then(|(names, question)| {
        adjusted(question, names, &mut out).map(|measured| (names, measured))
    });
    let seen = Seen { ask, measured: &measured };
    for shot in measured.shots() {
        out.findings.extend(seen.lens(*shot));
        out.findings.extend(seen.camera(*shot));
    }
    for sheet in &measured.sheets()[1..] {
        out.findings.extend(seen.sheet(*sheet));
    }
    seen.angles(&mut out.findings);
    seen.offsets(before.as_ref().map(|(_, measured)| measured), &mut out.findings);
    for line in &ask.lines {
        match seen.line(line) {
            Some(finding) => out.findings.push(finding),
            None => out.problems.push(format!(
                "the line through {} has no place: fewer than two of its points were found",
                line.join(", "),
            )),
        }
    }
    for name in measured.points() {
        out.findings.extend(seen.point(name));
        out.findings.extend(seen.on_car(name));
    }
    for shot in measured.shots() {
        out.findings.push(seen.residuals(*shot));
    }
    out
}

fn adjusted(question: &Question, names: &[String], out: &mut Assessment) -> Option<Measured> {
    let measured = measure(question);
    let remarks = match &measured {
        Ok(measured) => &measured.remarks,
        Err(why) => {
            out.problems.push(refused(why));
            why.remarks()
        }
    };
    out.cautions.extend(remarks.iter().map(|remark| cautions::photograph(remark, names)));
    measured.ok()
}

fn refused(why: &MeasureError) -> String {
    format!("{why}: {}", why.hint())
}

struct Seen<'a> {
    ask: &'a Photographs,
    measured: &'a Measured,
}

fn leaf<Q: Into<Amount>>(sure: Sure<Q>) -> Item {
    Item::Leaf(Leaf { value: sure.value.into(), u: Some(sure.u.into()), written: None })
}

fn about(what: Sighted) -> Option<Subject> {
    Some(Subject::Sighted(what))
}

fn px(value: f64, u: f64) -> Item {
    leaf(Sure { value: Pixels::px(value), u: Pixels::px(u) })
}

fn one(value: f64, u: f64) -> Item {
    leaf(Sure { value: Ratio::one(value), u: Ratio::one(u) })
}

fn why(words: String, formula: &'static str, inputs: Vec<Input>) -> Why {
    Why { words, formula, source: BY, inputs }
}

fn spot(at: Spot) -> Vec<(&'static str, Item)> {
    vec![("x", leaf(at.x)), ("y", leaf(at.y)), ("z", leaf(at.z))]
}

fn stand(at: Stand) -> Item {
    let [x, y, z] = at.turn.map(leaf);
    let mut parts = spot(at.at);
    parts.extend([("turn_x", x), ("turn_y", y), ("turn_z", z)]);
    Item::Object(parts)
}

impl Seen<'_> {
    fn name(&self, shot: usize) -> String {
        self.ask.names.get(shot).cloned().unwrap_or_else(|| (shot + 1).to_string())
    }

    fn photo(&self, shot: usize) -> Option<Subject> {
        about(Sighted::Photo(self.name(shot)))
    }

    fn first(&self) -> SheetId {
        self.measured.sheets()[0]
    }

    /// "from photographs a.jpg and b.jpg"
    fn from(&self) -> String {
        let names: Vec<String> = self.measured.shots().iter().map(|s| self.name(*s)).collect();
        match names.split_last() {
            Some((last, [])) => format!("from photograph {last}"),
            Some((last, rest)) => format!("from photographs {} and {last}", rest.join(", ")),
            None => String::new(),
        }
    }

    /// How good the corners are, for the reasons.
    fn inputs(&self) -> Vec<Input> {
        let corners = self.measured.shots().iter().filter_map(|shot| {
            let u = self.measured.corner_doubt(*shot)?;
            let name = format!("corners of the tags in {}", self.name(*shot));
            let from = "how far they are off the fit".to_owned();
            Some(Input { name, value: None, u: Some(u.into()), from, share: None })
        });
        corners.collect()
    }

    fn lens(&self, shot: usize) -> Option<Finding> {
        let found = self.measured.lens(shot)?;
        let (lens, u) = (found.lens, found.u);
        let value = Item::Object(vec![
            ("focal", px(lens.focal, u[0])),
            ("equivalent", leaf(found.equivalent)),
            ("centre_x", px(lens.centre.x, u[1])),
            ("centre_y", px(lens.centre.y, u[2])),
            ("k1", one(lens.k1, u[3])),
            ("k2", one(lens.k2, u[4])),
        ]);
        let words = format!(
            "The lens of {}, refined from what its file says, {}",
            self.name(shot),
            self.from(),
        );
        let why = why(words, "p = c + f·(1 + k1·r² + k2·r⁴)·m", self.inputs());
        Some(Finding { id: "photo.lens", of: self.photo(shot), at: None, value, why })
    }

    fn camera(&self, shot: usize) -> Option<Finding> {
        let value = stand(self.measured.camera(shot)?);
        let words = format!(
            "Where {} was taken from, in the axes of sheet {}, {}",
            self.name(shot),
            self.first(),
            self.from(),
        );
        let why = why(words, ADJUSTED, self.inputs());
        Some(Finding { id: "photo.pose", of: self.photo(shot), at: None, value, why })
    }

    fn sheet(&self, id: SheetId) -> Option<Finding> {
        let value = stand(self.measured.sheet(id)?);
        let first = self.first();
        let words = format!("Where sheet {id} is, in the axes of sheet {first}, {}", self.from());
        let why = why(words, ADJUSTED, self.inputs());
        let of = about(Sighted::Sheet(id.to_string()));
        Some(Finding { id: "photo.pose", of, at: None, value, why })
    }

    /// Every two sheets that have lines of their own.
    fn angles(&self, findings: &mut Vec<Finding>) {
        let sheets: Vec<SheetId> = self
            .measured
            .sheets()
            .iter()
            .copied()
            .filter(|sheet| sheet.kind() != Kind::Strip)
            .collect();
        for (n, a) in sheets.iter().enumerate() {
            for b in &sheets[n + 1..] {
                findings.extend(self.sheet_angle(*a, *b));
                findings.extend(self.plane_angle(*a, *b));
                findings.extend(self.line_angle(*a, *b));
            }
        }
    }

    fn two(a: SheetId, b: SheetId) -> Option<Subject> {
        about(Sighted::Sheets(a.to_string(), b.to_string()))
    }

    fn sheet_angle(&self, a: SheetId, b: SheetId) -> Option<Finding> {
        let turn = self.measured.sheet_angle(a, b)?;
        let way = if turn.clockwise { "clockwise" } else { "anticlockwise" };
        let words = format!(
            "The angle in space between the printed lines of sheets {a} and {b}, {}; {b} is turned \
             {way} against {a}, as one looks at them. How they were laid on is not in it",
            self.from(),
        );
        let why = why(words, "cos = x₁·x₂", self.inputs());
        let value = leaf(turn.angle);
        Some(Finding { id: "photo.sheet-angle", of: Self::two(a, b), at: None, value, why })
    }

    fn plane_angle(&self, a: SheetId, b: SheetId) -> Option<Finding> {
        let value = leaf(self.measured.plane_angle(a, b)?);
        let words = format!("The angle between the planes of sheets {a} and {b}, {}", self.from());
        let why = why(words, "cos = z₁·z₂", self.inputs());
        Some(Finding { id: "photo.plane-angle", of: Self::two(a, b), at: None, value, why })
    }

    fn seat(&self) -> Length {
        self.ask.seat.unwrap_or(SEAT)
    }

    fn seat_input(&self, sheet: SheetId) -> Option<Input> {
        let doubt = seat_doubt(self.seat(), self.measured.line_length(sheet)?);
        Some(Input {
            name: format!("seat of sheet {sheet}"),
            value: None,
            u: Some(doubt.into()),
            from: format!("{} an end", Amount::from(self.seat())),
            share: None,
        })
    }

    fn line_angle(&self, a: SheetId, b: SheetId) -> Option<Finding> {
        let turn = self.measured.line_angle(a, b, self.seat())?;
        let words = format!(
            "The angle in space between the edges that sheets {a} and {b} lie along, with how each \
             is seated, {}. While both stay taped on, differences keep the camera's doubt alone",
            self.from(),
        );
        let mut inputs = self.inputs();
        inputs.extend([a, b].iter().filter_map(|sheet| self.seat_input(*sheet)));
        let why = why(words, "u² = u_camera² + Σ(√2·seat/length)²", inputs);
        let value = leaf(turn.angle);
        Some(Finding { id: "photo.angle", of: Self::two(a, b), at: None, value, why })
    }

    /// The line through tapped points against the first sheet's.
    fn line(&self, points: &[String]) -> Option<Finding> {
        let names: Vec<&str> = points.iter().map(String::as_str).collect();
        let first = self.first();
        let turn = self.measured.points_angle(first, &names, self.seat())?;
        let way = if turn.clockwise { "clockwise" } else { "anticlockwise" };
        let words = format!(
            "The angle in space between the edge that sheet {first} lies along and the line \
             through {}, {way} from it as one looks at the sheet, {}",
            points.join(", "),
            self.from(),
        );
        let mut inputs = self.inputs();
        inputs.extend(self.seat_input(first));
        let why = why(words, "u² = u_camera² + (√2·seat/length)²", inputs);
        let of = about(Sighted::Points(points.to_vec()));
        Some(Finding { id: "photo.angle", of, at: None, value: leaf(turn.angle), why })
    }

    /// The halves of strips against each other, and how far they moved since.
    fn offsets(&self, before: Option<&Measured>, findings: &mut Vec<Finding>) {
        for upper in self.measured.sheets() {
            let Some(lower) = upper.partner() else { continue };
            if lower < *upper {
                continue;
            }
            let Some(now) = self.measured.offset(*upper, lower) else { continue };
            let of = Self::two(*upper, lower);
            let words = format!(
                "How far the lower half of the strip stands off the place where it was printed, {}",
                self.from(),
            );
            let why_now = why(words, ADJUSTED, self.inputs());
            let (id, value) = ("photo.offset", offset(&now));
            findings.push(Finding { id, of: of.clone(), at: None, value, why: why_now });
            let Some(was) = before.and_then(|before| before.offset(*upper, lower)) else {
                continue;
            };
            let words = format!(
                "How far the lower half of the strip has moved against the upper one: {}, less \
                 what the photographs before it show",
                self.from(),
            );
            let why = why(words, "now − before, u² = u_now² + u_before²", self.inputs());
            let value = offset(&moved(&now, &was));
            findings.push(Finding { id: "photo.mark", of, at: None, value, why });
        }
    }

    fn point(&self, name: &str) -> Option<Finding> {
        let plane = self.measured.plane_of(name);
        let frame = plane.unwrap_or(self.first());
        let mut parts = spot(self.measured.point(name, frame)?);
        parts.push(("axes", Item::Word(frame.to_string())));
        let times = self.measured.times_tapped(name);
        parts.push(("photographs", Item::Count(times as i64, "photographs")));
        let lies = match plane {
            Some(sheet) => format!("in the plane of sheet {sheet}"),
            None => "in space".to_owned(),
        };
        let words = format!("{name} {lies}, in the axes of sheet {frame}, {}", self.from());
        let why = why(words, ADJUSTED, self.inputs());
        let (of, value) = (about(Sighted::Point(name.to_owned())), Item::Object(parts));
        Some(Finding { id: "photo.point", of, at: None, value, why })
    }

    /// A point in the car's axes, with how the body's sheet lies on the car.
    fn on_car(&self, name: &str) -> Option<Finding> {
        let on = self.ask.on_car?;
        let first = self.first();
        let at = self.measured.point(name, first)?;
        let seat = self.seat();
        let turn = seat_doubt(seat, self.measured.line_length(first)?).to_rad();
        let lean = LEAN.to_rad();
        let (x, y, z) = (at.x.value, at.y.value, at.z.value);
        let with = |own: Length, lever: Length, by: f64, other: Length, other_by: f64| {
            let parts = [own, seat, lever * by, other * other_by];
            Length::m(parts.iter().fold(0.0, |sum: f64, part| sum.hypot(part.to_m())))
        };
        let along_u = with(at.x.u, y, turn, z, lean);
        let up_u = with(at.y.u, x, turn, z, lean);
        let out_u = with(at.z.u, y, lean, x, lean);
        let (along, out) = match on.side {
            // Seen from outside on the left, the nose is to the left.
            Side::Left => (-x, z),
            Side::Right => (x, -z),
        };
        let value = Item::Object(vec![
            ("x", leaf(Sure { value: on.at.x + along, u: along_u })),
            ("y", leaf(Sure { value: on.at.y + out, u: out_u })),
            ("z", leaf(Sure { value: on.at.z + y, u: up_u })),
        ]);
        let words = format!(
            "{name} in the car's axes, sheet {first} lying along the sill, upright and square to \
             within {}, {}",
            Amount::from(LEAN),
            self.from(),
        );
        let mut inputs = self.inputs();
        inputs.extend(self.seat_input(first));
        let why = why(words, "u² = u_camera² + seat² + Σ(lever·turn)²", inputs);
        let of = about(Sighted::Point(name.to_owned()));
        Some(Finding { id: "photo.place", of, at: None, value, why })
    }

    /// What is left of the corners and taps of a photograph.
    fn residuals(&self, shot: usize) -> Finding {
        let of_shot: Vec<&Residual> =
            self.measured.residuals.iter().filter(|residual| residual.shot == shot).collect();
        let corners = of_shot.iter().filter(|residual| residual.point.is_none());
        let u = self.measured.corner_doubt(shot).unwrap_or_default().to_px();
        let sum: f64 = corners.clone().map(|r| square(r)).sum();
        let count = corners.count().max(1) as f64;
        let taps = of_shot.iter().filter_map(|r| Some(tap(r, r.point.as_ref()?)));
        let tags = count as i64 / 4;
        let value = Item::Object(vec![
            ("tags", Item::Count(tags, "tags")),
            ("corners", px((sum / (2.0 * count)).sqrt(), u / (4.0 * count).sqrt())),
            ("taps", Item::List(taps.collect())),
        ]);
        let words = "What is left between where corners and taps were seen and where the answer \
                     puts them: for the corners the root mean square of a coordinate, for each tap \
                     right and down"
            .to_owned();
        let why = why(words, "seen − fitted", Vec::new());
        Finding { id: "photo.residual", of: self.photo(shot), at: None, value, why }
    }
}

fn square(r: &Residual) -> f64 {
    (r.seen.x - r.fitted.x).powi(2) + (r.seen.y - r.fitted.y).powi(2)
}

/// Half a pixel is what a tap is good for.
const TAP_U_PX: f64 = 0.5;

fn tap(r: &Residual, point: &str) -> Item {
    Item::Object(vec![
        ("point", Item::Word(point.to_owned())),
        ("right", px(r.seen.x - r.fitted.x, TAP_U_PX)),
        ("down", px(r.seen.y - r.fitted.y, TAP_U_PX)),
        ("off", r.off.map_or(Item::Nothing, |off| one(off, 1.0))),
        ("left_out", Item::Flag(r.left_out)),
    ])
}

/// Along the strip, across it, and turned in its plane.
fn offset(stand: &Stand) -> Item {
    let parts = vec![
        ("along", leaf(stand.at.x)),
        ("across", leaf(stand.at.y)),
        ("turn", leaf(stand.turn[2])),
    ];
    Item::Object(parts)
}

fn moved(now: &Stand, was: &Stand) -> Stand {
    fn less<Q>(a: Sure<Q>, b: Sure<Q>) -> Sure<Q>
    where
        Q: std::ops::Sub<Output = Q> + Into<Amount> + TryFrom<Amount> + Copy,
    {
        let (p, q): (Amount, Amount) = (a.u.into(), b.u.into());
        let both = Amount::from_si(p.kind(), p.to_si().hypot(q.to_si()));
        Sure { value: a.value - b.value, u: Q::try_from(both).unwrap_or(a.u) }
    }
    Stand {
        at: Spot {
            x: less(now.at.x, was.at.x),
            y: less(now.at.y, was.at.y),
            z: less(now.at.z, was.at.z),
            correlation: now.at.correlation,
        },
        turn: [0, 1, 2].map(|n| less(now.turn[n], was.turn[n])),
    }
}
