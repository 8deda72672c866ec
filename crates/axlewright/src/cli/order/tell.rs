//! The order of work in words, for the person at the car: cautions before the act, reasons before
//! minutes, proofs last.

use std::io::{self, Write};

use axlewright_setup::{Assessment, Finding, Item, cautions, duration};
use axlewright_sheets::{Stretch, by_measure, first_lines, float_lines, stretches};

use crate::desk::{Asked, OrderCall};
use crate::text;

/// Names shown of a list.
const SHOWN: usize = 8;
/// Steps shown of those that a missing part holds up.
const HELD_SHOWN: usize = 3;
/// Column at which the words of a step begin.
const IN: &str = "          ";

pub fn answer(out: &mut dyn Write, found: &Assessment, call: &OrderCall) -> io::Result<()> {
    writeln!(out, "{}: the order of work", found.car.as_deref().unwrap_or("The car"))?;
    match &call.asked {
        Asked::Plan => plan(out, found)?,
        Asked::Why(step) => why(out, found, step)?,
        Asked::BackOut(_) => back_out(out, found)?,
        Asked::When => when(out, found)?,
    }
    if !found.gaps.is_empty() {
        text::heading(out, "Still to be decided")?;
    }
    found.gaps.iter().try_for_each(|gap| text::gap(out, gap))
}

/// The step to do next, with what stands before it, and what else can be done.
pub fn next_step(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let sequence = found.find("order.sequence", None).map(|found| found.value.items());
    let Some(next) = sequence.and_then(<[Item]>::first) else { return Ok(()) };
    text::heading(out, &format!("Next: {}", word(next, "phase")))?;
    one_step(out, next, 1, word(next, "phase"), found.find("order.arcs", None))?;
    now(out, found)
}

fn word<'a>(item: &'a Item, key: &str) -> &'a str {
    match item.get(key) {
        Some(Item::Word(word)) => word,
        _ => "",
    }
}

fn count(item: &Item, key: &str) -> i64 {
    match item.get(key) {
        Some(Item::Count(count, _)) => *count,
        _ => 0,
    }
}

fn list<'a>(item: &'a Item, key: &str) -> &'a [Item] {
    item.get(key).map(Item::items).unwrap_or_default()
}

fn words<'a>(item: &'a Item, key: &str) -> Vec<&'a str> {
    let items = list(item, key).iter();
    items
        .filter_map(|item| if let Item::Word(word) = item { Some(&**word) } else { None })
        .collect()
}

fn is(item: &Item, key: &str) -> bool {
    item.get(key) == Some(&Item::Flag(true))
}

// ---- The plan ----

fn plan(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let Some(sequence) = found.find("order.sequence", None) else { return Ok(()) };
    let arcs = found.find("order.arcs", None);
    text::paragraph(out, "", &sequence.why.words)?;
    not_known(out, found)?;
    writeln!(out)?;
    found.cautions_of_the_work().try_for_each(|caution| text::caution(out, caution))?;
    text::cautions(out, &cautions::before_the_work())?;
    now(out, found)?;
    for stretch in stretches(sequence.value.items()) {
        lay_out(out, &stretch)?;
        for (at, step) in stretch.steps.iter().enumerate() {
            writeln!(out)?;
            one_step(out, step, stretch.first + at, stretch.phase, arcs)?;
        }
    }
    waits(out, found)?;
    cost(out, found)
}

/// What the order was made without, and what would shorten it.
fn not_known(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let Some(safety) = found.find("order.safety", None) else { return Ok(()) };
    let unknown = list(&safety.value, "unknown");
    if unknown.is_empty() {
        return Ok(());
    }
    text::heading(out, "Not known, so taken the careful way")?;
    for (measure, rows) in by_measure(unknown) {
        for row in rows {
            let line = format!("{}: {}", word(row, "edge"), word(row, "why"));
            text::hanging(out, "  ", "    ", &line)?;
        }
        let first = format!("Measure this first and the plan may get shorter: {measure}.");
        text::paragraph(out, "", &first)?;
    }
    Ok(())
}

/// The heading of a stretch, and what its steps need.
fn lay_out(out: &mut dyn Write, stretch: &Stretch<'_>) -> io::Result<()> {
    let steps = text::counted(stretch.steps.len(), "step");
    let minutes = duration(stretch.minutes);
    text::heading(out, &format!("{}: {steps}, {minutes}", stretch.title))?;
    if !stretch.parts.is_empty() {
        text::hanging(out, "Parts: ", "       ", &stretch.parts.join("; "))?;
    }
    if !stretch.tools.is_empty() {
        text::hanging(out, "Tools: ", "       ", &stretch.tools.join("; "))?;
    }
    Ok(())
}

