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
    /// One of the two eccentrics that set arm against plate.
    Eccentric {
        /// The one nearer to the nose.
        Front = "front",
        /// The one nearer to the tail.
        Rear = "rear",
    }
}
words! {
    /// Which way the heads of a joint's bolts look.
    Heads {
        /// Away from the middle of the car.
        Outboard = "outboard",
        /// Towards it.
        Inboard = "inboard",
    }
}
words! {
    /// What is on a bar's steel.
    BarFinish {
        /// Nothing but oil.
        Bare = "bare",
        /// Paint or lacquer.
        Painted = "painted",
        /// Electroplated, with whatever metal.
        Plated = "plated",
        /// Ground, stamped or filed since it was made.
        Ground = "ground",
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
words! {
    /// How the arm has to stand.
    Position {
        /// It does not matter.
        Any = "any",
        /// No bar in, so no energy in the arm: swung by hand. Of steps, not of joints.
        BarOut = "bar out",
        /// Under the weight of what is fitted.
        Hang = "hang",
        /// Raised so far that the plate keeps clear of the stop bolt.
        StopBoltClear = "stop bolt clear",
        /// At the ride angle, loaded or not.
        Ride = "ride",
        /// On the road, the car's weight on its wheels.
        WheelsDown = "wheels down",
    }
}
impl Position {
    /// The positions in which a joint may get its torque, as they are written.
    pub const OF_JOINTS: &'static [&'static str] =
        &["any", "hang", "stop bolt clear", "ride", "wheels down"];

    /// Whether it says how the arm stands while a joint gets its torque.
    pub const fn matters(self) -> bool {
        !matches!(self, Self::Any | Self::BarOut)
    }

    /// Whether a joint that gets its torque here may get it there. On its wheels the car is at
    /// ride; at ride on a stick it is not on its wheels.
    pub const fn is_met_by(self, now: Self) -> bool {
        matches!(
            (self, now),
            (Self::Any | Self::BarOut, _)
                | (Self::Hang, Self::Hang)
                | (Self::StopBoltClear, Self::StopBoltClear)
                | (Self::Ride, Self::Ride | Self::WheelsDown)
                | (Self::WheelsDown, Self::WheelsDown)
        )
    }
}
words! {
    /// How a joint carries its load.
    JointKind {
        /// By the friction of faces clamped together.
        Friction = "friction",
        /// By the bolt's shank in its hole.
        Bearing = "bearing",
        /// It holds something in place and carries next to nothing.
        Fastening = "fastening",
    }
}
words! {
    /// What keeps a joint from working loose.
    Locking {
        /// A locking nut.
        Nut = "nut",
        /// A locking washer or tab.
        Washer = "washer",
        /// A cotter through nut and bolt.
        Cotter = "cotter",
        /// Locking compound on the thread.
        Compound = "compound",
        /// Nothing but its preload.
        None = "none",
    }
}
words! {
    /// What a failing joint would cost.
    Safety {
        /// Brakes.
        Brake = "brake",
        /// A wheel.
        Wheel = "wheel",
        /// Steering.
        Steering = "steering",
        /// None of the three.
        None = "none",
    }
}
words! {
    /// How far one bolt is.
    BoltState {
        /// Loose, or not in at all.
        Open = "open",
        /// Run down until the faces touch.
        Snug = "snug",
        /// At its torque.
        Torqued = "torqued",
        /// At its torque, with a stroke of paint across it that shows whether it has moved.
        PaintMarked = "paint-marked",
    }
}
words! {
    /// How a torque wrench tells that it is there.
    WrenchKind {
        /// It gives way with a click at the torque it was set to.
        Click = "click",
        /// A pointer over a scale.
        Beam = "beam",
    }
}
words! {
    /// The unit in which the owner reads torques.
    TorqueUnit {
        /// Kilogram-force metres.
        KgfM = "kgf m",
        /// Newton metres.
        NM = "N m",
        /// Pound-force feet.
        LbfFt = "lbf ft",
    }
}
words! {
    /// Where a part is.
    PartState {
        /// At hand.
        OnTheBench = "on the bench",
        /// On the car.
        Fitted = "fitted",
        /// On order, or away to be worked on.
        Out = "out",
    }
}
words! {
    /// What reaches from body to arm, so that it fits, and lets the arm move, only between two
    /// plate angles.
    Spanning {
        /// The damper.
        Damper = "damper",
        /// The half-shaft.
        HalfShaft = "half-shaft",
        /// The brake hose.
        Hose = "hose",
        /// The handbrake cable.
        Cable = "cable",
        /// The bolt behind the plate that ends its droop.
        StopBolt = "stop bolt",
    }
}
words! {
    /// What a step does to arm, bar and car, as far as a hand can be hurt by it. A step does its
    /// acts in the order in which they are listed.
    Act {
        /// Nothing of all this: a reading, a mark, work at the bench, a bolt run down by hand.
        Nothing = "nothing",
        /// Sets two holds under the arm: a jack that touches, a stand or stack close below.
        Holds = "holds",
        /// Takes both away.
        HoldsAway = "holds away",
        /// Raises the arm off what stops it, to unload that.
        Raises = "raises",
        /// Raises the arm against the bar: what was hanging is wound.
        Winds = "winds",
        /// Lets the arm down by the jack, onto its stop or until it hangs.
        LetsDown = "lets down",
        /// Ties the plate.
        Ties = "ties",
        /// Unties it.
        Unties = "unties",
        /// Lifts the arm by hand and lets it back: it returns softly, so it hangs.
        FindsHanging = "finds hanging",
        /// Wags the plate, nothing else on the bar: it rocks both ways, so the bar is free.
        FindsFree = "finds free",
        /// Takes the weight of an arm that no bar carries, by stack, stick or second person.
        Carries = "carries",
        /// Takes off what `removes` lists.
        Removes = "removes",
        /// Connects what `fits` lists.
        Fits = "fits",
        /// Holds parts to their places with the arm in hand, and takes them off again.
        Tries = "tries",
        /// Swings the arm by hand.
        Swings = "swings",
        /// Parts the arm from plate or pivot.
        ArmOff = "arm off",
        /// Joins it to the plate.
        ArmOn = "arm on",
        /// Slackens the cover and takes it off.
        CoverOff = "cover off",
        /// Puts the cover on, snug.
        CoverOn = "cover on",
        /// Draws the plate.
        PlateOff = "plate off",
        /// Sets the plate on its teeth.
        PlateOn = "plate on",
        /// Draws the bar.
        BarOut = "bar out",
        /// Puts the bar in.
        BarIn = "bar in",
        /// Brings the cover to its torque.
        TightensCover = "tightens cover",
        /// Brings the bolts between arm and plate to their torque.
        TightensPlate = "tightens plate",
        /// Brings the stop bolt to its torque.
        TightensStopBolt = "tightens stop bolt",
        /// Eases bolts on the wheels, a little, and tightens them again; none is drawn.
        Eases = "eases",
        /// Compares the teeth of both sides before a bar is wound.
        ComparesTeeth = "compares teeth",
        /// Raises the car onto its stands.
        CarUp = "car up",
        /// Takes it onto a lift, a dolly, castors, a rotisserie or a ramp: no bar is wound or let
        /// down there.
        CarOnLift = "car on lift",
        /// Brings it down on its wheels.
        CarDown = "car down",
        /// Rolls or drives the car.
        Rolls = "rolls",
        /// Tries the stands: from outside, low, the jack touching, one hand.
        StandTest = "stand test",
        /// Pushes or pulls at the car otherwise.
        PushesCar = "pushes car",
        /// Sits in the car.
        SitsInCar = "sits in car",
        /// Heats, grinds or welds.
        Heats = "heats",
        /// Takes engine and gearbox out.
        EngineOut = "engine out",
        /// Puts them in.
        EngineIn = "engine in",
        /// Lays ballast over the tail.
        Ballast = "ballast",
        /// Takes it off.
        BallastOff = "ballast off",
        /// Opens the brakes.
        OpensBrakes = "opens brakes",
        /// Proves that they hold.
        ProvesBrakes = "proves brakes",
        /// Takes the wheels off.
        WheelsOff = "wheels off",
        /// Puts them on.
        WheelsOn = "wheels on",
    }
}
words! {
    /// What somebody found at the car that opens a step which is not known to be right.
    Found {
        /// Offered up with the plate on its stop, the part hangs slack.
        SlackAtRest = "slack at rest",
        /// The teeth are those of the paint marks: back to where they were.
        BackToThePaint = "back to the paint",
    }
}
words! {
    /// What somebody says of where the energy is.
    Recall {
        /// What is told was looked at, and is so.
        AsTold = "as told",
        /// Nobody remembers: the bar is to be taken as wound.
        NotRemembered = "not remembered",
    }
}
words! {
    /// What a part is, where something follows from it.
    PartKind {
        /// The arm that carries the wheel.
        Arm = "arm",
        /// The spring plate between bar and arm.
        Plate = "plate",
        /// A bolt or washer that sets arm against plate.
        Eccentric = "eccentric",
    }
}
words! {
    /// A phase of the work, in the order in which they follow each other.
    Phase {
        /// Readings that can never be taken again.
        BeforeStripDown = "before strip-down",
        /// Taking apart.
        StripDown = "strip-down",
        /// A verdict on each part.
        InspectAndOrder = "inspect and order",
        /// The arm swung by hand, bar out.
        DryRun = "dry run",
        /// Putting together.
        Assembly = "assembly",
        /// Brakes, proven before the car moves.
        Brakes = "brakes",
        /// The car on its wheels.
        OnTheWheels = "on the wheels",
        /// The first kilometres and what is looked at after them.
        BeddingIn = "bedding-in",
    }
}
words! {
    /// How the hands are, or have to be.
    Hands {
        /// Washed.
        Clean = "clean",
        /// Free of grease, for faces that must grip.
        Dry = "dry",
        /// Greasy.
        Greasy = "greasy",
    }
}
words! {
    /// A day of the week.
    Weekday {
        /// Monday.
        Mon = "Mon",
        /// Tuesday.
        Tue = "Tue",
        /// Wednesday.
        Wed = "Wed",
        /// Thursday.
        Thu = "Thu",
        /// Friday.
        Fri = "Fri",
        /// Saturday.
        Sat = "Sat",
        /// Sunday.
        Sun = "Sun",
    }
}
words! {
    /// Whether a mass belongs to the car or is put in it.
    MassKind {
        /// A stage of the build: it stays on the car, and the stages above it are there already.
        Stage = "stage",
        /// A load: driver, luggage.
        Load = "load",
    }
}
words! {
    /// What is turned or moved to correct the car on its wheels.
    Correction {
        /// Teeth of the bar in its anchor, tail down positive.
        Anchor = "anchor",
        /// Teeth of the plate on the bar, tail down positive.
        Plate = "plate",
        /// The front eccentric of a rear arm.
        FrontEccentric = "front eccentric",
        /// The rear eccentric of a rear arm.
        RearEccentric = "rear eccentric",
        /// The screw of a front corner, up positive.
        FrontScrew = "front screw",
    }
}
words! {
    /// How toe is read.
    ToeBy {
        /// Two strings or rods along the car, rule to the rim in front and behind.
        Strings = "strings",
        /// A light thrown from the wheel to a scale at some distance.
        Light = "light",
    }
}
