//! The order's findings.

use std::fmt::Write as _;

use axlewright_book::{
    Act, Answer, CalendarRows, CarFile, Day, PartState, Phase, Position, Question,
    Session as Weekly, Spanning, Step,
};
use axlewright_planning::{
    Blocker, Calendar, Cause, Changed, Control, Effort, Link, Plan, Progress, Schedule, Session,
    Stop, Time, Undo, back_out as planning_back_out, part_float, schedule, standing,
    why as planning_why,
};
use axlewright_quantity::Side;

use super::Ready;
use super::draft::{CAR, arm};
use super::twins;
use crate::cautions;
use crate::finding::{Finding, Gap, Item, Subject, Why};
use crate::physical::acts;
use crate::raising::Raise;
use crate::say::duration;

/// Days for which sessions are laid out: two years of evenings.
const DAYS: u32 = 730;

pub(super) fn all(ready: &Ready, plan: &Plan) -> Vec<Finding> {
    let mut findings = vec![sequence(ready, plan), cost(ready, plan), arcs(ready)];
    findings.insert(1, super::safe::finding(ready, plan));
    findings.extend(now_and_blocked(ready));
    findings.extend(finish(ready, plan));
    findings
}

fn finding(id: &'static str, value: Item, words: String, source: &'static str) -> Finding {
    let formula = "least changeover over all orders the arcs allow";
    let why = Why { words, formula, source, inputs: Vec::new() };
    Finding { id, of: None, at: None, value, why }
}

const SEARCH: &str = "sequential ordering with contexts; docs/method.md, order of work";
const NETWORK: &str = "reasons of the arcs; docs/method.md, order of work";

fn whole_minutes(time: Time) -> Item {
    Item::Count(time.to_minutes_up(), "min")
}

fn maybe_word(text: Option<&String>) -> Item {
    text.map_or(Item::Nothing, |text| Item::Word(text.clone()))
}

/// "2 h 15 min".
fn span_words(time: Time) -> String {
    duration(time.to_minutes_up())
}

