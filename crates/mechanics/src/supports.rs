//! Axle stands under a body: what each carries, and what a push does to it.
//!
//! ```text
//!   plan                                  seen from the side
//!      ↑ y left
//!   ○ N₁         ○ N₂                       → H  push, h above the floor
//!       ✚ centre of mass                  ══════════ body
//!   ○ N₃         ○ N₄                       ┬    ┬    saddle, friction μ, hᵢ above the floor
//!   └────→ x forward                        │    │
//!                                          ╱ ╲  ╱ ╲   foot, half width a
//!                                         ▔▔▔▔▔▔▔▔▔▔
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | xᵢ, yᵢ | place of a stand, vehicle axes | mm | [`Stand::at`] |
//! | hᵢ | height of its saddle above the floor | mm | [`Stand::height`] |
//! | a | half width of its foot | mm | [`Stand::foot_half_width`] |
//! | μ | friction of the body on the saddle | 1 | [`Stand::friction`] |
//! | W | weight of the body as it stands | N | [`Load::weight`] |
//! | Nᵢ | load on a stand, + pressing down | N | [`StandLoad`] |
//! | H, h | horizontal push and its height above the floor | N, mm | [`Upset::push`] |
//!
//! **How the load divides.** Three stands: statics alone decides. Four or more: it hangs on floor,
//! shims and shell, so two answers are given. The *estimate* takes the body as rigid on equal
//! springs, Nᵢ = W/n + αx·ξᵢ + αy·ηᵢ with ξ, η from the stands' middle. A negative estimate says
//! that a stand would have to pull: it has come off. (Sharing along x and then along y gives other
//! numbers that balance as well; it is not what equal springs do, and is not used.) The *range* is
//! the least and the most each stand can carry in any division that balances with no stand
//! pulling; as those divisions form a convex set, it is found at the corners, where all but three
//! stands are empty.
//!
//! **Upset.** A push H in direction e at height h is answered by H/n at every saddle (equal
//! sideways stiffness), and its moment H·(h − h̄), h̄ the mean saddle height, moves load by the
//! same rule as the estimate. A stand is taken to give way where H/n reaches μ·Nᵢ (the body slides
//! on the saddle), where (H/n)·hᵢ reaches Nᵢ·a (the stand tips on its foot), or where Nᵢ reaches
//! zero. With friction and a foot above nothing the first two come before the third, unless the
//! stand is empty to begin with.
//!
//! # Valid for
//! A level, hard floor, stands upright, pushes slow and without a turning moment about Z. A jerk, a
//! soft floor, a stand on its edge or a load shared worse than the estimate take less. The figures
//! say when the car can come off; they never say that it will stay on.
//! # Source
//! Statics; equal springs as for a rigid cap on equal piles or a bolt group (checked in
//! `tests/it/published/stands.rs`); sliding by Coulomb friction.

use axlewright_quantity::{Force, Length, Mass, Place, Ratio, exact};

/// Fewest stands that hold a body.
pub const STANDS_MIN: usize = 3;
/// Most stands that are reckoned with.
pub const STANDS_MAX: usize = 6;

/// Largest force taken, in newtons: a hundred tonnes.
const FORCE_N_MAX: f64 = 1e6;
/// Stands closer than this to one line, or to each other, in metres, are in one line or place.
const APART_M_MIN: f64 = 0.010;
/// How far outside the stands' polygon, in metres, the centre of load may seem to lie from
/// rounding alone.
const ROUNDING_M: f64 = 1e-9;
/// Twice the area of a triangle, in m², below which its three stands are in one line.
const FLAT_M2: f64 = 1e-9;
/// Least load on all stands together, in newtons, at which a body stands at all.
const STANDING_N_MIN: f64 = 1.0;

