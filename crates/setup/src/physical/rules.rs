//! What no plan may hold, act by act.

use axlewright_book::{Act, Spanning};
use axlewright_quantity::Side;

use super::{Bar, Brakes, Found, Held, On, State};

/// The eight rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rule {
    /// Cover, plate, bar and arm move only when the bar has no load.
    Bar,
    /// What ends the droop goes, and the arm moves under load, only on jack and second hold.
    Holds,
    /// What reaches from body to arm is off where it does not reach.
    Spans,
    /// No bar is wound before its teeth are settled.
    Winding,
    /// Joints get their torque where they may have it.
    Torque,
    /// Phases follow each other; the wheels are down when they have to be.
    Phase,
    /// Nobody sits in a car on stands or pushes at it.
    Push,
    /// One arm at a time; nothing is lifted, lowered, rolled or heated at the wrong time.
    Moves,
}

impl Rule {
    /// Every one.
    pub const ALL: [Self; 8] = [
        Self::Bar,
        Self::Holds,
        Self::Spans,
        Self::Winding,
        Self::Torque,
        Self::Phase,
        Self::Push,
        Self::Moves,
    ];

    /// What a plan that keeps it has: one clause.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Bar => "each bar is found free before cover, plate or bar move",
            Self::Holds => "no arm moves under load without jack and second hold",
            Self::Spans => "nothing reaches from body to arm where the arm hangs",
            Self::Winding => "no bar is wound before the teeth of both sides are compared",
            Self::Torque => "every joint gets its torque where it may have it",
            Self::Phase => "phases follow each other, and the wheels are down when they must be",
            Self::Push => "nobody sits in the car on stands, or pushes at it",
            Self::Moves => "one arm at a time; brakes are proven before the car rolls",
        }
    }

    /// Its number, from 1.
    pub const fn number(self) -> u8 {
        self as u8 + 1
    }
}

const UNLOADED: &str = "the bar may still be wound: nobody has found it free by wagging its plate";
const NO_HOLDS: &str = "the arm is under its bar's load and no jack with a second hold stands \
    under it";
const REACH: &str = "what reaches from body to arm is still on, and the arm may come where it \
    does not reach";
const ON_STOP: &str = "it goes on only after the stop is in and the arm rests on it";
const NOT_ON_STANDS: &str = "the car is not on its stands: on a lift, dolly, rotisserie or ramp no \
    bar is wound or let down";
const ONE_ARM: &str = "the other arm is on a jack with its bar wound";
const ON_JACK: &str = "an arm is on a jack with its bar wound";

/// Parts that must be off where the arm hangs.
const HANGS_FREE_OF: [Spanning; 4] =
    [Spanning::Damper, Spanning::HalfShaft, Spanning::Hose, Spanning::Cable];

impl State {
    /// An act as the whole car sees it.
    pub(super) fn whole(&mut self, act: Act, found: &mut Found<'_>) {
        let on_jack = Side::BOTH.iter().any(|side| self.corner(*side).on_a_jack());
        let moves = matches!(act, Act::CarUp | Act::CarOnLift | Act::CarDown | Act::Rolls)
            || matches!(act, Act::EngineOut | Act::EngineIn);
        if moves && on_jack {
            found.forbid(Rule::Moves, None, ON_JACK);
        }
        match act {
            Act::CarUp => self.car_up(On::Stands),
            Act::CarOnLift => self.car_up(On::Lift),
            Act::CarDown => self.car_down(found),
            Act::Rolls => {
                if self.on != On::Wheels {
                    found.forbid(Rule::Phase, None, "the car stands on stands");
                } else if self.brakes == Brakes::Opened {
                    let words = "the brakes were opened and are not proven yet";
                    found.forbid(Rule::Moves, None, words);
                }
            }
            Act::OpensBrakes => self.brakes = Brakes::Opened,
            Act::ProvesBrakes => {
                if self.on == On::Wheels {
                    self.brakes = Brakes::Proven;
                } else {
                    let words = "brakes are proven on the floor: on stands the pull brings it down";
                    found.forbid(Rule::Push, None, words);
                }
            }
            Act::ComparesTeeth => self.compared = true,
            Act::SitsInCar | Act::PushesCar if self.on != On::Wheels => {
                found.forbid(Rule::Push, None, "the car does not stand on its wheels");
            }
            Act::Heats if Side::BOTH.iter().any(|s| self.corner(*s).bar != Bar::Out) => {
                found.forbid(Rule::Moves, None, "a bar is in the car");
            }
            _ => {}
        }
    }

