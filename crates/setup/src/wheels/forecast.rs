//! How sure it all is, in builds: the same car put together many times over, each time with parts
//! and readings a little other than they are thought to be.

use axlewright_book::{CarFile, Field, SpecWhat};
use axlewright_mechanics::car::Pair;
use axlewright_mechanics::chance::budget::{Better, Budget, Worth, budget};
use axlewright_mechanics::chance::corner::{
    Ask, Best, Builds, Carrier, Case, Doubt, Item as Number, Limits, Measuring, Spring, Told,
};
use axlewright_mechanics::chance::{Ended, Outcomes, Plan, Shape, Tally, compare};
use axlewright_quantity::{Amount, Angle, Kind, Length, Mass, Ratio, Side, Spread};

pub use axlewright_mechanics::chance::{Go, Progress, Watch};

use super::whole::{Cause, Facts, Key, Sight, shift};
use crate::Assessment;
use crate::engine::Waiting;
use crate::finding::{Finding, Input, Item, Leaf, Why};
use crate::inputs::{Inputs, Need, Slot};
use crate::look::Look;
use crate::say::{deg, mm};
use crate::{gaps, model};

/// What is asked of a forecast.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question {
    /// Builds of each corner, 100 to twenty million.
    pub builds: usize,
    /// The same seed gives the same builds.
    pub seed: u64,
}

impl Default for Question {
    fn default() -> Self {
        Self { builds: 20_000, seed: 1 }
    }
}

/// Builds with which one measuring after the other is made better: one in a hundred is seen.
const FOR_BUDGET: usize = 20_000;
/// Bars of the picture of a distribution.
const BARS: usize = 40;
/// One number for both corners: one batch of steel and of bushes, anchors and tyres of one make.
const SHARED: [Number; 5] =
    [Number::BarModulus, Number::RateShare, Number::Settling, Number::Unsprung, Number::TyreRadius];
/// Below so many builds the ends of an interval are luck, and nothing is compared with them.
const ENOUGH: usize = 20_000;
/// The interval that is told: about nineteen in twenty.
const COVERED: f64 = 0.95;

const JCGM: &str = "JCGM 101, 7 and 8; docs/method.md, chance";

/// Which number of a corner a slot is.
fn number(field: Field, part: u8) -> Option<Number> {
    use Field as F;
    use Number as N;
    let of = |three: [N; 3]| three.get(usize::from(part)).copied();
    Some(match field {
        F::BarFittedDiameter => N::BarDiameter,
        F::BarBore => N::BarBore,
        F::BarLength => N::BarLength,
        F::BarShearModulus => N::BarModulus,
        F::BarRate => N::BarRate,
        F::DamperFittedGas => N::Gas,
        F::LoadCornerWeight => N::Weight,
        F::LoadUnsprung => N::Unsprung,
        F::LoadSettling => N::Settling,
        F::ArmHub => of([N::HubX, N::HubY, N::HubZ])?,
        F::ArmInnerPivot => of([N::PivotX, N::PivotY, N::PivotZ])?,
        F::PlateHoleFront => of([N::HoleFrontU, N::HoleFrontW, N::HoleFrontW])?,
        F::PlateHoleRear => of([N::HoleRearU, N::HoleRearW, N::HoleRearW])?,
        F::ArmWheelCentre => of([N::WheelX, N::WheelY, N::WheelZ])?,
        F::DamperBodyEye => of([N::DamperBodyX, N::DamperBodyY, N::DamperBodyZ])?,
        F::DamperArmEye => of([N::DamperArmX, N::DamperArmY, N::DamperArmZ])?,
        F::DamperLengths => of([N::DamperLengthA, N::DamperLengthB, N::DamperLengthC])?,
        F::LeverHubToDamper => N::DamperReach,
        F::TyreRadius => N::TyreRadius,
        F::ArmCamber => N::Camber,
        F::ArmToe => N::Toe,
        F::BushRate => N::BushRate,
        F::BushNeutralAngle => N::BushNeutral,
        F::LeverHubToWheel => N::LeverReach,
        _ => return None,
    })
}