impl Ready<'_> {
    fn step(&self, task: usize) -> Option<&Step> {
        self.car.step(&self.work.tasks().get(task)?.id)
    }

    fn id(&self, task: usize) -> String {
        self.work.tasks().get(task).map_or(String::new(), |task| task.id.clone())
    }

    fn ids(&self, tasks: &[usize]) -> Item {
        Item::List(tasks.iter().map(|task| Item::Word(self.id(*task))).collect())
    }

    /// What has to be changed before a step, in words.
    fn change_words(&self, step: &Step, changed: &Changed, going: Going) -> String {
        let Some(feature) = self.work.features().get(changed.feature) else {
            return String::new();
        };
        let value = |at: usize| feature.values.get(at).cloned().unwrap_or_default();
        let to = value(changed.to);
        for side in Side::BOTH {
            if feature.name == arm(side) {
                let from = changed.from.map(value);
                return self.arm_words((step, going), side, from.as_deref(), &to);
            }
        }
        match feature.name.as_str() {
            "station" => format!("go to: {to}"),
            "hands" if changed.time > Time::ZERO => format!("wash: {to} hands"),
            "hands" => format!("{to} hands"),
            "tool" => format!("take: {to}"),
            other => format!("{other}: {to}"),
        }
    }

    fn arm_words(
        &self,
        (step, going): (&Step, Going),
        side: Side,
        from: Option<&str>,
        to: &str,
    ) -> String {
        let raise = &self.geometry.side(side).raise;
        // The figures are those of the new teeth, from where the arm hangs: they serve only the
        // step that puts the stop bolt in.
        let fits = step.fits.iter().any(|fits| fits.value == Spanning::StopBolt);
        let raise = Some(raise).filter(|_| fits && going == Going::On);
        let mut gates = self.gates.iter().filter(|gate| gate.step == step.id.value).peekable();
        // A step that is not to be done has no figures; nor has one that only something found at
        // the car opens, for then the bar may be on other teeth.
        let is_gated = gates.peek().is_some();
        let is_barred = gates.any(|gate| gate.opens.is_none());
        match (to, raise) {
            (to, Some(_)) if to == Position::StopBoltClear.word() && is_barred => {
                format!("{side} side: NOT YET, the arm is not raised")
            }
            (to, Some(_)) if to == Position::StopBoltClear.word() && is_gated => {
                format!("{side} side: {}", cautions::BY_CARDS)
            }
            (to, Some(Raise::Known(raise))) if to == Position::StopBoltClear.word() => {
                format!("{side} side: {raise}")
            }
            (to, Some(Raise::Unknown)) if to == Position::StopBoltClear.word() => {
                format!("{side} side: {}", cautions::BY_CARDS)
            }
            (to, Some(Raise::Clear)) if to == Position::StopBoltClear.word() => {
                format!("{side} side: the arm hangs clear of the stop bolt: offer the bolt up")
            }
            (to, _) if to == Position::StopBoltClear.word() => {
                format!("{side} side: {}", raise_without_figures(step, going))
            }
            (to, _) if to == Position::Hang.word() && from.is_some_and(|f| f != "bar out") => {
                format!("{side} side: let the arm down slowly to where it hangs")
            }
            (to, _) => format!("{side} arm: {to}"),
        }
    }

    fn stop(&self, stop: &Stop) -> Item {
        self.stop_going(stop, Going::On, None)
    }

    /// A step with what to change before it; `then` is what follows it at once, and its time.
    fn stop_going(&self, stop: &Stop, going: Going, then: Option<(String, Time)>) -> Item {
        let Some(step) = self.step(stop.task) else { return Item::Nothing };
        let words = |entry: &Option<axlewright_book::Entry<String>>| {
            maybe_word(entry.as_ref().map(|entry| &entry.value))
        };
        // That the car goes up or down is a step of its own, said there.
        let own_step = |changed: &&Changed| {
            self.work.features().get(changed.feature).is_none_or(|f| f.name != CAR)
        };
        let changes = stop.changes.iter().filter(own_step);
        let changes = changes.map(|changed| Item::Word(self.change_words(step, changed, going)));
        let mut changes: Vec<Item> = changes.collect();
        if going == Going::On && step.phase == Phase::Assembly && acts(step).contains(&Act::Ballast)
        {
            changes.push(Item::Word(self.geometry.ballast_words()));
        }
        // Once it is in, the plate rests on the stop bolt: it is raised off it each time anew.
        let raise = takes_stop_bolt_out(step).filter(|_| going == Going::Back);
        if let Some(side) = raise.filter(|side| !self.moves_arm(stop, *side)) {
            let raise = raise_without_figures(step, going);
            changes.push(Item::Word(format!("{side} side: {raise}")));
        }
        let change: Time = stop.changes.iter().map(|changed| changed.time).sum();
        let change = change + then.as_ref().map_or(Time::ZERO, |(_, time)| *time);
        let time = self.work.tasks().get(stop.task).map_or(Time::ZERO, |task| task.time);
        let parts = step.needs.iter().filter_map(|part| self.car.part(&part.value));
        let parts = parts.map(|part| {
            let name = part.name.as_ref().map_or(&part.id.value, |name| &name.value);
            let side = part.side.map_or(String::new(), |side| format!("{side} "));
            Item::Word(format!("{side}{name}"))
        });
        let side = step.side.map_or(Item::Nothing, |side| Item::Word(side.word().to_owned()));
        let removing = match going {
            Going::On => Vec::new(),
            Going::Back => twins::removing(self.car, step),
        };
        let hold = match removing.is_empty() {
            true => step.hold,
            false => removing.iter().any(|twin| twin.hold),
        };
        let mut keys = vec![
            ("step", Item::Word(step.id.value.clone())),
            ("words", Item::Word(step.words.value.clone())),
            ("phase", Item::Word(step.phase.word().to_owned())),
            ("side", side),
            ("station", words(&step.station)),
            ("hands", step.hands.map_or(Item::Nothing, |h| Item::Word(h.word().to_owned()))),
            ("tool", words(&step.tool)),
            ("arm", step.arm.map_or(Item::Nothing, |p| Item::Word(p.word().to_owned()))),
            ("minutes", whole_minutes(time)),
            ("changes", Item::List(changes)),
            ("change_minutes", whole_minutes(change)),
            ("parts", Item::List(parts.collect())),
            ("caution", if removing.is_empty() { words(&step.caution) } else { Item::Nothing }),
            ("reading", words(&step.reading)),
            ("hold", Item::Flag(hold)),
            ("people", Item::Count(people(step), "people")),
        ];
        if !removing.is_empty() {
            keys.push(("as", Item::List(removing.into_iter().map(twin_item).collect())));
        }
        keys.extend(then.map(|(then, _)| ("then", Item::Word(then))));
        Item::Object(keys)
    }

    /// The steps of a way back. Undoing the stop bolt leaves the arm on the jack with the bar
    /// wound: it is let down there and then, not where a later step happens to ask for it.
    fn undo(&self, stops: &[Stop]) -> Item {
        let mut stops = stops.to_vec();
        let mut items = Vec::new();
        for at in 0..stops.len() {
            let side = self.step(stops[at].task).and_then(takes_stop_bolt_out);
            let then = side.map(|side| {
                let time = self.take_let_down(side, stops.get_mut(at + 1..).unwrap_or_default());
                (format!("{side} side: {LET_DOWN}"), time)
            });
            // Where the method has a step of its own for it, that one is told.
            let told = |step: &Step| {
                let twins = twins::removing(self.car, step);
                twins.iter().any(|twin| acts(twin) == [Act::FindsFree])
            };
            let wags = self.step(stops[at].task);
            let wags = wags.filter(|step| takes_arm_off(step) && !told(step));
            let wags =
                wags.and_then(|step| Some((format!("{} side: {WAG}", step.side?), Time::ZERO)));
            items.push(self.stop_going(&stops[at], Going::Back, then.or(wags)));
        }
        Item::List(items)
    }

    fn is_of_arm(&self, changed: &Changed, side: Side) -> bool {
        self.work.features().get(changed.feature).is_some_and(|f| f.name == arm(side))
    }

    fn moves_arm(&self, stop: &Stop, side: Side) -> bool {
        stop.changes.iter().any(|changed| self.is_of_arm(changed, side))
    }

    /// Takes the next letting down of an arm out of the steps that follow; gives its time.
    fn take_let_down(&self, side: Side, later: &mut [Stop]) -> Time {
        for stop in later {
            let Some(at) = stop.changes.iter().position(|c| self.is_of_arm(c, side)) else {
                continue;
            };
            let changed = &stop.changes[at];
            let feature = self.work.features().get(changed.feature);
            let to = feature.and_then(|f| f.values.get(changed.to));
            if to.is_some_and(|to| to == Position::Hang.word()) {
                return stop.changes.remove(at).time;
            }
            break;
        }
        Time::ZERO
    }
}

