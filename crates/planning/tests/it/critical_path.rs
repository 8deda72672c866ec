//! Critical paths as printed, against what a person is told: when each step is done, when the whole
//! is, and how much later a part may come.
//!
//! The hands do the critical path, one step after the other. What runs beside it in the printed
//! network is done by others: it is a part that comes when the last of it is finished, for the step
//! that follows it. So the printed dates of the critical path are those of the steps, the printed
//! end is the end, and the printed total float is how much later that part may come.

use axlewright_planning::{
    Arc, Calendar, Draft, Part, Reason, Session, State, Task, Time, Work, part_float, schedule,
};

/// Name, time, what it follows, then early start, early finish and total float.
type Row = (&'static str, i64, &'static str, [i64; 3]);

/// A printed network as work: critical activities are steps, the last ones of every other path
/// are parts.
struct Printed<'a> {
    rows: &'a [Row],
    work: Work,
    state: State,
    calendar: Calendar,
}

impl<'a> Printed<'a> {
    fn new(rows: &'a [Row]) -> Self {
        let critical = |name: &str| rows.iter().any(|row| row.0 == name && row.3[2] == 0);
        let mut draft = Draft::default();
        let mut arrivals = Vec::new();
        for (name, hours, follows, [_, finish, float]) in rows {
            if *float > 0 {
                // Others' work that only others wait for comes with theirs.
                if rows.iter().any(|row| row.2.contains(name) && row.3[2] == 0) {
                    let id = (*name).to_owned();
                    arrivals.push((draft.parts.len(), Time::hours(*finish)));
                    draft.parts.push(Part { words: id.clone(), id });
                }
                continue;
            }
            let mut task = Task::new(name, "as printed", Time::hours(*hours));
            for before in follows.chars().map(String::from) {
                if critical(&before) {
                    draft.arcs.push(Arc::new(&before, name, Reason::Said, "as printed"));
                } else {
                    task = task.with(&before);
                }
            }
            draft.tasks.push(task);
        }
        let ids: Vec<String> = draft.parts.iter().map(|part| part.id.clone()).collect();
        let work = Work::new(draft).unwrap();
        let missing: Vec<&str> = ids.iter().map(String::as_str).collect();
        let state = State::named(&work, &[], &missing).unwrap();
        // Hour after hour without a break: a float is told in sessions.
        let hour = |at| Session { start: Time::hours(at), length: Time::hours(1), people: 1 };
        let calendar = Calendar { sessions: (0..100).map(hour).collect(), arrivals };
        Self { rows, work, state, calendar }
    }

    fn order(&self) -> Vec<usize> {
        (0..self.work.tasks().len()).collect()
    }

    fn check(&self, end: i64) {
        let found = schedule(&self.work, &self.state, &self.order(), &self.calendar).unwrap();
        let mut told = found.slots.iter();
        for (name, _, _, [start, finish, _]) in self.rows.iter().filter(|row| row.3[2] == 0) {
            let slot = told.next().unwrap();
            assert_eq!(self.work.tasks()[slot.task].id, *name);
            assert_eq!([slot.start, slot.finish], [start, finish].map(|at| Time::hours(*at)));
        }
        assert_eq!(found.finish(), Some(Time::hours(end)));
        assert_eq!(found.chain.len(), found.slots.len(), "every step decides the end");
        assert!(!self.work.parts().is_empty());
        for (part, printed) in self.work.parts().iter().enumerate() {
            let row = self.rows.iter().find(|row| row.0 == printed.id).unwrap();
            assert_eq!(self.float(part), Time::hours(row.3[2]), "{}", row.0);
        }
    }

    fn float(&self, part: usize) -> Time {
        let order = self.order();
        part_float(&self.work, &self.state, &order, &self.calendar, part).unwrap().unwrap()
    }
}

/// "Critical path method", Example 1, studylib.net/doc/8378728: end after 16 h, critical
/// A-B-D-E-G.
#[test]
fn seven_activities() {
    let rows: &[Row] = &[
        ("A", 6, "", [0, 6, 0]),
        ("B", 2, "A", [6, 8, 0]),
        ("C", 2, "A", [6, 8, 1]),
        ("D", 3, "B", [8, 11, 0]),
        ("F", 2, "C", [8, 10, 1]),
        ("E", 4, "DF", [11, 15, 0]),
        ("G", 1, "E", [15, 16, 0]),
    ];
    Printed::new(rows).check(16);
}

