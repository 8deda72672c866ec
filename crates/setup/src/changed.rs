//! What a change of the inputs did to the findings.

use std::collections::BTreeMap;

use crate::finding::{Item, State, Subject};
use crate::{Assessment, Leaf};

/// A finding that is not what it was.
#[derive(Debug, Clone, PartialEq)]
pub struct FindingChange {
    /// Its id.
    pub id: &'static str,
    /// What it is about; `None` for the whole car.
    pub of: Option<Subject>,
    /// With which teeth, where that matters.
    pub at: Option<State>,
    /// What it was; nothing if it is new.
    pub before: Option<Item>,
    /// What it is; nothing if it is gone.
    pub after: Option<Item>,
}

/// What makes two findings the same one: all but its value, and which of several alike.
type Key<'a> = (&'static str, Option<&'a Subject>, Option<State>, usize);

/// The findings whose value differs, in the order of `after`; those that are gone come last. Only
/// the value counts: words and sources may change without it. A number is the same only to the last
/// digit, so that nothing is hidden; how it was written does not count.
pub fn changed(before: &Assessment, after: &Assessment) -> Vec<FindingChange> {
    let (old, new) = (keyed(before), keyed(after));
    let values: BTreeMap<&Key<'_>, &Item> = old.iter().map(|(key, item)| (key, *item)).collect();
    let change = |key: &Key<'_>, before: Option<&Item>, after: Option<&Item>| FindingChange {
        id: key.0,
        of: key.1.cloned(),
        at: key.2,
        before: before.cloned(),
        after: after.cloned(),
    };
    let mut out = Vec::new();
    for (key, item) in &new {
        let was = values.get(key).copied();
        if was.is_none_or(|was| !same(was, item)) {
            out.push(change(key, was, Some(item)));
        }
    }
    let kept: std::collections::BTreeSet<&Key<'_>> = new.iter().map(|(key, _)| key).collect();
    let gone = old.iter().filter(|(key, _)| !kept.contains(key));
    out.extend(gone.map(|(key, item)| change(key, Some(item), None)));
    out
}

fn keyed(assessment: &Assessment) -> Vec<(Key<'_>, &Item)> {
    let mut seen: BTreeMap<(&'static str, Option<&Subject>, Option<State>), usize> =
        BTreeMap::new();
    assessment
        .findings
        .iter()
        .map(|finding| {
            let (id, of, at) = (finding.id, finding.of.as_ref(), finding.at);
            let count = seen.entry((id, of, at)).or_default();
            let key = (id, of, at, *count);
            *count += 1;
            (key, &finding.value)
        })
        .collect()
}

/// Whether two values are the same, to the last digit.
fn same(a: &Item, b: &Item) -> bool {
    match (a, b) {
        (Item::Leaf(a), Item::Leaf(b)) => same_leaf(a, b),
        (Item::Object(a), Item::Object(b)) => {
            let alike = |((a, x), (b, y)): (&(&str, Item), &(&str, Item))| a == b && same(x, y);
            a.len() == b.len() && a.iter().zip(b).all(alike)
        }
        (Item::List(a), Item::List(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b))
        }
        (a, b) => a == b,
    }
}

fn same_leaf(a: &Leaf, b: &Leaf) -> bool {
    (a.value, a.u) == (b.value, b.u)
}
