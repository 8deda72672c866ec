//! What is wrong with photographs, sheets and taps, in words.

use std::fmt;

use axlewright_quantity::{Angle, Length};

use crate::family::TagId;
use crate::sheet::SheetId;

/// Something that spoils a measurement, or may.
#[derive(Debug, Clone, PartialEq)]
pub struct Remark {
    /// The photograph it is about, from 0.
    pub shot: Option<usize>,
    /// What it is.
    pub what: What,
}

/// How much it matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Good to know; the figures allow for it.
    Note,
    /// The figures may be wrong by more than they say.
    Warning,
}

/// What spoils a measurement.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// No tag at all.
    NoTags,
    /// Tags, once the picture is turned left for right.
    Mirrored,
    /// Nothing of it shows perspective: a copy of the screen or a scan.
    NoPerspective,
    /// Its shape is no camera's: part of a picture, or a copy of the screen.
    Cut,
    /// Nothing was known of the lens.
    LensUnknown,
    /// The lens found is far from the one written in the picture.
    LensDoubtful,
    /// The check lengths were not measured.
    ScaleUnchecked,
    /// Too little of a sheet to use.
    TooFew {
        /// Which sheet.
        sheet: SheetId,
        /// How many of its tags.
        tags: usize,
    },
    /// The same tag twice in one picture.
    Twice {
        /// Which tag.
        tag: TagId,
        /// Of which sheet.
        sheet: SheetId,
    },
    /// Tags that the picture's edge cuts off.
    Cropped {
        /// Of which sheet.
        sheet: SheetId,
        /// How many.
        tags: usize,
    },
    /// A tag that does not fit the others.
    TagOff {
        /// Which tag.
        tag: TagId,
        /// Of which sheet.
        sheet: SheetId,
    },
    /// A sheet is seen from straight in front.
    TooSquare {
        /// Which sheet.
        sheet: SheetId,
        /// How far from straight in front.
        tilt: Angle,
    },
    /// A sheet could be tilted either way.
    EitherWay {
        /// Which sheet.
        sheet: SheetId,
    },
    /// The tags of a sheet are too small in the picture.
    TooSmall {
        /// Which sheet.
        sheet: SheetId,
        /// Pixels across a tag, at the median.
        pixels: u32,
    },
    /// The picture is blurred.
    Blurred,
    /// A sheet is bent.
    NotFlat {
        /// Which sheet.
        sheet: SheetId,
        /// How far its middle stands off.
        by: Length,
    },
    /// The corners of the tags fit worse than they should.
    PoorFit,
    /// Two photographs from nearly the same place.
    SamePlace {
        /// The other photograph, from 0.
        other: usize,
        /// The angle between the two.
        apart: Angle,
    },
    /// A photograph shows no sheet that another one shows.
    Apart,
    /// A point was tapped in one photograph only.
    Once {
        /// The point.
        point: String,
    },
    /// A point that cannot be placed: its lines of sight run side by side, or away.
    NoPlace {
        /// The point.
        point: String,
    },
    /// A tap that does not fit; it was left out.
    BadTap {
        /// The point.
        point: String,
    },
    /// The taps of a point do not fit each other; one of them is wrong.
    TapsDiffer {
        /// The point.
        point: String,
    },
    /// A tap is outside its photograph.
    Outside {
        /// The point.
        point: String,
    },
    /// A tap names a sheet that was not found.
    NoSheet {
        /// The point.
        point: String,
        /// The sheet.
        sheet: SheetId,
    },
}

impl What {
    /// How much it matters.
    pub const fn weight(&self) -> Weight {
        match self {
            Self::TooFew { .. }
            | Self::Cropped { .. }
            | Self::LensUnknown
            | Self::TagOff { .. } => Weight::Note,
            _ => Weight::Warning,
        }
    }

