//! The fewest corrections, and what the car should read after them.

use std::time::Duration;

use axlewright_book::{CarFile, Correction, Field, Pick, SpecWhat, Value};
use axlewright_mechanics::car::correct::{
    self, Adjusters, Band, Eccentrics, Goals, Missed, Plan, Screws, SideTurned, Step, ToothMove,
    ToothTimes, Turned, Why as Hindrance,
};
use axlewright_mechanics::car::learn::Foretold;
use axlewright_mechanics::car::stages;
use axlewright_mechanics::car::{Car, Figure, Knob, Pair, Rest};
use axlewright_mechanics::splines::Ends;
use axlewright_quantity::{Amount, Angle, Corner, Length, Mass, Ratio, Side, Spread};

use super::bench::Bench;
use super::expected::readings as rest_readings;
use super::ladder::{self, Rung};
use super::round::{self, Taught};
use super::state::{LEARNED, said, signed};
use super::whole::{Case, Key, Sight};
use crate::finding::{Finding, Item, Why};
use crate::inputs::Need;
use crate::look::Look;
use crate::model;
use crate::say::{minus, mm};

/// How long each thing takes with the car on the floor at the start and at the end: own judgement,
/// docs/method.md. Only which plan is shorter hangs on it.
const TIMES: ToothTimes =
    ToothTimes { end: Duration::from_secs(30 * 60), tooth: Duration::from_secs(60) };
const SCREW: Duration = Duration::from_secs(10 * 60);
const ECCENTRICS: Duration = Duration::from_secs(25 * 60);
/// Teeth are sought this far around where they stand, and as much farther as the trim is off.
const AROUND: Angle = Angle::deg(1.2);
/// And no farther than so many steps of the teeth, which on very fine teeth is less.
const STEPS_MAX: f64 = 24.5;

/// Most that the trims may differ, by the manual.
pub(crate) fn trim_difference(car: &CarFile) -> Option<Length> {
    let (limit, _) = spec(car, SpecWhat::TrimDifference)?;
    Length::try_from(limit).ok()
}

/// A row of the manual that holds for this car.
fn spec(car: &CarFile, what: SpecWhat) -> Option<(Amount, Option<Amount>)> {
    let Pick::One(spec) = car.pick(what) else { return None };
    let Value::Amount(value) = spec.value.value else { return None };
    let within = match spec.value.spread {
        Some(Spread::Tolerance(limit)) => Some(limit),
        _ => None,
    };
    Some((value, within))
}

fn band<Q: TryFrom<Amount>>(bench: &Bench, what: SpecWhat) -> Option<Band<Q>> {
    let (target, within) = spec(bench.facts.car, what)?;
    Some(Band { target: Q::try_from(target).ok()?, within: Q::try_from(within?).ok()? })
}

/// What is to be kept when the car first stands on its wheels: the manual's trim and what new parts
/// will still give.
fn goals(bench: &Bench, settling: Length) -> Goals {
    let trim = band::<Length>(bench, SpecWhat::Trim);
    let trim = trim.map(|band| Band { target: band.target + settling, ..band });
    Goals {
        trim,
        trim_difference: trim_difference(bench.facts.car),
        cross_weight: band::<Ratio>(bench, SpecWhat::CrossWeight).filter(|_| weighed(bench)),
        camber: band(bench, SpecWhat::Camber).filter(|_| has_arms(bench)),
        toe: band(bench, SpecWhat::Toe).filter(|_| has_arms(bench)),
        keep: Ratio::one(1.0),
    }
}

/// Whether any round was read on scales: without them cross weight is nobody's business.
fn weighed(bench: &Bench) -> bool {
    bench.facts.car.rounds.iter().any(|round| !round.weight.is_empty())
}

fn has_arms(bench: &Bench) -> bool {
    bench.plain(|sight| Some(Side::BOTH.into_iter().all(|side| model::has_arm(sight.at(side)))))
        == Some(true)
}

