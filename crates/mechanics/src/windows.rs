//! Windows: the plate angles at which something fits.
//!
//! ```text
//!   reserve g(θ): room left, in parts of the limit or in metres
//!      │      ______
//!   0 ─┼─────/──────\─────────────/────→ θ
//!      │   from     to         from (open to the end of the arm's reach)
//!          └ window ┘          └ window
//!
//!   plate, seen from the side           bolt seen in the plate's own axes as the plate turns
//!    B O‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾__              p = ((P − B)·r̂, (P − B)·n̂),  dp/dθ = (−p_w, p_u)
//!       ____________→ u _‾             distance to the outline, negative where covered
//!         ● P (bolt)
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | θ | plate angle, + tail down | rad | [`Window::from`], [`Window::to`] |
//! | P | centre of a bolt behind the plate (its Y is of no matter) | m | [`BoltBehind::new`] |
//! | ℓ | damper, hose, cable or half-shaft, end to end | m | [`Span`] |
//!
//! **Search.** Every limit is a reserve that is zero at the limit and positive inside. The range
//! is sampled every degree, and every quarter degree where the reserve is no more than twice what
//! it changes by from one sample to the next; where three samples show a dip or a peak that might
//! pass zero between them, a golden section looks for it; every change of sign is then closed in on
//! to 1e-7° (secants, halved where they do not help), ending on the side that fits.
//!
//! **Limits.** A window narrower than some thousandths of a degree can be missed. The straight
//! distance stands for hose and cable: how they are led is not known here.
//!
//! **Source.** Own geometry; checked by dense scans and by `reference/load_oracle.py`.

use std::sync::OnceLock;

use axlewright_quantity::{Angle, Length, Place, PlatePoint, Ratio};

use crate::arm::kernel::{self, Stand, V3};
use crate::arm::{Still, si};
use crate::linkage::{Linkage, LinkageError, Shift, Span};
use crate::root::{Near, Search, edge, highest, last_above};

/// A run of plate angles. `None`: open to the end of what the arm reaches.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Window {
    /// Least angle that fits.
    pub from: Option<Angle>,
    /// Greatest angle that fits.
    pub to: Option<Angle>,
}

impl Window {
    /// Whether an angle lies inside.
    pub fn contains(&self, angle: Angle) -> bool {
        self.from.is_none_or(|from| from <= angle) && self.to.is_none_or(|to| angle <= to)
    }
}

/// A window and which limit ends it on either side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound<L> {
    /// The angles.
    pub window: Window,
    /// What ends it below.
    pub from_by: Option<L>,
    /// What ends it above.
    pub to_by: Option<L>,
}

/// Which way a spanning length runs out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SpanLimit {
    /// As short as it may get: damper on its rings, shaft pushed together.
    Shortest,
    /// As long as it may get: damper open, hose taut.
    Longest,
}

/// Which limit of a half-shaft is reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ShaftLimit {
    /// Inner joint at its greatest angle.
    InnerJoint,
    /// Outer joint at its greatest angle.
    OuterJoint,
    /// Pushed together as far as it goes.
    PushedIn,
    /// Drawn out as far as it goes.
    DrawnOut,
}

/// Which bolt hole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Hole {
    /// Nearer the hub.
    Front,
    /// Farther from the hub.
    Rear,
}

/// A corner's geometry and where in it to look.
#[derive(Debug, Clone, Copy)]
pub struct Look<'a> {
    /// What carries the wheel.
    pub linkage: &'a Linkage,
    /// Where the eccentrics stand.
    pub shift: Shift,
    /// Least and greatest plate angle to look at.
    pub range: (Angle, Angle),
    /// Where the linkage stands at the angles that are looked at first, if that is kept.
    pub swept: Option<&'a Swept>,
}

impl<'a> Look<'a> {
    /// Over the whole reach of the linkage.
    ///
    /// # Errors
    /// As [`Linkage::reach`].
    pub fn all(linkage: &'a Linkage, shift: Shift) -> Result<Self, LinkageError> {
        Ok(Self { linkage, shift, range: linkage.reach(shift)?, swept: None })
    }
}

