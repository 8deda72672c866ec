//! The few words that may stand where the car file asks for one of several.

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $id:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vdoc])* $id,)+ }
        impl $name {
            /// Every one.
            pub const ALL: &'static [Self] = &[$(Self::$id,)+];
            /// Every one as it is written.
            pub const WORDS: &'static [&'static str] = &[$($word,)+];
            /// As it is written.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$id => $word,)+ }
            }
            /// From what was written; case does not matter.
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|w| w.word().eq_ignore_ascii_case(word.trim()))
            }
        }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}

words! {
    /// What a row of the manual speaks of.
    SpecWhat {
        /// Plate angle with no load on the bar.
        FreeAngle = "free angle",
        /// Height of the bar axis above the wheel centre.
        Trim = "trim",
        /// Most that the trims may differ, left to right.
        TrimDifference = "trim difference",
        /// Rear camber.
        Camber = "camber",
        /// Rear toe-in of one wheel.
        Toe = "toe",
        /// Share of the weight on one diagonal.
        CrossWeight = "cross weight",
        /// Rings in the damper's stop stack.
        DamperRings = "damper rings",
        /// Tightening torque of a joint.
        Torque = "torque",
    }
}
words! {
    /// What was read.
    ReadingWhat {
        /// Slope of a sill, nose up positive.
        SillLevel = "sill level",
        /// Angle of the plate, tail down positive.
        PlateAngle = "plate angle",
        /// Bar axis above wheel centre.
        Trim = "trim",
        /// Camber.
        Camber = "camber",
        /// Toe-in of one wheel.
        Toe = "toe",
        /// Weight on a wheel.
        CornerWeight = "corner weight",
    }
}
words! {
    /// Which way the gauge's arrow pointed.
    Arrow {
        /// To the nose of the car.
        Nose = "nose",
        /// To the tail.
        Tail = "tail",
    }
}
words! {
    /// What hung on the bar while the plate angle was read.
    Hung {
        /// Nothing but the plate.
        Plate = "plate",
        /// Plate and arm.
        PlateAndArm = "plate and arm",
        /// Plate, arm and damper.
        PlateArmAndDamper = "plate, arm and damper",
    }
}
words! {
    /// How the lash in the splines stood while the plate angle was read.
    Lash {
        /// Tail lifted until the lash was just taken up: the loaded flank.
        Lifted = "lifted",
        /// Tail left to hang.
        Hanging = "hanging",
    }
}
words! {
    /// Where the gauge sat, or where a manual's angle is to be read.
    Seat {
        /// Hub centre to the bolt holes.
        ReferenceLine = "reference line",
        /// An edge of the plate, with its measured offset from that line.
        Edge = "edge",
    }
}
words! {
    /// How the plate angle is set.
    Adjuster {
        /// Teeth at both ends of the bar.
        Splines = "splines",
        /// Teeth that can be moved at the anchor only.
        AnchorOnly = "anchor only",
        /// Teeth that can be moved at the plate only.
        PlateOnly = "plate only",
        /// A screw, without steps.
        Screw = "screw",
    }
}
words! {
    /// Whether a bar may go to either side.
    Preset {
        /// Set in one direction by its maker: marked left and right.
        Handed = "handed",
        /// Fits either side.
        None = "none",
    }
}
words! {
    /// What carries the plate's hub.
    BushKind {
        /// Turns greased and adds no rate.
        Greased = "greased",
        /// Bonded or gripping rubber that twists.
        Rubber = "rubber",
    }
}
words! {
    /// What turning an eccentric moves, seen on the plate.
    Shift {
        /// Both holes, fore and aft.
        BothAlongU = "both holes along u",
        /// Both holes, up and down.
        BothAlongW = "both holes along w",
        /// The front hole, up and down.
        FrontAlongW = "front hole along w",
        /// The rear hole, up and down.
        RearAlongW = "rear hole along w",
        /// Plain bolt, no eccentric.
        Nothing = "nothing",
    }
}