/// A step: number, box, name, place; then caution, what to change first, what to do. `arcs` are
/// the reasons of the arm's angle, where they are known.
fn one_step(
    out: &mut dyn Write,
    step: &Item,
    number: usize,
    phase: &str,
    arcs: Option<&Finding>,
) -> io::Result<()> {
    let first = format!("{number:>4} [ ]  ");
    text::hanging(out, &first, IN, &format!("{} · {}", word(step, "step"), place(step, phase)))?;
    if !word(step, "energy").is_empty() {
        text::hanging(
            out,
            &format!("{IN}energy: "),
            &format!("{IN}        "),
            word(step, "energy"),
        )?;
    }
    if let Some(gate) = step.get("gate").filter(|gate| !word(gate, "why").is_empty()) {
        let why = format!("{}. First: {}.", word(gate, "why"), word(gate, "first"));
        text::hanging(out, &format!("{IN}NOT YET  "), &format!("{IN}         "), &why)?;
    }
    if !word(step, "caution").is_empty() {
        let rest = format!("{IN}         ");
        text::hanging(out, &format!("{IN}CAUTION  "), &rest, word(step, "caution"))?;
    }
    because(out, word(step, "step"), arcs)?;
    for change in first_lines(step) {
        text::hanging(out, &format!("{IN}FIRST  "), &format!("{IN}       "), &change)?;
    }
    text::paragraph(out, IN, word(step, "words"))?;
    let parts = words(step, "parts");
    if !parts.is_empty() {
        text::hanging(out, &format!("{IN}with: "), &format!("{IN}      "), &parts.join("; "))?;
    }
    let reading = word(step, "reading");
    match (is(step, "hold"), reading.is_empty()) {
        (true, true) => writeln!(out, "{IN}HOLD POINT  signed ______________  date __________"),
        (true, false) => {
            writeln!(out, "{IN}HOLD POINT, {reading}")?;
            writeln!(out, "{IN}            signed ______________  date __________")
        }
        (false, false) => text::hanging(out, &format!("{IN}reading: "), IN, reading),
        (false, true) => Ok(()),
    }
}

fn place(step: &Item, phase: &str) -> String {
    let mut said: Vec<String> = Vec::new();
    let mut say = |text: String| {
        if !text.is_empty() {
            said.push(text);
        }
    };
    say(word(step, "station").to_owned());
    say(word(step, "tool").to_owned());
    let hands = word(step, "hands");
    say(if hands.is_empty() { String::new() } else { format!("{hands} hands") });
    say(duration(count(step, "minutes")));
    let people = count(step, "people");
    say(if 1 < people { format!("{people} people") } else { String::new() });
    let other = word(step, "phase");
    say(if other == phase { String::new() } else { format!("belongs to: {other}") });
    said.join(" · ")
}

/// What the arm's angle puts before this step.
fn because(out: &mut dyn Write, id: &str, arcs: Option<&Finding>) -> io::Result<()> {
    let arcs = arcs.map(|arcs| arcs.value.items()).unwrap_or_default();
    let by_angle = |arc: &&Item| {
        word(arc, "after") == id && word(arc, "reason") == "geometry" && !is(arc, "implied")
    };
    for arc in arcs.iter().filter(by_angle) {
        let first = format!("{IN}only after `{}`: ", word(arc, "before"));
        text::hanging(out, &first, &format!("{IN}  "), &format!("{}.", word(arc, "words")))?;
    }
    Ok(())
}

fn now(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let Some(now) = found.find("order.now", None) else { return Ok(()) };
    text::heading(out, "What can be done now")?;
    text::paragraph(out, "", &now.why.words)?;
    let ids: Vec<&str> = now.value.items().iter().map(|step| word(step, "step")).collect();
    if !ids.is_empty() {
        text::paragraph(out, "  ", &text::first_few(&ids, SHOWN))?;
    }
    let blocked = found.find("order.blocked-by", None);
    for words in blocked.map(|f| words(&f.value, "out_of_order")).unwrap_or_default() {
        text::hanging(out, "  Out of order: ", "  ", &format!("{words}."))?;
    }
    Ok(())
}