/// A linkage over its whole reach. Where it stands at the angles that a search looks at first is
/// worked out once, for everything that is looked at with it.
#[derive(Debug, Clone)]
pub struct Swept {
    linkage: Linkage,
    shift: Shift,
    range: (Angle, Angle),
    stills: OnceLock<Vec<OnceLock<Option<Still>>>>,
}

impl Swept {
    /// Over the whole reach of the linkage.
    ///
    /// # Errors
    /// As [`Linkage::reach`].
    pub fn new(linkage: Linkage, shift: Shift) -> Result<Self, LinkageError> {
        let range = linkage.reach(shift)?;
        Ok(Self { linkage, shift, range, stills: OnceLock::new() })
    }

    /// The same answers as by [`Look::all`], sooner.
    ///
    /// # Valid for
    /// The linkage and eccentrics it was made for; a look with others, or over another range, works
    /// everything out anew.
    pub const fn look(&self) -> Look<'_> {
        Look { linkage: &self.linkage, shift: self.shift, range: self.range, swept: Some(self) }
    }

    /// Where the linkage stands at one of the angles that are looked at first, where the look is
    /// still the one it is kept for.
    fn still_of(&self, look: &Look<'_>, number: usize, angle: f64) -> Option<&Option<Still>> {
        let own = std::ptr::eq(look.linkage, &self.linkage)
            && (look.shift, look.range) == (self.shift, self.range);
        let places = || (0..=First::of(rad(self.range)).last).map(|_| OnceLock::new()).collect();
        let kept = own.then(|| self.stills.get_or_init(places))?.get(number)?;
        Some(kept.get_or_init(|| self.linkage.still(angle, self.shift).ok()))
    }
}

fn rad((low, high): (Angle, Angle)) -> (f64, f64) {
    (low.to_rad(), high.to_rad())
}

const STEP: f64 = 0.25 * std::f64::consts::PI / 180.0;
const EDGE: Search = Search { within: 1e-7 * std::f64::consts::PI / 180.0, steps_max: 60 };

/// The least reserve at an angle and whose it is; none where the mechanism does not reach.
type Reserve<L> = Option<(f64, Option<L>)>;

fn least<L: Copy>(all: &[(L, f64)]) -> Reserve<L> {
    let mut found: Reserve<L> = None;
    for &(limit, left) in all {
        if !left.is_finite() {
            return None;
        }
        if found.is_none_or(|(least, _)| left < least) {
            found = Some((left, Some(limit)));
        }
    }
    found
}

/// Runs of angles where the least reserve is not negative; `first` is the same reserve at the
/// angles that are looked at first, by their number.
fn windows<L: Copy>(
    range: (Angle, Angle),
    mut reserve: impl FnMut(f64) -> Reserve<L>,
    mut first: impl FnMut(usize, f64) -> Reserve<L>,
) -> Result<Vec<Bound<L>>, LinkageError> {
    let (low, high) = rad(range);
    if !(low < high && (high - low) < 7.0) {
        return Err(LinkageError::Input {
            what: "range of plate angles to look at",
            given: format!("{:.1}° to {:.1}°", low.to_degrees(), high.to_degrees()),
            must: "from a smaller to a greater angle",
        });
    }
    // A place out of reach counts as one where nothing fits.
    let room = |found: Reserve<L>| found.map_or(-1.0, |(g, _)| g);
    let samples = samples((low, high), |n, a| room(first(n, a)));
    let mut left = |a: f64| room(reserve(a));
    let marks = marks(&samples, &mut left);
    let mut found = Vec::new();
    let mut open: Option<Bound<L>> = None;
    let whole = Bound { window: Window::default(), from_by: None, to_by: None };
    let mut before: Option<f64> = None;
    for (a, fits) in marks {
        match (before, fits, open) {
            (None, true, _) => open = Some(whole),
            (Some(last), true, None) => {
                let at = last_fit((a, last), &mut left);
                let window = Window { from: Some(Angle::rad(at)), to: None };
                let from_by = None;
                open = Some(Bound { window, from_by, to_by: None });
            }
            (Some(last), false, Some(mut bound)) => {
                let at = last_fit((last, a), &mut left);
                bound.window.to = Some(Angle::rad(at));
                found.push(bound);
                open = None;
            }
            _ => {}
        }
        before = Some(a);
    }
    found.extend(open);
    let mut who = |at: Option<Angle>| reserve(at?.to_rad()).and_then(|(_, limit)| limit);
    for bound in &mut found {
        bound.from_by = who(bound.window.from);
        bound.to_by = who(bound.window.to);
    }
    Ok(found)
}