/// Whole-number moves of one side, as far as they are needed.
fn teeth(look: &Look, off: Angle) -> Option<Vec<ToothMove>> {
    if crate::teeth::is_screw(look) {
        return Some(Vec::new());
    }
    let splines = model::splines(look)?;
    let ends = model::ends(look);
    let step = match ends {
        Ends::Both => splines.vernier_step(),
        Ends::AnchorOnly => splines.anchor_step(),
        Ends::PlateOnly => splines.plate_step(),
    };
    let wide = (AROUND + off.abs()).to_rad().max(step.to_rad() * 1.5);
    let span = Angle::rad(wide.min(step.to_rad() * STEPS_MAX).min(Angle::deg(29.0).to_rad()));
    let moves = correct::tooth_moves(&splines, ends, span, TIMES);
    look.ok(moves.map_err(|error| format!("on its wheels: {error}")))
}

/// The front screws, where the car has some; nothing at all where it has and nobody says how far
/// they turn, with that noted as a gap: none left is not what is not known.
fn screws(sight: &Sight) -> Option<Option<Screws>> {
    let look = sight.at(Side::Left);
    let Some(per_turn) = look.get_optional::<Length>(Field::FrontScrew) else {
        return Some(None);
    };
    let turns = Pair::of(|side| sight.at(side).count(Field::FrontScrewTurns));
    let turns = Pair {
        left: Ratio::one(f64::from(turns.left?)),
        right: Ratio::one(f64::from(turns.right?)),
    };
    Some(Some(Screws { per_turn, turns_up: turns, turns_down: turns, takes: SCREW }))
}

/// The eccentrics, where both sides have one along the plate and one across it.
fn eccentrics(bench: &Bench) -> Option<Pair<Eccentrics>> {
    // What an eccentric does to an arm that is known as a plain lever cannot be told.
    if !has_arms(bench) {
        return None;
    }
    let of = |side: Side| {
        bench.plain(|sight| {
            let look = sight.at(side);
            let throw = look.get_optional::<Length>(Field::EccentricsThrow)?;
            let both = [Correction::FrontEccentric, Correction::RearEccentric];
            let knobs = both.map(|which| round::eccentric_knob(look, which, side));
            let has = |knob| knobs.contains(&Some(knob));
            let whole = has(Knob::ShiftU(side)) && has(Knob::ShiftW(side));
            whole.then_some(Eccentrics { throw_u: throw, throw_w: throw, takes: ECCENTRICS })
        })
    };
    Some(Pair { left: of(Side::Left)?, right: of(Side::Right)? })
}

/// Eccentrics are written and the arms they move are plain levers: the arms' places would tell.
fn wait_for_arms(bench: &mut Bench) {
    let asked = Sight::plain(bench.facts);
    for side in Side::BOTH {
        let look = asked.at(side);
        if look.has(Field::EccentricsThrow) && !model::has_arm(look) {
            look.missing::<()>(crate::inputs::Need::Field(Field::ArmWheelCentre));
        }
    }
    bench.wait_for("car.after", &asked.into_seen());
}

/// The car as learned with nothing in it but what the manual's figures are stated for.
fn unloaded(sight: &Sight, car: &Car, case: &Case) -> Option<Car> {
    let mut parts = vec![stages::Item { mass: car.sprung.mass, at: car.sprung.centre }];
    for load in &case.loads {
        let mass = sight.extra::<Mass>(Key::Mass(*load))?;
        let (x, y) = (sight.extra(Key::MassX(*load))?, sight.extra(Key::MassY(*load))?);
        let z = sight.extra(Key::MassZ(*load)).unwrap_or(Length::ZERO);
        let at = axlewright_quantity::Place { x, y, z };
        parts.push(stages::Item { mass: -mass, at });
    }
    let sprung = sight.ok(stages::sprung(&parts))?;
    Some(Car { sprung, ..car.clone() })
}

