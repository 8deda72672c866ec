//! Arcs that contradict each other: the loop reported is a shortest one, the way out a cheapest.

use crate::common::Chance;
use axlewright_planning::{Arc, Draft, Reason, Task, Time, WayOut, Work, WorkError};

fn draft(len: usize, arcs: Vec<Arc>) -> Draft {
    let task = |at: usize| Task::new(&format!("t{at}"), "words", Time::minutes(1));
    Draft { tasks: (0..len).map(task).collect(), arcs, ..Draft::default() }
}

fn arc(a: usize, b: usize, reason: Reason, way_out: Option<i64>) -> Arc {
    let words = format!("reason {a}-{b}");
    let arc = Arc::new(&format!("t{a}"), &format!("t{b}"), reason, &words);
    Arc { way_out: way_out.map(Time::seconds), ..arc }
}

fn way_out(draft: Draft) -> Option<WayOut> {
    match Work::new(draft) {
        Ok(_) => None,
        Err(errors) => errors.into_iter().find_map(|e| match e {
            WorkError::Loop(way) => Some(way),
            _ => None,
        }),
    }
}

#[test]
fn geometry_alone_is_given_up() {
    let loop_of = |last: Reason| {
        way_out(draft(
            4,
            vec![
                arc(0, 1, Reason::Geometry, None),
                arc(1, 2, Reason::Part, Some(1)),
                arc(2, 0, last, Some(1)),
                arc(2, 3, Reason::Said, None),
            ],
        ))
        .unwrap()
    };
    for last in [Reason::Said, Reason::Part, Reason::Safety] {
        let way = loop_of(last);
        assert_eq!(way.shortest.len(), 3);
        assert_eq!(way.give_up.len(), 1);
        assert_eq!((way.give_up[0].before, way.give_up[0].after), (0, 1), "{last:?}");
        assert!(way.cheapest);
        let end = "give up 't0' before 't1' (geometry: reason 0-1)";
        assert!(way.words.ends_with(end), "{}", way.words);
    }
}

/// What is said against what keeps a hand safe: nothing is offered, not even for a price.
#[test]
fn where_nothing_is_for_sale_nothing_is_offered() {
    let way = way_out(draft(
        4,
        vec![
            arc(0, 1, Reason::Geometry, Some(1)),
            arc(1, 0, Reason::Geometry, Some(1)),
            arc(1, 2, Reason::Safety, Some(1)),
            arc(2, 3, Reason::Part, Some(1)),
            arc(3, 1, Reason::Said, Some(1)),
        ],
    ))
    .unwrap();
    assert_eq!(way.give_up, []);
    // The loop that nothing opens is told, not the shorter one that something would.
    assert!(way.shortest.iter().all(|link| link.arc.reason != Reason::Geometry));
    assert!(way.words.ends_with("Nothing of it can be given up"), "{}", way.words);
}

#[test]
fn a_known_way_round_is_taken_when_cheaper() {
    let arcs = vec![arc(0, 1, Reason::Geometry, Some(600)), arc(1, 0, Reason::Said, None)];
    let way = way_out(draft(2, arcs)).unwrap();
    assert_eq!(way.give_up[0].before, 0);
    assert!(way.words.contains("get round 't0' before 't1'"), "{}", way.words);
    assert!(way.words.contains("10 min"), "{}", way.words);
}

/// Whether the arcs kept go round, by taking off tasks nothing waits before.
fn loops(len: usize, arcs: &[(usize, usize)]) -> bool {
    let mut left: Vec<usize> = (0..len).collect();
    loop {
        let free = |t: &usize| !arcs.iter().any(|(a, b)| b == t && left.contains(a));
        match left.iter().position(free) {
            Some(at) => drop(left.remove(at)),
            None => return !left.is_empty(),
        }
    }
}

#[test]
fn cheapest_way_out_against_every_set_of_arcs() {
    let mut chance = Chance::new(21);
    let mut met = 0;
    for _ in 0..400 {
        let len = 3 + chance.below(4);
        let mut arcs = Vec::new();
        for _ in 0..3 + chance.below(8) {
            let (a, b) = (chance.below(len), chance.below(len));
            if a != b {
                arcs.push(arc(a, b, Reason::Geometry, Some(1 + chance.below(9) as i64)));
            }
        }
        let ends = |arc: &Arc| {
            (arc.before[1..].parse().unwrap(), arc.after[1..].parse::<usize>().unwrap())
        };
        let pairs: Vec<(usize, usize)> = arcs.iter().map(ends).collect();
        let price = |arc: &Arc| arc.way_out.unwrap().to_seconds();
        let mut least = i64::MAX;
        for mask in 0..1_u32 << arcs.len() {
            let kept: Vec<_> = (0..arcs.len()).filter(|at| mask >> at & 1 == 1).collect();
            let gone: i64 =
                (0..arcs.len()).filter(|at| mask >> at & 1 == 0).map(|at| price(&arcs[at])).sum();
            let kept: Vec<_> = kept.iter().map(|&at| pairs[at]).collect();
            if gone < least && !loops(len, &kept) {
                least = gone;
            }
        }
        match way_out(draft(len, arcs.clone())) {
            None => assert_eq!(least, 0),
            Some(way) => {
                met += 1;
                let paid: i64 = way.give_up.iter().map(|link| price(&link.arc)).sum();
                assert_eq!(paid, least);
                let round = &way.shortest;
                for (at, link) in round.iter().enumerate() {
                    assert_eq!(link.after, round[(at + 1) % round.len()].before);
                }
                assert_eq!(round.len(), girth(len, &pairs));
            }
        }
    }
    assert!(met > 100, "{met}");
}

/// Length of a shortest loop, by powers of the adjacency matrix.
fn girth(len: usize, pairs: &[(usize, usize)]) -> usize {
    let mut reach: Vec<Vec<bool>> = vec![vec![false; len]; len];
    pairs.iter().for_each(|&(a, b)| reach[a][b] = true);
    let one = reach.clone();
    for power in 1..=len {
        if (0..len).any(|i| reach[i][i]) {
            return power;
        }
        let step = |i: usize, j: usize| (0..len).any(|k| reach[i][k] && one[k][j]);
        reach = (0..len).map(|i| (0..len).map(|j| step(i, j)).collect()).collect();
    }
    usize::MAX
}
