//! What is still unsigned, untorqued, unread, or away.

use axlewright_book::log::StepHappened;
use axlewright_book::{BoltState, PartState, bolt_letter};

use super::{BoltLine, Book, JOB, JointRecord, Open, Record, Signature, StepRecord, steps};
use crate::finding::{Gap, Subject};

pub(super) fn open(book: Book<'_>, record: &Record) -> Open {
    let holds = record.steps.iter().filter(|step| step.hold && !is_signed(&step.signed));
    let mut unsigned: Vec<Gap> = holds.map(hold).collect();
    let ready = |joint: &&JointRecord| joint.ready && !is_signed(&joint.signed);
    unsigned.extend(record.joints.iter().filter(ready).map(joint_unsigned));
    let of_job: Vec<Signature> =
        record.signatures.iter().filter(|one| one.of == JOB).cloned().collect();
    if !is_signed(&of_job) {
        let how = overtaken(&of_job)
            .unwrap_or_else(|| "By whoever answers for it, once nothing below is open.".to_owned());
        unsigned.push(gap("sign.job", None, "the whole job, signed".to_owned(), how));
    }
    Open {
        unsigned,
        untorqued: record.joints.iter().filter_map(untorqued).collect(),
        unread: unread(book, record),
        away: record
            .parts
            .iter()
            .filter(|part| part.place == Some(PartState::Out))
            .map(|part| {
                let due = part.due.as_ref();
                let how = due.map_or("Nobody wrote when it is expected.".to_owned(), |due| {
                    format!("Expected {due}.")
                });
                gap(&format!("part.{}", part.id), None, part.name.clone(), how)
            })
            .collect(),
    }
}

fn gap(id: &str, of: Option<Subject>, measure: String, how: String) -> Gap {
    Gap { id: id.to_owned(), of, measure, how, blocks: Vec::new(), rows: Vec::new() }
}

/// Whether a signature holds.
fn is_signed(signed: &[Signature]) -> bool {
    signed.iter().any(Signature::holds)
}

fn overtaken(signed: &[Signature]) -> Option<String> {
    let last = signed.last()?;
    (!last.holds()).then(|| format!("{}: {}.", last.name, last.standing()))
}

fn hold(step: &StepRecord) -> Gap {
    let how = overtaken(&step.signed).unwrap_or_else(|| match &step.now {
        Some((StepHappened::Done, stamp)) => {
            format!("Done ({}) and not signed: nothing further before it is.", stamp.origin)
        }
        _ => "Not done yet.".to_owned(),
    });
    let of = Some(Subject::Step(step.id.clone()));
    gap(&format!("sign.{}", step.id), of, format!("hold point: {}", step.title), how)
}

fn joint_unsigned(joint: &JointRecord) -> Gap {
    let how = overtaken(&joint.signed)
        .unwrap_or_else(|| "By what was written nothing forbids signing it.".to_owned());
    let of = Some(Subject::Joint(joint.joint.clone()));
    gap(&format!("sign.{}", joint.joint), of, format!("{}, signed", joint.name), how)
}

fn untorqued(joint: &JointRecord) -> Option<Gap> {
    let short = |bolt: &&BoltLine| bolt.state < BoltState::Torqued || bolt.fault.is_some();
    let open = joint.bolts.iter().filter(short);
    let open: Vec<String> = open.map(|bolt| bolt_letter(bolt.bolt)).collect();
    let measure = match open.as_slice() {
        [] if joint.bolts.is_empty() => format!("{}: how many bolts it has", joint.name),
        [] => return None,
        all if all.len() == joint.bolts.len() => format!("{}, to its torque", joint.name),
        [one] => format!("{}, bolt {one} to its torque", joint.name),
        some => format!("{}, bolts {} to their torque", joint.name, some.join(", ")),
    };
    let of = Some(Subject::Joint(joint.joint.clone()));
    Some(gap(&format!("torque.{}", joint.joint), of, measure, joint.forbids.join("; ")))
}

/// Readings that steps ask for and that are not done; and what was never read on the wheels.
fn unread(book: Book<'_>, record: &Record) -> Vec<Gap> {
    let done = |id: &str| {
        let life = book.state.facts().steps.get(id);
        life.is_some_and(|life| matches!(life.now, StepHappened::Done | StepHappened::Waived))
    };
    let steps = book.car.steps.iter().filter(|step| !done(&step.id.value));
    let of_steps = steps.filter_map(|step| {
        let reading = step.reading.as_ref()?;
        let of = Some(Subject::Step(step.id.value.clone()));
        let how = format!("Left out, it is lost: {}.", reading.value.trim());
        Some(gap(&format!("read.{}", step.id.value), of, steps::title(step), how))
    });
    let rows = record.alignment.rows.iter().filter(|row| row.wanted.is_some());
    let never = rows.filter(|row| row.last.is_none()).map(|row| {
        let of = Some(Subject::Corner(row.corner));
        let measure = format!("{} of the {}", row.what, wheel(row.corner));
        let how = "On its wheels, under the load the manual states.".to_owned();
        gap(&format!("read.{}.{}", row.what.replace(' ', "-"), row.corner.code()), of, measure, how)
    });
    of_steps.chain(never).collect()
}

fn wheel(corner: axlewright_quantity::Corner) -> String {
    let end = if corner.is_front() { "front" } else { "rear" };
    format!("{} {end} wheel", corner.side())
}