/// The ladder of plans, the lowest that meets the manual first.
fn ladder(bench: &mut Bench, taught: &Taught, settling: Length) -> Option<Vec<Rung>> {
    if taught.case.stage.is_some() {
        // Half a car is not corrected: its trim is not the manual's.
        return None;
    }
    let mut goals = goals(bench, settling);
    let car = bench.plain(|sight| unloaded(sight, &taught.lesson.car, &taught.case))?;
    let off = trim_off(&car, &goals);
    let sight = Sight::plain(bench.facts);
    let moves = Pair::of(|side| teeth(sight.at(side), off[side]));
    let screws = screws(&sight);
    let seen = sight.into_seen();
    for id in ["car.moves", "car.after"] {
        bench.wait_for(id, &seen);
    }
    let eccentrics = eccentrics(bench);
    wait_for_arms(bench);
    if eccentrics.is_none() {
        // Nothing turns them: then nothing is asked of them.
        (goals.camber, goals.toe) = (None, None);
    }
    let adjusters = Adjusters {
        teeth: Pair { left: moves.left?, right: moves.right? },
        screws: screws?,
        eccentrics,
    };
    match ladder::climb(&car, &goals, &adjusters) {
        Ok(rungs) => Some(rungs),
        Err(error) => {
            bench.waiting.faults.insert(format!("on its wheels: {error}"));
            None
        }
    }
}

/// How far each free angle is from the one that gives the trim, by the slopes.
fn trim_off(car: &Car, goals: &Goals) -> Pair<Angle> {
    let none = Pair::both(Angle::ZERO);
    let Some(band) = goals.trim else { return none };
    let Ok((rest, slopes)) = car.rest_with_slopes() else { return none };
    Pair::of(|side| {
        let one = Angle::deg(1.0);
        let per = slopes.change(Figure::Trim(side), Knob::FreeAngle(side), one.into());
        let per = per.ok().and_then(|per| Length::try_from(per).ok());
        let off = rest.rear[side].trim - band.target;
        per.filter(|per| *per != Length::ZERO).map_or(Angle::ZERO, |per| one * (off / per))
    })
}

/// Puts uncertainties into what a car at rest reads.
pub(crate) fn fill(item: &mut Item, foretold: &[Foretold]) {
    let code = |side: Side| Corner::rear(side).code();
    for one in foretold {
        let path: [&str; 2] = match one.figure {
            Figure::Weight(corner) => ["weight", corner.code()],
            Figure::Trim(side) => ["trim_read", code(side)],
            Figure::PlateAngle(side) => ["plate_angle", code(side)],
            Figure::Camber(side) => ["camber", code(side)],
            Figure::Toe(side) => ["toe", code(side)],
            Figure::TrimDifference => ["trim_difference", ""],
            Figure::CrossWeight => ["cross_weight", ""],
            Figure::Pitch => ["nose_up", ""],
            Figure::Roll => ["left_up", ""],
            Figure::Thrust => ["thrust", ""],
        };
        let mut at = Some(&mut *item);
        for name in path.into_iter().filter(|name| !name.is_empty()) {
            at = at.and_then(|item| item.get_mut(name));
        }
        if let Some(Item::Leaf(leaf)) = at {
            leaf.u = Some(one.u);
        }
    }
}

fn minutes(takes: Duration) -> Item {
    Item::Count(i64::try_from(takes.as_secs().div_ceil(60)).unwrap_or(i64::MAX), "min")
}

/// Turns to the nearest twelfth are what a hand can do; said with the sense.
fn turns_words(turns: Ratio, more: &str, less: &str) -> String {
    let n = turns.to_one();
    format!("{:.2} turns {}", n.abs(), if n < 0.0 { less } else { more })
}

/// One eccentric in words: how far, which way the arm's holes go, and what the mark shows.
fn eccentric_words(name: &str, turned: &Turned, ways: [&str; 2]) -> Option<String> {
    if turned.mark().to_mm().abs() < 0.05 {
        return None;
    }
    let [more, less] = ways;
    let degrees = (turned.turns.to_one() * 360.0).abs();
    let mut words = format!(
        "{name} {degrees:.0}°, so that its mark and the arm's holes go {} {}",
        mm(turned.mark().abs(), 1),
        if turned.mark() < Length::ZERO { less } else { more },
    );
    if turned.at_end {
        words += ", which is the end of its throw, and more was wanted";
    } else if turned.near_end {
        words += ", near the end of its throw, where a turn does little more";
    }
    Some(words)
}

