//! Both sides together: the manual lets the trims differ only by so much.

use axlewright_book::{CarFile, Pick, SpecWhat};
use axlewright_quantity::{Corner, Length, Side};

use crate::finding::{Finding, Item, Subject, Why};
use crate::say::mm;
use crate::{Assessment, cautions};

/// One side's choice, as far as the pair needs it.
struct Choice<'a> {
    item: &'a Item,
    trim: Length,
    u: Option<Length>,
    error: f64,
    ends: i64,
}

fn choices(out: &Assessment, side: Side) -> Vec<Choice<'_>> {
    let of = Subject::Corner(Corner::rear(side));
    let Some(found) = out.find("index.choices", Some(&of)) else { return Vec::new() };
    let choice = |item| {
        let leaf = Item::get(item, "trim")?.as_leaf()?;
        let trim = Length::try_from(leaf.value).ok()?;
        let u = leaf.u.and_then(|u| Length::try_from(u).ok());
        let error = item.get("error")?.amount()?.to_si().abs();
        let ends = match item.get("ends")? {
            Item::Count(ends, _) => *ends,
            _ => return None,
        };
        let fits = item.get("within_tolerance") != Some(&Item::Flag(false));
        fits.then_some(Choice { item, trim, u, error, ends })
    };
    found.value.items().iter().filter_map(choice).collect()
}

/// Adds `index.both-sides` where both sides have choices and the manual says how far their trims
/// may differ: of all pairs that keep to it, the one with the least error on the worse side, and of
/// those as good within a tenth of a degree the one that disturbs the fewest ends.
pub(crate) fn add(car: &CarFile, out: &mut Assessment) {
    let Pick::One(spec) = car.pick(SpecWhat::TrimDifference) else { return };
    let axlewright_book::Value::Amount(limit) = spec.value.value else { return };
    let Ok(limit) = Length::try_from(limit) else { return };
    let (left, right) = (choices(out, Side::Left), choices(out, Side::Right));
    let pairs = left.iter().flat_map(|l| right.iter().map(move |r| (l, r)));
    let allowed = pairs.filter(|(l, r)| (l.trim - r.trim).abs() <= limit);
    // Errors within a tenth of a degree of each other are alike: far less than anyone reads.
    let key = |(l, r): &(&Choice, &Choice)| {
        ((l.error.max(r.error).to_degrees() * 10.0).floor() as i64, l.ends + r.ends)
    };
    let Some((l, r)) = allowed.min_by_key(key) else {
        if !left.is_empty() && !right.is_empty() {
            out.cautions.push(cautions::trims_apart(&mm(limit, 0)));
        }
        return;
    };
    let words = |choice: &Choice| match choice.item.get("words") {
        Some(Item::Word(words)) => words.clone(),
        _ => String::new(),
    };
    let apart = l.trim - r.trim;
    // No u: what both sides share (weights, rates, the gauge) moves them together, and the two
    // trims' own figures do not say how much of each that is.
    let difference = Item::leaf(apart);
    let doubt = l.u.zip(r.u).map_or(String::new(), |(a, b)| {
        format!(
            " Each trim is known to about {}; most of that doubt is common to both.",
            mm(a.max(b), 0)
        )
    });
    let text = format!(
        "Left: {}. Right: {}. They then settle {} apart; the manual allows {}.{doubt}",
        words(l),
        words(r),
        mm(apart.abs(), 1),
        mm(limit, 0),
    );
    let value = Item::Object(vec![
        ("difference", difference),
        ("allowed", Item::leaf(limit)),
        ("left", l.item.clone()),
        ("right", r.item.clone()),
    ]);
    let source = "all pairs of listed choices; docs/method.md, splines";
    let formula = "least of the worse side's error with |trim_L − trim_R| ≤ allowed";
    let why = Why { words: text, formula, source, inputs: Vec::new() };
    out.findings.push(Finding { id: "index.both-sides", of: None, at: None, value, why });
}