/// The corner as it is thought to be.
fn best(sight: &Sight, side: Side) -> Option<Best> {
    let look = sight.at(side);
    let carrier = if model::has_arm(look) {
        model::arm_design(look).map(Carrier::Arm)
    } else {
        model::lever_design(look).map(Carrier::Lever)
    };
    let spring = if look.has(Field::BarRate) {
        look.get(Field::BarRate).map(Spring::Rate)
    } else {
        model::bar_size(look).map(Spring::Size)
    };
    let (gas, bush) = (model::gas(look), model::bush(look));
    let weight = look.get::<Mass>(Field::LoadCornerWeight);
    let unsprung = look.get::<Mass>(Field::LoadUnsprung);
    let settling = look.get::<Length>(Field::LoadSettling);
    let share = look.number_optional::<Ratio>(Slot::RateShare).unwrap_or(Ratio::one(1.0));
    Some(Best {
        carrier: carrier?,
        spring: spring?,
        rate_share: share,
        gas: gas?,
        bush: bush?,
        shift: shift(look).unwrap_or_default(),
        weight: weight?,
        unsprung: unsprung?,
        settling: settling?,
    })
}

/// A tolerance is anything between its limits; what else is said is taken as many small causes.
fn shape(facts: &Facts, side: Side, field: Field) -> Shape {
    let spread = facts.car.get(field, side).and_then(|entry| entry.spread);
    match spread {
        Some(Spread::Tolerance(_) | Spread::Resolution(_)) => Shape::Rectangular,
        _ => Shape::Normal,
    }
}

/// Everything of a corner that is not known exactly.
fn doubts(facts: &Facts, side: Side) -> Vec<Doubt> {
    let inputs = facts.sides[side];
    let look = Look::plain(inputs);
    let mut doubts: Vec<Doubt> = Vec::new();
    let mut add = |item: Number, u: Option<Amount>, shape: Shape| {
        let known = doubts.iter().any(|old| old.item == item);
        if let Some(u) = u.filter(|u| u.kind() == item.kind() && 0.0 < u.to_si() && !known) {
            doubts.push(Doubt { item, u, shape });
        }
    };
    for (field, known) in &inputs.fields {
        let parts = crate::inputs::coordinates(&known.value).len();
        for part in 0..u8::try_from(parts).unwrap_or(0) {
            let cause = Cause::Of(side, Slot::Field(*field, part));
            let u = facts.known(cause).and_then(|(_, u, _)| u);
            if let Some(item) = number(*field, part).filter(|item| belongs(*item, &look)) {
                add(item, u, shape(facts, side, *field));
            }
        }
    }
    let slot = |slot| facts.known(Cause::Of(side, slot)).and_then(|(_, u, _)| u);
    add(Number::RateShare, slot(Slot::RateShare), Shape::Normal);
    let of_field = |field| match inputs.fields.get(&field).map(|known| &known.value) {
        Some(axlewright_book::Value::Amount(amount)) => Some(*amount),
        _ => None,
    };
    let reading = slot(Slot::PlateReading).or_else(|| of_field(Field::UncertaintyGauge));
    add(Number::Reading, reading, Shape::Normal);
    // Slope of the body and error of the gauge both come from the one reversal, each with its own.
    let level = slot(Slot::BodySlope).or_else(|| of_field(Field::UncertaintyLevel));
    let level = level.map(|u| Amount::from_si(u.kind(), u.to_si() * std::f64::consts::SQRT_2));
    add(Number::Level, level, Shape::Normal);
    add(Number::Friction, of_field(Field::UncertaintyTrimReading), Shape::Normal);
    let at = if look.has(Field::ArmAt) { Field::ArmAt } else { Field::RidePlateAngle };
    let item = if model::has_arm(&look) { Number::DesignAngle } else { Number::LeverAngle };
    add(item, slot(Slot::Field(at, 0)), shape(facts, side, at));
    doubts
}

