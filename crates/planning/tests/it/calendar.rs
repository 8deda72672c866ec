//! Evenings, parts on their way and steps for two, on work small enough to lay out by hand.

use crate::common::{Chance, invented};
use axlewright_planning::{
    Arc, Calendar, CalendarError, Cause, Control, Draft, Effort, Part, Reason, Session, State,
    Task, Time, Work, part_float, plan, schedule,
};

/// Evenings of three hours, day after day at six; two people on every third.
fn evenings(count: i64) -> Vec<Session> {
    let one = |day: i64| Session {
        start: Time::days(day) + Time::hours(18),
        length: Time::hours(3),
        people: if day % 3 == 2 { 2 } else { 1 },
    };
    (0..count).map(one).collect()
}

fn draft() -> Draft {
    let mut draft = Draft {
        parts: vec![Part { id: "bush".into(), words: "a bush".into() }],
        ..Draft::default()
    };
    draft.tasks = vec![
        Task::new("a", "clean", Time::minutes(100)),
        Task::new("b", "measure", Time::minutes(100)),
        Task::new("c", "press", Time::minutes(30)).with("bush"),
        Task { people: 2, ..Task::new("d", "lift", Time::minutes(20)) },
        Task::new("e", "paint the frame", Time::minutes(400)),
    ];
    draft.arcs = vec![Arc::new("c", "d", Reason::Part, "it is lifted whole")];
    draft
}

#[test]
fn laid_out_by_hand() {
    let work = Work::new(draft()).unwrap();
    let state = State::named(&work, &[], &["bush"]).unwrap();
    let bush = Time::days(3) + Time::hours(19);
    let calendar = Calendar { sessions: evenings(9), arrivals: vec![(0, bush)] };
    let order = [0, 1, 2, 3, 4];
    let found = schedule(&work, &state, &order, &calendar).unwrap();
    let slots: Vec<(usize, Time, Time)> =
        found.slots.iter().map(|s| (s.task, s.start, s.finish)).collect();
    let at = |day, hours: i64, minutes| {
        Time::days(day) + Time::hours(18 + hours) + Time::minutes(minutes)
    };
    // a fits the first evening, b no longer; e is longer than any evening, so it is begun at once
    // and runs on; then b; c waits for the bush and d for two people.
    let want = [
        (0, at(0, 0, 0), at(0, 1, 40)),
        (4, at(0, 1, 40), at(2, 2, 20)),
        (1, at(3, 0, 0), at(3, 1, 40)),
        (2, at(3, 1, 40), at(3, 2, 10)),
        (3, at(5, 0, 0), at(5, 0, 20)),
    ];
    assert_eq!(slots, want);
    let causes: Vec<Cause> = found.slots.iter().map(|slot| slot.cause).collect();
    assert_eq!(
        causes,
        [Cause::Begin, Cause::Task(0), Cause::Session, Cause::Task(1), Cause::People]
    );
    assert_eq!(found.finish(), Some(at(5, 0, 20)));
    assert_eq!(found.chain, [4], "only the lift decides: it waits for two people");
    // The bush may come at the start of the fifth evening; on the sixth, when two are there, the
    // pressing would come before the lift and the end half an hour later.
    let float = part_float(&work, &state, &order, &calendar, 0).unwrap();
    assert_eq!(float, Some(Time::hours(23)));
}

#[test]
fn a_part_that_never_comes_leaves_work_unreached() {
    let work = Work::new(draft()).unwrap();
    let state = State::named(&work, &[], &["bush"]).unwrap();
    let calendar = Calendar { sessions: evenings(9), arrivals: Vec::new() };
    let found = schedule(&work, &state, &[0, 1, 2, 3, 4], &calendar).unwrap();
    assert_eq!(found.unreached, [2, 3]);
    assert_eq!(found.finish(), None);
}

