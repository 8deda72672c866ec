//! What came of it, in tables.

use super::sim::bench::by_tool;
use super::sim::dice::Dice;
use super::sim::{Outcome, Procedure, Share, Way};

type Pick = fn(&Outcome) -> &Way;

const WAYS: [(&str, Pick); 4] = [
    ("tool, as advised", |o| &o.advised),
    ("tool, every thing read once", |o| &o.plain),
    ("tool, as advised, book weights", |o| &o.advised_by_book),
    ("by hand", |o| &o.by_hand),
];

fn share(share: Share) -> String {
    let (low, high) = share.between();
    let percent = |one: f64| 100.0 * one.clamp(0.0, 1.0);
    format!("{:.1} ({:.1} to {:.1})", percent(share.value()), percent(low), percent(high))
}

fn percentiles(mut values: Vec<f64>) -> (f64, f64) {
    values.sort_by(f64::total_cmp);
    let at = |p: f64| values.get(((values.len() - 1) as f64 * p).round() as usize).copied();
    (at(0.5).unwrap_or(0.0), at(0.95).unwrap_or(0.0))
}

fn root_mean_square(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0.0), |(s, n), v| (s + v * v, n + 1.0));
    (sum / f64::max(n, 1.0)).sqrt()
}

struct Table {
    text: String,
}

impl Table {
    fn head(&mut self, first: &str) {
        self.text.push_str(&format!("| {first} |"));
        WAYS.iter().for_each(|(name, _)| self.text.push_str(&format!(" {name} |")));
        self.text.push_str("\n|---|");
        WAYS.iter().for_each(|_| self.text.push_str("---|"));
        self.text.push('\n');
    }
    fn row(&mut self, name: &str, of: impl Fn(Pick) -> String) {
        self.text.push_str(&format!("| {name} |"));
        for (_, pick) in WAYS {
            self.text.push_str(&format!(" {} |", of(pick)));
        }
        self.text.push('\n');
    }
}

/// The whole, and then the cars whose vernier step is finer than half a degree.
pub fn table(all: &[Outcome], faults: &[String]) -> String {
    let mut text = format!("### All cars\n\n{}", tables(all));
    let named = faults.len();
    text.push_str(&format!("{named} cars more have no outcome: their model found no rest.\n"));
    let fine: Vec<Outcome> = all.iter().filter(|o| o.step < 0.5).copied().collect();
    text.push_str("\n### Only those with a vernier step below half a degree\n\n");
    text.push_str(&tables(&fine));
    text
}