/// Between an angle that fits and one that does not: the last that does.
fn last_fit(ends: (f64, f64), left: &mut impl FnMut(f64) -> f64) -> f64 {
    last_above(EDGE, ends, &mut *left).unwrap_or_else(|| edge(EDGE, ends, |a| left(a) >= 0.0))
}

/// The angles that are looked at first, by their number.
#[derive(Debug, Clone, Copy)]
struct First {
    low: f64,
    high: f64,
    step: f64,
    last: usize,
}

impl First {
    fn of((low, high): (f64, f64)) -> Self {
        let count = ((high - low) / STEP).ceil().clamp(2.0, 4000.0);
        Self { low, high, step: (high - low) / count, last: count as usize }
    }

    fn angle(&self, n: usize) -> f64 {
        if n == self.last { self.high } else { self.low + self.step * n as f64 }
    }
}

/// How many steps at a time are taken where the reserve is far from zero.
const STRIDE: usize = 4;

/// Whether a reserve may pass zero next to where it is that large, given how much it changes from
/// one sample to the next there. Twice as much as a straight line would need.
fn may_pass_zero(reserve: f64, change: f64) -> bool {
    reserve.abs() <= 2.0 * change
}

/// The reserve at the angles that are looked at first: at every fourth, and at those between where
/// it may pass zero.
fn samples(range: (f64, f64), mut left: impl FnMut(usize, f64) -> f64) -> Vec<(f64, f64)> {
    let first = First::of(range);
    let mut at = |n: usize| {
        let a = first.angle(n);
        (a, left(n, a))
    };
    // The last angle is a stride of its own, so that one ends where the range ends.
    let starts: Vec<usize> = (0..first.last).step_by(STRIDE).chain([first.last]).collect();
    let ends: Vec<(f64, f64)> = starts.iter().map(|n| at(*n)).collect();
    let change = |n: usize| ends.get(n + 1).map_or(0.0, |next| (next.1 - ends[n].1).abs());
    let mut all = Vec::with_capacity(2 * ends.len());
    for (n, start) in starts.iter().enumerate() {
        all.push(ends[n]);
        let reserve = ends.get(n + 1).map_or(ends[n].1.abs(), |e| e.1.abs().min(ends[n].1.abs()));
        let change = change(n).max(change(n + 1)).max(change(n.saturating_sub(1)));
        if may_pass_zero(reserve, change) {
            let next = starts.get(n + 1).copied().unwrap_or_default();
            all.extend((start + 1..next).map(&mut at));
        }
    }
    all
}

/// Angles in rising order and whether things fit there, close enough to show every change.
fn marks(samples: &[(f64, f64)], left: &mut impl FnMut(f64) -> f64) -> Vec<(f64, bool)> {
    let mut marks: Vec<(f64, bool)> = samples.iter().map(|&(a, g)| (a, g >= 0.0)).collect();
    for three in samples.windows(3) {
        let &[(a, ga), (_, gb), (c, gc)] = three else { continue };
        if !may_pass_zero(gb, (gb - ga).abs().max((gb - gc).abs())) {
            continue;
        }
        let (peak, dip) = (gb < 0.0 && gb >= ga && gb >= gc, gb >= 0.0 && gb <= ga && gb <= gc);
        if peak {
            let (at, g) = highest((a, c), &mut *left);
            if g >= 0.0 {
                marks.push((at, true));
            }
        } else if dip {
            let (at, g) = highest((a, c), |x| -left(x));
            if g > 0.0 {
                marks.push((at, false));
            }
        }
    }
    marks.sort_by(|a, b| a.0.total_cmp(&b.0));
    marks
}