/// What the two eccentrics are called on this car: along the plate first.
fn eccentric_names(bench: &Bench, side: Side) -> [&'static str; 2] {
    let front_is_u = bench
        .plain(|sight| round::eccentric_knob(sight.at(side), Correction::FrontEccentric, side))
        == Some(Knob::ShiftU(side));
    if front_is_u {
        ["front eccentric", "rear eccentric"]
    } else {
        ["rear eccentric", "front eccentric"]
    }
}

fn turned(turned: &Turned) -> Item {
    Item::Object(vec![
        ("turns", Item::leaf(turned.turns)),
        ("mark", Item::leaf(turned.mark())),
        ("stands_at", Item::leaf(turned.angle)),
        ("near_end", Item::Flag(turned.near_end)),
        ("at_end", Item::Flag(turned.at_end)),
    ])
}

fn step(bench: &Bench, step: &Step, after: &Rest) -> Item {
    let word = |text: String| Item::Word(text);
    let corner = |corner: Corner| word(corner.code().to_owned());
    match step {
        Step::Teeth(side, tooth) => Item::Object(vec![
            ("what", word("teeth".to_owned())),
            ("corner", corner(Corner::rear(*side))),
            ("anchor_teeth", Item::Count(i64::from(tooth.made.anchor_teeth), "teeth")),
            ("plate_teeth", Item::Count(i64::from(tooth.made.plate_teeth), "teeth")),
            ("change", Item::leaf(tooth.change)),
            ("minutes", if has_order(bench) { Item::Nothing } else { minutes(tooth.takes) }),
            (
                "words",
                word(format!(
                    "{side} rear bar: unload it first, as when it went in; {}; together that is \
                     {} on the free angle",
                    tooth.made.words(*side),
                    signed(tooth.change),
                )),
            ),
        ]),
        Step::Screw(side, turns) => Item::Object(vec![
            ("what", word("front screw".to_owned())),
            ("corner", corner(Corner::front(*side))),
            ("turns", Item::leaf(*turns)),
            ("minutes", minutes(SCREW)),
            (
                "words",
                word(format!(
                    "{side} front screw: {}",
                    turns_words(*turns, "that raise the body", "that lower the body"),
                )),
            ),
        ]),
        Step::RollAndSettle => Item::Object(vec![
            ("what", word("roll and settle".to_owned())),
            (
                "words",
                word(
                    "roll the car a length forward and back, lift and let go, push and \
                            let go"
                        .to_owned(),
                ),
            ),
        ]),
        Step::Eccentrics(side, both) => eccentric_step(bench, *side, both, after),
        Step::Read => Item::Object(vec![
            ("what", word("read".to_owned())),
            ("words", word("read everything again and write it down as the next round".to_owned())),
        ]),
    }
}

fn eccentric_step(bench: &Bench, side: Side, both: &SideTurned, after: &Rest) -> Item {
    let [along, across] = eccentric_names(bench, side);
    let ways = [["rearward", "forward"], ["up", "down"]];
    let words: Vec<String> = [(along, &both.u, ways[0]), (across, &both.w, ways[1])]
        .into_iter()
        .filter_map(|(name, turned, ways)| eccentric_words(name, turned, ways))
        .collect();
    let lands = after.rear[side].angles.map_or(String::new(), |angles| {
        format!("; camber lands at {}, toe-in at {}", signed(angles.camber), signed(angles.toe))
    });
    Item::Object(vec![
        ("what", Item::Word("eccentrics".to_owned())),
        ("corner", Item::Word(Corner::rear(side).code().to_owned())),
        ("along_the_plate", turned(&both.u)),
        ("across_the_plate", turned(&both.w)),
        ("minutes", minutes(ECCENTRICS)),
        (
            "words",
            Item::Word(format!(
                "{side} rear eccentrics, wheels on the floor: bolts just snug; {}{lands}",
                words.join("; ")
            )),
        ),
    ])
}