/// Why nothing can be said about the stands.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SupportError {
    /// Too few or too many.
    #[error("{given} stands; it takes {STANDS_MIN} to {STANDS_MAX}")]
    Count {
        /// As given.
        given: usize,
    },
    /// Not a number, or infinite.
    #[error("{what} is not a number")]
    NotANumber {
        /// Which.
        what: &'static str,
    },
    /// A place farther out than any car.
    #[error("{what} lies at X {:.0} mm, Y {:.0} mm; both must lie within 20 000 mm of the origin",
        .at.x.to_mm(), .at.y.to_mm())]
    Far {
        /// Which.
        what: &'static str,
        /// As given.
        at: Spot,
    },
    /// A length a stand does not have.
    #[error("stand {stand}: {what} is {:.1} mm; it must lie between {:.0} mm and {:.0} mm",
        .given.to_mm(), .least.to_mm(), .most.to_mm())]
    Size {
        /// Counted from one.
        stand: usize,
        /// Which.
        what: &'static str,
        /// As given.
        given: Length,
        /// Least that is taken.
        least: Length,
        /// Most that is taken.
        most: Length,
    },
    /// A coefficient of friction no saddle has.
    #[error("stand {stand}: friction is {:.3}; it must be more than 0 and at most 2",
        .given.to_one())]
    Friction {
        /// Counted from one.
        stand: usize,
        /// As given.
        given: Ratio,
    },
    /// A rating no stand has.
    #[error("stand {stand}: rated {:.1} kg; it must lie between 1 kg and 100 000 kg",
        .given.to_kg())]
    Rating {
        /// Counted from one.
        stand: usize,
        /// As given.
        given: Mass,
    },
    /// Two stands in one place.
    #[error("stands {first} and {second} are in one place")]
    SamePlace {
        /// Counted from one.
        first: usize,
        /// Counted from one.
        second: usize,
    },
    /// No area between them.
    #[error("the stands are all in one line; the body would roll over it")]
    OneLine,
    /// A force beyond reason.
    #[error("{what} is {:.0} N; it must lie between {:.0} N and {FORCE_N_MAX:.0} N",
        .given.to_n(), .least.to_n())]
    Force {
        /// Which.
        what: &'static str,
        /// As given.
        given: Force,
        /// Least that is taken.
        least: Force,
    },
    /// The forces lift more than the body weighs.
    #[error("the stands are left with {:.0} N; the body is off them", .left.to_n())]
    Off {
        /// Weight less what lifts.
        left: Force,
    },
    /// The body topples.
    #[error("the load's centre is {:.0} mm outside the line from stand {first} to stand {second}; \
        the body tips over that line", .by.to_mm())]
    Outside {
        /// How far.
        by: Length,
        /// One stand of the line, counted from one.
        first: usize,
        /// The other.
        second: usize,
    },
    /// A stand that is not there.
    #[error("there is no stand {given}; there are {stands}")]
    NoStand {
        /// Counted from one.
        given: usize,
        /// How many there are.
        stands: usize,
    },
    /// A push at no height.
    #[error("push at {:.0} mm above the floor; it must lie between 0 mm and 5000 mm",
        .given.to_mm())]
    Height {
        /// As given.
        given: Length,
    },
}

impl SupportError {
    /// What to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Count { .. } => "enter every stand that carries the body, and only those",
            Self::NotANumber { .. } | Self::Far { .. } => {
                "measure from the centre plane and the rear bar axis, in mm"
            }
            Self::Size { .. } => "measure saddle height and foot with a tape, in mm",
            Self::Friction { .. } => "steel on painted steel is about 0.2 (common practice)",
            Self::Rating { .. } => "read the rating off the stand; per stand, not per pair",
            Self::SamePlace { .. } | Self::OneLine => "check the signs: Y is + to the left",
            Self::Force { .. } => "check the unit; weights in N are kilograms times 9.81",
            Self::Off { .. } => "stop: lower the jack, or put weight on the body",
            Self::Outside { .. } => {
                "stop: put a stand beyond the centre of mass, or ballast inside"
            }
            Self::NoStand { .. } => "stands are counted from one in the order entered",
            Self::Height { .. } => "measure from the floor to where the hands push",
        }
    }
}

/// A point of the floor plan in vehicle axes: X forward, Y left.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spot {
    /// Forward of the rear bar axis.
    pub x: Length,
    /// Left of the centre plane.
    pub y: Length,
}

impl Spot {
    const fn to_m(self) -> (f64, f64) {
        (self.x.to_m(), self.y.to_m())
    }