/// slideplayer.com/slide/3283910, first network: the dates are printed; what follows what is
/// inferred from them, and the floats derived.
#[test]
fn eleven_activities() {
    let rows: &[Row] = &[
        ("A", 4, "", [0, 4, 0]),
        ("B", 6, "A", [4, 10, 0]),
        ("C", 3, "A", [4, 7, 18]),
        ("D", 6, "B", [10, 16, 0]),
        ("E", 14, "D", [16, 30, 0]),
        ("F", 5, "C", [7, 12, 18]),
        ("G", 2, "EF", [30, 32, 0]),
        ("H", 2, "G", [32, 34, 1]),
        ("I", 3, "G", [32, 35, 0]),
        ("J", 4, "HI", [35, 39, 0]),
        ("K", 2, "J", [39, 41, 0]),
    ];
    Printed::new(rows).check(41);
}

/// slideplayer.com/slide/3283910, second network (dates printed, floats derived).
#[test]
fn eight_activities() {
    let rows: &[Row] = &[
        ("A", 4, "", [0, 4, 0]),
        ("B", 3, "A", [4, 7, 3]),
        ("C", 5, "A", [4, 9, 0]),
        ("D", 2, "A", [4, 6, 3]),
        ("E", 5, "BC", [9, 14, 1]),
        ("F", 6, "CD", [9, 15, 0]),
        ("G", 4, "EF", [15, 19, 0]),
        ("H", 3, "G", [19, 22, 0]),
    ];
    Printed::new(rows).check(22);
}

/// St John's hospital (path lengths and the end after 69 weeks seen; times of the activities from
/// memory of Krajewski and Ritzman, they give all five printed path lengths; floats derived).
#[test]
fn eleven_activities_of_a_hospital() {
    let rows: &[Row] = &[
        ("B", 9, "", [0, 9, 0]),
        ("A", 12, "", [0, 12, 2]),
        ("C", 10, "A", [12, 22, 2]),
        ("D", 10, "B", [9, 19, 0]),
        ("E", 24, "B", [9, 33, 26]),
        ("F", 10, "A", [12, 22, 41]),
        ("G", 35, "C", [22, 57, 2]),
        ("H", 40, "D", [19, 59, 0]),
        ("I", 15, "A", [12, 27, 36]),
        ("J", 4, "EGH", [59, 63, 0]),
        ("K", 6, "FIJ", [63, 69, 0]),
    ];
    Printed::new(rows).check(69);
}

/// NAVEDTRA 14233, activity 1020: early start 3, early finish 10, late start 5; the next starts at
/// 11 with no wait between, so free float 1 and total float 2. Here days are hours; the activity is
/// a part, "next" the step that needs it, and what makes the next start at 11 is work of the hands.
#[test]
fn free_float_of_activity_1020() {
    let part = |id: &str| Part { id: id.to_owned(), words: "as printed".to_owned() };
    let mut draft = Draft {
        parts: vec![part("1020"), part("longer way")],
        tasks: vec![
            Task::new("until 11", "work of the hands", Time::hours(11)),
            Task::new("next", "needs activity 1020", Time::hours(4)).with("1020"),
            Task::new("end", "a day after the next", Time::ZERO).with("longer way"),
        ],
        ..Draft::default()
    };
    let float = |draft: &Draft, arrivals: Vec<(usize, Time)>| {
        let work = Work::new(draft.clone()).unwrap();
        let state = State::named(&work, &[], &["1020", "longer way"]).unwrap();
        let hour = |at| Session { start: Time::hours(at), length: Time::hours(1), people: 1 };
        let calendar = Calendar { sessions: (0..40).map(hour).collect(), arrivals };
        let found = schedule(&work, &state, &[0, 1, 2], &calendar).unwrap();
        assert_eq!(found.slots[1].start, Time::hours(11));
        part_float(&work, &state, &[0, 1, 2], &calendar, 0).unwrap()
    };
    let arrivals = vec![(0, Time::hours(10)), (1, Time::hours(16))];
    assert_eq!(float(&draft, arrivals), Some(Time::hours(2)), "total float");
    // With nothing after the next, its start is the end that must not move.
    draft.tasks[1].time = Time::ZERO;
    draft.tasks[2].parts.clear();
    assert_eq!(float(&draft, vec![(0, Time::hours(10))]), Some(Time::hours(1)), "free float");
}