fn hindrance(why: &Hindrance) -> String {
    match why {
        Hindrance::StepTooCoarse => "the nearest whole teeth still miss it".to_owned(),
        Hindrance::StandsAgainst(figure) => {
            format!("it can be had only by missing the {}", figure.name())
        }
        Hindrance::WithTheOthers => "it can be had, but not together with the others".to_owned(),
        Hindrance::ScrewAtEnd(side) => format!("the {side} front screw is at its end"),
        Hindrance::EccentricAtEnd(side) => {
            format!("an eccentric on the {side} is at the end of its throw")
        }
        Hindrance::BeyondTheMoves => "no move reaches so far".to_owned(),
        Hindrance::NothingMovesIt => "nothing that can be turned moves it".to_owned(),
    }
}

fn missed(one: &Missed) -> Item {
    Item::Object(vec![
        ("what", Item::Word(one.figure.name())),
        ("reads", Item::leaf(one.reads)),
        ("wanted", Item::leaf(one.wanted)),
        ("within", Item::leaf(one.within)),
        ("why", Item::Word(hindrance(&one.why))),
    ])
}

/// Acts of a plan; rolling and reading are none.
fn acts(plan: &Plan) -> usize {
    plan.steps.iter().filter(|s| !matches!(s, Step::RollAndSettle | Step::Read)).count()
}

/// How long a rung takes, in words: hours of a bar come from the order of work, where it is known.
fn how_long(bench: &Bench, rung: &Rung) -> String {
    let long = own_minutes(bench, rung);
    let hours = "the bar's own hours, which the order of work tells";
    match (has_order(bench) && rung.has_teeth(), long) {
        (false, _) => format!("about {long} minutes"),
        (true, 0) => hours.to_owned(),
        (true, _) => format!("about {long} minutes and {hours}"),
    }
}

fn has_order(bench: &Bench) -> bool {
    !bench.facts.car.steps.is_empty()
}

/// Minutes of a rung, without those which the order of work tells.
fn own_minutes(bench: &Bench, rung: &Rung) -> u64 {
    let teeth = [rung.plan.teeth.left.takes, rung.plan.teeth.right.takes];
    let bars = if has_order(bench) { teeth.iter().sum() } else { Duration::ZERO };
    rung.plan.takes.saturating_sub(bars).as_secs().div_ceil(60)
}

fn words(bench: &Bench, rungs: &[Rung], asked: &Goals) -> String {
    let Some((first, beside)) = rungs.split_first() else { return String::new() };
    let plan = &first.plan;
    let long = how_long(bench, first);
    let all = match (plan.missed.is_empty(), asked.trim.is_some()) {
        (true, true) => "every reading within the manual's tolerance",
        (true, false) => "every reading that is judged within the manual's tolerance",
        (false, _) => "what can be had",
    };
    let mut words = match acts(plan) {
        0 if !plan.missed.is_empty() => "Nothing that can be turned makes it better.".to_owned(),
        0 if asked.trim.is_none() => "Nothing is to be turned for what is judged here.".to_owned(),
        0 => {
            "Nothing needs to be turned: every reading is within the manual's tolerance.".to_owned()
        }
        1 => format!("One correction, {long}, brings {all}."),
        n => format!("{n} corrections, {long}, bring {all}."),
    };
    if 0 < acts(plan) {
        words += " Heights first; roll, settle and read; the eccentrics last, camber and toe \
                  together; then read again.";
    }
    for one in &plan.missed {
        words += &format!(
            " The {} will read {}, {} is wanted within {}: {}.",
            one.figure.name(),
            said(one.reads),
            said(one.wanted),
            said(one.within),
            hindrance(&one.why),
        );
    }
    if plan.missed.is_empty() && first.goals.keep.to_one() < 1.0 {
        words += &format!(
            " No prediction uses up more than {:.0} % of its tolerance, so that what is not known \
             does not throw it out again.",
            first.goals.keep.to_one() * 100.0
        );
    }
    for rung in beside {
        words += &beside_words(bench, rungs, rung);
    }
    words += &wish_left(asked, rungs);
    words + &left_alone(bench, asked)
}