/// The step that removes what another fits: its own words, caution and hold.
fn twin_item(twin: &Step) -> Item {
    Item::Object(vec![
        ("step", Item::Word(twin.id.value.clone())),
        ("words", Item::Word(twin.words.value.clone())),
        ("caution", maybe_word(twin.caution.as_ref().map(|entry| &entry.value))),
        ("hold", Item::Flag(twin.hold)),
    ])
}

/// Whether a step is told to be done, or to be undone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Going {
    On,
    Back,
}

const LET_DOWN: &str = "let the arm down slowly, the stack with it, until it hangs and the jack \
    comes free. Lift it by hand and let it back: it returns softly to one place. Sign that it \
    hangs. Only then is any bolt of cover, plate or pivot touched";
const WAG: &str = "wag the plate, alone on the bar: it rocks both ways by hand. Sign that the bar \
    is free. Only then is a bolt of the cover touched, or plate and bar moved";

/// The side on which undoing a step takes the stop bolt out, the arm on the jack.
fn takes_stop_bolt_out(step: &Step) -> Option<Side> {
    step.side.filter(|_| step.fits.iter().any(|fits| fits.value == Spanning::StopBolt))
}

/// Whether undoing a step takes the arm off the plate, the bar in.
fn takes_arm_off(step: &Step) -> bool {
    step.phase == Phase::Assembly && acts(step).contains(&Act::ArmOn)
}