    /// Its public name.
    pub const fn id(&self) -> &'static str {
        match self {
            Self::NoTags => "photo.no-tags",
            Self::Mirrored => "photo.mirrored",
            Self::NoPerspective => "photo.no-perspective",
            Self::Cut => "photo.cut",
            Self::LensUnknown => "photo.lens-unknown",
            Self::LensDoubtful => "photo.lens-doubtful",
            Self::ScaleUnchecked => "photo.scale-unchecked",
            Self::TooFew { .. } => "photo.too-few-tags",
            Self::Twice { .. } => "photo.sheet-twice",
            Self::Cropped { .. } => "photo.cropped",
            Self::TagOff { .. } => "photo.tag-off",
            Self::TooSquare { .. } => "photo.too-square",
            Self::EitherWay { .. } => "photo.either-way",
            Self::TooSmall { .. } => "photo.too-small",
            Self::Blurred => "photo.blurred",
            Self::NotFlat { .. } => "photo.not-flat",
            Self::PoorFit => "photo.poor-fit",
            Self::SamePlace { .. } => "photo.same-place",
            Self::Apart => "photo.apart",
            Self::Once { .. } => "photo.once",
            Self::NoPlace { .. } => "photo.no-place",
            Self::BadTap { .. } => "photo.bad-tap",
            Self::TapsDiffer { .. } => "photo.taps-differ",
            Self::Outside { .. } => "photo.tap-outside",
            Self::NoSheet { .. } => "photo.no-sheet",
        }
    }

    /// What would be right.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NoTags => {
                "let a whole sheet be in the picture, sharp, lit evenly, at least a \
                tenth of its width"
            }
            Self::Mirrored => "send the picture as the camera took it; a front camera may mirror",
            Self::NoPerspective | Self::Cut => {
                "send the camera's own file, not a copy of the screen \
                and not a part of it"
            }
            Self::LensUnknown => "send the camera's own file, which says it",
            Self::LensDoubtful => {
                "use no zoom and no part of a picture; take one more photograph \
                from another side"
            }
            Self::ScaleUnchecked => {
                "measure both check lengths on the paper with a rule and give \
                what you read over what stands there, --scale 0.998"
            }
            Self::TooFew { .. } | Self::Cropped { .. } => {
                "let the whole sheet be in the picture, \
                with nothing before it"
            }
            Self::Twice { .. } => "use each sheet once; the body, plate and floor sheets differ",
            Self::TagOff { .. } => "look for dirt, a reflection or a shadow's edge on that tag",
            Self::TooSquare { .. } | Self::EitherWay { .. } => {
                "stand 20 to 40 degrees to one side, \
                or take a second photograph from there"
            }
            Self::TooSmall { .. } => "go nearer; the sheets fill a third of the picture's width",
            Self::Blurred => "more light, hold still, tap the sheet to focus on it",
            Self::NotFlat { .. } => "glue the sheet on stiff flat card",
            Self::PoorFit => {
                "look for a sheet that moved between the photographs, is wavy or dirty"
            }
            Self::SamePlace { .. } => {
                "take the second one a big step to the side: 30 to 60 degrees \
                round the parts"
            }
            Self::Apart => "let one sheet be in all photographs",
            Self::Once { .. } => {
                "tap it in a second photograph too, or say in which sheet's plane it \
                lies"
            }
            Self::NoPlace { .. } => "tap it in photographs from places further apart",
            Self::BadTap { .. } | Self::TapsDiffer { .. } => {
                "look at it under the magnifier and tap \
                again"
            }
            Self::Outside { .. } => "give pixels from the upper left corner of the upright picture",
            Self::NoSheet { .. } => "name a sheet that is in the photograph, or none",
        }
    }
}

impl fmt::Display for What {
    #[expect(clippy::too_many_lines, reason = "one match arm per thing that can be wrong")]
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoTags => f.write_str("no tag of a sheet was found"),
            Self::Mirrored => f.write_str("this is a mirror image: nothing was measured from it"),
            Self::NoPerspective => f.write_str(
                "nothing in it gets smaller with distance: this is a copy of a screen or a scan, \
                 or it was taken from straight in front",
            ),
            Self::Cut => f.write_str(
                "its shape is no camera's: part of a picture, or a copy of the screen, so its \
                 middle may not be the lens's",
            ),
            Self::LensUnknown => f.write_str(
                "the file does not say which lens took it: 26 mm equivalent is taken, in doubt \
                 by a quarter",
            ),
            Self::LensDoubtful => {
                f.write_str("the lens that fits is far from the one the file names")
            }
            Self::ScaleUnchecked => f.write_str(
                "the printer's scale was not checked: a page fitted to the paper is up to 6 % too \
                 small, and every length with it",
            ),
            Self::TooFew { sheet, tags } => {
                write!(f, "of sheet {sheet} only {tags} tag was found, too little to use")
            }
            Self::Twice { tag, sheet } => {
                let tag = tag.number();
                write!(f, "tag {tag} of sheet {sheet} is there twice; it was left out")
            }
            Self::Cropped { sheet, tags } => {
                write!(f, "{tags} of the tags of sheet {sheet} are cut off by the picture's edge")
            }
            Self::TagOff { tag, sheet } => {
                let tag = tag.number();
                write!(f, "tag {tag} of sheet {sheet} does not fit the others; it was left out")
            }
            Self::TooSquare { sheet, tilt } => write!(
                f,
                "sheet {sheet} is seen too square on, {:.0} degrees from straight in front: how it \
                 is tilted is hardly known",
                tilt.to_deg(),
            ),
            Self::EitherWay { sheet } => {
                write!(f, "sheet {sheet} could as well be tilted the other way")
            }
            Self::TooSmall { sheet, pixels } => {
                write!(f, "sheet {sheet} is too small in the picture, {pixels} pixels a tag")
            }
            Self::Blurred => f.write_str("the picture is blurred"),
            Self::NotFlat { sheet, by } => write!(
                f,
                "sheet {sheet} is not flat: its middle stands off by about {:.1} mm",
                by.to_mm().abs(),
            ),
            Self::PoorFit => f.write_str("the corners of the tags fit each other badly"),
            Self::SamePlace { other, apart } => write!(
                f,
                "taken from nearly the same place as photograph {}, {:.0} degrees apart: depth is \
                 hardly known",
                other + 1,
                apart.to_deg(),
            ),
            Self::Apart => f.write_str("it shows no sheet that the others show; it was left out"),
            Self::Once { point } => {
                write!(f, "{point} was tapped in one photograph only and has no place in space")
            }
            Self::NoPlace { point } => {
                write!(f, "{point} cannot be placed: its lines of sight run side by side or away")
            }
            Self::BadTap { point } => {
                write!(f, "the tap on {point} does not fit the others; it was left out")
            }
            Self::TapsDiffer { point } => {
                write!(f, "the taps on {point} do not fit each other; one of them is wrong")
            }
            Self::Outside { point } => {
                write!(f, "the tap on {point} is outside the picture; it was left out")
            }
            Self::NoSheet { point, sheet } => {
                write!(
                    f,
                    "{point} is said to lie in the plane of sheet {sheet}, not found anywhere"
                )
            }
        }
    }
}
