//! One job: readings in, path and ending out.
//!
//! In: a procedure, a vehicle, the readings of its steps. Out: a [`Trace`]: what `ruleout trace` prints, what a case is judged by.
//!
//! What is known is kept as sets of cells, as in the possible paths: a reading that contradicts what earlier readings
//! left (and nothing changed since) has no result.

mod reading;

use std::collections::BTreeMap;

use serde::Serialize;

use crate::graph::classes::{self, Class, Meets};
use crate::model::{Base, Cause, CauseIx, Procedure, Set, Step, StepIx, VehicleIx, Way};
use crate::quantity::CellSet;
use crate::source::Span;

pub use reading::{Unreadable, value};

/// The reading that goes the `without` way.
pub const NOT_TAKEN: &str = "not taken";

/// What a case writes for an action that was done on one visit and `not taken` on a later one.
pub const DONE: &str = "done";

/// One step of a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Visit {
    /// The step's id.
    pub step: String,
    /// The `if` (or `for`) as written; nothing at a `do` or where the reading was not taken.
    pub result: Option<String>,
    /// The reading as typed.
    pub reading: Option<String>,
    /// Causes that this result ruled out and that were left before.
    pub ruled_out: Vec<String>,
    /// Causes left after it.
    pub left: Vec<String>,
    /// Where the result stands.
    #[serde(skip)]
    pub span: Span,
    /// Index of the result.
    #[serde(skip)]
    pub taken: Option<usize>,
    /// Whether one of the given readings was used: also the `done` of an action, which is no reading.
    #[serde(skip)]
    pub asked: bool,
}

/// How a job ends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct End {
    /// `shows`, `found`, `normal`, `unproven`, `refer`, `jump`, `needs-reading` or `no-result`.
    pub kind: &'static str,
    /// The causes of a verdict.
    pub causes: Vec<String>,
    /// The step it ends at.
    pub step: String,
    /// What it says; a jump's procedure.
    pub text: Option<String>,
}

/// Something that must be put back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Undo {
    /// The step that opened it.
    pub step: String,
    /// What to do.
    pub text: String,
}

/// A job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Trace {
    /// The procedure's id.
    pub procedure: String,
    /// The vehicle's id; nothing where the base has none.
    pub vehicle: Option<String>,
    /// Every step on the way.
    pub path: Vec<Visit>,
    /// How it ends.
    pub end: End,
    /// What is still open at the end.
    pub undo: Vec<Undo>,
}

/// Readings by step, each list in the order of the visits.
pub type Readings = BTreeMap<StepIx, Vec<String>>;

/// Runs readings through a procedure.
///
/// # Errors
/// A reading that can't be read as what its step takes.
pub fn run(base: &Base, procedure: &Procedure, vehicle: VehicleIx, readings: &Readings) -> Result<Trace, Unreadable> {
    run_on(base, procedure, &classes::classes(base, procedure), vehicle, readings)
}

/// Runs readings through a procedure whose classes of vehicles are known already.
///
/// # Errors
/// A reading that can't be read as what its step takes.
pub fn run_on<'a>(
    base: &Base,
    procedure: &Procedure,
    classes: impl IntoIterator<Item = &'a Class>,
    vehicle: VehicleIx,
    readings: &Readings,
) -> Result<Trace, Unreadable> {
    let class = classes.into_iter().find(|c| c.vehicles.contains(vehicle));
    let id = base.vehicles.id(vehicle).to_owned();
    let mut trace = Trace {
        procedure: procedure.id.clone(),
        vehicle: (!id.is_empty()).then_some(id),
        path: Vec::new(),
        end: End { kind: "no-result", causes: Vec::new(), step: String::new(), text: None },
        undo: Vec::new(),
    };
    let (Some(class), Some(start)) = (class, procedure.start()) else { return Ok(trace) };
    let mut job = Job {
        base,
        procedure,
        class,
        readings,
        used: BTreeMap::new(),
        facts: BTreeMap::new(),
        left: class.causes.clone(),
        open: Vec::new(),
    };
    let mut at = start;
    let mut idle = 0;
    loop {
        match job.step(at, &mut trace)? {
            // Round and round through actions only: no reading will ever be asked for.
            After::Go(_) if idle > procedure.steps.len() => {
                trace.end = job.end("no-result", at);
                break;
            }
            After::Go(to) => {
                let read = trace.path.last().is_some_and(|v| v.reading.is_some());
                idle = if read { 0 } else { idle + 1 };
                at = to;
            }
            After::End(end) => {
                trace.end = end;
                break;
            }
        }
    }
    trace.undo = job.open.into_iter().map(|o| o.undo).collect();
    Ok(trace)
}