/// Raising where no figure of ours holds.
fn raise_without_figures(step: &Step, going: Going) -> &'static str {
    match (going, step.phase) {
        (Going::Back, _) => {
            "see that the rear stands carry enough, with sandbags if the engine is out, and set \
             both holds: the jack, and a stand or stack close under the arm; then jack the arm up \
             slowly until the plate is clear of the stop bolt"
        }
        (Going::On, Phase::BeforeStripDown | Phase::StripDown) => {
            "jack the arm up slowly until the plate is clear of the stop bolt; how far that is and \
             what it takes is not known for the bar as found"
        }
        (Going::On, _) => "jack the arm up slowly until the plate is clear of the stop bolt",
    }
}

fn people(step: &Step) -> i64 {
    step.people.as_ref().map_or(1, |people| i64::from(people.value))
}

fn sequence(ready: &Ready, plan: &Plan) -> Finding {
    let energy = super::safe::energy(ready, plan);
    let stops = plan.stops.iter().zip(energy).map(|(stop, energy)| {
        let mut item = ready.stop(stop);
        if let Item::Object(keys) = &mut item {
            // Of several the one that nothing found at the car opens.
            let gates = ready.gates.iter().filter(|gate| gate.step == ready.id(stop.task));
            let gate = gates.min_by_key(|gate| gate.opens.is_some());
            keys.push(("gate", gate.map_or(Item::Nothing, super::safe::gate_item)));
            keys.push(("energy", Item::Word(energy)));
            let provisional = super::safe::provisional(ready, stop.task).map(str::to_owned);
            keys.push(("provisional", maybe_word(provisional.as_ref())));
        }
        item
    });
    let stops = stops.collect();
    let mut words = super::safe::headline(ready, plan);
    if !plan.waiting.is_empty() {
        let _ = write!(words, " {} more wait for parts.", plan.waiting.len());
    }
    finding("order.sequence", Item::List(stops), words, SEARCH)
}

fn cost(ready: &Ready, plan: &Plan) -> Finding {
    let shares = ready.work.features().iter().zip(plan.cost.features.iter().zip(&plan.at_least));
    let features = shares.map(|(feature, (share, least))| {
        Item::Object(vec![
            ("what", Item::Word(format!("{}: {}", feature.name, feature.changes))),
            ("changes", Item::Count(i64::from(share.changes), "changes")),
            ("minutes", whole_minutes(share.time)),
            ("at_least", Item::Count(i64::from(least.changes), "changes")),
        ])
    });
    let value = Item::Object(vec![
        ("minutes", whole_minutes(plan.cost.changeover)),
        ("bound", whole_minutes(plan.bound)),
        ("proven", Item::Flag(plan.proven())),
        ("work", whole_minutes(plan.cost.work)),
        ("total", whole_minutes(plan.cost.work + plan.cost.changeover)),
        ("stopped_by", Item::Word(plan.stopped_by.word().to_owned())),
        ("moves", Item::Count(i64::try_from(plan.moves).unwrap_or(i64::MAX), "moves")),
        ("features", Item::List(features.collect())),
        ("waiting", ready.ids(&plan.waiting)),
    ]);
    let proof = if plan.proven() {
        "no order has less".to_owned()
    } else {
        format!("no order has less than {}", span_words(plan.bound))
    };
    let words = format!(
        "{} of work and {} of walking, washing, jacking and changing tools; {proof}. Any order \
         takes {}.",
        span_words(plan.cost.work),
        span_words(plan.cost.changeover),
        plan.bound_in_words(&ready.work),
    );
    finding("order.cost", value, words, SEARCH)
}

