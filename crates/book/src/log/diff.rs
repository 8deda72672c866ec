//! What changed from one text to another, line by line.
//!
//! The shortest way from the one to the other, lines taken out and put in, after E. W. Myers,
//! Algorithmica 1 (1986): row `d` holds how far along each diagonal one comes with `d` lines
//! changed. Where that would take too long, because hardly a line has stayed, the whole middle is
//! taken out and put in.

use std::collections::HashMap;
use std::fmt;

/// Most lines changed for which the shortest way is looked for: 9 MB and some milliseconds.
const FARTHEST: usize = 1_500;
/// Lines left as they were that are shown round a change.
const ROUND: usize = 2;

/// What became of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Change {
    /// It stayed.
    Same,
    /// It was taken out.
    Out,
    /// It was put in.
    In,
}

/// A line of the old text, of the new one, or of both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DiffLine<'t> {
    /// What became of it.
    pub change: Change,
    /// Its number in the old text, from 1.
    pub old: Option<usize>,
    /// Its number in the new text, from 1.
    pub new: Option<usize>,
    /// Its words, without the line's end.
    pub text: &'t str,
}

/// All lines of two texts, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diff<'t> {
    /// The lines.
    pub lines: Vec<DiffLine<'t>>,
}

/// What changed from one text to another. How a line ends does not count.
///
/// # Valid for
/// Any texts. The way is the shortest while at most 1500 lines changed.
pub fn diff<'t>(old: &'t str, new: &'t str) -> Diff<'t> {
    let (old, new): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let front = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let rest = old.len().min(new.len()) - front;
    let ends = old.iter().rev().zip(new.iter().rev());
    let back = ends.take(rest).take_while(|(a, b)| a == b).count();
    let middle = |lines: &[&'t str]| {
        lines.get(front..lines.len() - back).map(<[&str]>::to_vec).unwrap_or_default()
    };
    let (old_middle, new_middle) = (middle(&old), middle(&new));
    let same = std::iter::repeat_n(Change::Same, front);
    let changed = shortest(&old_middle, &new_middle).unwrap_or_else(|| {
        let out = std::iter::repeat_n(Change::Out, old_middle.len());
        out.chain(std::iter::repeat_n(Change::In, new_middle.len())).collect()
    });
    let steps = same.chain(changed).chain(std::iter::repeat_n(Change::Same, back));
    let (mut at_old, mut at_new) = (0, 0);
    let lines = steps.filter_map(|change| {
        let text = match change {
            Change::In => new.get(at_new),
            Change::Same | Change::Out => old.get(at_old),
        };
        at_old += usize::from(change != Change::In);
        at_new += usize::from(change != Change::Out);
        Some(DiffLine {
            change,
            old: (change != Change::In).then_some(at_old),
            new: (change != Change::Out).then_some(at_new),
            text: text?,
        })
    });
    Diff { lines: lines.collect() }
}

/// Each different line as a number, so that lines are compared at once.
fn numbered<'t>(lines: &[&'t str], known: &mut HashMap<&'t str, usize>) -> Vec<usize> {
    let mut number = |line: &&'t str| {
        let next = known.len();
        *known.entry(line).or_insert(next)
    };
    lines.iter().map(&mut number).collect()
}

/// The shortest way; nothing if it is longer than [`FARTHEST`].
fn shortest(old: &[&str], new: &[&str]) -> Option<Vec<Change>> {
    let mut known = HashMap::new();
    let (old, new) = (numbered(old, &mut known), numbered(new, &mut known));
    let (n, m) = (old.len(), new.len());
    let farthest = (n + m).min(FARTHEST);
    // How far along a diagonal the lines are the same.
    let slide = |mut x: usize, mut y: usize| {
        while let (Some(a), Some(b)) = (old.get(x), new.get(y))
            && a == b
        {
            (x, y) = (x + 1, y + 1);
        }
        x
    };
    // `rows[d][i]` is the farthest x on the diagonal x − y = 2i − d.
    let mut rows: Vec<Vec<u32>> = Vec::new();
    for d in 0..=farthest {
        let row: Vec<Option<usize>> = (0..=d)
            .map(|i| {
                let (x, _) = start(rows.last().map(Vec::as_slice), (d, i), (n, m))?;
                Some(slide(x, (x + d).checked_sub(2 * i)?))
            })
            .collect();
        let arrived = (0..=d).find(|i| row.get(*i) == Some(&Some(n)) && n + d == m + 2 * i);
        rows.push(row.iter().map(|x| x.map_or(NOWHERE, |x| x as u32)).collect());
        if let Some(i) = arrived {
            return way_back(&rows, d, i, (n, m));
        }
    }
    None
}

/// Stands for a diagonal on which there is no point.
const NOWHERE: u32 = u32::MAX;

fn point(row: &[u32], i: Option<usize>) -> Option<usize> {
    row.get(i?).filter(|x| **x != NOWHERE).map(|x| *x as usize)
}

/// Where the diagonal `i` of row `d` starts, and by which change: a line further in the old text
/// from the diagonal before, or in the new text from the one after, whichever is further along.
fn start(
    before: Option<&[u32]>,
    (d, i): (usize, usize),
    (n, m): (usize, usize),
) -> Option<(usize, Change)> {
    let Some(before) = before else { return Some((0, Change::Same)) };
    let inside = |x: &usize| *x <= n && (x + d).checked_sub(2 * i).is_some_and(|y| y <= m);
    let out = point(before, i.checked_sub(1)).map(|x| x + 1).filter(inside);
    let into = point(before, Some(i)).filter(inside);
    match (out, into) {
        (Some(out), into) if into.is_none_or(|into| into <= out) => Some((out, Change::Out)),
        (_, into) => into.map(|into| (into, Change::In)),
    }
}