/// Whether a number belongs to how this corner is known: coordinates to an arm, a reach to a lever.
fn belongs(item: Number, look: &Look) -> bool {
    use Number as N;
    let arm = model::has_arm(look);
    let points = arm && look.has(Field::DamperBodyEye) && look.has(Field::DamperArmEye);
    match item {
        N::LeverReach => !arm,
        N::DamperReach => !arm && !look.has(Field::DamperLengths),
        N::DamperLengthA | N::DamperLengthB | N::DamperLengthC => !points,
        N::DamperBodyX
        | N::DamperBodyY
        | N::DamperBodyZ
        | N::DamperArmX
        | N::DamperArmY
        | N::DamperArmZ => points,
        N::BarRate => look.has(Field::BarRate),
        N::BarDiameter | N::BarBore | N::BarLength | N::BarModulus => !look.has(Field::BarRate),
        N::BushRate | N::BushNeutral => model::bush(look).flatten().is_some(),
        N::Gas => model::gas(look).flatten().is_some(),
        N::Camber | N::Toe => arm,
        _ => true,
    }
}

/// One side made ready.
struct Ready {
    case: Case,
    free: Angle,
    trim: Length,
    limits: Limits,
}

fn ready(sight: &Sight, side: Side, left_right: Option<Length>) -> Option<Ready> {
    let look = sight.at(side);
    let best = best(sight, side);
    let trim = model::trim(look);
    let free = sight.extra::<Angle>(Key::Free(side));
    if free.is_none() {
        look.missing::<()>(Need::PlateReading);
    }
    let (best, trim, free) = (best?, trim?, free?);
    let within = look.inputs.trim_tolerance;
    let within = within.or_else(|| look.missing(Need::Spec(SpecWhat::Trim)))?;
    let case = look.ok(Case::new(best, &doubts(sight.facts, side)))?;
    let limits = Limits { low: trim - within, high: trim + within, left_right };
    Some(Ready { case, free, trim, limits })
}

/// How far all the runs together are.
struct Runs<'w> {
    watch: Watch<'w>,
    done: usize,
    of: usize,
}

impl Runs<'_> {
    /// One of the runs, told as a part of all of them.
    fn run<T>(&mut self, draws: usize, run: impl FnOnce(Watch<'_>) -> T) -> T {
        let (before, of, watch) = (self.done, self.of, self.watch);
        let told = move |progress: Progress| {
            watch(Progress { done: (before + progress.done).min(of), of })
        };
        let out = run(&told);
        self.done += draws;
        out
    }
}

/// How much better each measuring could be made: the car weighed, the gas pushed on a scale, six
/// readings in place of one (four would halve what scatters; some of it lasts).
fn better(facts: &Facts) -> impl Fn(Measuring) -> Better {
    let scale = facts.car.class_uncertainty(axlewright_book::Class::Scale);
    let scale = scale.unwrap_or_else(|| Mass::kg(3.0).into());
    move |measuring| match measuring {
        Measuring::Scales => Better::To(scale),
        _ => Better::Halved,
    }
}

/// What would make a measuring better, in words.
fn better_words(measuring: Measuring) -> &'static str {
    match measuring {
        Measuring::Scales => "weigh the car on four scales",
        Measuring::Gas => "push the damper on a bathroom scale at its ride length",
        Measuring::Gauge => {
            "read the plate six times, the gauge set down afresh, and take the mean"
        }
        Measuring::Level => {
            "read each sill six times, three of them with the level turned end for end"
        }
        Measuring::Bar => "measure the bar with a finer micrometer, at more places",
        Measuring::BarLength => "measure the bar's thin part again",
        Measuring::Modulus => "ask the maker of the bar for the steel's own figure",
        Measuring::Rate => "hang known weights on the plate and read the angle",
        Measuring::Unsprung => "weigh wheel, brake and arm",
        Measuring::Lash => "feel for the lash again",
        Measuring::Settling => "ask somebody whose bars have settled; it shows after 100 km",
        Measuring::Friction => "read trim after lift-and-let-go and push-and-let-go",
        Measuring::Arm => "measure the arm's points again, on the bench",
        Measuring::Damper => "measure the damper's bolts again",
        Measuring::Tyre => "measure the loaded tyre again",
        Measuring::Alignment => "read camber and toe again, the wheel turned half a turn",
        Measuring::Bush => "measure the bush's rate again",
    }
}