fn cross(plan: &Plan) -> String {
    minus(format!("{:.1} %", plan.after_level.cross_weight.to_one() * 100.0))
}

/// What a rung beside the first adds, and what it costs.
fn beside_words(bench: &Bench, rungs: &[Rung], rung: &Rung) -> String {
    let long = how_long(bench, rung);
    match rung.what {
        ladder::For::Manual => String::new(),
        ladder::For::Wish => {
            let before = rungs.first().map_or(String::new(), |first| cross(&first.plan));
            format!(
                " For your own wish: {long} in all bring the cross weight to {}, which is {before} \
                 otherwise.",
                cross(&rung.plan),
            )
        }
        ladder::For::Bars => {
            let before = rungs.iter().rev().find(|one| one.what != ladder::For::Bars);
            let used = |rung: &Rung| format!("{:.0} %", rung.used() * 100.0);
            format!(
                " What a bar would add: the reading nearest to its limit uses {} of its tolerance \
                 in place of {}; that is {long}. No bar is drawn for a wish.",
                used(rung),
                before.map_or_else(String::new, used),
            )
        }
    }
}

/// A wish that no screw meets.
fn wish_left(asked: &Goals, rungs: &[Rung]) -> String {
    let Some(wish) = asked.cross_weight else { return String::new() };
    let met = |rung: &Rung| {
        let cross = rung.plan.after_level.cross_weight.to_one();
        (cross - wish.target.to_one()).abs() <= wish.within.to_one() * (1.0 + 1e-6)
    };
    let mut without_bars = rungs.iter().filter(|rung| rung.what != ladder::For::Bars);
    if without_bars.clone().any(met) {
        return String::new();
    }
    let last = without_bars.next_back().map_or_else(String::new, |rung| cross(&rung.plan));
    format!(
        " Your wish for the cross weight, {} within {}, is not met: {last}. No bar is drawn for a \
         wish.",
        said(wish.target.into()),
        said(wish.within.into()),
    )
}

/// What no correction was sought for, and why.
fn left_alone(bench: &Bench, goals: &Goals) -> String {
    let mut words = String::new();
    if goals.trim.is_none() {
        words += " Trim is not judged: what the manual wants is not known with its tolerance.";
    }
    let angles = match (goals.camber.is_none(), goals.toe.is_none()) {
        (true, true) => Some("Camber and toe are"),
        (true, false) => Some("Camber is"),
        (false, true) => Some("Toe is"),
        (false, false) => None,
    };
    if let Some(angles) = angles {
        let why = if !has_arms(bench) {
            "the arms are known as plain levers"
        } else if eccentrics(bench).is_none() {
            "the eccentrics are not known"
        } else {
            "what the manual wants is not known with its tolerance"
        };
        words += &format!(" {angles} not corrected here: {why}.");
    }
    if bench.plain(|sight| Some(crate::teeth::is_screw(sight.at(Side::Left)))) == Some(true) {
        words += " The screws that set the bars' own angles are not counted in: trim is theirs.";
    }
    if goals.cross_weight.is_none() {
        words += match spec(bench.facts.car, SpecWhat::CrossWeight) {
            None => " Cross weight is not asked for.",
            Some(_) if !weighed(bench) => {
                " Cross weight is asked for and not judged: no scale was read."
            }
            Some(_) => " Cross weight is asked for and not judged: its tolerance is not known.",
        };
    }
    words
}