fn arc_item(ready: &Ready, link: &Link) -> Item {
    let between = |task: usize| {
        ready.work.precedes(link.before, task) && ready.work.precedes(task, link.after)
    };
    let implied = (0..ready.work.tasks().len()).any(between);
    Item::Object(vec![
        ("implied", Item::Flag(implied)),
        ("before", Item::Word(ready.id(link.before))),
        ("after", Item::Word(ready.id(link.after))),
        ("reason", Item::Word(link.arc.reason.word().to_owned())),
        ("words", Item::Word(link.arc.words.clone())),
    ])
}

fn arcs(ready: &Ready) -> Finding {
    use axlewright_planning::Reason;
    let links = ready.work.links();
    let count = |reason| links.iter().filter(|link| link.arc.reason == reason).count();
    let words = format!(
        "{} because the file says so, {} because one step makes another possible, {} because of \
         where the arm is.",
        count(Reason::Said),
        count(Reason::Part),
        count(Reason::Geometry),
    );
    // Geometry first: that is what nobody finds in the file.
    let mut sorted: Vec<&Link> = links.iter().collect();
    sorted.sort_by_key(|link| std::cmp::Reverse(link.arc.reason));
    let items = sorted.into_iter().map(|link| arc_item(ready, link)).collect();
    finding("order.arcs", Item::List(items), words, NETWORK)
}

fn now_and_blocked(ready: &Ready) -> [Finding; 2] {
    let standing = standing(&ready.work, &ready.state);
    let now = standing.now.iter().map(|&task| {
        let words = ready.step(task).map(|step| &step.words.value);
        Item::Object(vec![("step", Item::Word(ready.id(task))), ("words", maybe_word(words))])
    });
    let blocked = standing.blocked.iter().map(|(task, blockers)| {
        let by = blockers.iter().map(|blocker| Item::Word(blocker_words(ready, *blocker)));
        Item::Object(vec![("step", Item::Word(ready.id(*task))), ("by", Item::List(by.collect()))])
    });
    let held = standing.held_up.iter().map(|(part, tasks)| {
        let id = ready.work.parts().get(*part).map_or(String::new(), |part| part.id.clone());
        Item::Object(vec![("part", Item::Word(id)), ("holds_up", ready.ids(tasks))])
    });
    let skipped = standing.skipped.iter().map(|(done, open)| {
        let words = format!("`{}` was done before `{}`", ready.id(*done), ready.id(*open));
        Item::Word(words)
    });
    let now_words = match standing.now.len() {
        0 => "Nothing can be done now: see what blocks the rest.".to_owned(),
        1 => "One step can be done now.".to_owned(),
        many => format!("{many} steps can be done now, in any order."),
    };
    let value = Item::Object(vec![
        ("steps", Item::List(blocked.collect())),
        ("parts", Item::List(held.collect())),
        ("out_of_order", Item::List(skipped.collect())),
    ]);
    let words = format!("{} steps wait for another step or a part.", standing.blocked.len());
    [
        finding("order.now", Item::List(now.collect()), now_words, NETWORK),
        finding("order.blocked-by", value, words, NETWORK),
    ]
}

fn blocker_words(ready: &Ready, blocker: Blocker) -> String {
    match blocker {
        Blocker::Task { task, link } => {
            let words = ready.work.links().get(link).map(|link| link.arc.words.clone());
            format!("{}: {}", ready.id(task), words.unwrap_or_default())
        }
        Blocker::Part(part) => {
            let words = ready.work.parts().get(part).map(|part| part.words.clone());
            format!("missing: {}", words.unwrap_or_default())
        }
    }
}

/// The method's questions that nobody has answered, with what is taken for it.
fn unanswered(car: &CarFile) -> impl Iterator<Item = (&Question, &Answer)> {
    let both = car.method().into_iter().flat_map(|f| f.method.questions.iter().zip(&f.answers));
    both.filter(|(_, answer)| !answer.is_given)
}