#[test]
fn every_mistake_at_once() {
    let work = Work::new(draft()).unwrap();
    let one = Session { start: Time::hours(1), length: Time::hours(2), people: 1 };
    let none = Session { start: Time::hours(2), length: Time::ZERO, people: 1 };
    let calendar = Calendar { sessions: vec![one, none], arrivals: vec![(7, Time::ZERO)] };
    let errors = schedule(&work, &State::fresh(&work), &[], &calendar).unwrap_err();
    assert_eq!(
        errors,
        [
            CalendarError::Length { at: 1, length: Time::ZERO },
            CalendarError::Overlap { at: 1 },
            CalendarError::Part { at: 0, part: 7 },
        ]
    );
}

/// Whatever the work: no two tasks at once, arcs and arrivals kept, nothing outside a session.
#[test]
fn every_layout_is_possible() {
    let mut chance = Chance::new(31);
    for seed in 1..30 {
        let work = Work::new(invented(24, seed)).unwrap();
        let mut state = State::fresh(&work);
        let ids: Vec<&str> = work.parts().iter().map(|part| part.id.as_str()).collect();
        if !ids.is_empty() {
            state = State::named(&work, &[], &ids).unwrap();
        }
        let day = |_| Time::days(chance.below(12) as i64);
        let arrivals: Vec<(usize, Time)> = (0..ids.len()).map(day).enumerate().collect();
        let calendar = Calendar { sessions: evenings(30), arrivals: arrivals.clone() };
        let all = State::fresh(&work);
        let order = plan(&work, &all, None, Effort::of(3_000), &mut |_| Control::Go).order();
        let found = schedule(&work, &state, &order, &calendar).unwrap();
        assert_eq!(found.slots.len(), 24);
        for pair in found.slots.windows(2) {
            assert!(pair[0].finish <= pair[1].start);
        }
        let at = |task: usize| found.slots.iter().find(|slot| slot.task == task).unwrap();
        for link in work.links() {
            assert!(at(link.before).finish <= at(link.after).start);
        }
        for slot in &found.slots {
            let session = calendar.sessions[slot.session];
            assert!(slot.split || slot.finish <= session.start + session.length);
            assert!(session.start <= slot.start);
            for part in &work.tasks()[slot.task].parts {
                assert!(arrivals[work.part(part).unwrap()].1 <= slot.start);
            }
        }
    }
}

/// One pair of hands that never rests while there is something to do: the end is the latest of
/// "from this arrival on, all that comes then or later", a bound that such work meets (one machine
/// with release dates, textbook). Whatever the order, parts on their way alone decide it.
#[test]
fn the_end_is_what_arrivals_and_hands_allow() {
    let mut chance = Chance::new(77);
    for _ in 0..300 {
        let len = 1 + chance.below(12);
        let mut draft = Draft::default();
        let mut arrivals = Vec::new();
        for at in 0..len {
            let id = format!("part {at}");
            draft.parts.push(Part { id: id.clone(), words: id.clone() });
            let time = Time::minutes(chance.below(90) as i64);
            draft.tasks.push(Task::new(&format!("task {at}"), "some work", time).with(&id));
            arrivals.push((at, Time::minutes(chance.below(400) as i64)));
        }
        let onward = |&(_, from): &(usize, Time)| {
            let later = arrivals.iter().filter(|(_, comes)| from <= *comes);
            from + later.map(|&(part, _)| draft.tasks[part].time).sum()
        };
        let end = arrivals.iter().map(onward).max();
        let work = Work::new(draft.clone()).unwrap();
        let ids: Vec<&str> = draft.parts.iter().map(|part| part.id.as_str()).collect();
        let state = State::named(&work, &[], &ids).unwrap();
        let session = Session { start: Time::ZERO, length: Time::days(9), people: 1 };
        let mut order: Vec<usize> = (0..len).collect();
        (1..len).for_each(|at| order.swap(at, chance.below(at + 1)));
        let calendar = Calendar { sessions: vec![session], arrivals: arrivals.clone() };
        let found = schedule(&work, &state, &order, &calendar).unwrap();
        assert_eq!(found.finish(), end, "{arrivals:?}");
    }
}
