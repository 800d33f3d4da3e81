//! One job: readings in, path and ending out.
//!
//! In: a procedure, a vehicle, the readings of its steps. Out: a [`Walk`], what a case is judged by, and in words a [`Trace`], what
//! `ruleout trace` prints.
//!
//! What is known is kept as sets of cells, as in the possible paths: a reading that contradicts what earlier readings
//! left (and nothing changed since) has no result.

mod reading;
mod trace;

use std::collections::BTreeMap;

use crate::graph::Analysis;
use crate::graph::classes::{self, Class, Meets};
use crate::model::{Base, Case, Cause, CauseIx, Procedure, Set, SetupIx, Step, StepIx, VehicleIx, Way};
use crate::quantity::CellSet;
use crate::source::Span;

pub use reading::{Unreadable, value};
pub use trace::{End, Trace, Undo, Visit};

/// The reading that goes the `without` way.
pub const NOT_TAKEN: &str = "not taken";

/// What a case writes for an action that was done on one visit and `not taken` on a later one.
pub const DONE: &str = "done";

/// One step of a job.
#[derive(Clone, Debug)]
pub struct Stop<'a> {
    /// The step.
    pub step: StepIx,
    /// The result taken; nothing where the reading was not.
    pub taken: Option<usize>,
    /// The reading as typed.
    pub reading: Option<&'a str>,
    /// Whether one of the given readings was used: also the `done` of an action, which is no reading.
    pub asked: bool,
    /// Causes left before it.
    pub before: Set<Cause>,
    /// Causes left after it.
    pub left: Set<Cause>,
}

impl Stop<'_> {
    /// The `if` (or `for`) as written; nothing at a `do` or where the reading was not taken.
    pub fn result<'p>(&self, procedure: &'p Procedure) -> Option<&'p str> {
        let text = &procedure.steps[self.step].results[self.taken?].text.value;
        (!text.is_empty()).then_some(text)
    }

    /// Where the result stands, or the `without`.
    pub fn span(&self, procedure: &Procedure) -> Span {
        let step = &procedure.steps[self.step];
        match self.taken {
            Some(result) => step.results[result].text.span,
            None => step.without.as_ref().map_or(step.place.key, |w| w.span),
        }
    }
}

/// How a job ends.
#[derive(Clone, Debug)]
pub struct Ending<'a> {
    /// `shows`, `found`, `normal`, `unproven`, `refer`, `jump`, `needs-reading` or `no-result`.
    pub kind: &'static str,
    /// The step it ends at.
    pub step: StepIx,
    /// The causes of a verdict.
    pub causes: Vec<CauseIx>,
    /// The ending as written, where it comes to one.
    pub way: Option<&'a Way>,
}

/// An undo that is open: the step at which it was opened, and what it belongs to.
#[derive(Clone, Copy, Debug)]
struct Open {
    at: StepIx,
    /// A setup's; else the step's own.
    setup: Option<SetupIx>,
}

/// A job.
#[derive(Clone, Debug)]
pub struct Walk<'a> {
    /// Every step on the way.
    pub stops: Vec<Stop<'a>>,
    /// How it ends.
    pub end: Ending<'a>,
    /// What is still open at the end.
    open: Vec<Open>,
}

/// A case and the job that its readings make; no job where it is on a vehicle that the procedure doesn't apply to.
#[derive(Debug)]
pub struct Solved<'a> {
    /// The case.
    pub case: &'a Case,
    /// The job.
    pub walk: Result<Option<Walk<'a>>, Unreadable>,
}

/// Readings by step, each list in the order of the visits.
pub type Readings = BTreeMap<StepIx, Vec<String>>;

/// Runs readings through a procedure.
///
/// # Errors
/// A reading that can't be read as what its step takes.
pub fn run(base: &Base, procedure: &Procedure, vehicle: VehicleIx, readings: &Readings) -> Result<Trace, Unreadable> {
    let nth = |step: StepIx, visit: usize| Some(readings.get(&step)?.get(visit)?.as_str());
    let walk = follow(base, procedure, &classes::classes(base, procedure), vehicle, &nth)?;
    Ok(Trace::new(base, procedure, vehicle, walk.as_ref()))
}

