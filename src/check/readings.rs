//! Readings that no result covers, and readings that two cover.
//!
//! In: one step on every class that enters it. Out: [`Uncovered`] and [`Doubled`], merged over classes; the three rules
//! about them only word what stands here.

use std::collections::BTreeMap;

use super::rule::Unit;
use crate::graph::paths::Paths;
use crate::model::{Condition, Outcome, Set, Step, StepIx, Vehicle};
use crate::quantity::{ANY, CellSet, Cells, End, Phrase, Rational, ReadingSet, Unit as Symbol};

/// A run of readings that can be taken at a step and that no result covers, between two results.
#[derive(Debug)]
pub struct Uncovered {
    /// The result that covers the readings just below, and the one just above.
    pub between: (Option<usize>, Option<usize>),
    /// The readings in words, one per class that differs.
    pub readings: Vec<String>,
    /// The vehicles.
    pub vehicles: Set<Vehicle>,
    /// Whether its two ends are only written in different units.
    pub rounding: bool,
    /// What to write for the result above (or, failing that, below) to cover it.
    pub mend: Option<(usize, String)>,
    /// What the neighbours cover, in words.
    pub covers: (String, String),
}

/// Readings that two results cover.
#[derive(Debug)]
pub struct Doubled {
    /// The two results, the earlier first.
    pub results: (usize, usize),
    /// The readings in words, one per class that differs.
    pub readings: Vec<String>,
    /// The vehicles.
    pub vehicles: Set<Vehicle>,
    /// Whether the two ends are only written in different units.
    pub rounding: bool,
    /// What to write for the later result so that each reading has one.
    pub mend: Option<(usize, String)>,
}

/// The readings that possible paths bring to a step, on one class.
pub fn brought(paths: &Paths, step: StepIx, key: usize) -> CellSet {
    paths.at(step).fold(CellSet::empty(), |all, s| all.union(&paths.fact(s, key)))
}

/// Runs of cells: consecutive ones stand together.
fn runs(cells: &CellSet) -> Vec<CellSet> {
    let mut runs: Vec<(usize, CellSet)> = Vec::new();
    for cell in cells.iter() {
        match runs.last_mut() {
            Some((last, run)) if *last + 1 == cell => {
                *last = cell;
                run.insert(cell);
            }
            _ => runs.push((cell, CellSet::one(cell))),
        }
    }
    runs.into_iter().map(|(_, run)| run).collect()
}

/// The gaps of a step.
pub fn uncovered(unit: &Unit<'_>, step: StepIx) -> Vec<Uncovered> {
    let mut found: BTreeMap<(Option<usize>, Option<usize>, bool), Uncovered> = BTreeMap::new();
    for (class, paths) in &unit.analysis.classes {
        let Some((key, cells, takes)) = class.readings(step) else { continue };
        if paths.at(step).len() == 0 {
            continue;
        }
        let covered = takes.iter().fold(CellSet::empty(), |all, t| all.union(t));
        for run in runs(&brought(paths, step, key).minus(&covered)) {
            let view = View::new(unit, step, cells);
            let between = (neighbour(takes, &run, true), neighbour(takes, &run, false));
            let rounding = view.is_rounding(&cells.readings(&run));
            let words = view.words(&run);
            let entry = found.entry((between.0, between.1, rounding)).or_insert_with(|| Uncovered {
                between,
                readings: Vec::new(),
                vehicles: Set::new(),
                rounding,
                mend: view.closing(takes, &run, between),
                covers: (view.covers(takes, between.0), view.covers(takes, between.1)),
            });
            if entry.vehicles.is_empty() || entry.readings.contains(&words) {
                // the first, or the same again
            } else {
                entry.mend = None;
            }
            if !entry.readings.contains(&words) {
                entry.readings.push(words);
            }
            entry.vehicles = entry.vehicles.or(&class.vehicles);
        }
    }
    // A range is rewritten for every vehicle: only what is wrong on all of them is mended so.
    let all = unit.analysis.vehicles_at(step);
    let mendable = |one: Uncovered| if one.vehicles == all { one } else { Uncovered { mend: None, ..one } };
    found.into_values().map(mendable).collect()
}

/// The result that takes the cell just below (or above) a run.
fn neighbour(takes: &[CellSet], run: &CellSet, below: bool) -> Option<usize> {
    let cell = if below { run.iter().next()?.checked_sub(1)? } else { run.iter().last()? + 1 };
    takes.iter().position(|t| t.contains(cell))
}