fn positive(what: &'static str, given: Length) -> Result<f64, LinkageError> {
    if 0.0 < given.to_m() && given.is_finite() {
        Ok(given.to_m())
    } else {
        let given = format!("{:.1} mm", given.to_mm());
        Err(LinkageError::Input { what, given, must: "greater than zero" })
    }
}

/// A bolt or stud behind the plate.
#[derive(Debug, Clone, PartialEq)]
pub struct BoltBehind {
    hub: V3<f64>,
    bolt: V3<f64>,
    sides: Vec<OutlineSide>,
}

/// One side of a plate's outline, from one of its corners to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
struct OutlineSide {
    from: [f64; 2],
    to_w: f64,
    along: [f64; 2],
    /// One over its length squared; zero where both corners are one.
    per_length_sq: f64,
    /// How far along u it goes for each step along w; of no matter where it runs level.
    lean: f64,
}

impl OutlineSide {
    fn between(from: [f64; 2], to: [f64; 2]) -> Self {
        let along = [to[0] - from[0], to[1] - from[1]];
        let length_sq = along[0] * along[0] + along[1] * along[1];
        let per_length_sq = if length_sq > 0.0 { length_sq.recip() } else { 0.0 };
        Self { from, to_w: to[1], along, per_length_sq, lean: along[0] / along[1] }
    }
}

impl BoltBehind {
    /// A bolt on the body and the outline of the plate that turns about the hub.
    ///
    /// # Valid for
    /// An outline given in order round the plate, either way round, not crossing itself.
    /// # Errors
    /// When the outline is no area, or a number is none.
    pub fn new(hub: Place, bolt: Place, outline: &[PlatePoint]) -> Result<Self, LinkageError> {
        let outline: Vec<[f64; 2]> = outline.iter().map(|p| [p.u.to_m(), p.w.to_m()]).collect();
        let (hub, bolt) = (si(hub), si(bolt));
        let numbers = outline.iter().flatten().chain(&hub).chain(&bolt);
        let sane = numbers.into_iter().all(|c| c.abs() <= 20.0);
        let doubled: f64 = sides(&outline).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum();
        // A square centimetre: less is no plate.
        if sane && 2e-4 < doubled.abs() {
            let sides = sides(&outline).map(|(a, b)| OutlineSide::between(a, b)).collect();
            Ok(Self { hub, bolt, sides })
        } else {
            Err(LinkageError::Input {
                what: "plate outline",
                given: format!("{} points enclosing {:.1} cm²", outline.len(), doubled.abs() * 5e3),
                must: "three or more points round the plate, and a bolt's place",
            })
        }
    }

    /// Distance from the bolt's centre to the plate's outline; negative where the plate covers
    /// it.
    pub fn clearance(&self, angle: Angle) -> Length {
        Length::m(self.distance(angle.to_rad()).0)
    }

    /// Windows in which the bolt's centre keeps a clearance from the plate.
    ///
    /// # Valid for
    /// The view from the side: a bolt too short to reach the plate counts as in its way.
    /// # Errors
    /// When the range is none.
    /// # Source
    /// Own geometry, see the module's text; checked by dense scans and by
    /// `reference/load_oracle.py`.
    pub fn windows(
        &self,
        clearance: Length,
        range: (Angle, Angle),
    ) -> Result<Vec<Window>, LinkageError> {
        let keep = clearance.to_m();
        if !keep.is_finite() {
            positive("clearance of the bolt", clearance)?;
        }
        let reserve = |a| Some((self.distance(a).0 - keep, None::<()>));
        let found = windows(range, reserve, |_, a| reserve(a))?;
        Ok(found.into_iter().map(|b| b.window).collect())
    }