/// Runs the readings of each case through its procedure.
pub fn solve<'a>(analysis: &Analysis<'a>, cases: &'a [Case]) -> Vec<Solved<'a>> {
    let walk = |case: &'a Case| {
        let rows = |step: StepIx| case.readings.iter().filter(move |row| row.step.value == step);
        let nth = |step: StepIx, visit: usize| Some(rows(step).flat_map(|r| &r.readings).nth(visit)?.value.as_str());
        let classes = analysis.classes.iter().map(|(class, _)| class);
        Solved { case, walk: follow(analysis.base, analysis.procedure, classes, case.vehicle, &nth) }
    };
    cases.iter().map(walk).collect()
}

/// What is given for a step at a visit.
type Nth<'r, 'a> = &'r dyn Fn(StepIx, usize) -> Option<&'a str>;

fn follow<'a, 'c>(
    base: &'a Base,
    procedure: &'a Procedure,
    classes: impl IntoIterator<Item = &'c Class>,
    vehicle: VehicleIx,
    readings: Nth<'_, 'a>,
) -> Result<Option<Walk<'a>>, Unreadable> {
    let class = classes.into_iter().find(|c| c.vehicles.contains(vehicle));
    let (Some(class), Some(start)) = (class, procedure.start()) else { return Ok(None) };
    let mut job = Job {
        base,
        procedure,
        class,
        readings,
        used: vec![0; procedure.steps.len()],
        facts: class.keys.iter().map(|(_, memory)| memory.all()).collect(),
        left: class.causes.clone(),
        stops: Vec::new(),
        open: Vec::new(),
    };
    let mut at = start;
    let mut idle = 0;
    let end = loop {
        match job.step(at)? {
            // Round and round through actions only: no reading will ever be asked for.
            After::Go(_) if idle > procedure.steps.len() => break nothing("no-result", at),
            After::Go(to) => {
                let read = job.stops.last().is_some_and(|v| v.reading.is_some());
                idle = if read { 0 } else { idle + 1 };
                at = to;
            }
            After::End(end) => break end,
        }
    };
    Ok(Some(Walk { stops: job.stops, end, open: job.open }))
}