    fn car_up(&mut self, on: On) {
        self.on = on;
        for side in Side::BOTH {
            let stop = self.corner(side).stop();
            let corner = self.corner_mut(side);
            corner.held = stop.map_or(Held::Nothing, Held::Stop);
        }
    }

    fn car_down(&mut self, found: &mut Found<'_>) {
        for side in Side::BOTH {
            let corner = self.corner(side);
            let whole = corner.bar != Bar::Out && corner.arm && corner.plate && corner.cover;
            let stop = corner.stop().is_some();
            let tight = corner.tight.cover && corner.tight.plate && corner.tight.stop_bolt;
            let words = "plate, cover or stop bolt is off or short of its torque";
            found.unless(whole && stop && tight, Rule::Moves, side, words);
        }
        self.on = On::Wheels;
        for side in Side::BOTH {
            let corner = self.corner_mut(side);
            (corner.held, corner.bar) = (Held::Wheel, Bar::Wound);
        }
    }

    /// An act on one side.
    pub(super) fn act(&mut self, act: Act, side: Side, found: &mut Found<'_>) {
        match act {
            Act::Holds => self.holds(side, found),
            Act::HoldsAway => {
                let corner = self.corner_mut(side);
                found.unless(!corner.on_a_jack(), Rule::Holds, side, "the jack holds a wound bar");
                corner.two_holds = false;
            }
            Act::Raises | Act::Winds => self.raises(side, found),
            Act::LetsDown => self.lets_down(side, found),
            Act::Ties => self.corner_mut(side).tied = true,
            Act::Unties => self.corner_mut(side).tied = false,
            Act::FindsHanging | Act::FindsFree => self.finds(act, side, found),
            Act::Carries => {
                let corner = self.corner_mut(side);
                if !corner.is_loaded() {
                    corner.held = Held::Carried;
                }
            }
            Act::Swings | Act::Tries => {
                let loaded = self.corner(side).is_loaded();
                found.unless(!loaded, Rule::Holds, side, "the bar is wound");
            }
            Act::Removes => {
                for span in found.step.removes.iter().map(|entry| entry.value) {
                    self.removes(span, side, found);
                }
            }
            Act::Fits => {
                for span in found.step.fits.iter().map(|entry| entry.value) {
                    self.fits(span, side, found);
                }
            }
            Act::TightensStopBolt => self.corner_mut(side).tight.stop_bolt = true,
            _ => self.takes_apart(act, side, found),
        }
    }

    fn holds(&mut self, side: Side, found: &mut Found<'_>) {
        let other = self.corner(side.other()).on_a_jack();
        found.unless(!other, Rule::Moves, side, ONE_ARM);
        found.unless(self.on == On::Stands, Rule::Moves, side, NOT_ON_STANDS);
        self.corner_mut(side).two_holds = true;
    }

    fn raises(&mut self, side: Side, found: &mut Found<'_>) {
        let other = self.corner(side.other()).on_a_jack();
        found.unless(!other, Rule::Moves, side, ONE_ARM);
        found.unless(self.on == On::Stands, Rule::Moves, side, NOT_ON_STANDS);
        let compared = self.compared;
        let corner = self.corner_mut(side);
        if matches!(corner.bar, Bar::Out | Bar::Free) || !corner.arm {
            found.forbid(Rule::Winding, Some(side), "arm and bar are not joined");
        }
        found.unless(corner.two_holds, Rule::Holds, side, NO_HOLDS);
        if corner.bar == Bar::Hanging {
            let words = "the bar is wound up before the teeth of both sides were compared";
            found.unless(compared, Rule::Winding, side, words);
            let words = "the bar is wound up before cover and plate have their torque";
            let tight = corner.tight.cover && corner.tight.plate;
            found.unless(tight, Rule::Winding, side, words);
            let reach = HANGS_FREE_OF.iter().all(|span| !corner.has(*span));
            found.unless(reach, Rule::Spans, side, REACH);
        }
        (corner.held, corner.bar) = (Held::Jack, Bar::Wound);
    }

    fn lets_down(&mut self, side: Side, found: &mut Found<'_>) {
        found.unless(self.on == On::Stands, Rule::Moves, side, NOT_ON_STANDS);
        let corner = self.corner_mut(side);
        found.unless(corner.two_holds, Rule::Holds, side, NO_HOLDS);
        let stop = corner.stop();
        let reaches = |span: &&Spanning| Some(**span) != stop;
        if stop.is_none() {
            let clear = HANGS_FREE_OF.iter().filter(reaches).all(|span| !corner.has(*span));
            found.unless(clear, Rule::Spans, side, REACH);
            (corner.held, corner.bar) = (Held::Nothing, Bar::Hanging);
        } else {
            corner.held = stop.map_or(Held::Nothing, Held::Stop);
        }
    }