    fn checked(self, what: &'static str) -> Result<Self, SupportError> {
        if !self.x.is_finite() || !self.y.is_finite() {
            return Err(SupportError::NotANumber { what });
        }
        if 20.0 < self.x.to_m().abs().max(self.y.to_m().abs()) {
            return Err(SupportError::Far { what, at: self });
        }
        Ok(self)
    }
}

impl From<Place> for Spot {
    /// Straight down onto the floor plan.
    fn from(place: Place) -> Self {
        Self { x: place.x, y: place.y }
    }
}

/// How much ballast keeps every stand loaded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ballast {
    /// Enough, over each of the named stands.
    pub least: Mass,
    /// More than this takes too much off another stand; `None` where none is too much.
    pub most: Option<Mass>,
}

/// One axle stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// Where its saddle touches the body.
    pub at: Spot,
    /// Height of the saddle above the floor.
    pub height: Length,
    /// From the middle of the foot to its nearest edge.
    pub foot_half_width: Length,
    /// Friction of the body on the saddle.
    pub friction: Ratio,
    /// What the stand's maker allows on this one stand.
    pub rating: Mass,
}

/// The body as it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Its weight.
    pub weight: Force,
    /// Where its centre of mass is.
    pub centre: Spot,
}

impl Load {
    /// From a mass.
    pub const fn of_mass(mass: Mass, centre: Spot) -> Self {
        Self { weight: mass.weight(), centre }
    }
}

/// A further vertical force on the body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointForce {
    /// Where it acts.
    pub at: Spot,
    /// Upward +: a jack lifts, a sandbag is negative.
    pub up: Force,
}

/// What one stand carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandLoad {
    /// By equal springs. Below zero: the stand has come off, by this estimate.
    pub estimate: Force,
    /// The least it can carry in any division that balances.
    pub least: Force,
    /// The most.
    pub most: Force,
    /// The most as a share of the stand's rating.
    pub share_of_rating: Ratio,
}

/// The way a push goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Direction {
    /// Towards the nose.
    Nose,
    /// Between nose and left.
    NoseLeft,
    /// To the left.
    Left,
    /// Between tail and left.
    TailLeft,
    /// Towards the tail.
    Tail,
    /// Between tail and right.
    TailRight,
    /// To the right.
    Right,
    /// Between nose and right.
    NoseRight,
}

impl Direction {
    /// All eight, 45° apart, turning left from the nose.
    pub const ALL: [Self; 8] = [
        Self::Nose,
        Self::NoseLeft,
        Self::Left,
        Self::TailLeft,
        Self::Tail,
        Self::TailRight,
        Self::Right,
        Self::NoseRight,
    ];

    /// In plain words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nose => "towards the nose",
            Self::NoseLeft => "towards nose and left",
            Self::Left => "to the left",
            Self::TailLeft => "towards tail and left",
            Self::Tail => "towards the tail",
            Self::TailRight => "towards tail and right",
            Self::Right => "to the right",
            Self::NoseRight => "towards nose and right",
        }
    }

    /// Unit vector (X, Y).
    const fn unit(self) -> (f64, f64) {
        const D: f64 = std::f64::consts::FRAC_1_SQRT_2;
        match self {
            Self::Nose => (1.0, 0.0),
            Self::NoseLeft => (D, D),
            Self::Left => (0.0, 1.0),
            Self::TailLeft => (-D, D),
            Self::Tail => (-1.0, 0.0),
            Self::TailRight => (-D, -D),
            Self::Right => (0.0, -1.0),
            Self::NoseRight => (D, -D),
        }
    }
}

/// How a stand gives way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GivesWay {
    /// It carries nothing any more.
    Unloads,
    /// The body slides on its saddle.
    SaddleSlides,
    /// It tips over the edge of its own foot.
    StandTips,
}

impl GivesWay {
    /// In plain words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Unloads => "the stand carries nothing any more",
            Self::SaddleSlides => "the body slides on the saddle",
            Self::StandTips => "the stand tips over the edge of its foot",
        }
    }
}

/// The least push in one direction at which a stand gives way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Upset {
    /// The way of the push.
    pub direction: Direction,
    /// Its size. Zero where a stand is empty before anyone pushes.
    pub push: Force,
    /// Which stand, its place in the list given to [`Stands::new`].
    pub stand: usize,
    /// How.
    pub gives_way: GivesWay,
}