    /// Signed distance and its slope with the plate angle.
    pub(crate) fn distance(&self, angle: f64) -> (f64, f64) {
        let (sin, cos) = angle.sin_cos();
        let [x, _, z] = kernel::sub(self.bolt, self.hub);
        let p = [-x * cos - z * sin, -x * sin + z * cos];
        let moving = [-p[1], p[0]];
        let (mut nearest_sq, mut nearest) = (f64::INFINITY, [0.0, 0.0]);
        let mut inside = false;
        for side in &self.sides {
            let ([u, w], along) = (side.from, side.along);
            let seen = [p[0] - u, p[1] - w];
            let t = (seen[0] * along[0] + seen[1] * along[1]) * side.per_length_sq;
            let t = t.clamp(0.0, 1.0);
            let off = [seen[0] - t * along[0], seen[1] - t * along[1]];
            let off_sq = off[0] * off[0] + off[1] * off[1];
            if off_sq < nearest_sq {
                (nearest_sq, nearest) = (off_sq, off);
            }
            // Even-odd rule: a ray along +u crosses this side.
            if (w > p[1]) != (side.to_w > p[1]) && p[0] < u + side.lean * (p[1] - w) {
                inside = !inside;
            }
        }
        let distance = nearest_sq.sqrt();
        let slope = (nearest[0] * moving[0] + nearest[1] * moving[1]) / distance;
        if inside { (-distance, -slope) } else { (distance, slope) }
    }
}

/// The sides of a closed outline.
fn sides(outline: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
    let next = outline.iter().cycle().skip(1);
    outline.iter().zip(next).map(|(&a, &b)| (a, b))
}

impl Look<'_> {
    /// Windows of a reserve that hangs on where the linkage stands.
    fn windows<L: Copy>(
        &self,
        reserve: impl Fn(f64, &Still) -> Reserve<L>,
    ) -> Result<Vec<Bound<L>>, LinkageError> {
        let at = |a: f64| reserve(a, &self.linkage.still(a, self.shift).ok()?);
        windows(self.range, at, |n, a| {
            match self.swept.and_then(|swept| swept.still_of(self, n, a)) {
                Some(still) => reserve(a, still.as_ref()?),
                None => at(a),
            }
        })
    }

    /// Windows in which a span is neither too short nor too long.
    ///
    /// # Valid for
    /// The straight line between the ends; what it meets on its way is not known.
    /// # Errors
    /// When the span's length is not known, or the range is none.
    /// # Source
    /// See the module's text; checked by dense scans and by `reference/load_oracle.py`.
    pub fn span(
        &self,
        span: &Span,
        shortest: Option<Length>,
        longest: Option<Length>,
    ) -> Result<Vec<Bound<SpanLimit>>, LinkageError> {
        span.check()?;
        if matches!(span, Span::Upright { .. }) {
            return Err(LinkageError::NotKnown { what: "the damper's length" });
        }
        for (what, length) in [("shortest length", shortest), ("longest length", longest)] {
            length.map(|l| positive(what, l)).transpose()?;
        }
        self.windows(|a, still| {
            let length = span.length(&still.stand, a)?;
            let room = |l: Option<Length>| l.map_or(f64::MAX, |l| l.to_m());
            let least_m = shortest.map_or(f64::MIN, |l| l.to_m());
            least(&[
                (SpanLimit::Shortest, length - least_m),
                (SpanLimit::Longest, room(longest) - length),
            ])
        })
    }

    /// Windows in which a hose or cable is not drawn straighter than a share of its free length.
    ///
    /// # Valid for
    /// A hose or cable led straight; one led round something is taut sooner.
    /// # Errors
    /// As [`span`](Self::span), and when the share is not between 0 and 1.
    pub fn cord(&self, cord: &Cord) -> Result<Vec<Window>, LinkageError> {
        let share = cord.share.to_one();
        if !(0.0 < share && share <= 1.0) {
            let given = format!("{:.1} %", cord.share.to_percent());
            return Err(LinkageError::Input {
                what: "share of the free length that may be used",
                given,
                must: "above 0 % and not above 100 %",
            });
        }
        let found = self.span(&cord.span, None, Some(cord.free_length * share))?;
        Ok(found.into_iter().map(|b| b.window).collect())
    }

    /// Windows in which neither bolt hole bends the plate outward or inward beyond a limit.
    ///
    /// # Valid for
    /// The bend that the geometry asks of a plate on a rigid arm. What the plate bears is not
    /// computed; the limit has to come from elsewhere.
    /// # Errors
    /// When the linkage is a plain lever, or the limit is not positive.
    pub fn plate_bend(&self, limit: Length) -> Result<Vec<Bound<Hole>>, LinkageError> {
        let most = positive("plate bend allowed", limit)?;
        if matches!(self.linkage, Linkage::Lever(_)) {
            return Err(LinkageError::NotKnown { what: "the plate's bend" });
        }
        self.windows(|_, still| {
            let [front, rear] = still.bend?;
            let room = |bend: f64| most - bend.abs();
            least(&[(Hole::Front, room(front)), (Hole::Rear, room(rear))])
        })
    }

    /// Windows in which a half-shaft's joints and plunge are within their range.
    ///
    /// # Valid for
    /// One greatest angle for both joints and one plunge either way.
    /// # Errors
    /// When a limit is not positive.
    /// # Source
    /// Vector geometry as in [`HalfShaft`]; checked by dense scans and by
    /// `reference/load_oracle.py`.
    pub fn half_shaft(&self, shaft: &HalfShaft) -> Result<Vec<Bound<ShaftLimit>>, LinkageError> {
        shaft.check()?;
        self.windows(|_, still| {
            let at = shaft.state(self, &still.stand);
            let joint = shaft.joint_max.to_rad();
            let plunge = shaft.plunge_max.to_m();
            // Parts of each limit, so that angles and lengths compare.
            least(&[
                (ShaftLimit::InnerJoint, 1.0 - at.inner / joint),
                (ShaftLimit::OuterJoint, 1.0 - at.outer / joint),
                (ShaftLimit::PushedIn, 1.0 + at.plunge / plunge),
                (ShaftLimit::DrawnOut, 1.0 - at.plunge / plunge),
            ])
        })
    }
}

