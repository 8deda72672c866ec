//! Findings as drawings and printable documents.
//!
//! A drawing is a value first ([`Drawing`]) and text second ([`to_svg`]); a document is one
//! self-contained HTML file. Nothing is computed here that is not formatting: every number comes
//! from a finding, every place from a scene.

mod attempts_chart;
mod build_sheet;
mod dossier;
mod drawing;
mod forecast_chart;
mod format;
mod joint_layout;
mod labels;
mod order_map;
mod side_view;
mod spline_rings;
mod stands_plan;
mod stretches;
mod svg;
mod target;
mod travel_curves;
mod wheels_plan;
mod words;

pub use attempts_chart::attempts_chart;
pub use axlewright_setup::{capital, duration};
pub use build_sheet::{build_sheet, pieces};
pub use dossier::{Picture, dossier};
pub use drawing::{
    Anchor, AngleDimension, Arc, Dimension, Drawing, Fill, Form, Frame, Label, LineKind, Point,
    Shape,
};
pub use forecast_chart::forecast_chart;
pub use joint_layout::joint_layout;
pub use order_map::{MapArc, map_arcs, order_map};
pub use side_view::side_view;
pub use spline_rings::spline_rings;
pub use stands_plan::stands_plan;
pub use stretches::{
    Numbers, Stretch, both_sides, by_measure, count, first_lines, float_lines, is, listed,
    stretches, word,
};
pub use svg::to_svg;
pub use target::{target_html, target_svg};
pub use travel_curves::travel_curves;
pub use wheels_plan::wheels_plan;