/// Adds `car.moves`, `car.after` and `car.hand-over`, or what they wait for.
pub(crate) fn add(bench: &mut Bench, taught: &Taught) {
    let Some(settling) = round::settling(bench) else {
        let sight = Sight::plain(bench.facts);
        sight.missing::<()>(Need::Field(Field::LoadSettling));
        let seen = sight.into_seen();
        ["car.moves", "car.after"].into_iter().for_each(|id| bench.wait_for(id, &seen));
        return;
    };
    if let Some(waits) = read_first(taught) {
        bench.findings.push(waits);
        wait_for_eccentrics(bench, taught);
        return;
    }
    let Some(rungs) = ladder(bench, taught, settling) else { return };
    let Some(first) = rungs.first() else { return };
    let plan = &first.plan;
    let mut value = rung_item(bench, first);
    let beside = rungs.iter().skip(1).map(|rung| Item::Object(rung_item(bench, rung)));
    value.push(("beside", Item::List(beside.collect())));
    let value = Item::Object(value);
    let asked =
        Goals { camber: first.goals.camber, toe: first.goals.toe, ..goals(bench, settling) };
    let why = Why {
        words: words(bench, &rungs, &asked),
        formula: "nothing, eccentrics, front screws, bars: the first with |figure − wanted| ≤ \
                  tolerance for all of the manual's; whole teeth, δ = e·sin α",
        source: "all pairs of tooth moves solved in the model, screws and eccentrics by linear \
                 programme; docs/method.md, whole car",
        inputs: super::state::inputs(bench, taught),
    };
    bench.findings.push(Finding { id: "car.moves", of: None, at: None, value, why });
    let foretold = taught.lesson.belief.forecast(&plan.car).map(|(_, foretold)| foretold);
    let foretold = foretold.unwrap_or_default();
    after(bench, taught, plan, &foretold, settling);
    hand_over(bench, taught, &foretold, settling);
}

fn rung_item(bench: &Bench, rung: &Rung) -> Vec<(&'static str, Item)> {
    let plan = &rung.plan;
    let steps = plan.steps.iter().map(|one| step(bench, one, &plan.after)).collect();
    let minutes = Item::Count(i64::try_from(own_minutes(bench, rung)).unwrap_or(i64::MAX), "min");
    let leaves = Item::Object(vec![
        ("trim", super::expected::by_rear(|side| Item::leaf(plan.after.rear[side].trim))),
        ("cross_weight", Item::leaf(plan.after_level.cross_weight)),
    ]);
    vec![
        ("rung", Item::Word(rung.what.word().to_owned())),
        ("minutes", minutes),
        ("steps", Item::List(steps)),
        ("missed", Item::List(plan.missed.iter().map(missed).collect())),
        ("tolerance_used", Item::leaf(Ratio::one(rung.used()))),
        ("leaves", leaves),
    ]
}

/// A reading fits no cause, and what the eccentrics do, which might be that cause, is not known: it
/// is asked for too.
fn wait_for_eccentrics(bench: &mut Bench, taught: &Taught) {
    let sight = Sight::plain(bench.facts);
    if is_misread(taught) && has_arms(bench) {
        let fields =
            [Field::EccentricsThrow, Field::EccentricsFrontShifts, Field::EccentricsRearShifts];
        for field in fields.into_iter().filter(|field| !sight.at(Side::Left).has(*field)) {
            sight.missing::<()>(Need::Field(field));
        }
    }
    let seen = sight.into_seen();
    for id in ["car.moves", "car.after", "car.hand-over"] {
        bench.wait_for(id, &seen);
    }
}

fn is_misread(taught: &Taught) -> bool {
    taught.lesson.readings.iter().any(|said| said.misread)
}

/// Nothing is turned by readings of which one is left out, or that were not settled.
fn read_first(taught: &Taught) -> Option<Finding> {
    let mut words = Vec::new();
    if taught.notes.unsettled {
        words.push(
            "The last round was read before the car had settled: roll it a length forward \
                    and back, lift and let go, push and let go, and read it again.",
        );
    }
    if is_misread(taught) {
        words.push(
            "A reading fits no cause: read that one again. A second reading that agrees \
                    with the first counts.",
        );
    }
    if words.is_empty() {
        return None;
    }
    words.push("Nothing is told to be turned before that.");
    let why = Why {
        words: words.join(" "),
        formula: "",
        source: "common practice, no source",
        inputs: Vec::new(),
    };
    let value = Item::Word("read again".to_owned());
    Some(Finding { id: "car.read-first", of: None, at: None, value, why })
}