/// A hose or cable, taken as straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cord {
    /// End to end.
    pub span: Span,
    /// Length between its ends when laid straight.
    pub free_length: Length,
    /// Share of that which the straight distance may reach.
    pub share: Ratio,
}

/// A half-shaft with a joint at either end.
///
/// The inner joint turns about an axis parallel to Y, the outer about the wheel's axle. On a
/// plain lever the axle stays parallel to Y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfShaft {
    /// Centre of the inner joint, on the body.
    pub inner: Place,
    /// Centre of the outer joint at the design angle; on the axle, see
    /// [`crate::arm::TrailingArm::on_axle`].
    pub outer_at_design: Place,
    /// Greatest angle of each joint.
    pub joint_max: Angle,
    /// Greatest plunge either way from the length at the design angle.
    pub plunge_max: Length,
}

struct ShaftRaw {
    inner: f64,
    outer: f64,
    plunge: f64,
}

impl HalfShaft {
    fn check(&self) -> Result<(), LinkageError> {
        positive("plunge of the half-shaft", self.plunge_max)?;
        let joint = self.joint_max.to_deg();
        if 0.0 < joint && joint < 90.0 {
            return Ok(());
        }
        let given = format!("{joint:.1}°");
        let what = "greatest joint angle of the half-shaft";
        Err(LinkageError::Input { what, given, must: "between 0° and 90°" })
    }

    fn state(&self, look: &Look, stand: &Stand<f64>) -> ShaftRaw {
        let (inner, outer) = (si(self.inner), si(self.outer_at_design));
        let shaft = kernel::sub(stand.carry(outer), inner);
        let axle = stand.direction(look.linkage.wheel().1);
        // atan2 keeps its digits near a straight joint, where acos loses them.
        let between = |a, b| kernel::norm(kernel::cross(a, b)).atan2(kernel::dot(a, b));
        ShaftRaw {
            inner: between(shaft, [0.0, 1.0, 0.0]),
            outer: between(shaft, axle),
            plunge: kernel::norm(shaft) - kernel::norm(kernel::sub(outer, inner)),
        }
    }
}