/// Gaps of the order itself: what the file does not say and a plan would use.
pub(super) fn gaps(car: &CarFile) -> Vec<Gap> {
    let mut gaps = Vec::new();
    let mut gap = |id: &str, measure: &str, how: &str, blocks: Vec<&'static str>| {
        let (id, measure, how) = (id.to_owned(), measure.to_owned(), how.to_owned());
        gaps.push(Gap { id, of: None, measure, how, blocks, rows: Vec::new() });
    };
    for (question, answer) in unanswered(car) {
        gap(
            &format!("answers.{}", question.id),
            &question.ask,
            &format!(
                "[answers] {} = one of: {}. Until then the order takes it for: {}.",
                question.id,
                question.choices.join(", "),
                answer.choice
            ),
            Vec::new(),
        );
    }
    let costs = car.changeover.as_ref();
    let keys = [
        ("changeover.walk", costs.is_some_and(|c| c.walk.is_some()), "a walk to another place"),
        ("changeover.jack", costs.is_some_and(|c| c.jack.is_some()), "a jack move"),
        ("changeover.wash", costs.is_some_and(|c| c.wash.is_some()), "a hand wash"),
        ("changeover.tool", costs.is_some_and(|c| c.tool.is_some()), "a change of tool"),
    ];
    for (id, known, what) in keys {
        if !known {
            let measure = format!("how many minutes {what} takes you");
            gap(id, &measure, "Until then it is counted as nothing.", Vec::new());
        }
    }
    if calendar_of(car).is_none() {
        gap(
            "calendar",
            "when you work: the first day and the sessions of a week",
            "[calendar] start = a day, sessions = [\"Mon 19:00 180\", …].",
            vec!["order.finish"],
        );
    }
    for step in car.steps.iter().filter(|step| step.minutes.is_none()) {
        gap(
            &format!("step.{}.minutes", step.id.value),
            &format!("how many minutes `{}` takes", step.id.value),
            "A guess will do; the second side is often half the first.",
            vec!["order.finish"],
        );
    }
    gaps
}

fn calendar_of(car: &CarFile) -> Option<(&CalendarRows, Day)> {
    let rows = car.calendar.as_ref().filter(|rows| !rows.sessions.is_empty())?;
    Some((rows, rows.start.as_ref()?.value))
}

fn calendar(ready: &Ready, rows: &CalendarRows, start: Day) -> Calendar {
    let mut sessions: Vec<Session> = Vec::new();
    for ahead in 0..DAYS {
        let Some(day) = Day::from_number(start.number() + ahead) else { break };
        let people = if rows.helper.iter().any(|h| h.value == day.weekday()) { 2 } else { 1 };
        let of_day = rows.sessions.iter().map(|entry| entry.value);
        for weekly in of_day.filter(|weekly| falls_on(*weekly, day, ahead)) {
            let start = Time::days(i64::from(ahead)) + Time::minutes(i64::from(weekly.start));
            let length = Time::minutes(i64::from(weekly.minutes));
            sessions.push(Session { start, length, people });
        }
    }
    sessions.sort_by_key(|session| session.start);
    // Two sessions written over each other are one stretch of time: the later one is left out.
    let mut ended = Time::ZERO;
    sessions.retain(|session| {
        let fresh = ended <= session.start;
        if fresh {
            ended = session.start + session.length;
        }
        fresh
    });
    let missing = ready.state.missing();
    let arrivals = missing.iter().filter_map(|&part| {
        let row = ready.car.part(&ready.work.parts().get(part)?.id)?;
        let days = row.back_in_days.as_ref().filter(|_| row.state == Some(PartState::Out))?;
        Some((part, Time::days(i64::from(days.value))))
    });
    Calendar { sessions, arrivals: arrivals.collect() }
}