fn spread(outcomes: &Outcomes) -> Option<Item> {
    let (mean, u) = (outcomes.mean().ok()?, outcomes.u().ok()?);
    let covered = outcomes.interval(Ratio::one(COVERED)).ok()?;
    Some(Item::Object(vec![
        ("mean", Item::Leaf(Leaf { value: mean, u: Some(u), written: None })),
        ("low", Item::leaf(covered.low)),
        ("high", Item::leaf(covered.high)),
    ]))
}

fn bars(outcomes: &Outcomes) -> Option<Item> {
    let bar = |bin: &axlewright_mechanics::chance::Bin| {
        Item::Object(vec![
            ("from", Item::leaf(bin.from)),
            ("to", Item::leaf(bin.to)),
            ("share", Item::leaf(bin.share)),
        ])
    };
    Some(Item::List(outcomes.histogram(BARS).ok()?.iter().map(bar).collect()))
}

fn count(tally: Tally) -> Item {
    Item::Count(i64::from(tally.in_100()), "builds in 100")
}

/// Both sides' builds.
struct Made {
    ready: Pair<Ready>,
    builds: Pair<Builds>,
}

impl Made {
    fn both(&self) -> Option<Tally> {
        let limits = (&self.ready.left.limits, &self.ready.right.limits);
        self.builds.left.both_within(&self.builds.right, Told::Trim, limits).ok()
    }

    /// Whether the linear road says the same, side by side.
    fn agrees(&self, side: Side) -> Option<bool> {
        if self.builds[side].made() < ENOUGH {
            return None;
        }
        let ready = &self.ready[side];
        let ask = ask(ready, side);
        let plain = *ready.case.plain(&ask).ok()?.get(Told::Trim as usize)?;
        let parts = ready.case.parts(&ask, Told::Trim).ok()?;
        let u = parts.iter().map(|(_, part)| part.to_si().powi(2)).sum::<f64>().sqrt();
        let u = Amount::from_si(Kind::Length, u);
        let drawn = self.builds[side].of(Told::Trim);
        Some(compare((plain, u), &drawn, Ratio::one(COVERED), 1).ok()?.agrees)
    }
}

const fn ask(ready: &Ready, side: Side) -> Ask<'static> {
    Ask { free: ready.free, trim: ready.trim, side, shared: &SHARED }
}

fn value(made: &Made, question: Question) -> Option<Item> {
    let of = |side: Side, told| made.builds[side].of(told);
    let within =
        |side: Side| made.builds[side].within(Told::Trim, &made.ready[side].limits).ok().map(count);
    let rear = |f: &dyn Fn(Side) -> Option<Item>| {
        Some(Item::Object(vec![("LR", f(Side::Left)?), ("RR", f(Side::Right)?)]))
    };
    let apart = made.builds.left.less(&made.builds.right, Told::Trim);
    let number = |n: usize| Item::Count(i64::try_from(n).unwrap_or(i64::MAX), "builds");
    let agree = |side| Some(made.agrees(side).map_or(Item::Nothing, Item::Flag));
    let limits = &made.ready.left.limits;
    let ended = |side: Side| made.builds[side].ended();
    let stopped = [ended(Side::Left), ended(Side::Right)].contains(&Ended::Stopped);
    let wide = |side: Side| bars(&of(side, Told::Trim));
    Some(Item::Object(vec![
        ("builds", number(made.builds.left.made())),
        ("seed", Item::Word(question.seed.to_string())),
        ("stopped_by", Item::Word(if stopped { "user" } else { "effort" }.to_owned())),
        ("both_within", count(made.both()?)),
        ("within", rear(&within)?),
        ("trim", rear(&|side| spread(&of(side, Told::Trim)))?),
        ("difference", spread(&apart)?),
        (
            "band",
            Item::Object(vec![
                ("low", Item::leaf(limits.low)),
                ("high", Item::leaf(limits.high)),
                ("left_right", Item::maybe(limits.left_right)),
            ]),
        ),
        ("free_angle", rear(&|side| Some(Item::leaf(made.ready[side].free)))?),
        ("linear_agrees", rear(&agree)?),
        ("histogram", rear(&wide)?),
        ("refused", number(made.builds.left.refused() + made.builds.right.refused())),
    ]))
}