fn after(bench: &mut Bench, taught: &Taught, plan: &Plan, foretold: &[Foretold], settling: Length) {
    let mut value = Item::Object(rest_readings(&plan.after));
    fill(&mut value, foretold);
    if let Item::Object(parts) = &mut value {
        let later = |side: Side| Item::leaf(plan.after.rear[side].trim - settling);
        parts.push(("trim_settled", super::expected::by_rear(later)));
        parts.push(("all_within", Item::Flag(plan.missed.is_empty())));
    }
    let trims = Side::BOTH.map(|side| mm(plan.after.rear[side].trim, 0));
    let cross = minus(format!("{:.1} %", plan.after.cross_weight.to_one() * 100.0));
    let u = foretold.iter().find(|one| one.figure == Figure::Trim(Side::Left)).map(|one| one.u);
    let u = u
        .and_then(|u| Length::try_from(u).ok())
        .map_or(String::new(), |u| format!(" (each to about {})", mm(u, 1)));
    let why = Why {
        words: format!(
            "With the corrections made the car should read trims of {} left and {} right{u}, cross \
             weight {cross}. What the next gauge reads has its own error on top.",
            trims[0], trims[1],
        ),
        formula: "u² = J·C·Jᵀ, C what the rounds left of the doubts",
        source: LEARNED,
        inputs: super::state::inputs(bench, taught),
    };
    bench.findings.push(Finding { id: "car.after", of: None, at: None, value, why });
}

/// The rows of the alignment hand-over.
fn hand_over(bench: &mut Bench, taught: &Taught, foretold: &[Foretold], settling: Length) {
    let rows: Vec<(Figure, SpecWhat)> = Side::BOTH
        .iter()
        .map(|side| (Figure::Trim(*side), SpecWhat::Trim))
        .chain([(Figure::TrimDifference, SpecWhat::TrimDifference)])
        .chain(Side::BOTH.iter().map(|side| (Figure::Camber(*side), SpecWhat::Camber)))
        .chain(Side::BOTH.iter().map(|side| (Figure::Toe(*side), SpecWhat::Toe)))
        .chain([(Figure::CrossWeight, SpecWhat::CrossWeight)])
        .collect();
    let rounds = &taught.lesson.readings;
    let row = |(figure, what): &(Figure, SpecWhat)| {
        let read = |last: bool| {
            let mut of = rounds.iter().filter(|said| said.reading.figure == *figure);
            let found = if last { of.next_back() } else { of.next() };
            found.map_or(Item::Nothing, |f| super::state::sure(f.reading.value, f.reading.u))
        };
        let told = foretold.iter().find(|one| one.figure == *figure);
        let settled = |amount: Amount| match figure {
            Figure::Trim(_) => Amount::from_si(amount.kind(), amount.to_si() - settling.to_m()),
            _ => amount,
        };
        let spec = spec(bench.facts.car, *what);
        let (wanted, within) = match (figure, spec) {
            (Figure::TrimDifference, Some((limit, _))) => (None, Some(limit)),
            (_, spec) => (spec.map(|s| s.0), spec.and_then(|s| s.1)),
        };
        Item::Object(vec![
            ("what", Item::Word(figure.name())),
            ("wanted", Item::maybe(wanted)),
            ("within", Item::maybe(within)),
            ("first_read", read(false)),
            ("last_read", read(true)),
            ("after_moves", told.map_or(Item::Nothing, |t| super::state::sure(t.value, t.u))),
            ("settled", told.map_or(Item::Nothing, |t| super::state::sure(settled(t.value), t.u))),
        ])
    };
    let value = Item::List(rows.iter().map(row).collect());
    let why = Why {
        words:
            "What goes to whoever aligns or inspects the car: wanted, first read, last read, and \
                what it should read once the corrections are made and new parts have given. The \
                sheet of an alignment bench goes beside it, and its figures go before these."
                .to_owned(),
        formula: "as car.after",
        source: LEARNED,
        inputs: super::state::inputs(bench, taught),
    };
    bench.findings.push(Finding { id: "car.hand-over", of: None, at: None, value, why });
}