/// Parts that are not there and what they hold up.
fn waits(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let waiting = found.find("order.cost", None).map(|cost| words(&cost.value, "waiting"));
    let waiting = waiting.unwrap_or_default();
    let Some(blocked) = found.find("order.blocked-by", None).filter(|_| !waiting.is_empty()) else {
        return Ok(());
    };
    text::heading(out, &format!("What waits: {}", text::counted(waiting.len(), "step")))?;
    let mut groups: Vec<(String, Vec<&str>)> = Vec::new();
    for part in list(&blocked.value, "parts") {
        let held = words(part, "holds_up");
        let steps = text::counted(held.len(), "step");
        let told = format!("holds up {steps}, first {}", text::first_few(&held, HELD_SHOWN));
        match groups.iter_mut().find(|(had, _)| *had == told) {
            Some((_, parts)) => parts.push(word(part, "part")),
            None if held.is_empty() => {}
            None => groups.push((told, vec![word(part, "part")])),
        }
    }
    for (told, parts) in groups {
        let line = format!("{}: {told}", parts.join(", "));
        text::hanging(out, "  missing ", "    ", &line)?;
    }
    writeln!(out, "Steps that need a missing part; the others wait for these:")?;
    for step in list(&blocked.value, "steps") {
        let by = words(step, "by");
        let missing: Vec<&str> = by.iter().filter_map(|by| by.strip_prefix("missing: ")).collect();
        if !missing.is_empty() {
            let missing = text::first_few(&missing, HELD_SHOWN);
            text::hanging(out, &format!("  {}: ", word(step, "step")), "    ", &missing)?;
        }
    }
    Ok(())
}

/// The minutes; the proof on the last line.
fn cost(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let Some(cost) = found.find("order.cost", None) else { return Ok(()) };
    text::heading(out, "How long it takes")?;
    let minutes = |key| duration(count(&cost.value, key));
    let all = format!(
        "{} of work and {} of changes: {} in all.",
        minutes("work"),
        minutes("minutes"),
        minutes("total")
    );
    text::paragraph(out, "", &all)?;
    for feature in list(&cost.value, "features").iter().filter(|f| 0 < count(f, "changes")) {
        let what = word(feature, "what").split(": ").last().unwrap_or_default();
        writeln!(out, "  {:>3} {what}", count(feature, "changes"))?;
    }
    if let Some(finish) = found.find("order.finish", None) {
        text::paragraph(out, "", &finish.why.words)?;
    }
    let proof = if is(&cost.value, "proven") {
        "no order has fewer minutes of changes".to_owned()
    } else if count(&cost.value, "bound") == 0 {
        "not proven".to_owned()
    } else {
        format!("not proven; no order has less than {} of changes", minutes("bound"))
    };
    let by = word(&cost.value, "stopped_by");
    text::hanging(out, "Proof: ", "       ", &format!("{proof} (search ended by: {by})."))
}

// ---- Why ----

fn why(out: &mut dyn Write, found: &Assessment, step: &str) -> io::Result<()> {
    let Some(why) = found.find("order.why", None) else { return Ok(()) };
    text::paragraph(out, "", &why.why.words)?;
    let all = list(&why.value, "direct");
    let (follow, direct): (Vec<&Item>, Vec<&Item>) = all.iter().partition(|arc| is(arc, "implied"));
    if !direct.is_empty() {
        text::heading(out, &format!("Directly before `{step}`"))?;
    }
    by_reason(out, &direct)?;
    // What the arm forbids is worth knowing even where another step sees to it already.
    let (angle, rest): (Vec<&Item>, Vec<&Item>) =
        follow.into_iter().partition(|arc| word(arc, "reason") == "geometry");
    if !angle.is_empty() {
        text::heading(out, "What the arm's angle asks for besides, met by the steps above")?;
    }
    for arc in angle {
        arc_words(out, arc)?;
    }
    if !rest.is_empty() {
        writeln!(out, "{} more follow from these.", rest.len())?;
    }
    let chain = list(&why.value, "chain");
    if !chain.is_empty() {
        text::heading(out, "The whole chain, from the first step")?;
    }
    for arc in chain {
        arc_words(out, arc)?;
    }
    if chain.is_empty() { Ok(()) } else { writeln!(out, "  {step}") }
}