#[expect(clippy::too_many_lines, reason = "one table, a line for each row")]
fn tables(all: &[Outcome]) -> String {
    if all.is_empty() {
        return "No car came through.\n".into();
    }
    let mut t = Table { text: String::new() };
    let sides = |pick: Pick, f: fn(&super::sim::bench::Hung) -> bool| {
        share(Share::of(all.iter().flat_map(move |o| {
            let hung = pick(o).hung;
            [f(&hung.left), f(&hung.right)]
        })))
    };
    let cars = |pick: Pick, f: fn(&Way) -> bool| share(Share::of(all.iter().map(|o| f(pick(o)))));
    let spread = |pick: Pick, f: fn(&Way) -> f64| {
        format!("{:.1}", root_mean_square(all.iter().map(|o| f(pick(o)))))
    };
    let usual = |pick: Pick, f: fn(&Way) -> f64| {
        let (middle, most) = percentiles(all.iter().map(|o| f(pick(o))).collect());
        format!("{middle:.0}; {most:.0}")
    };
    t.head("plates, percent of them");
    t.row("half a step, first fit", |p| sides(p, |h| h.inside[0]));
    t.row("half a step, two fits", |p| sides(p, |h| h.inside[1]));
    t.row("half a step, at last", |p| sides(p, |h| h.inside[2]));
    t.row("the readings say: first fit", |p| sides(p, |h| h.by_reading[0]));
    t.row("the readings say: two fits", |p| sides(p, |h| h.by_reading[1]));
    t.row("a whole step, first fit", |p| sides(p, |h| h.first_in_steps.abs() <= 1.0));
    t.row("a whole step, at last", |p| sides(p, |h| h.off_in_steps.abs() <= 1.0));
    t.row("fits of a plate: median; 95 in 100", |p| {
        let fits = all.iter().flat_map(|o| [p(o).hung.left.fits, p(o).hung.right.fits]);
        let (middle, most) = percentiles(fits.map(f64::from).collect());
        format!("{middle:.0}; {most:.0}")
    });
    t.text.push('\n');
    t.head("cars, percent of them; before any correction on the wheels");
    t.row("left and right within 5 mm", |p| cars(p, |w| w.done.assembled.difference));
    t.row("both trims within 5 mm of the manual's", |p| cars(p, |w| w.done.assembled.trims));
    t.row("trim of the worse side, root mean square, mm", |p| {
        spread(p, |w| w.done.assembled.trim_off)
    });
    t.row("left less right, root mean square, mm", |p| {
        spread(p, |w| w.done.assembled.difference_mm)
    });
    t.text.push('\n');
    t.head("cars, percent of them; on the wheels");
    for (n, name) in [(0, "one round"), (1, "two rounds"), (2, "at last")] {
        t.row(&format!("camber, toe, cross weight: {name}"), |p| {
            share(Share::of(all.iter().map(|o| p(o).done.after[n].alignment_and_cross())))
        });
        t.row(&format!("camber and toe alone: {name}"), |p| {
            share(Share::of(all.iter().map(|o| p(o).done.after[n].alignment())))
        });
        t.row(&format!("cross weight alone: {name}"), |p| {
            share(Share::of(all.iter().map(|o| p(o).done.after[n].cross)))
        });
        t.row(&format!("trims and their difference: {name}"), |p| {
            share(Share::of(all.iter().map(|o| {
                let after = p(o).done.after[n];
                after.trims && after.difference
            })))
        });
        t.row(&format!("everything: {name}"), |p| {
            share(Share::of(all.iter().map(|o| p(o).done.after[n].all())))
        });
        t.row(&format!("the readings say, everything: {name}"), |p| {
            share(Share::of(all.iter().map(|o| p(o).done.by_reading[n].all())))
        });
    }
    t.row("rounds with something to turn: median; 95 in 100", |p| {
        usual(p, |w| f64::from(w.done.rounds))
    });
    t.row("settings of eccentrics and screws: median; 95 in 100", |p| {
        usual(p, |w| f64::from(w.done.settings))
    });
    t.row("plates off again: median; 95 in 100", |p| usual(p, |w| f64::from(w.done.fits)));
    t.row("not to be had at once, by the model at last", |p| cars(p, |w| w.done.unreachable));
    t.row("cross weight out after two rounds, of these not to be had at once", |p| {
        let out = all.iter().filter(|o| !p(o).done.after[1].cross);
        share(Share::of(out.map(|o| p(o).done.unreachable)))
    });
    let step = all.iter().map(|o| o.step).sum::<f64>() / all.len() as f64;
    let mm = all.iter().map(|o| o.mm_per_step).sum::<f64>() / all.len() as f64;
    t.text.push_str(&format!(
        "\n{} cars. A vernier step is {step:.2}° and {mm:.1} mm of trim in the mean.\n",
        all.len(),
    ));
    t.text
}

/// How many readings buy what: one plate each, by the teeth of its car.
pub fn scan(seed: u64, plates: u64) -> String {
    let mut text = String::from(
        "| readings of plate, of sill | counted | level that lasts | step | first fit | two fits \
         | foretold |\n|---|---|---|---|---|---|---|\n",
    );
    for (anchor, plate_end) in [(38, 42), (36, 40)] {
        for lasts in [0.0, 0.5, 1.0] {
            for n in [1, 2, 4, 6, 8, 12, 100] {
                for count_twice in [false, true] {
                    let procedure = Procedure {
                        plate_readings: n,
                        sill_readings: n,
                        level_lasts: lasts,
                        count_twice,
                        ..Procedure::PLAIN
                    };
                    if let Some(row) = scanned((anchor, plate_end), procedure, (seed, plates)) {
                        text.push_str(&row);
                    }
                }
            }
        }
    }
    text
}

fn scanned(teeth: (u32, u32), procedure: Procedure, of: (u64, u64)) -> Option<String> {
    let splines = axlewright_mechanics::splines::Splines::new(teeth.0, teeth.1).ok()?;
    let wanted = axlewright_quantity::Angle::deg(27.0);
    let hung = |car| by_tool((&splines, wanted), &mut Dice::new(of.0, car, 9), procedure);
    let hung: Vec<_> = (0..of.1).filter_map(|car| hung(car).ok()).collect();
    let first = Share::of(hung.iter().map(|h| h.inside[0]));
    let second = Share::of(hung.iter().map(|h| h.inside[1]));
    let step = splines.vernier_step().to_deg();
    // The nearest step is off by anything up to half of it; a reading off by e puts the share
    // |e|/step of them outside, in the mean u·√(2/π)/step.
    let foretold = 1.0 - procedure.index_u() * (2.0 / std::f64::consts::PI).sqrt() / step;
    let counted = if procedure.count_twice { "twice" } else { "once" };
    let once = (1.0 - procedure.miscount()).powi(2);
    Some(format!(
        "| {} | {counted} | {:.0} % | {step:.3}° | {} | {} | {:.1} |\n",
        procedure.plate_readings,
        100.0 * procedure.level_lasts,
        share(first),
        share(second),
        100.0 * foretold * once,
    ))
}
