//! An assessment as JSON. This shape is a public interface: additions are free, anything else
//! goes into the changelog.
//!
//! | where | keys |
//! |---|---|
//! | top | `schema` (1), `car`, `findings`, `gaps`, `problems`, `cautions` |
//! | finding | `id`, `of` (`{corner}`, `{stand}` or null), `corner`, `at`, the value, `why` |
//! | the value | one leaf: its keys at the top of the finding; otherwise `value`: object or list |
//! | leaf | `value`, `unit`, `u` (standard uncertainty or null), `written` (text or null) |
//! | why | `words`, `formula`, `source`, `inputs`: `name value unit u from share` |
//! | gap | `id`, `of`, `measure`, `how`, `blocks`, `rows`: `written builds source line` |
//! | caution | `id`, `of`, `severity` (`note`, `caution`, `stop`), `words` |
//! | problem | `severity`, `line`, `column`, `what`, `right` |
//! | entry | `seq at by kind version body`, `struck_by` (an entry's number or null) |
//! | change | `id`, `of`, `at`, `before` and `after`: a value as above, or null |
//!
//! An end of a window that nothing limits, and anything not known, is null.

use axlewright_book::log::Entry;
use axlewright_quantity::Amount;
use axlewright_setup::{
    Assessment, Caution, Finding, FindingChange, Gap, Input, Item, Leaf, Sighted, State, Subject,
};
use serde_json::{Map, Number, Value, json};

use crate::desk::Fault;

/// The number of the shape described in this module's documentation.
pub const SCHEMA: u32 = 1;

/// The whole document.
pub fn document(assessment: &Assessment, faults: &[Fault]) -> Value {
    let findings: Vec<Value> =
        assessment.findings.iter().map(|finding| one_finding(finding, assessment)).collect();
    object([
        ("schema", SCHEMA.into()),
        ("car", assessment.car.clone().into()),
        ("findings", findings.into()),
        ("gaps", assessment.gaps.iter().map(gap).collect()),
        ("problems", faults.iter().map(problem).collect()),
        ("cautions", assessment.cautions.iter().map(caution).collect()),
    ])
}

/// An object of values that are made already: `json!` would copy each of them, with all in it.
fn object<const N: usize>(parts: [(&str, Value); N]) -> Value {
    parts.into_iter().map(|(key, value)| (key.to_owned(), value)).collect()
}

/// One entry of a log, with the one that strikes it.
pub fn entry(entry: &Entry, struck_by: Option<u64>) -> Value {
    let text = entry.body.to_json();
    // A body that cannot be read is kept as its text, and may be no JSON at all.
    let body = serde_json::from_str(&text).unwrap_or(Value::String(text));
    json!({
        "seq": entry.seq,
        "at": entry.at,
        "by": entry.by,
        "kind": entry.body.kind(),
        "version": entry.body.version(),
        "body": body,
        "struck_by": struck_by,
    })
}

/// A finding that is not what it was.
pub fn change(change: &FindingChange) -> Value {
    json!({
        "id": change.id,
        "of": subject(change.of.as_ref()),
        "at": change.at.map(state),
        "before": change.before.as_ref().map(item),
        "after": change.after.as_ref().map(item),
    })
}

fn one_finding(finding: &Finding, all: &Assessment) -> Value {
    let mut map = Map::new();
    map.insert("id".into(), finding.id.into());
    map.insert("of".into(), subject(finding.of.as_ref()));
    map.insert("corner".into(), corner(finding.of.as_ref()));
    map.insert("at".into(), finding.at.map(state).into());
    match &finding.value {
        Item::Leaf(_) | Item::Count(..) => {
            if let Value::Object(leaf) = item(&finding.value) {
                map.extend(leaf);
            }
        }
        other => {
            map.insert("value".into(), item(other));
        }
    }
    // Whoever reads only the choices of teeth needs the step they differ by.
    if finding.id == "index.choices"
        && let Some(step) = all.find("vernier.step", finding.of.as_ref())
    {
        map.insert("step".into(), item(&step.value));
    }
    map.insert("why".into(), why(finding));
    Value::Object(map)
}