/// The overlaps of a step.
pub fn doubled(unit: &Unit<'_>, step: StepIx) -> Vec<Doubled> {
    let mut found: BTreeMap<(usize, usize, bool), Doubled> = BTreeMap::new();
    for (class, paths) in &unit.analysis.classes {
        let Some((key, cells, takes)) = class.readings(step) else { continue };
        if paths.at(step).len() == 0 {
            continue;
        }
        // Where the results cover each reading once, together they are as many as all of them apart.
        let covered = takes.iter().fold(CellSet::empty(), |all, t| all.union(t));
        if covered.len() == takes.iter().map(CellSet::len).sum::<usize>() {
            continue;
        }
        let brought = brought(paths, step, key);
        for later in 1..takes.len() {
            for earlier in 0..later {
                let both = takes[earlier].intersect(&takes[later]).intersect(&brought);
                // Of two bands the spec tells it, whoever names them.
                let results = &unit.procedure.steps[step].results;
                if both.is_empty() || (is_band(&results[earlier]) && is_band(&results[later])) {
                    continue;
                }
                let view = View::new(unit, step, cells);
                let words = view.words(&both);
                let rounding = view.is_rounding(&cells.readings(&both));
                let rest = takes[later].minus(&takes[earlier]);
                let entry = found.entry((later, earlier, rounding)).or_insert_with(|| Doubled {
                    results: (earlier, later),
                    readings: Vec::new(),
                    vehicles: Set::new(),
                    rounding,
                    mend: view.rewrite(later, &cells.readings(&rest)),
                });
                // What would be left to the later result is never read here: it would be dead.
                if rest.intersect(&brought).is_empty() {
                    entry.mend = None;
                }
                if !entry.readings.contains(&words) {
                    if !entry.readings.is_empty() {
                        entry.mend = None;
                    }
                    entry.readings.push(words);
                }
                entry.vehicles = entry.vehicles.or(&class.vehicles);
            }
        }
    }
    let all = unit.analysis.vehicles_at(step);
    let mendable = |one: Doubled| if one.vehicles == all { one } else { Doubled { mend: None, ..one } };
    found.into_values().map(mendable).collect()
}

/// Whether a result is a band of the spec, by its name.
fn is_band(result: &Outcome) -> bool {
    matches!(&result.condition, Condition::Reading(Phrase::Band(_) | Phrase::InSpec))
}

/// One step's readings on one class, and how to say them.
struct View<'a> {
    step: &'a Step,
    cells: &'a Cells,
    symbol: Symbol,
    ends: Vec<&'a End>,
}

impl<'a> View<'a> {
    fn new(unit: &Unit<'a>, at: StepIx, cells: &'a Cells) -> Self {
        let step = &unit.procedure.steps[at];
        let own = step.results.iter().filter_map(|r| match &r.condition {
            Condition::Reading(phrase) => Some(phrase),
            _ => None,
        });
        let mut ends: Vec<&End> = own.flat_map(Phrase::ends).collect();
        if let Some(spec) = step.measure().and_then(|m| m.spec) {
            for entry in &unit.base.specs[spec.value].entries {
                if let crate::model::Limits::Bands(bands) = &entry.limits {
                    ends.extend(bands.iter().flat_map(|b| b.phrase.ends()));
                }
            }
        }
        Self { step, cells, symbol: super::words::unit(unit.base, step, cells.domain().quantity()), ends }
    }

    fn words(&self, run: &CellSet) -> String {
        self.cells.readings(run).words(self.symbol, self.cells.domain())
    }

    fn covers(&self, takes: &[CellSet], result: Option<usize>) -> String {
        result.map_or_else(String::new, |r| format!("covers {}", self.words(&takes[r])))
    }

    /// Its two ends are written in different units and differ by less than one in the last written digit of the finer one.
    fn is_rounding(&self, set: &ReadingSet) -> bool {
        let [span] = set.spans() else { return false };
        let (Some(low), Some(high)) = (span.from().value(), span.to().value()) else { return false };
        let at = |value: &Rational| self.ends.iter().filter(|e| e.amount.value == *value).collect::<Vec<_>>();
        let width = high - low;
        at(low).iter().any(|a| {
            at(high).iter().any(|b| {
                a.amount.unit != b.amount.unit && {
                    let (x, y) = (a.amount.last_digit(), b.amount.last_digit());
                    width < if x < y { x } else { y }
                }
            })
        })
    }

    /// What one of the neighbours would say if it covered the run too.
    fn closing(
        &self,
        takes: &[CellSet],
        run: &CellSet,
        between: (Option<usize>, Option<usize>),
    ) -> Option<(usize, String)> {
        let wider = |r: usize| self.rewrite(r, &self.cells.readings(&takes[r].union(run)));
        between.1.and_then(wider).or_else(|| between.0.and_then(wider))
    }

    /// The words of a result that is a plain range and would stay one run of readings.
    fn rewrite(&self, result: usize, set: &ReadingSet) -> Option<(usize, String)> {
        let Condition::Reading(Phrase::Range { .. }) = &self.step.results[result].condition else {
            return None;
        };
        // "open circuit" follows "above A" without a word, so it is not written again.
        let mut set = set.clone();
        let open = std::mem::replace(&mut set.open_circuit, false);
        let top = set.spans().last().is_some_and(|s| s.to().value().is_none());
        let words = set.words(self.symbol, self.cells.domain());
        // The language has no word for a result that takes whatever is read.
        let is_range = set.spans().len() == 1 && words != ANY;
        (is_range && (!open || top)).then(|| (result, self.spelt(&words)))
    }

    /// The unit as the author spells it: `ohm` stays `ohm`.
    fn spelt(&self, words: &str) -> String {
        let symbol = self.symbol.symbol();
        let number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '\u{2212}' | ' ');
        let own =
            self.ends.iter().filter(|e| e.amount.unit == self.symbol).map(|e| e.amount.text.trim_start_matches(number));
        match own.into_iter().find(|text| !text.is_empty()) {
            Some(text) if text != symbol && !symbol.is_empty() => words.replace(symbol, text),
            _ => words.to_owned(),
        }
    }
}