/// An end where no ending is written.
fn nothing(kind: &'static str, step: StepIx) -> Ending<'static> {
    Ending { kind, step, causes: Vec::new(), way: None }
}

enum After<'a> {
    Go(StepIx),
    End(Ending<'a>),
}

struct Job<'r, 'a> {
    base: &'a Base,
    procedure: &'a Procedure,
    class: &'r Class,
    readings: Nth<'r, 'a>,
    /// Per step, how many of its readings are used up.
    used: Vec<usize>,
    /// Per key, the readings still possible.
    facts: Vec<CellSet>,
    left: Set<Cause>,
    stops: Vec<Stop<'a>>,
    open: Vec<Open>,
}

impl<'a> Job<'_, 'a> {
    fn step(&mut self, at: StepIx) -> Result<After<'a>, Unreadable> {
        let step = &self.procedure.steps[at];
        let (result, reading) = match &self.class.meets[at.raw()] {
            Meets::Done => match self.action_reading(at, step) {
                Some(typed) if typed.trim() == NOT_TAKEN => return Ok(self.not_taken(at, step, typed)),
                said => {
                    let after = self.take(at, step, 0, None);
                    if let Some(stop) = self.stops.last_mut() {
                        stop.asked = said.is_some();
                    }
                    return Ok(after);
                }
            },
            Meets::Route(Some(result)) => (*result, None),
            Meets::Route(None) => return Ok(After::End(nothing("no-result", at))),
            Meets::Blind | Meets::Test { .. } => {
                let Some(typed) = self.next_reading(at) else { return Ok(After::End(nothing("needs-reading", at))) };
                if typed.trim() == NOT_TAKEN {
                    return Ok(self.not_taken(at, step, typed));
                }
                match self.result(at, typed)? {
                    Some(result) => (result, Some(typed)),
                    None => return Ok(After::End(nothing("no-result", at))),
                }
            }
        };
        Ok(self.take(at, step, result, reading))
    }

    fn next_reading(&mut self, at: StepIx) -> Option<&'a str> {
        let used = &mut self.used[at.raw()];
        let typed = (self.readings)(at, *used)?;
        *used += 1;
        Some(typed)
    }

    /// What is given for an action: `not taken`, or `done` for a visit before that. Any other text is not asked for.
    fn action_reading(&mut self, at: StepIx, step: &Step) -> Option<&'a str> {
        let used = &mut self.used[at.raw()];
        let typed = (self.readings)(at, *used)?;
        let asked = typed.trim() == NOT_TAKEN || (typed.trim() == DONE && step.without.is_some());
        *used += usize::from(asked);
        asked.then_some(typed)
    }

    /// The way of a bay that lacks the equipment: nothing is learned.
    fn not_taken(&mut self, at: StepIx, step: &'a Step, typed: &'a str) -> After<'a> {
        let Some(without) = &step.without else { return After::End(nothing("needs-reading", at)) };
        let (before, left) = (self.left.clone(), self.left.clone());
        self.stops.push(Stop { step: at, taken: None, reading: Some(typed), asked: true, before, left });
        self.go(at, &without.way)
    }

    /// The result that a reading takes: the first that covers it, if what is known allows it.
    fn result(&mut self, at: StepIx, typed: &str) -> Result<Option<usize>, Unreadable> {
        let Meets::Test { key, takes } = &self.class.meets[at.raw()] else {
            return reading::unknown(self.procedure, at, typed).map(Some);
        };
        let cell = reading::cell(self.base, self.procedure, self.class, at, typed)?;
        let known = &mut self.facts[*key];
        let taken = cell.filter(|c| known.contains(*c)).and_then(|c| takes.iter().position(|t| t.contains(c)));
        if let Some(result) = taken {
            *known = takes[result].intersect(known);
        }
        Ok(taken)
    }

    fn take(&mut self, at: StepIx, step: &'a Step, result: usize, reading: Option<&'a str>) -> After<'a> {
        let outcome = &step.results[result];
        let before = self.left.clone();
        self.left = match outcome.way {
            Way::Shows(cause) => Set::one(cause),
            _ => before.minus(&outcome.rules_out(self.procedure.causes.len())),
        };
        for key in self.class.forgets[at.raw()].iter() {
            self.facts[key] = self.class.keys[key].1.all();
        }
        self.put_away(at, step);
        let (asked, left) = (reading.is_some(), self.left.clone());
        self.stops.push(Stop { step: at, taken: Some(result), reading, asked, before, left });
        self.go(at, &outcome.way)
    }

    /// Opens what the step leaves to be put back, closes what it puts back.
    fn put_away(&mut self, at: StepIx, step: &Step) {
        self.open.retain(|o| o.setup.is_some() || !step.undoes.iter().any(|u| u.value == o.at));
        for setup in &step.shared.setup {
            let row = &self.base.setups[setup.value];
            self.open.retain(|o| !row.ends.iter().any(|e| Some(e.value) == o.setup));
            let known = self.open.iter().any(|o| o.setup == Some(setup.value));
            if row.undo.is_some() && !known {
                self.open.push(Open { at, setup: Some(setup.value) });
            }
        }
        let known = self.open.iter().any(|o| o.setup.is_none() && o.at == at);
        if step.shared.undo.is_some() && !known {
            self.open.push(Open { at, setup: None });
        }
    }

    fn go(&self, step: StepIx, way: &'a Way) -> After<'a> {
        let causes = match way {
            Way::Then(to) => return After::Go(*to),
            Way::Unknown => return After::End(nothing("no-result", step)),
            Way::Shows(cause) => vec![*cause],
            Way::Found(causes) => causes.clone(),
            Way::FoundLeft => {
                let no_fault: Set<Cause> = self.procedure.no_fault().into_iter().collect();
                self.left.minus(&no_fault).iter().collect()
            }
            Way::Jump(_) | Way::Normal(_) | Way::Unproven(_) | Way::Refer(_) => Vec::new(),
        };
        After::End(Ending { kind: way.word(), step, causes, way: Some(way) })
    }
}
