//! What should it read today? One stage, one load, one answer; and the part of an assessment that
//! is about the wheels.

use axlewright_book::{CarFile, MassKind, MassRow};
use axlewright_mechanics::car::Pair;
use axlewright_quantity::Side;

use super::bench::Bench;
use super::whole::{Case, Sight};
use super::{expected, round};
use crate::engine::Waiting;
use crate::inputs::{Inputs, Need};
use crate::{Assessment, Gap, gaps};

/// A stage or a load that the car file does not know.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no {what} `{given}` in the car file")]
pub struct Unknown {
    /// `stage` or `load`.
    pub what: &'static str,
    /// As given.
    pub given: String,
    /// Those there are.
    pub known: Vec<String>,
}

impl Unknown {
    /// What would be right.
    pub fn hint(&self) -> String {
        if self.known.is_empty() {
            format!(
                "the car file has no {} yet: write [[masses]] with kind = \"{}\" for each",
                self.what, self.what
            )
        } else {
            format!("known: {}", self.known.join(", "))
        }
    }
}

/// The number of the row with that name, or one that begins with it where only one does.
fn row(car: &CarFile, kind: MassKind, given: &str) -> Result<usize, Unknown> {
    let plain = |text: &str| text.trim().to_lowercase().replace('-', " ");
    let wanted = plain(given);
    let rows: Vec<(usize, &MassRow)> =
        car.masses.iter().enumerate().filter(|(_, row)| row.kind == kind).collect();
    let name = |row: &MassRow| plain(&row.name.value);
    if let Some((i, _)) = rows.iter().find(|(_, row)| name(row) == wanted) {
        return Ok(*i);
    }
    let mut near =
        rows.iter().filter(|(_, row)| !wanted.is_empty() && name(row).starts_with(&wanted));
    if let (Some((i, _)), None) = (near.next(), near.next()) {
        return Ok(*i);
    }
    let mut known: Vec<String> =
        rows.iter().map(|(_, row)| row.name.value.trim().to_owned()).collect();
    if kind == MassKind::Stage && !known.is_empty() {
        known.push(MassRow::FINISHED.to_owned());
    }
    Err(Unknown { what: kind.word(), given: given.trim().to_owned(), known })
}

/// What the car should read at a stage of the build, with what is in it: `car.expected`. Without a
/// stage, or with `finished`, the finished car in the load of its corner weights.
///
/// # Valid for
/// `facts` made from the same car file.
/// # Errors
/// Names that the car file does not know.
pub fn today(
    car: &CarFile,
    facts: &Assessment,
    stage: Option<&str>,
    loads: &[String],
) -> Result<Assessment, Unknown> {
    let stage = stage.filter(|stage| !stage.trim().eq_ignore_ascii_case(MassRow::FINISHED));
    let stage = stage.map(|stage| row(car, MassKind::Stage, stage)).transpose()?;
    let mut numbers: Vec<usize> = Vec::new();
    for load in loads {
        let number = row(car, MassKind::Load, load)?;
        if !numbers.contains(&number) {
            numbers.push(number);
        }
    }
    numbers.sort_unstable();
    let case = Case { stage, loads: numbers };
    let left = Inputs::from_car(car, Side::Left);
    let right = Inputs::from_car(car, Side::Right);
    let whole = super::facts(car, Pair { left: &left, right: &right }, facts);
    let mut waiting = Waiting::default();
    let mut bench = Bench { facts: &whole, findings: Vec::new(), waiting: &mut waiting };
    expected::add(&mut bench, &case);
    let mut findings = bench.findings;
    super::assumed(facts, &mut findings);
    Ok(Assessment {
        car: facts.car.clone(),
        findings,
        gaps: gaps::from_waiting(car, &waiting),
        problems: waiting.faults.into_iter().collect(),
        cautions: facts.cautions.clone(),
        ..Assessment::default()
    })
}

/// What is still to be measured before a round on the wheels can be read, however little of the
/// wheels is in the car file yet. An assessment is silent about it until something is.
///
/// # Valid for
/// `facts` made from the same car file.
pub fn waits(car: &CarFile, facts: &Assessment) -> Vec<Gap> {
    let left = Inputs::from_car(car, Side::Left);
    let right = Inputs::from_car(car, Side::Right);
    let whole = super::facts(car, Pair { left: &left, right: &right }, facts);
    let mut waiting = Waiting::default();
    let mut bench = Bench { facts: &whole, findings: Vec::new(), waiting: &mut waiting };
    let survey = expected::Survey::of(&mut bench);
    const IDS: [&str; 3] = ["car.state", "car.moves", "car.after"];
    match survey {
        Some(survey) => drop(round::teach(&mut bench, &survey, &IDS)),
        None => {
            if car.rounds.is_empty() {
                let sight = Sight::plain(bench.facts);
                sight.missing::<()>(Need::Round);
                let seen = sight.into_seen();
                IDS.into_iter().for_each(|id| bench.wait_for(id, &seen));
            }
            // What the car should read comes before what a round says of it.
            let lists = waiting.needs.values_mut().flat_map(|sides| sides.values_mut());
            for ids in lists.filter(|ids| ids.contains(&"car.expected")) {
                ids.extend(IDS);
            }
        }
    }
    gaps::from_waiting(car, &waiting)
}

/// Of an assessment, what is about the whole car on its wheels: findings `car.…`, the gaps before
/// them, and every problem and caution.
pub fn of(facts: &Assessment) -> Assessment {
    let is_own = |id: &str| id.starts_with("car.");
    let findings = facts.findings.iter().filter(|found| is_own(found.id)).cloned().collect();
    let gaps = facts.gaps.iter().filter(|gap| gap.blocks.iter().any(|id| is_own(id)));
    Assessment {
        car: facts.car.clone(),
        findings,
        gaps: gaps.cloned().collect(),
        problems: facts.problems.clone(),
        cautions: facts.cautions.clone(),
        ..Assessment::default()
    }
}