fn way_back(
    rows: &[Vec<u32>],
    mut d: usize,
    mut i: usize,
    (n, m): (usize, usize),
) -> Option<Vec<Change>> {
    let mut way = Vec::with_capacity(n + m);
    let mut x = n;
    while 0 < d {
        let before = rows.get(d - 1)?;
        let (from, change) = start(Some(before), (d, i), (n, m))?;
        way.extend(std::iter::repeat_n(Change::Same, x.checked_sub(from)?));
        way.push(change);
        let back = usize::from(change == Change::Out);
        (x, i) = (from - back, i - back);
        d -= 1;
    }
    way.extend(std::iter::repeat_n(Change::Same, x));
    way.reverse();
    // Within one place, what is taken out comes before what is put in.
    for place in way.split_mut(|change| *change == Change::Same) {
        place.sort_by_key(|change| *change == Change::In);
    }
    Some(way)
}

impl<'t> Diff<'t> {
    /// Whether nothing changed.
    pub fn is_empty(&self) -> bool {
        self.lines.iter().all(|line| line.change == Change::Same)
    }

    /// Lines taken out, and lines put in.
    pub fn counts(&self) -> (usize, usize) {
        let of = |change| self.lines.iter().filter(|line| line.change == change).count();
        (of(Change::Out), of(Change::In))
    }

    /// The places where something changed, each with a few lines round it.
    pub fn places(&self) -> Vec<&[DiffLine<'t>]> {
        let mut places: Vec<(usize, usize)> = Vec::new();
        for (at, line) in self.lines.iter().enumerate() {
            if line.change == Change::Same {
                continue;
            }
            let (from, to) = (at.saturating_sub(ROUND), (at + 1 + ROUND).min(self.lines.len()));
            match places.last_mut() {
                Some((_, end)) if from <= *end => *end = to,
                _ => places.push((from, to)),
            }
        }
        places.into_iter().filter_map(|(from, to)| self.lines.get(from..to)).collect()
    }
}

impl fmt::Display for Diff<'_> {
    /// One line each: its number in the new text (in the old one, if it is gone), `+` for put in,
    /// `-` for taken out, and its words. A blank line stands between places.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, place) in self.places().into_iter().enumerate() {
            if 0 < i {
                writeln!(f)?;
            }
            for line in place {
                let mark = match line.change {
                    Change::Same => ' ',
                    Change::Out => '-',
                    Change::In => '+',
                };
                let number = line.new.or(line.old).unwrap_or_default();
                writeln!(f, "{}", format!("{number:>5} {mark} {}", line.text).trim_end())?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn old_of(diff: &Diff<'_>) -> Vec<String> {
        let own = diff.lines.iter().filter(|line| line.change != Change::In);
        own.map(|line| line.text.to_owned()).collect()
    }
    fn new_of(diff: &Diff<'_>) -> Vec<String> {
        let own = diff.lines.iter().filter(|line| line.change != Change::Out);
        own.map(|line| line.text.to_owned()).collect()
    }

    /// Length of the longest common subsequence, by the table everybody knows: another road.
    fn common(a: &[&str], b: &[&str]) -> usize {
        let mut table = vec![vec![0; b.len() + 1]; a.len() + 1];
        for (i, one) in a.iter().enumerate() {
            for (j, other) in b.iter().enumerate() {
                table[i + 1][j + 1] = if one == other {
                    table[i][j] + 1
                } else {
                    table[i + 1][j].max(table[i][j + 1])
                };
            }
        }
        table[a.len()][b.len()]
    }

    #[test]
    fn a_changed_line_is_shown_with_its_number() {
        let old = "format = 1\n\n[bar]\nlength = \"540 mm\"\nbore = \"0 mm\"\n";
        let new = "format = 1\n\n[bar]\nlength = \"541 mm\"\nbore = \"0 mm\"\n";
        let told = diff(old, new).to_string();
        let wanted = [
            "    2",
            "    3   [bar]",
            "    4 - length = \"540 mm\"",
            "    4 + length = \"541 mm\"",
            "    5   bore = \"0 mm\"",
        ];
        assert_eq!(told.lines().collect::<Vec<_>>(), wanted);
        assert!(diff(old, old).is_empty());
        assert_eq!(diff("", "a\nb").counts(), (0, 2));
    }

    #[test]
    fn texts_with_nothing_in_common_end_soon() {
        let text = |from: usize| {
            (from..from + 60_000).map(|n| format!("{n}\n")).collect::<Vec<_>>().concat()
        };
        let (old, new) = (text(0), text(1_000_000));
        assert_eq!(diff(&old, &new).counts(), (60_000, 60_000));
    }

    proptest! {
        #[test]
        fn both_texts_are_in_it_and_no_way_is_shorter(
            old in prop::collection::vec("[a-d]", 0..30),
            new in prop::collection::vec("[a-d]", 0..30),
        ) {
            let (a, b) = (old.join("\n"), new.join("\n"));
            let found = diff(&a, &b);
            let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
            prop_assert_eq!(old_of(&found), lines(&a));
            prop_assert_eq!(new_of(&found), lines(&b));
            let (a, b): (Vec<&str>, Vec<&str>) = (a.lines().collect(), b.lines().collect());
            let same = common(&a, &b);
            prop_assert_eq!(found.counts(), (a.len() - same, b.len() - same));
            for line in &found.lines {
                if let Some(old) = line.old { prop_assert_eq!(line.text, a[old - 1]); }
                if let Some(new) = line.new { prop_assert_eq!(line.text, b[new - 1]); }
            }
        }
    }
}
