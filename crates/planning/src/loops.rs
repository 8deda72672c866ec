//! Arcs that contradict each other: the shortest round of reasons, and the cheapest way out.

use crate::time::Time;
use crate::work::{Link, Reason, Task};

/// What it costs to give up an arc of geometry for which no way round is known, in seconds: longer
/// than any way round.
const GIVE_UP: i64 = 36_000_000;
/// Arcs looked at before the cheapest way out is called good instead of cheapest.
const LOOKS_MAX: u64 = 200_000_000;

/// A contradiction, explained.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WayOut {
    /// A shortest loop: each arc leads to the next one's first task, the last to the first's. Where
    /// nothing opens all of them, one that nothing opens.
    pub shortest: Vec<Link>,
    /// Arcs to give up so that no loop is left, the least costly set; none where no set does. What
    /// somebody says, what holds a part and what keeps a hand safe is never among them.
    pub give_up: Vec<Link>,
    /// Whether no cheaper set exists; false only for very tangled work.
    pub cheapest: bool,
    /// Both, in words.
    pub words: String,
}

/// `None` where there is no loop.
pub(crate) fn way_out(tasks: &[Task], links: &[Link]) -> Option<WayOut> {
    let all = |round: Vec<usize>| round.into_iter().map(|at| links[at].clone()).collect();
    let priced: Vec<bool> = links.iter().map(|link| price(link).is_some()).collect();
    if let Some(round) = shortest_loop(tasks.len(), links, &priced) {
        let shortest: Vec<Link> = all(round);
        let words = words(&shortest, &[]);
        return Some(WayOut { shortest, give_up: Vec::new(), cheapest: true, words });
    }
    let given_up = vec![false; links.len()];
    let shortest = all(shortest_loop(tasks.len(), links, &given_up)?);
    let mut search = Search { len: tasks.len(), links, given_up, best: None, looks: 0 };
    search.branch(0);
    let set = search.best.map(|(_, set)| set).unwrap_or_default();
    let give_up: Vec<Link> =
        links.iter().zip(&set).filter(|(_, up)| **up).map(|(link, _)| link.clone()).collect();
    let words = words(&shortest, &give_up);
    Some(WayOut { shortest, give_up, cheapest: search.looks < LOOKS_MAX, words })
}

/// What it costs to be without an arc; nothing for one that is not for sale: what somebody says,
/// what a part needs, and all that keeps a hand safe.
pub(crate) fn price(link: &Link) -> Option<i64> {
    match link.arc.reason {
        Reason::Said | Reason::Part | Reason::Safety => None,
        Reason::Geometry => Some(link.arc.way_out.map_or(GIVE_UP, Time::to_seconds)),
    }
}

/// Branch and bound: every set of arcs that leaves no loop has one arc of the shortest loop.
struct Search<'a> {
    len: usize,
    links: &'a [Link],
    given_up: Vec<bool>,
    best: Option<(i64, Vec<bool>)>,
    looks: u64,
}

impl Search<'_> {
    fn branch(&mut self, paid: i64) {
        let known = self.best.as_ref().map_or(i64::MAX, |&(price, _)| price);
        let enough = self.looks >= LOOKS_MAX && self.best.is_some();
        if paid >= known || enough {
            return;
        }
        self.looks += (self.len * (self.links.len() + 1)) as u64;
        let Some(mut round) = shortest_loop(self.len, self.links, &self.given_up) else {
            self.best = Some((paid, self.given_up.clone()));
            return;
        };
        round.retain(|&at| price(&self.links[at]).is_some());
        round.sort_by_key(|&at| price(&self.links[at]));
        for at in round {
            let more = price(&self.links[at]).unwrap_or(0);
            self.given_up[at] = true;
            self.branch(paid + more);
            self.given_up[at] = false;
        }
    }
}

/// The arcs of a shortest loop, by a search outward from each task.
fn shortest_loop(len: usize, links: &[Link], given_up: &[bool]) -> Option<Vec<usize>> {
    let mut out = vec![Vec::new(); len];
    for (at, link) in links.iter().enumerate().filter(|(at, _)| !given_up[*at]) {
        out[link.before].push(at);
    }
    let mut best: Option<Vec<usize>> = None;
    for start in 0..len {
        let longest = best.as_ref().map_or(len + 1, Vec::len);
        if let Some(found) = loop_from(start, links, &out, longest) {
            best = Some(found);
        }
    }
    best
}

/// A loop through `start` of fewer than `longest` arcs.
fn loop_from(
    start: usize,
    links: &[Link],
    out: &[Vec<usize>],
    longest: usize,
) -> Option<Vec<usize>> {
    let mut by: Vec<Option<usize>> = vec![None; out.len()];
    let (mut ring, mut depth) = (vec![start], 0);
    while !ring.is_empty() && depth + 1 < longest {
        depth += 1;
        let mut next = Vec::new();
        for &task in &ring {
            for &at in &out[task] {
                let to = links[at].after;
                if to == start {
                    let mut found = vec![at];
                    let mut here = task;
                    while here != start {
                        let back = by[here]?;
                        found.push(back);
                        here = links[back].before;
                    }
                    found.reverse();
                    return Some(found);
                }
                if by[to].is_none() {
                    by[to] = Some(at);
                    next.push(to);
                }
            }
        }
        ring = next;
    }
    None
}

fn words(shortest: &[Link], give_up: &[Link]) -> String {
    let one = |link: &Link| {
        let Link { arc, .. } = link;
        format!("'{}' before '{}' ({}: {})", arc.before, arc.after, arc.reason.word(), arc.words)
    };
    let round: Vec<String> = shortest.iter().map(one).collect();
    let out: Vec<String> = give_up
        .iter()
        .map(|link| match link.arc.way_out {
            Some(time) => format!("get round {}, {time}", one(link)),
            None => format!("give up {}", one(link)),
        })
        .collect();
    let out = match out.is_empty() {
        true => "Nothing of it can be given up".to_owned(),
        false => format!("The cheapest way out: {}", out.join("; ")),
    };
    format!("these contradict each other: {}. {out}", round.join("; "))
}
