//! What the drawings are made from: places and angles, computed here so that `sheets` computes
//! nothing. Everything of a corner is given as a left one; [`CornerScene::corner`] says which.

use axlewright_quantity::{Angle, Corner, Force, Length, Place, PlatePoint, Side};

/// A corner in side view and its spline rings.
#[derive(Debug, Clone, PartialEq)]
pub struct CornerScene {
    /// Which corner it is; its geometry is drawn as a left one, nose to the left.
    pub corner: Corner,
    /// Centre of the bar, where the plate sits.
    pub hub: Place,
    /// The plate's outline about the hub.
    pub outline: Vec<PlatePoint>,
    /// The holes the arm bolts to, front first.
    pub holes: Vec<PlatePoint>,
    /// Loaded tyre radius.
    pub tyre_radius: Option<Length>,
    /// The stop bolt's centre (X and Z count), the clearance it needs, its own radius.
    pub stop_bolt: Option<(Place, Length, Length)>,
    /// Body end of the damper.
    pub damper_body: Option<Place>,
    /// Where the plate is in each state, in the order hang, stop bolt clear, ride, full bump.
    pub states: Vec<SceneState>,
    /// The angles at which things fit.
    pub windows: Vec<NamedWindow>,
    /// The teeth and the move, once both are known.
    pub splines: Option<SplineScene>,
}

/// One state of the corner.
#[derive(Debug, Clone, PartialEq)]
pub struct SceneState {
    /// Its name: `hang now`, `hang at target`, `stop bolt clear`, `ride`, `full bump`.
    pub name: &'static str,
    /// Plate angle.
    pub angle: Angle,
    /// Where things are then, as far as the geometry is known.
    pub pose: Option<Pose>,
}

/// Where the arm's points are in a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Wheel centre.
    pub wheel_centre: Place,
    /// Lowest point of the tyre.
    pub contact: Place,
    /// Arm end of the damper, if it is known.
    pub damper_arm: Option<Place>,
    /// Jack point on the arm, if it is known.
    pub jack_point: Option<Place>,
}

/// A window with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedWindow {
    /// `stop bolt`, `damper`, `hose`, `cable`, `half-shaft`, `plate bend`.
    pub name: &'static str,
    /// From and to, `None` where the arm's reach is the only limit; smallest first.
    pub spans: Vec<(Option<Angle>, Option<Angle>)>,
}

/// Both ends of the bar and the move that brings it to its target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplineScene {
    /// Seen from outside this side of the car.
    pub side: Side,
    /// Teeth at the anchor (inner) end.
    pub anchor_teeth: u32,
    /// Teeth at the plate (outer) end.
    pub plate_teeth: u32,
    /// Teeth to turn bar and plate together at the anchor, + tail down.
    pub anchor_move: i32,
    /// Teeth to move the plate on the bar, + tail down.
    pub plate_move: i32,
    /// Free angle as it is.
    pub now: Angle,
    /// Free angle after the move.
    pub after: Angle,
    /// The target.
    pub target: Angle,
}

/// The stands in plan, for the whole car.
#[derive(Debug, Clone, PartialEq)]
pub struct SupportScene {
    /// Each stand.
    pub stands: Vec<StandScene>,
    /// Centre of mass of the body as it stands.
    pub centre: Place,
    /// Height above the floor at which the pushes below act.
    pub push_height: Length,
    /// The least push per direction.
    pub pushes: Vec<UpsetArrow>,
}

/// One stand in plan.
#[derive(Debug, Clone, PartialEq)]
pub struct StandScene {
    /// Its name in the car file.
    pub name: String,
    /// Where its saddle is.
    pub at: Place,
    /// Half width of its foot.
    pub foot: Length,
    /// Load by the equal-stiffness estimate.
    pub estimate: Force,
    /// Least and most over all admissible distributions.
    pub range: (Force, Force),
}

/// The least horizontal push in one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct UpsetArrow {
    /// Direction of the push in plan: unit components forward and to the left.
    pub forward: f64,
    /// Component to the left.
    pub left: f64,
    /// Words for the direction: `forward`, `to the left`.
    pub words: &'static str,
    /// How hard.
    pub push: Force,
    /// What gives way first, in words.
    pub gives_way: String,
}