fn words(made: &Made) -> String {
    let trim = |side: Side| {
        let outcomes = made.builds[side].of(Told::Trim);
        let length = |amount: Amount| Length::try_from(amount).unwrap_or(Length::ZERO);
        match (outcomes.mean(), outcomes.u()) {
            (Ok(mean), Ok(u)) => (mm(length(mean), 0), mm(length(u), 0)),
            _ => ("?".to_owned(), "?".to_owned()),
        }
    };
    let ((left, u_left), (right, u_right)) = (trim(Side::Left), trim(Side::Right));
    let limits = &made.ready.left.limits;
    let apart = limits
        .left_right
        .map_or(String::new(), |most| format!(" and no more than {} apart", mm(most, 0)));
    let of_100 = made.both().map_or(0, Tally::in_100);
    let mut words = format!(
        "With the plates indexed to {} left and {} right, trim settles at {left} (u {u_left}) left \
         and {right} (u {u_right}) right. {of_100} in 100 such builds land between {} and \
         {}{apart}, and need no second indexing.",
        deg(made.ready.left.free, 1),
        deg(made.ready.right.free, 1),
        mm(limits.low, 0),
        mm(limits.high, 0),
    );
    if Side::BOTH.iter().any(|side| made.agrees(*side) == Some(false)) {
        words += " The straight-line uncertainty differs from the builds in the first digit: the \
                  builds are right.";
    }
    words
}

fn inputs_of(facts: &Facts, ready: &Ready, side: Side) -> Vec<Input> {
    let from = |item: Number| {
        let fields = facts.sides[side].fields.iter();
        let mut own =
            fields.filter(|(field, _)| (0..6).any(|part| number(**field, part) == Some(item)));
        own.next().map_or("[uncertainty]".to_owned(), |(_, known)| known.from.clone())
    };
    let of = |doubt: &Doubt| Input {
        name: doubt.item.words().to_owned(),
        value: None,
        u: Some(doubt.u),
        from: from(doubt.item),
        share: None,
    };
    ready.case.doubts().iter().map(of).collect()
}

fn worth(row: &Worth) -> Item {
    Item::Object(vec![
        ("what", Item::Word(row.measuring.words().to_owned())),
        ("how", Item::Word(better_words(row.measuring).to_owned())),
        ("alone", Item::leaf(row.alone)),
        ("share", Item::leaf(row.share)),
        ("within_then", count(row.better)),
        ("gain", Item::Leaf(Leaf { value: row.gain_in_100.into(), u: None, written: None })),
    ])
}

fn budget_finding(budget: &Budget, side: Side, inputs: Vec<Input>) -> Finding {
    let value = Item::Object(vec![
        ("side", Item::Word(side.word().to_owned())),
        ("within_now", count(budget.now)),
        ("u", Item::leaf(budget.u)),
        ("rows", Item::List(budget.rows.iter().map(worth).collect())),
    ]);
    let best = budget.rows.iter().find(|row| 0.5 <= row.gain_in_100.to_one());
    let now = budget.now.in_100();
    let words = best.map_or_else(
        || {
            format!(
                "{now} in 100 builds of the {side} corner land within; no single measurement made \
                 better changes that by one in a hundred."
            )
        },
        |row| {
            format!(
                "What helps most: {}. Then {} in 100 builds of the {side} corner land within, in \
                 place of {now}.",
                better_words(row.measuring),
                row.better.in_100(),
            )
        },
    );
    let why = Why {
        words,
        formula: "builds within limits with one measuring's u halved (or as said) less builds now",
        source: JCGM,
        inputs,
    };
    Finding { id: "car.budget", of: None, at: None, value, why }
}