fn why(finding: &Finding) -> Value {
    let why = &finding.why;
    object([
        ("words", why.words.clone().into()),
        ("formula", why.formula.into()),
        ("source", why.source.into()),
        ("inputs", why.inputs.iter().map(input).collect()),
    ])
}

fn input(input: &Input) -> Value {
    json!({
        "name": input.name,
        "value": input.value.map(|amount| number(amount.shown())),
        "unit": input.value.map(|amount| amount.kind().unit()),
        "u": input.u.map(|amount| number(amount.shown())),
        "from": input.from,
        "share": input.share.map(number),
    })
}

fn item(value: &Item) -> Value {
    match value {
        Item::Leaf(found) => leaf(found),
        Item::Count(count, unit) => {
            json!({ "value": count, "unit": unit, "u": null, "written": null })
        }
        Item::Word(word) => Value::String(word.clone()),
        Item::Flag(flag) => Value::Bool(*flag),
        Item::Object(parts) => {
            parts.iter().map(|(name, part)| ((*name).to_owned(), item(part))).collect()
        }
        Item::List(items) => items.iter().map(item).collect(),
        Item::Nothing => Value::Null,
    }
}

fn leaf(leaf: &Leaf) -> Value {
    let shown = |amount: Amount| number(amount.shown());
    json!({
        "value": shown(leaf.value),
        "unit": leaf.value.kind().unit(),
        "u": leaf.u.map(shown),
        "written": leaf.written,
    })
}

/// A number, or null where it is none: JSON knows neither NaN nor infinity.
///
/// Twelve significant digits: what was whole in degrees comes back whole after its way through
/// radians.
fn number(value: f64) -> Value {
    let digits = format!("{value:.11e}");
    digits.parse::<f64>().ok().and_then(Number::from_f64).map_or(Value::Null, Value::Number)
}

fn subject(of: Option<&Subject>) -> Value {
    match of {
        None => Value::Null,
        Some(Subject::Corner(corner)) => json!({ "corner": corner.code() }),
        Some(Subject::Stand(name)) => json!({ "stand": name }),
        Some(Subject::Step(id)) => json!({ "step": id }),
        Some(Subject::Joint(id)) => json!({ "joint": id }),
        Some(Subject::Sighted(what)) => match what {
            Sighted::Photo(name) => json!({ "photo": name }),
            Sighted::Sheet(code) => json!({ "sheet": code }),
            Sighted::Sheets(a, b) => json!({ "sheets": [a, b] }),
            Sighted::Point(name) => json!({ "point": name }),
            Sighted::Points(names) => json!({ "points": names }),
        },
    }
}

fn corner(of: Option<&Subject>) -> Value {
    match of {
        Some(Subject::Corner(corner)) => corner.code().into(),
        _ => Value::Null,
    }
}

fn state(state: State) -> &'static str {
    match state {
        State::Target => "target",
        State::Now => "now",
    }
}

fn gap(gap: &Gap) -> Value {
    let rows = gap.rows.iter().map(|row| {
        json!({
            "written": row.written,
            "builds": row.builds,
            "source": row.source,
            "line": row.line,
        })
    });
    json!({
        "id": gap.id,
        "of": subject(gap.of.as_ref()),
        "measure": gap.measure,
        "how": gap.how,
        "blocks": gap.blocks,
        "rows": rows.collect::<Vec<_>>(),
    })
}

fn caution(caution: &Caution) -> Value {
    json!({
        "id": caution.id,
        "of": subject(caution.of.as_ref()),
        "severity": caution.severity.word(),
        "words": caution.words,
    })
}

fn problem(fault: &Fault) -> Value {
    json!({
        "severity": if fault.is_error { "error" } else { "warning" },
        "line": fault.line,
        "column": fault.column,
        "what": fault.what,
        "right": fault.right,
    })
}