    fn finds(&mut self, act: Act, side: Side, found: &mut Found<'_>) {
        let corner = self.corner_mut(side);
        let alone = !corner.tied && corner.stop().is_none();
        let words = "a plate that is tied or on its stop feels unloaded when it is not";
        found.unless(alone, Rule::Bar, side, words);
        if act == Act::FindsHanging {
            let hangs = corner.bar == Bar::Hanging && corner.held == Held::Nothing;
            found.unless(hangs, Rule::Bar, side, "the arm was not let down until it hangs");
        } else {
            let may = !corner.arm && !corner.is_loaded();
            found.unless(may, Rule::Bar, side, "a plate with an arm or a load on it does not wag");
            if may && corner.bar != Bar::Out {
                corner.bar = Bar::Free;
            }
        }
    }

    fn removes(&mut self, span: Spanning, side: Side, found: &mut Found<'_>) {
        let has_stop_bolt = self.has_stop_bolt;
        let corner = self.corner_mut(side);
        corner.spans.retain(|had| *had != span);
        let is_stop = span == Spanning::StopBolt || span == Spanning::Damper;
        if corner.is_loaded() && is_stop && corner.held != Held::Wheel {
            found.unless(corner.two_holds, Rule::Holds, side, NO_HOLDS);
            let releases = span == Spanning::StopBolt || !has_stop_bolt;
            if releases {
                let raised = corner.held == Held::Jack;
                found.unless(raised, Rule::Holds, side, "the arm still leans on what comes out");
                let clear = HANGS_FREE_OF.iter().all(|span| !corner.has(*span));
                found.unless(clear, Rule::Spans, side, REACH);
            }
        } else if corner.held == Held::Wheel {
            let words = "it comes off with the car on stands, not on its wheels";
            found.forbid(Rule::Holds, Some(side), words);
        }
        if span == Spanning::StopBolt {
            corner.tight.stop_bolt = false;
        }
    }

    fn fits(&mut self, span: Spanning, side: Side, found: &mut Found<'_>) {
        let is_first = match span {
            Spanning::StopBolt => true,
            Spanning::Damper => !self.has_stop_bolt,
            Spanning::HalfShaft | Spanning::Hose | Spanning::Cable => false,
        };
        let corner = self.corner_mut(side);
        if is_first {
            let raised = corner.held == Held::Jack && corner.two_holds;
            found.unless(raised, Rule::Holds, side, NO_HOLDS);
        } else {
            let rests = matches!(corner.held, Held::Stop(_));
            found.unless(rests, Rule::Spans, side, ON_STOP);
        }
        if !corner.has(span) {
            corner.spans.push(span);
        }
    }

    fn takes_apart(&mut self, act: Act, side: Side, found: &mut Found<'_>) {
        let corner = self.corner_mut(side);
        let unloaded = matches!(corner.bar, Bar::Free | Bar::Out);
        match act {
            Act::ArmOff => {
                let may = unloaded || corner.bar == Bar::Hanging;
                found.unless(may, Rule::Bar, side, UNLOADED);
                (corner.arm, corner.tight.plate) = (false, false);
            }
            Act::CoverOff => {
                found.unless(unloaded, Rule::Bar, side, UNLOADED);
                (corner.cover, corner.tight.cover) = (false, false);
            }
            Act::PlateOff => {
                found.unless(unloaded && !corner.cover, Rule::Bar, side, UNLOADED);
                corner.plate = false;
            }
            Act::BarOut => {
                found.unless(unloaded && !corner.plate, Rule::Bar, side, UNLOADED);
                corner.bar = Bar::Out;
            }
            Act::BarIn => {
                let room = corner.bar == Bar::Out && !corner.plate && !corner.cover;
                found.unless(room, Rule::Bar, side, "plate or cover is in the way of the bar");
                corner.bar = Bar::Free;
            }
            Act::CoverOn => corner.cover = true,
            Act::TightensCover => {
                let words = "a cover gets its torque with the bar free";
                found.unless(unloaded && !corner.arm, Rule::Torque, side, words);
                corner.tight.cover = true;
            }
            Act::TightensPlate => corner.tight.plate = true,
            Act::ArmOn => {
                corner.arm = true;
                if corner.bar == Bar::Free {
                    (corner.bar, corner.held) = (Bar::Hanging, Held::Nothing);
                }
            }
            Act::PlateOn => {
                corner.plate = true;
                // In the dry run, on old bushes and no bar, there are no teeth to compare.
                self.compared &= self.corner(side).bar == Bar::Out;
            }
            _ => {}
        }
    }
}