/// Whether a weekly session falls on a day; `every 2` counts from the first such day.
fn falls_on(weekly: Weekly, day: Day, ahead: u32) -> bool {
    weekly.day == day.weekday() && (ahead / 7).is_multiple_of(weekly.every.max(1))
}

/// When it is done, as evenings go. Parts still out hold up what needs them until they are back.
fn finish(ready: &Ready, plan: &Plan) -> Option<Finding> {
    let (rows, start) = calendar_of(ready.car)?;
    let mut out = Ready {
        car: ready.car,
        work: ready.work.clone(),
        geometry: ready.geometry.clone(),
        state: ready.state.clone(),
        safety: ready.safety.clone(),
        gates: ready.gates.clone(),
        unknown: ready.unknown.clone(),
        yielded: ready.yielded.clone(),
    };
    if ready.state.missing().is_empty() {
        // Nothing was said of parts: those the file calls out come when it says.
        let have = super::parts_at_hand(ready.car);
        let absent = ready.car.parts.iter().map(|part| part.id.value.as_str());
        let absent: Vec<&str> = absent.filter(|id| !have.iter().any(|had| had == id)).collect();
        let done: Vec<String> = ready.state.done().iter().map(|task| ready.id(*task)).collect();
        let done: Vec<&str> = done.iter().map(String::as_str).collect();
        out.state = axlewright_planning::State::named(&ready.work, &done, &absent).ok()?;
    }
    let calendar = calendar(&out, rows, start);
    let mut order = plan.order();
    order.extend(&plan.waiting);
    let laid = schedule(&out.work, &out.state, &order, &calendar).ok()?;
    Some(finish_finding(&out, start, &calendar, &laid, &order))
}

fn moment(start: Day, at: Time) -> String {
    let minutes = at.to_minutes_up();
    let days = u32::try_from(minutes / (24 * 60)).unwrap_or(0);
    let day = Day::from_number(start.number() + days);
    let of_day = minutes % (24 * 60);
    let day = day.map_or(String::new(), |day| format!("{} {day}", day.weekday()));
    format!("{day} {:02}:{:02}", of_day / 60, of_day % 60)
}

fn finish_finding(
    ready: &Ready,
    start: Day,
    calendar: &Calendar,
    laid: &Schedule,
    order: &[usize],
) -> Finding {
    let chain = laid.chain.iter().filter_map(|&at| laid.slots.get(at)).map(|slot| {
        let cause = match slot.cause {
            Cause::Begin => "the beginning".to_owned(),
            Cause::Task(task) => format!("after `{}`", ready.id(task)),
            Cause::Session => "the next session".to_owned(),
            Cause::People => "a session with two people".to_owned(),
            Cause::Part(part) => {
                let words = ready.work.parts().get(part).map(|part| part.words.clone());
                format!("the {} coming back", words.unwrap_or_default())
            }
        };
        Item::Object(vec![
            ("step", Item::Word(ready.id(slot.task))),
            ("begins", Item::Word(moment(start, slot.start))),
            ("waits_for", Item::Word(cause)),
        ])
    });
    let floats = calendar.arrivals.iter().filter_map(|&(part, comes)| {
        let float = part_float(&ready.work, &ready.state, order, calendar, part).ok()??;
        let id = ready.work.parts().get(part)?.id.clone();
        Some(Item::Object(vec![
            ("part", Item::Word(id)),
            ("comes", Item::Word(moment(start, comes))),
            ("may_be_later_by", Item::Count(float.to_minutes_up() / (24 * 60), "days")),
        ]))
    });
    let sessions: std::collections::BTreeSet<usize> =
        laid.slots.iter().map(|slot| slot.session).collect();
    let date = laid.finish().map(|finish| moment(start, finish));
    let words = date.as_ref().map_or_else(
        || {
            format!(
                "{} steps are not reached: a part never comes, or no session has people enough.",
                laid.unreached.len()
            )
        },
        |date| {
            format!(
                "Done on {date}, after {} sessions, if every step takes its time.",
                sessions.len()
            )
        },
    );
    let value = Item::Object(vec![
        ("date", maybe_word(date.as_ref())),
        ("sessions", Item::Count(i64::try_from(sessions.len()).unwrap_or(0), "sessions")),
        ("chain", Item::List(chain.collect())),
        ("part_floats", Item::List(floats.collect())),
        ("unreached", ready.ids(&laid.unreached)),
    ]);
    let mut found = finding("order.finish", value, words, "docs/method.md, order of work");
    found.why.formula =
        "steps in the plan's order, each begun only where a session has room for it";
    found
}