enum After {
    Go(StepIx),
    End(End),
}

/// An undo that is open, and what opened it.
struct Open {
    undo: Undo,
    step: Option<StepIx>,
    setup: Option<crate::model::SetupIx>,
}

struct Job<'a> {
    base: &'a Base,
    procedure: &'a Procedure,
    class: &'a Class,
    readings: &'a Readings,
    used: BTreeMap<StepIx, usize>,
    facts: BTreeMap<usize, CellSet>,
    left: Set<Cause>,
    open: Vec<Open>,
}

impl Job<'_> {
    fn end(&self, kind: &'static str, at: StepIx) -> End {
        End { kind, causes: Vec::new(), step: self.procedure.steps.id(at).to_owned(), text: None }
    }

    fn step(&mut self, at: StepIx, trace: &mut Trace) -> Result<After, Unreadable> {
        let step = &self.procedure.steps[at];
        let (result, reading) = match &self.class.meets[at.raw()] {
            Meets::Done => match self.action_reading(at, step) {
                Some(typed) if typed.trim() == NOT_TAKEN => return Ok(self.not_taken(at, step, typed, trace)),
                said => {
                    let after = self.take(at, step, 0, None, trace);
                    if let Some(visit) = trace.path.last_mut() {
                        visit.asked = said.is_some();
                    }
                    return Ok(after);
                }
            },
            Meets::Route(Some(result)) => (*result, None),
            Meets::Route(None) => return Ok(After::End(self.end("no-result", at))),
            Meets::Blind | Meets::Test { .. } => {
                let Some(typed) = self.next_reading(at) else { return Ok(After::End(self.end("needs-reading", at))) };
                if typed.trim() == NOT_TAKEN {
                    return Ok(self.not_taken(at, step, typed, trace));
                }
                match self.result(at, &typed)? {
                    Some(result) => (result, Some(typed)),
                    None => return Ok(After::End(self.end("no-result", at))),
                }
            }
        };
        Ok(self.take(at, step, result, reading, trace))
    }

    fn next_reading(&mut self, at: StepIx) -> Option<String> {
        let used = self.used.entry(at).or_insert(0);
        let typed = self.readings.get(&at)?.get(*used)?.clone();
        *used += 1;
        Some(typed)
    }

    /// What is given for an action: `not taken`, or `done` for a visit before that. Any other text is not asked for.
    fn action_reading(&mut self, at: StepIx, step: &Step) -> Option<String> {
        let used = self.used.entry(at).or_insert(0);
        let typed = self.readings.get(&at)?.get(*used)?;
        let asked = typed.trim() == NOT_TAKEN || (typed.trim() == DONE && step.without.is_some());
        *used += usize::from(asked);
        asked.then(|| typed.clone())
    }

    /// The way of a bay that lacks the equipment: nothing is learned.
    fn not_taken(&mut self, at: StepIx, step: &Step, typed: String, trace: &mut Trace) -> After {
        let Some(without) = &step.without else { return After::End(self.end("needs-reading", at)) };
        trace.path.push(Visit {
            step: self.procedure.steps.id(at).to_owned(),
            result: None,
            reading: Some(typed),
            ruled_out: Vec::new(),
            left: self.procedure.cause_ids(&self.left),
            span: without.span,
            taken: None,
            asked: true,
        });
        self.follow(at, &without.way)
    }

    /// The result that a reading takes: the first that covers it, if what is known allows it.
    fn result(&mut self, at: StepIx, typed: &str) -> Result<Option<usize>, Unreadable> {
        let Meets::Test { key, takes } = &self.class.meets[at.raw()] else {
            return reading::unknown(self.procedure, at, typed).map(Some);
        };
        let cell = reading::cell(self.base, self.procedure, self.class, at, typed)?;
        let memory = &self.class.keys[*key].1;
        let known = self.facts.get(key).cloned().unwrap_or_else(|| memory.all());
        let taken = cell.filter(|c| known.contains(*c)).and_then(|c| takes.iter().position(|t| t.contains(c)));
        if let Some(result) = taken {
            self.facts.insert(*key, takes[result].intersect(&known));
        }
        Ok(taken)
    }

    fn take(&mut self, at: StepIx, step: &Step, result: usize, reading: Option<String>, trace: &mut Trace) -> After {
        let outcome = &step.results[result];
        let before = self.left.clone();
        self.left = self.left.minus(&outcome.rules_out(self.procedure.causes.len()));
        if let Way::Shows(cause) = outcome.way {
            self.left = Set::one(cause);
        }
        for key in crate::graph::forgotten(step, self.class).iter() {
            self.facts.remove(&key);
        }
        self.put_away(at, step);
        let text = &outcome.text.value;
        trace.path.push(Visit {
            step: self.procedure.steps.id(at).to_owned(),
            result: (!text.is_empty()).then(|| text.clone()),
            asked: reading.is_some(),
            reading,
            ruled_out: self.procedure.cause_ids(&before.minus(&self.left)),
            left: self.procedure.cause_ids(&self.left),
            span: outcome.text.span,
            taken: Some(result),
        });
        self.follow(at, &outcome.way)
    }

    /// Opens what the step leaves to be put back, closes what it puts back.
    fn put_away(&mut self, at: StepIx, step: &Step) {
        let id = self.procedure.steps.id(at).to_owned();
        self.open.retain(|o| !step.undoes.iter().any(|u| Some(u.value) == o.step));
        for setup in &step.shared.setup {
            let row = &self.base.setups[setup.value];
            self.open.retain(|o| !row.ends.iter().any(|e| Some(e.value) == o.setup));
            let known = self.open.iter().any(|o| o.setup == Some(setup.value));
            if let Some(text) = row.undo.as_ref().filter(|_| !known) {
                let undo = Undo { step: id.clone(), text: text.value.clone() };
                self.open.push(Open { undo, step: None, setup: Some(setup.value) });
            }
        }
        let known = self.open.iter().any(|o| o.step == Some(at));
        if let Some(text) = step.shared.undo.as_ref().filter(|_| !known) {
            let undo = Undo { step: id, text: text.value.clone() };
            self.open.push(Open { undo, step: Some(at), setup: None });
        }
    }

    fn follow(&self, at: StepIx, way: &Way) -> After {
        let mut end = self.end(way.word(), at);
        let id = |c: &CauseIx| self.procedure.causes.id(*c).to_owned();
        match way {
            Way::Then(to) => return After::Go(*to),
            Way::Shows(cause) => end.causes = vec![id(cause)],
            Way::Found(causes) => end.causes = causes.iter().map(id).collect(),
            Way::FoundLeft => {
                let no_fault: Set<Cause> = self.procedure.no_fault().into_iter().collect();
                end.causes = self.procedure.cause_ids(&self.left.minus(&no_fault));
            }
            Way::Jump(to) => end.text = Some(self.base.procedures.id(*to).to_owned()),
            Way::Normal(text) | Way::Unproven(text) | Way::Refer(text) => end.text = Some(text.clone()),
            Way::Unknown => end.kind = "no-result",
        }
        After::End(end)
    }
}