/// A damper: where it sits and how far it goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Damper {
    /// Eye to eye.
    pub span: Span,
    /// Length fully closed, metal to metal.
    pub closed: Length,
    /// Length fully open.
    pub open: Length,
}

/// A stack of rubber rings on the damper's rod.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stack {
    /// How many.
    pub rings: u32,
    /// Height of one, at ease.
    pub height: Length,
    /// Share of its height that is left of a ring at full bump.
    pub squashed: Ratio,
}

impl Stack {
    /// Height of the stack at ease.
    ///
    /// # Valid for
    /// Rings all alike; washers between them are not counted.
    pub fn at_ease(&self) -> Length {
        self.height * f64::from(self.rings)
    }
    /// Height of the stack at full bump.
    ///
    /// # Valid for
    /// Rings all alike, so that each is squashed to the same share.
    pub fn at_full_bump(&self) -> Length {
        self.at_ease() * self.squashed.to_one()
    }
}

/// Where a damper first touches its rings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RingContact {
    /// How many rings.
    pub rings: u32,
    /// Plate angle there.
    pub angle: Angle,
    /// Wheel travel from ride, + bump.
    pub travel: Length,
}

/// Which stack makes a damper meet its rings where another did.
#[derive(Debug, Clone, PartialEq)]
pub struct RingChoice {
    /// Where the original met its rings.
    pub original: RingContact,
    /// Every count at which the new one meets them within the arm's reach, rising.
    pub choices: Vec<RingContact>,
    /// The one whose wheel travel is nearest to the original's.
    pub best: RingContact,
}

impl Damper {
    /// Windows between ring contact and fully open.
    ///
    /// # Valid for
    /// Rings at ease: the bump that squashes them is beyond this window, see
    /// [`full_bump`](Self::full_bump).
    /// # Errors
    /// When the damper's lengths do not go together, or its place is not known.
    pub fn windows(
        &self,
        look: &Look,
        stack: &Stack,
    ) -> Result<Vec<Bound<SpanLimit>>, LinkageError> {
        self.check()?;
        look.span(&self.span, Some(self.closed + stack.at_ease()), Some(self.open))
    }

    pub(crate) fn check(&self) -> Result<(), LinkageError> {
        let closed = positive("closed length of the damper", self.closed)?;
        if closed < self.open.to_m() && self.open.is_finite() {
            return Ok(());
        }
        let given = format!("{:.1} mm", self.open.to_mm());
        let what = "open length of the damper";
        Err(LinkageError::Input { what, given, must: "more than its closed length" })
    }

    /// The plate angle nearest to a given one at which the damper has a length.
    ///
    /// # Valid for
    /// The nearest angle on the way the length has to go: where the damper passes its shortest, the
    /// second angle of the same length is not given.
    /// # Errors
    /// When no angle in the arm's reach gives it, or its place is not known.
    pub fn angle_at(
        &self,
        look: &Look,
        near: Angle,
        length: Length,
    ) -> Result<Angle, LinkageError> {
        let start = self.span.at(look.linkage, look.shift.at(near))?;
        let Some(length_at_start) = start.length else {
            return Err(LinkageError::NotKnown { what: "the damper's length" });
        };
        let slope = start.change(Angle::rad(1.0)).to_m();
        let (way, target) = (slope.signum(), length.to_m());
        // Along the straight line from here; the walk looks where that leads nowhere.
        let guess = near.to_rad() + (target - length_at_start.to_m()) / slope;
        let line = Near { at: guess, slope: -slope.abs() };
        let line = Some(line).filter(|line| (line.at - near.to_rad()).abs() < 0.6);
        let what = || format!("a damper length of {:.1} mm", length.to_mm());
        look.linkage.settle((near.to_rad(), line), what, |a| {
            let stand = look.linkage.stand(a, look.shift).ok()?;
            Some((target - self.span.length(&stand, a)?) * way)
        })
    }