pub(super) fn why(ready: &Ready, step: &str) -> Result<Finding, String> {
    let task = ready.work.task(step).ok_or_else(|| format!("no step is called `{step}`"))?;
    let chain = planning_why(&ready.work, task);
    let links = chain.iter().filter_map(|&at| ready.work.links().get(at));
    let chain = links.map(|link| arc_item(ready, link)).collect();
    let direct = ready.work.links().iter().filter(|link| link.after == task);
    let direct: Vec<Item> = direct.map(|link| arc_item(ready, link)).collect();
    let needed = |item: &&Item| item.get("implied") == Some(&Item::Flag(false));
    let words = match direct.iter().filter(needed).count() {
        0 => format!("Nothing has to come before `{step}`: it may be done at any time."),
        1 => format!("One thing has to come right before `{step}`, with all that comes before it."),
        many => format!("{many} things have to come before `{step}`, with all before them."),
    };
    let value = Item::Object(vec![("direct", Item::List(direct)), ("chain", Item::List(chain))]);
    let mut found = finding("order.why", value, words, NETWORK);
    found.of = Some(Subject::Step(step.to_owned()));
    Ok(found)
}

/// The done steps that have to be undone to be at a step or a part.
fn way_to(ready: &Ready, what: &str) -> Result<Vec<usize>, String> {
    let done = ready.state.done();
    if let Some(task) = ready.work.task(what) {
        return if done.contains(&task) {
            Ok(vec![task])
        } else {
            Err(format!("`{what}` is not done yet, so there is nothing to undo"))
        };
    }
    if ready.work.part(what).is_none() {
        return Err(format!("neither a step nor a part is called `{what}`"));
    }
    let uses = |task: &&usize| {
        let task = **task;
        let fitted = ready.work.tasks().get(task).is_some_and(|t| t.undo != Undo::Nothing);
        let on_the_car = ready.step(task).is_some_and(|step| {
            !matches!(
                step.phase,
                Phase::BeforeStripDown | Phase::StripDown | Phase::InspectAndOrder | Phase::DryRun
            ) && step.needs.iter().any(|part| part.value == what)
        });
        fitted && on_the_car
    };
    let tasks: Vec<usize> = done.iter().filter(uses).copied().collect();
    if tasks.is_empty() { Err(format!("`{what}` is not fitted yet: take it")) } else { Ok(tasks) }
}

pub(super) fn back_out(
    ready: &Ready,
    effort: Effort,
    what: &str,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Result<Finding, String> {
    let way = way_to(ready, what)?;
    let found = planning_back_out(&ready.work, &ready.state, &[way], effort, ask);
    let found = found.map_err(|error| error.to_string())?;
    let list = |stops: &[Stop]| Item::List(stops.iter().map(|stop| ready.stop(stop)).collect());
    let words = format!(
        "To be at `{what}`: undo {} steps ({}), and afterwards do {} again ({}).",
        found.undo.len(),
        span_words(found.undo_time),
        found.again.len(),
        span_words(found.again_time),
    );
    let value = Item::Object(vec![
        ("caution", Item::Word(cautions::UNDOING.words())),
        ("undo", ready.undo(&found.undo)),
        ("undo_minutes", whole_minutes(found.undo_time)),
        ("again", list(&found.again)),
        ("again_minutes", whole_minutes(found.again_time)),
    ]);
    Ok(finding("order.back-out", value, words, NETWORK))
}