/// Runs the builds: `car.forecast` and `car.budget`, or the gaps before them. Deterministic for a
/// question, on any number of threads, unless it is stopped.
///
/// # Valid for
/// `facts` made from the same car file.
pub fn forecast(
    car: &CarFile,
    facts: &Assessment,
    question: Question,
    watch: Watch<'_>,
) -> Assessment {
    let left = Inputs::from_car(car, Side::Left);
    let right = Inputs::from_car(car, Side::Right);
    let whole = super::facts(car, Pair { left: &left, right: &right }, facts);
    let cautions = facts.cautions.clone();
    let mut out = Assessment { car: facts.car.clone(), cautions, ..Assessment::default() };
    let mut waiting = Waiting::default();
    let sight = Sight::plain(&whole);
    let left_right = super::moves::trim_difference(car);
    let both = Pair::of(|side| ready(&sight, side, left_right));
    let seen = sight.into_seen();
    let mut bench =
        super::bench::Bench { facts: &whole, findings: Vec::new(), waiting: &mut waiting };
    ["car.forecast", "car.budget"].into_iter().for_each(|id| bench.wait_for(id, &seen));
    if let Pair { left: Some(left), right: Some(right) } = both {
        run(&mut bench, Pair { left, right }, question, watch);
    }
    out.findings = bench.findings;
    out.gaps = gaps::from_waiting(car, &waiting);
    out.problems = waiting.faults.into_iter().collect();
    out
}

fn run(bench: &mut super::bench::Bench, ready: Pair<Ready>, question: Question, watch: Watch<'_>) {
    let plan = Plan { seed: question.seed, draws: question.builds };
    let few = Plan { draws: question.builds.min(FOR_BUDGET), ..plan };
    let measurings = Measuring::ALL
        .iter()
        .filter(|m| ready.left.case.doubts().iter().any(|doubt| doubt.item.by() == **m));
    let of = 2 * plan.draws + few.draws * (1 + measurings.count());
    let mut runs = Runs { watch, done: 0, of };
    let mut make = |ready: &Ready, side: Side| {
        runs.run(plan.draws, |watch| ready.case.builds(&ask(ready, side), plan, watch))
    };
    let made = make(&ready.left, Side::Left)
        .and_then(|left| Ok(Pair { left, right: make(&ready.right, Side::Right)? }));
    let builds = match made {
        Ok(builds) => builds,
        Err(error) => {
            bench.waiting.faults.insert(format!("forecast: {error}; {}", error.hint()));
            return;
        }
    };
    let made = Made { ready, builds };
    let inputs = inputs_of(bench.facts, &made.ready.left, Side::Left);
    if let Some(value) = value(&made, question) {
        let why = Why {
            words: words(&made),
            formula: "k(θ₀ − θ) + k_b(θ_b − θ) + P·dℓ/dθ = F·(−dz/dθ), each build",
            source: JCGM,
            inputs: inputs.clone(),
        };
        bench.findings.push(Finding { id: "car.forecast", of: None, at: None, value, why });
    }
    let stopped = Side::BOTH.iter().any(|side| made.builds[*side].ended() == Ended::Stopped);
    if stopped {
        return;
    }
    let (side, limits) = (Side::Left, made.ready.left.limits);
    let ready = &made.ready[side];
    // What left and right may differ belongs to no corner alone.
    let own = Limits { left_right: None, ..limits };
    let better = better(bench.facts);
    let found = runs.run(few.draws, |watch| {
        budget(&ready.case, &ask(ready, side), (Told::Trim, &own), better, few, watch)
    });
    match found {
        Ok(budget) => bench.findings.push(budget_finding(&budget, side, inputs)),
        Err(error) => {
            bench.waiting.faults.insert(format!("forecast: {error}; {}", error.hint()));
        }
    }
}
