//! Everything about a corner that may be other than it is thought to be.

use axlewright_quantity::Kind;

macro_rules! items {
    ($($(#[$doc:meta])* $name:ident $kind:ident $by:ident $words:literal;)+) => {
        /// One number of a corner's build.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Item { $(#[doc = $words] $name,)+ }

        impl Item {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// What kind of quantity it is, and its uncertainty too.
            ///
            /// # Source
            /// The list above.
            pub const fn kind(self) -> Kind {
                match self { $(Self::$name => Kind::$kind,)+ }
            }

            /// What it is called.
            pub const fn words(self) -> &'static str {
                match self { $(Self::$name => $words,)+ }
            }

            /// Which measuring settles it.
            ///
            /// # Source
            /// The list above: what one does with one tool in one go.
            pub const fn by(self) -> Measuring {
                match self { $(Self::$name => Measuring::$by,)+ }
            }
        }

        /// One for each item.
        pub(super) const COUNT: usize = [$(Item::$name,)+].len();
    };
}

items! {
    BarDiameter Length Bar "bar diameter";
    BarBore Length Bar "bore of the bar";
    BarLength Length BarLength "active length of the bar";
    BarModulus Stress Modulus "modulus of rigidity";
    BarRate TorsionalRate Rate "rate of the bar";
    RateShare Ratio Rate "share of the rate left by the anchor";
    Gas Force Gas "gas force of the damper";
    Weight Mass Scales "corner weight";
    Unsprung Mass Unsprung "unsprung mass";
    Reading Angle Gauge "gauge reading of the plate";
    Level Angle Level "body level";
    Lash Angle Lash "lash of the splines";
    Settling Length Settling "settling of bar and bushes";
    Friction Length Friction "friction when trim is read";
    HubX Length Arm "hub, X";
    HubY Length Arm "hub, Y";
    HubZ Length Arm "hub, Z";
    PivotX Length Arm "inner pivot, X";
    PivotY Length Arm "inner pivot, Y";
    PivotZ Length Arm "inner pivot, Z";
    HoleFrontU Length Arm "front hole, along the plate";
    HoleFrontW Length Arm "front hole, up the plate";
    HoleRearU Length Arm "rear hole, along the plate";
    HoleRearW Length Arm "rear hole, up the plate";
    WheelX Length Arm "wheel centre, X";
    WheelY Length Arm "wheel centre, Y";
    WheelZ Length Arm "wheel centre, Z";
    DamperBodyX Length Damper "damper's body eye, X";
    DamperBodyY Length Damper "damper's body eye, Y";
    DamperBodyZ Length Damper "damper's body eye, Z";
    DamperArmX Length Damper "damper's arm eye, X";
    DamperArmY Length Damper "damper's arm eye, Y";
    DamperArmZ Length Damper "damper's arm eye, Z";
    DamperReach Length Damper "damper's distance behind the hub";
    DamperLengthA Length Damper "damper's length at the first angle";
    DamperLengthB Length Damper "damper's length at the second angle";
    DamperLengthC Length Damper "damper's length at the third angle";
    TyreRadius Length Tyre "loaded tyre radius";
    DesignAngle Angle Arm "plate angle at which the arm was measured";
    Camber Angle Alignment "camber at that angle";
    Toe Angle Alignment "toe at that angle";
    ShiftU Length Alignment "fore-aft eccentric";
    ShiftW Length Alignment "up-down eccentric";
    BushRate TorsionalRate Bush "rate of the rubber bush";
    BushNeutral Angle Bush "angle at which the bush was clamped";
    LeverReach Length Arm "hub to wheel centre";
    LeverAngle Angle Arm "plate angle at ride";
    LeverTrim Length Arm "trim at ride";
}

impl Item {
    /// Its number, the stream from which it is drawn.
    pub(super) const fn number(self) -> usize {
        self as usize
    }
}

/// One piece of work with gauge, tape or scale, and all it settles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measuring {
    /// The bar's diameter with a micrometer.
    Bar,
    /// The bar's active length with a tape.
    BarLength,
    /// The steel's modulus: the maker's word, or a bar twisted on a bench.
    Modulus,
    /// The bar's rate as it sits in its anchor: loaded with known weights.
    Rate,
    /// The damper's gas force: pushed on a bathroom scale.
    Gas,
    /// The corner weight: the car on scales.
    Scales,
    /// The unsprung mass: the parts on a scale.
    Unsprung,
    /// The plate angle with the gauge: more readings, a finer gauge.
    Gauge,
    /// The body's level.
    Level,
    /// The lash of the splines.
    Lash,
    /// How far new bars and bushes settle: known once the car has been driven.
    Settling,
    /// Friction when the trim is read: lifted and let down, pushed and let up.
    Friction,
    /// The arm's points with tape and plumb line.
    Arm,
    /// The damper's eyes.
    Damper,
    /// The loaded tyre.
    Tyre,
    /// Camber, toe and eccentrics.
    Alignment,
    /// The rubber bush.
    Bush,
}

impl Measuring {
    /// All of them.
    pub const ALL: &'static [Self] = &[
        Self::Bar,
        Self::BarLength,
        Self::Modulus,
        Self::Rate,
        Self::Gas,
        Self::Scales,
        Self::Unsprung,
        Self::Gauge,
        Self::Level,
        Self::Lash,
        Self::Settling,
        Self::Friction,
        Self::Arm,
        Self::Damper,
        Self::Tyre,
        Self::Alignment,
        Self::Bush,
    ];

    /// What it is called.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Bar => "bar diameter",
            Self::BarLength => "active length of the bar",
            Self::Modulus => "modulus of rigidity",
            Self::Rate => "rate of the bar in its anchor",
            Self::Gas => "gas force of the damper",
            Self::Scales => "corner weight",
            Self::Unsprung => "unsprung mass",
            Self::Gauge => "gauge reading of the plate",
            Self::Level => "body level",
            Self::Lash => "lash of the splines",
            Self::Settling => "settling of bar and bushes",
            Self::Friction => "friction when trim is read",
            Self::Arm => "points of the arm",
            Self::Damper => "eyes of the damper",
            Self::Tyre => "loaded tyre radius",
            Self::Alignment => "camber, toe and eccentrics",
            Self::Bush => "rubber bush",
        }
    }
}