/// Three to six stands that hold an area between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Stands {
    stands: Vec<Stand>,
    springs: Springs,
}

/// The equal-spring rule: load on a stand at (x, y) from a total and its moments.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Springs {
    count: f64,
    middle: (f64, f64),
    /// Σξ², Σξη, Ση² about the middle, in m².
    second: (f64, f64, f64),
}

/// Downward total in N and its moments about the origin, Σx·N and Σy·N in N·m.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Total {
    force: f64,
    x: f64,
    y: f64,
}

impl Total {
    const NONE: Self = Self { force: 0.0, x: 0.0, y: 0.0 };

    fn add(self, force: f64, at: Spot) -> Self {
        let (x, y) = at.to_m();
        Self { force: self.force + force, x: self.x + force * x, y: self.y + force * y }
    }

    fn of(load: &Load, forces: &[PointForce]) -> Result<Self, SupportError> {
        let weight = force("weight", load.weight, 0.0)?;
        let mut total = Self::NONE.add(weight, load.centre.checked("centre of mass")?);
        for point in forces {
            let up = force("force on the body", point.up, -FORCE_N_MAX)?;
            total = total.add(-up, point.at.checked("force on the body")?);
        }
        Ok(total)
    }
}

fn force(what: &'static str, given: Force, least: f64) -> Result<f64, SupportError> {
    if !given.is_finite() {
        return Err(SupportError::NotANumber { what });
    }
    if (least..=FORCE_N_MAX).contains(&given.to_n()) {
        Ok(given.to_n())
    } else {
        Err(SupportError::Force { what, given, least: Force::n(least) })
    }
}

impl Springs {
    fn new(stands: &[Stand]) -> Self {
        let count = stands.len() as f64;
        let spots = || stands.iter().map(|stand| stand.at.to_m());
        let (mx, my) = spots().fold((0.0, 0.0), |(sx, sy), (x, y)| (sx + x, sy + y));
        let middle = (mx / count, my / count);
        let second = spots().fold((0.0, 0.0, 0.0), |(xx, xy, yy), (x, y)| {
            let (xi, eta) = (x - middle.0, y - middle.1);
            (xx + xi * xi, xy + xi * eta, yy + eta * eta)
        });
        Self { count, middle, second }
    }

    /// `N = W/n + αx·ξ + αy·η`, where α solves `Σξ²·αx + Σξη·αy = Mx`, `Σξη·αx + Ση²·αy = My`.
    fn load_at(&self, at: Spot, total: Total) -> f64 {
        let (xi, eta) = (at.x.to_m() - self.middle.0, at.y.to_m() - self.middle.1);
        let (mx, my) =
            (total.x - total.force * self.middle.0, total.y - total.force * self.middle.1);
        let (xx, xy, yy) = self.second;
        let determinant = xx * yy - xy * xy;
        let along = (yy * mx - xy * my) / determinant;
        let across = (xx * my - xy * mx) / determinant;
        total.force / self.count + along * xi + across * eta
    }
}

impl Stand {
    fn checked(self, number: usize) -> Result<Self, SupportError> {
        self.at.checked("a stand")?;
        let sizes = [
            ("saddle height", self.height, 10.0, 3000.0),
            ("half width of the foot", self.foot_half_width, 5.0, 2000.0),
        ];
        for (what, given, least, most) in sizes {
            if !given.is_finite() {
                return Err(SupportError::NotANumber { what });
            }
            if given.to_mm() < least - 1e-6 || most + 1e-6 < given.to_mm() {
                let (least, most) = (Length::mm(least), Length::mm(most));
                return Err(SupportError::Size { stand: number, what, given, least, most });
            }
        }
        let (mu, rating) = (self.friction.to_one(), self.rating.to_kg());
        if !(0.0 < mu && mu <= 2.0) {
            return Err(SupportError::Friction { stand: number, given: self.friction });
        }
        if !(1.0..=1e5).contains(&rating) {
            return Err(SupportError::Rating { stand: number, given: self.rating });
        }
        Ok(self)
    }
}