    /// Where the damper first touches a stack of rings, going into bump from ride.
    ///
    /// # Valid for
    /// Rings as high as entered: used ones that have taken a set are met later.
    /// # Errors
    /// As [`angle_at`](Self::angle_at).
    pub fn ring_contact(
        &self,
        look: &Look,
        ride: Angle,
        stack: &Stack,
    ) -> Result<RingContact, LinkageError> {
        self.check()?;
        let angle = self.angle_at(look, ride, self.closed + stack.at_ease())?;
        let travel = look.linkage.travel(look.shift.at(ride), look.shift.at(angle))?;
        Ok(RingContact { rings: stack.rings, angle, travel })
    }

    /// The plate angle at full bump: rings squashed to their share.
    ///
    /// # Valid for
    /// The share as entered; how far rubber gives depends on the blow, its age and the cold.
    /// # Errors
    /// As [`angle_at`](Self::angle_at).
    pub fn full_bump(
        &self,
        look: &Look,
        ride: Angle,
        stack: &Stack,
    ) -> Result<Angle, LinkageError> {
        self.angle_at(look, ride, self.closed + stack.at_full_bump())
    }

    /// Which number of rings, none to `rings_max` of the given height, makes this damper meet
    /// them at the wheel travel where the original met its own.
    ///
    /// # Valid for
    /// Where the rings are met, and no more: rings of another rubber stop the wheel elsewhere.
    /// # Errors
    /// When the original's contact, or every one of the new damper's, lies outside the reach.
    /// # Source
    /// Own rule: the nearest wheel travel; 6 × 12 mm on 262 mm closed gives
    /// 7 × 12 mm on 252 mm.
    pub fn rings_like(
        &self,
        look: &Look,
        ride: Angle,
        original: (&Self, &Stack),
        new: &Stack,
    ) -> Result<RingChoice, LinkageError> {
        let original = original.0.ring_contact(look, ride, original.1)?;
        // More rings than this are no stack; it also bounds the work.
        let rings_max = new.rings.min(40);
        let contact = |rings| self.ring_contact(look, ride, &Stack { rings, ..*new }).ok();
        let choices: Vec<RingContact> = (0..=rings_max).filter_map(contact).collect();
        let off = |c: &RingContact| (c.travel - original.travel).abs().to_m();
        let best = choices.iter().min_by(|a, b| off(a).total_cmp(&off(b))).copied();
        let best =
            best.ok_or(LinkageError::NotKnown { what: "where the damper meets its rings" })?;
        Ok(RingChoice { original, choices, best })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(500))]

        /// Reserves as links give them: the least of a few that go up and down no faster than once
        /// in a sixth of a turn.
        #[test]
        fn strides_pass_over_nothing(
            waves in prop::collection::vec(
                (-0.1..0.1_f64, 0.001..0.1_f64, 0.3..6.0_f64, 0.0..6.3_f64), 1..4),
            low in -1.0..0.0_f64,
            wide in 0.3..3.0_f64,
            fitting in 1_usize..4,
        ) {
            let least = |a: f64| {
                let each = waves.iter().map(|(mean, high, often, at)| {
                    mean + high * (often * a + at).sin()
                });
                each.fold(f64::MAX, f64::min)
            };
            let range = (Angle::rad(low), Angle::rad(low + wide));
            // Moved so that things fit at these few angles only, the tops of their humps.
            let first = First::of(rad(range));
            let angles = || (0..=first.last).map(|n| first.angle(n));
            let mut all: Vec<f64> = angles().map(least).collect();
            all.sort_by(f64::total_cmp);
            let zero = all[all.len() - fitting];
            let reserve = |a: f64| Some((least(a) - zero, None::<()>));
            let found = windows(range, reserve, |_, a| reserve(a)).unwrap();
            for a in angles() {
                let fits = reserve(a).is_some_and(|(left, _)| 0.0 <= left);
                let told = found.iter().any(|bound| bound.window.contains(Angle::rad(a)));
                prop_assert_eq!(fits, told, "at {}", a);
            }
        }
    }
}
