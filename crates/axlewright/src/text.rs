//! Words and numbers for a terminal of eighty columns. Rounding happens here and nowhere before.

use std::io::{self, Write};

use axlewright_quantity::{Amount, InUnit, Kind};
use axlewright_setup::{Caution, Finding, Gap, Input, Item, duration};

/// Columns used; two short of the narrowest terminal in use.
pub const COLUMNS: usize = 78;

/// In the unit in which its kind is shown and can be typed.
fn in_shown_unit(amount: Amount) -> Option<InUnit> {
    match amount.kind() {
        Kind::Ratio => amount.in_unit("").ok(),
        kind => amount.in_unit(kind.unit()).ok(),
    }
}

/// `34.00 u 0.15 deg`, as it can be typed back; without the doubt where none is known.
pub fn value_and_u(amount: Amount, u: Option<Amount>) -> String {
    match (in_shown_unit(amount), u.and_then(in_shown_unit)) {
        (Some(shown), Some(u)) => shown.with_uncertainty(u),
        _ => amount.to_string(),
    }
}

/// `34.00 deg`, with as many digits as `u` leaves known.
pub fn value(amount: Amount, u: Option<Amount>) -> String {
    let doubted = in_shown_unit(amount).zip(u.and_then(in_shown_unit));
    let doubted = doubted.and_then(|(shown, u)| shown.doubted(u));
    doubted.map_or_else(|| amount.to_string(), |doubted| doubted.value())
}

/// A share with its doubt in per cent: `62 u 5 %`.
pub fn percent_and_u(amount: Amount, u: Option<Amount>) -> String {
    match (amount.in_unit("%").ok(), u.and_then(|u| u.in_unit("%").ok())) {
        (Some(shown), Some(u)) => shown.with_uncertainty(u),
        _ => percent(amount),
    }
}

/// A share as `62 %`.
pub fn percent(amount: Amount) -> String {
    amount.in_unit("%").map_or_else(|_| amount.to_string(), |shown| format!("{shown:.0}"))
}

/// With its sign in front even when positive: for moves and errors.
pub fn signed(amount: Amount, u: Option<Amount>) -> String {
    let text = value(amount, u);
    let is_zero = !text.contains(|c: char| ('1'..='9').contains(&c));
    if text.starts_with('-') || is_zero { text } else { format!("+{text}") }
}

/// One item of a finding as a cell of a table.
pub fn cell(item: Option<&Item>) -> String {
    match item {
        None | Some(Item::Nothing) => "-".into(),
        Some(Item::Leaf(leaf)) => value(leaf.value, leaf.u),
        Some(Item::Count(count, _)) => count.to_string(),
        Some(Item::Word(word)) => word.clone(),
        Some(Item::Flag(true)) => "yes".into(),
        Some(Item::Flag(false)) => "no".into(),
        Some(Item::Object(parts)) => format!("{} figures", parts.len()),
        Some(Item::List(items)) => format!("{} rows", items.len()),
    }
}

/// A whole number with its sign: `+3`, `-2`, `0`.
pub fn signed_count(item: Option<&Item>) -> String {
    match item {
        Some(Item::Count(count, _)) if *count != 0 => format!("{count:+}"),
        other => cell(other),
    }
}

/// Breaks a text into lines of at most [`COLUMNS`], every line after `indent`.
pub fn paragraph(out: &mut dyn Write, indent: &str, text: &str) -> io::Result<()> {
    hanging(out, indent, indent, text)
}

/// Like [`paragraph`], with a different beginning of the first line.
pub fn hanging(out: &mut dyn Write, first: &str, rest: &str, text: &str) -> io::Result<()> {
    let mut line = String::from(first);
    let mut is_empty = true;
    for word in text.split_whitespace() {
        let width = line.chars().count() + 1 + word.chars().count();
        if !is_empty && COLUMNS < width {
            writeln!(out, "{line}")?;
            line = String::from(rest);
            is_empty = true;
        }
        if !is_empty {
            line.push(' ');
        }
        line.push_str(word);
        is_empty = false;
    }
    writeln!(out, "{}", line.trim_end())
}