/// Twice the area of the triangle a, b, c; + when it turns left.
fn doubled_area(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> f64 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

impl Stands {
    /// From stands in any order.
    ///
    /// # Errors
    /// Fewer than three or more than six, two within 10 mm, all within 10 mm of one line; a height
    /// outside 10 mm to 3 m, a foot outside 5 mm to 2 m, a friction outside 0 to 2, a rating
    /// outside 1 kg to 100 t.
    pub fn new(stands: Vec<Stand>) -> Result<Self, SupportError> {
        if !(STANDS_MIN..=STANDS_MAX).contains(&stands.len()) {
            return Err(SupportError::Count { given: stands.len() });
        }
        for (number, stand) in (1..).zip(&stands) {
            stand.checked(number)?;
        }
        let numbered = || (1..).zip(stands.iter().map(|stand| stand.at.to_m()));
        let mut width = f64::INFINITY;
        for (first, a) in numbered() {
            for (second, b) in numbered().skip(first) {
                let apart = (b.0 - a.0).hypot(b.1 - a.1);
                if apart < APART_M_MIN {
                    return Err(SupportError::SamePlace { first, second });
                }
                let off = numbered().map(|(_, c)| doubled_area(a, b, c).abs() / apart);
                width = width.min(off.fold(0.0, f64::max));
            }
        }
        if width < APART_M_MIN {
            return Err(SupportError::OneLine);
        }
        let springs = Springs::new(&stands);
        Ok(Self { stands, springs })
    }

    /// The stands, in the order given.
    pub fn all(&self) -> &[Stand] {
        &self.stands
    }

    /// Equal-spring load on each stand, in the order given; negative where a stand has come off.
    ///
    /// Unlike [`Stands::loads`] this answers for a body that would topple, too.
    ///
    /// # Errors
    /// A weight outside 0 to 1 MN, a force beyond 1 MN, a place beyond 20 m.
    /// # Source
    /// Rigid body on equal springs, see the module's text.
    pub fn estimates(
        &self,
        load: &Load,
        forces: &[PointForce],
    ) -> Result<Vec<Force>, SupportError> {
        let total = Total::of(load, forces)?;
        Ok(self.estimates_n(total).into_iter().map(Force::n).collect())
    }

    fn estimates_n(&self, total: Total) -> Vec<f64> {
        self.stands.iter().map(|stand| self.springs.load_at(stand.at, total)).collect()
    }

    /// Which stands carry the body, none of them pulling: the others it has lifted off. Their
    /// places in the list, rising.
    ///
    /// # Valid for
    /// A rigid body on equal springs that only press; it lies on three of them at least.
    /// # Errors
    /// As [`Stands::loads`].
    /// # Source
    /// Contact conditions: a stand that carries presses, one that does not is above its spring's
    /// length. Their solution is unique, so every set of stands is tried.
    pub fn pressing(&self, load: &Load, forces: &[PointForce]) -> Result<Vec<usize>, SupportError> {
        let total = Total::of(load, forces)?;
        self.loads(load, forces)?;
        let count = self.stands.len();
        let hair = total.force * 1e-12;
        let mut sets: Vec<Vec<usize>> = (0..1_usize << count)
            .map(|set| (0..count).filter(|at| set >> at & 1 == 1).collect())
            .filter(|set: &Vec<usize>| STANDS_MIN <= set.len())
            .collect();
        sets.sort_by_key(|set| std::cmp::Reverse(set.len()));
        let carries = |set: &Vec<usize>| {
            let Ok(some) = self.only(set) else { return false };
            let off = (0..count).filter(|at| !set.contains(at));
            let mut off = off.filter_map(|at| self.stands.get(at));
            some.estimates_n(total).iter().all(|load| -hair <= *load)
                && off.all(|stand| some.springs.load_at(stand.at, total) <= hair)
        };
        sets.into_iter().find(carries).ok_or(SupportError::OneLine)
    }

    /// Some of the stands, by their places in the list.
    ///
    /// # Errors
    /// As [`Stands::new`]; a stand that is not in the list.
    pub fn only(&self, which: &[usize]) -> Result<Self, SupportError> {
        let stands = self.stands.len();
        let pick = |at: &usize| {
            let missing = SupportError::NoStand { given: at.saturating_add(1), stands };
            self.stands.get(*at).copied().ok_or(missing)
        };
        Self::new(which.iter().map(pick).collect::<Result<_, _>>()?)
    }

    /// Estimate and possible range of the load on each stand, in the order given.
    ///
    /// # Units and sign
    /// Newtons, pressing down +. While no estimate is negative, each lies within its range.
    /// # Valid for
    /// See the module's text. The range is what statics allows, not what is likely.
    /// # Errors
    /// The body off its stands, or its centre of load outside them (how far, and over which two it
    /// tips); and as [`Stands::estimates`].
    /// # Source
    /// Equal springs for the estimate; corners of the set of balanced divisions for the range.
    pub fn loads(
        &self,
        load: &Load,
        forces: &[PointForce],
    ) -> Result<Vec<StandLoad>, SupportError> {
        let total = Total::of(load, forces)?;
        if total.force < STANDING_N_MIN {
            return Err(SupportError::Off { left: Force::n(total.force) });
        }
        self.inside((total.x / total.force, total.y / total.force))?;
        let ranges = self.ranges(total)?;
        let each = self.stands.iter().zip(self.estimates_n(total)).zip(ranges);
        Ok(each
            .map(|((stand, estimate), (least, most))| StandLoad {
                estimate: Force::n(estimate),
                least: Force::n(least),
                most: Force::n(most),
                share_of_rating: Ratio::one(most / stand.rating.weight().to_n()),
            })
            .collect())
    }

    /// Refuses a centre of load outside the stands' polygon. An edge of the polygon is a pair of
    /// stands with every other one on its left.
    fn inside(&self, centre: (f64, f64)) -> Result<(), SupportError> {
        let mut worst: Option<(f64, usize, usize)> = None;
        let numbered = || (1..).zip(self.stands.iter().map(|stand| stand.at.to_m()));
        for (first, a) in numbered() {
            for (second, b) in numbered() {
                if first == second || numbered().any(|(_, c)| doubled_area(a, b, c) < -1e-12) {
                    continue;
                }
                let length = (b.0 - a.0).hypot(b.1 - a.1);
                let by = -doubled_area(a, b, centre) / length;
                if ROUNDING_M < by && worst.is_none_or(|(most, ..)| most < by) {
                    worst = Some((by, first, second));
                }
            }
        }
        match worst {
            Some((by, first, second)) => {
                Err(SupportError::Outside { by: Length::m(by), first, second })
            }
            None => Ok(()),
        }
    }

    /// Least and most on each stand over every balanced division with no stand pulling: three
    /// stands at a time carry everything, and the extremes are among those.
    ///
    /// A centre on a line between stands may by rounding lie a hair outside every triangle it
    /// bounds; so the room given is widened until some three hold it, at first by nothing to
    /// speak of.
    fn ranges(&self, total: Total) -> Result<Vec<(f64, f64)>, SupportError> {
        let centre = (total.x / total.force, total.y / total.force);
        let found = [1e-12, 1e-9, 1e-6, 1e-3]
            .into_iter()
            .map(|room| self.divisions(centre, room))
            .find(|divisions| !divisions.is_empty())
            .ok_or(SupportError::OneLine)?;
        let range = |at: usize| {
            let loads = found.iter().map(|shares| {
                let mine = shares.iter().find(|(stand, _)| *stand == at);
                total.force * mine.map_or(0.0, |(_, share)| *share)
            });
            loads.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), n| {
                (low.min(n), high.max(n))
            })
        };
        Ok((0..self.stands.len()).map(range).collect())
    }

    /// Every three stands that hold a load at a point between them, each with its share.
    fn divisions(&self, centre: (f64, f64), room: f64) -> Vec<[(usize, f64); 3]> {
        let spots = || self.stands.iter().map(|stand| stand.at.to_m()).enumerate();
        let mut found = Vec::new();
        for (i, a) in spots() {
            for (j, b) in spots().skip(i + 1) {
                for (k, c) in spots().skip(j + 1) {
                    if let Some([p, q, r]) = shares_of_three([a, b, c], centre, room) {
                        found.push([(i, p), (j, q), (k, r)]);
                    }
                }
            }
        }
        found
    }

    /// Place in the list of the stand nearest to a spot, the first of equals.
    pub fn nearest(&self, spot: Spot) -> usize {
        let (x, y) = spot.to_m();
        let far = |stand: &Stand| (stand.at.x.to_m() - x).hypot(stand.at.y.to_m() - y);
        let each = self.stands.iter().map(far).enumerate();
        each.min_by(|(_, a), (_, b)| a.total_cmp(b)).map_or(0, |(at, _)| at)
    }

    /// The least horizontal push at a height above the floor at which a stand gives way, for each
    /// of eight directions.
    ///
    /// # Units and sign
    /// Newtons; the push is never negative.
    /// # Valid for
    /// See the module's text. It is the *first* stand to give way, by the equal-spring estimate;
    /// where a stand really carries less than its estimate, less is enough. For scale: someone
    /// hanging on a long bar pulls 500 N to 700 N (common practice, no source). Not a permission.
    /// # Errors
    /// As [`Stands::loads`]; a height outside 0 to 5 m.
    /// # Source
    /// Statics with Coulomb friction; derivation in the module's text.
    pub fn upset(
        &self,
        load: &Load,
        forces: &[PointForce],
        height: Length,
    ) -> Result<Vec<Upset>, SupportError> {
        if !height.is_finite() {
            return Err(SupportError::NotANumber { what: "height of the push" });
        }
        if !(0.0..=5_000.000_001).contains(&height.to_mm()) {
            return Err(SupportError::Height { given: height });
        }
        self.loads(load, forces)?;
        let still = self.estimates_n(Total::of(load, forces)?);
        // There is always one: no stand can gain from a push enough to hold every other up.
        let push = |&direction: &Direction| {
            let each = self.upsets_towards(direction, &still, height.to_m()).into_iter();
            each.min_by(|a, b| a.push.to_n().total_cmp(&b.push.to_n()))
        };
        Ok(Direction::ALL.iter().filter_map(push).collect())
    }

    /// The same stand by stand: the least push at which each gives way, were it the first. A stand
    /// that no push in a direction brings down is left out there.
    ///
    /// # Units and sign
    /// As [`Stands::upset`].
    /// # Valid for
    /// As [`Stands::upset`].
    /// # Errors
    /// As [`Stands::upset`].
    /// # Source
    /// As [`Stands::upset`].
    pub fn upset_of_each(
        &self,
        load: &Load,
        forces: &[PointForce],
        height: Length,
    ) -> Result<Vec<Upset>, SupportError> {
        self.upset(load, forces, height)?;
        let still = self.estimates_n(Total::of(load, forces)?);
        let each = |&direction: &Direction| self.upsets_towards(direction, &still, height.to_m());
        Ok(Direction::ALL.iter().flat_map(each).collect())
    }

    fn upsets_towards(&self, direction: Direction, still: &[f64], height: f64) -> Vec<Upset> {
        let count = self.springs.count;
        let saddles = self.stands.iter().map(|stand| stand.height.to_m()).sum::<f64>() / count;
        let (ex, ey) = direction.unit();
        let lever = height - saddles;
        let moment = Total { force: 0.0, x: lever * ex, y: lever * ey };
        let mut all = Vec::new();
        for (at, (stand, &load)) in self.stands.iter().zip(still).enumerate() {
            let mut first: Option<Upset> = None;
            let gain = self.springs.load_at(stand.at, moment);
            let tips_at = stand.foot_half_width.to_m() / stand.height.to_m();
            let modes = [
                // gives way where H·sideways = grip·(load + H·gain)
                (GivesWay::Unloads, 0.0, 1.0),
                (GivesWay::SaddleSlides, 1.0 / count, stand.friction.to_one()),
                (GivesWay::StandTips, 1.0 / count, tips_at),
            ];
            for (gives_way, sideways, grip) in modes {
                let loss = sideways - grip * gain;
                let push = if load <= 0.0 { 0.0 } else { grip * load / loss };
                let sooner = first.is_none_or(|had| push < had.push.to_n());
                if (load <= 0.0 || 0.0 < loss) && push.is_finite() && sooner {
                    first = Some(Upset { direction, push: Force::n(push), stand: at, gives_way });
                }
            }
            all.extend(first);
        }
        all
    }

    /// The least ballast, the same over each of the named stands, that keeps the estimate of every
    /// stand at or above `keep`. `Some` of nothing where none is needed, `None` where no ballast
    /// over those stands does.
    ///
    /// # Units and sign
    /// The mass over *one* of the named stands.
    /// # Valid for
    /// Ballast right above the saddles, by the equal-spring estimate. Ballast over one stand takes
    /// load off the one across, so more is not always better.
    /// # Errors
    /// A stand that is not in the list; a `keep` outside 0 to 1 MN; as [`Stands::estimates`].
    /// # Source
    /// The estimate is linear in the ballast, so each stand gives one bound on it.
    pub fn ballast(
        &self,
        load: &Load,
        forces: &[PointForce],
        over: &[usize],
        keep: Force,
    ) -> Result<Option<Mass>, SupportError> {
        let still = self.estimates(load, forces)?;
        Ok(self.ballast_on(&still, over, keep)?.map(|range| range.least))
    }

    /// The same for stands that carry `have` without ballast, each in its place: how much ballast
    /// it takes, and how much is too much. Where each `have` is what its stand carries less twice
    /// the doubt of that, the stand keeps its load in 97 of 100.
    ///
    /// # Units and sign
    /// Newtons, pressing down +; the masses over *one* of the named stands.
    /// # Errors
    /// A stand that is not in the list; a `keep` outside 0 to 1 MN; more or fewer loads than
    /// stands, or one that is no number.
    /// # Source
    /// As [`Stands::ballast`]; two standard uncertainties on one side of a normal distribution
    /// leave 2.3 in 100 below.
    pub fn ballast_on(
        &self,
        have: &[Force],
        over: &[usize],
        keep: Force,
    ) -> Result<Option<Ballast>, SupportError> {
        let keep = force("load to keep", keep, 0.0)?;
        let stands = self.stands.len();
        if let Some(at) = over.iter().find(|at| stands <= **at) {
            return Err(SupportError::NoStand { given: at.saturating_add(1), stands });
        }
        if have.len() != stands {
            return Err(SupportError::NoStand { given: have.len(), stands });
        }
        // One newton over each; a stand named twice is still one stand.
        let named = self.stands.iter().enumerate().filter(|(at, _)| over.contains(at));
        let bags = named.fold(Total::NONE, |bags, (_, stand)| bags.add(1.0, stand.at));
        let (mut least, mut most) = (0.0_f64, f64::INFINITY);
        for (have, gain) in have.iter().zip(self.estimates_n(bags)) {
            if !have.is_finite() {
                return Err(SupportError::NotANumber { what: "load on a stand" });
            }
            let missing = keep - have.to_n();
            // A gain below a billionth is the rounding of a stand the ballast does not reach.
            if 1e-9 < gain {
                least = least.max(missing / gain);
            } else if gain < -1e-9 {
                most = most.min(missing / gain);
            } else if 0.0 < missing {
                return Ok(None);
            }
        }
        let mass = |newtons: f64| Mass::kg(newtons / exact::STANDARD_GRAVITY);
        let range = Ballast { least: mass(least), most: most.is_finite().then(|| mass(most)) };
        Ok((least <= most).then_some(range))
    }
}

/// Shares of three stands in a load at a point; none unless it lies within their triangle, or
/// outside by no more than `room` of its height.
fn shares_of_three([a, b, c]: [(f64, f64); 3], centre: (f64, f64), room: f64) -> Option<[f64; 3]> {
    let whole = doubled_area(a, b, c);
    if whole.abs() < FLAT_M2 {
        return None;
    }
    let shares = [
        doubled_area(centre, b, c) / whole,
        doubled_area(a, centre, c) / whole,
        doubled_area(a, b, centre) / whole,
    ];
    if shares.iter().any(|share| *share < -room) {
        return None;
    }
    let pressing = shares.map(|share| share.max(0.0));
    let sum: f64 = pressing.iter().sum();
    Some(pressing.map(|share| share / sum))
}