fn by_reason(out: &mut dyn Write, arcs: &[&Item]) -> io::Result<()> {
    for (reason, head) in [
        ("safety", "because the other way round can hurt somebody:"),
        ("geometry", "because of the arm's angle:"),
        ("part", "because one step makes the other possible:"),
        ("said", "because the car file says so:"),
    ] {
        let of: Vec<&&Item> = arcs.iter().filter(|arc| word(arc, "reason") == reason).collect();
        if !of.is_empty() {
            writeln!(out, "{head}")?;
        }
        for arc in of {
            arc_words(out, arc)?;
        }
    }
    Ok(())
}

/// An arc in words; of a plain `after` of the file only the line.
fn arc_words(out: &mut dyn Write, arc: &Item) -> io::Result<()> {
    let (before, words) = (word(arc, "before"), word(arc, "words"));
    let plain = format!("`{before}` is said to come first");
    match words.strip_suffix(&plain).and_then(|line| line.strip_suffix(": ")) {
        Some(line) => writeln!(out, "  {before} ({line})"),
        None => text::hanging(out, &format!("  {before}: "), "      ", words),
    }
}

// ---- Back out ----

fn back_out(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let Some(back) = found.find("order.back-out", None) else { return Ok(()) };
    text::paragraph(out, "", &back.why.words)?;
    writeln!(out)?;
    text::cautions(out, &cautions::before_undoing())?;
    for (key, minutes, head) in [
        ("undo", "undo_minutes", "Undo, in this order"),
        ("again", "again_minutes", "The way back"),
    ] {
        let steps = list(&back.value, key);
        let time = duration(count(&back.value, minutes));
        let many = text::counted(steps.len(), "step");
        text::heading(out, &format!("{head}: {many}, {time}"))?;
        for (at, step) in steps.iter().enumerate() {
            writeln!(out)?;
            if key == "undo" {
                undo_step(out, step, at + 1)?;
            } else {
                one_step(out, step, at + 1, word(step, "phase"), None)?;
            }
        }
    }
    Ok(())
}

/// A step to be undone: its own words say how it was done, so they are named as that.
fn undo_step(out: &mut dyn Write, step: &Item, number: usize) -> io::Result<()> {
    let name = format!("undo {} · {}", word(step, "step"), place(step, word(step, "phase")));
    text::hanging(out, &format!("{number:>4} [ ]  "), IN, &name)?;
    if !word(step, "caution").is_empty() {
        let rest = format!("{IN}         ");
        text::hanging(out, &format!("{IN}CAUTION  "), &rest, word(step, "caution"))?;
    }
    for change in first_lines(step) {
        text::hanging(out, &format!("{IN}FIRST  "), &format!("{IN}       "), &change)?;
    }
    let removing = list(step, "as");
    for twin in removing {
        let caution = word(twin, "caution");
        if !caution.is_empty() {
            let rest = format!("{IN}         ");
            text::hanging(out, &format!("{IN}CAUTION  "), &rest, caution)?;
        }
        text::hanging(
            out,
            &format!("{IN}as in {}: ", word(twin, "step")),
            IN,
            word(twin, "words"),
        )?;
    }
    if removing.is_empty() {
        text::hanging(out, &format!("{IN}it was done so: "), IN, word(step, "words"))?;
    }
    let then = word(step, "then");
    if !then.is_empty() {
        text::hanging(out, &format!("{IN}THEN  "), &format!("{IN}      "), &format!("{then}."))?;
    }
    if is(step, "hold") {
        writeln!(out, "{IN}HOLD POINT  signed ______________  date __________")?;
    }
    Ok(())
}

// ---- When ----

fn when(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let Some(finish) = found.find("order.finish", None) else {
        return writeln!(out, "Not to be said yet.");
    };
    text::paragraph(out, "", &finish.why.words)?;
    let chain = list(&finish.value, "chain");
    if !chain.is_empty() {
        text::heading(out, "What the day hangs on: nothing of this may slip")?;
    }
    for link in chain {
        let line = format!("{}: {}", word(link, "step"), word(link, "waits_for"));
        text::hanging(out, &format!("  {}  ", word(link, "begins")), IN, &line)?;
    }
    floats(out, list(&finish.value, "part_floats"))?;
    let unreached = words(&finish.value, "unreached");
    if unreached.is_empty() {
        return Ok(());
    }
    text::heading(out, "Not reached")?;
    text::paragraph(out, "  ", &text::first_few(&unreached, SHOWN))
}

fn floats(out: &mut dyn Write, floats: &[Item]) -> io::Result<()> {
    if !floats.is_empty() {
        text::heading(out, "How late each part may come without moving the day")?;
    }
    float_lines(floats).iter().try_for_each(|line| text::hanging(out, "  ", "    ", line))
}