/// Prints rows with their columns aligned: the first to the left, the others to the right.
pub fn table(out: &mut dyn Write, indent: &str, rows: &[Vec<String>]) -> io::Result<()> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width_of = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|c| c.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width_of).collect();
    for row in rows {
        let mut line = String::from(indent);
        for (column, (text, width)) in row.iter().zip(&widths).enumerate() {
            let pad = " ".repeat(width.saturating_sub(text.chars().count()));
            if column == 0 {
                line.extend([text.as_str(), &pad]);
            } else {
                line.extend(["   ", &pad, text.as_str()]);
            }
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

/// A heading: a line of its own, underlined, so that it stands out without colour.
pub fn heading(out: &mut dyn Write, text: &str) -> io::Result<()> {
    writeln!(out, "\n{text}\n{}", "-".repeat(text.chars().count()))
}

/// A caution, before whatever it is about.
pub fn caution(out: &mut dyn Write, caution: &Caution) -> io::Result<()> {
    warned(out, &caution.words)
}

/// Several of them.
pub fn cautions(out: &mut dyn Write, cautions: &[Caution]) -> io::Result<()> {
    cautions.iter().try_for_each(|one| caution(out, one))
}

/// The words of a finding in the place of a caution.
pub fn warned(out: &mut dyn Write, words: &str) -> io::Result<()> {
    hanging(out, "CAUTION  ", "         ", words)
}

/// How a finding is known: words, formula, source, and what went in.
pub fn how_known(out: &mut dyn Write, finding: &Finding) -> io::Result<()> {
    if !finding.why.words.is_empty() {
        hanging(out, "How known: ", "  ", &finding.why.words)?;
    }
    grounds(out, finding)
}

/// Formula, source and inputs of a finding whose words were said already.
pub fn grounds(out: &mut dyn Write, finding: &Finding) -> io::Result<()> {
    let why = &finding.why;
    if !why.formula.is_empty() {
        hanging(out, "  formula: ", "           ", why.formula)?;
    }
    if !why.source.is_empty() {
        hanging(out, "  source:  ", "           ", why.source)?;
    }
    for input in &why.inputs {
        hanging(out, "  from:    ", "           ", &one_input(input))?;
    }
    Ok(())
}

fn one_input(input: &Input) -> String {
    let from = if input.from.is_empty() { String::new() } else { format!(" ({})", input.from) };
    match input.value {
        Some(amount) => format!("{} {}{from}", input.name, value_and_u(amount, input.u)),
        None => format!("{}{from}", input.name),
    }
}

/// A gap: what to measure, how, and what that unlocks.
pub fn gap(out: &mut dyn Write, gap: &Gap) -> io::Result<()> {
    hanging(out, "  * ", "    ", &format!("{}: {}", gap.id, gap.measure))?;
    for row in &gap.rows {
        let line = row.line;
        let text = format!("line {line}: {} for {}, {}", row.written, row.builds, row.source);
        hanging(out, "    - ", "      ", &text)?;
    }
    if !gap.how.is_empty() {
        hanging(out, "    how: ", "    ", &gap.how)?;
    }
    if !gap.blocks.is_empty() {
        let blocks: Vec<&str> = gap.blocks.iter().map(AsRef::as_ref).collect();
        hanging(out, "    unlocks: ", "    ", &first_few(&blocks, 5))?;
    }
    Ok(())
}

/// `a, b, c and 4 more`.
pub fn first_few(names: &[&str], most: usize) -> String {
    let shown: Vec<&str> = names.iter().copied().take(most).collect();
    match names.len().saturating_sub(most) {
        0 => shown.join(", "),
        rest => format!("{} and {rest} more", shown.join(", ")),
    }
}

/// `1 gap`, `3 gaps`.
pub fn counted(count: usize, one: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
}

/// Seconds as `2 h 15 min`, a begun minute counted as whole.
pub fn minutes_of_seconds(seconds: i64) -> String {
    duration(seconds / 60 + i64::from(0 < seconds % 60))
}
