//! A job in the procedure's own names.
//!
//! In: the walk of one job. Out: a [`Trace`]: what `ruleout trace` prints.

use serde::Serialize;

use super::{Ending, Open, Walk};
use crate::model::{Base, Procedure, VehicleIx, Way};

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
    /// Index of the result.
    #[serde(skip)]
    pub taken: Option<usize>,
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

impl Trace {
    /// Names what was walked; nothing of it on a vehicle that the procedure doesn't apply to.
    pub(super) fn new(base: &Base, procedure: &Procedure, vehicle: VehicleIx, walk: Option<&Walk<'_>>) -> Self {
        let id = base.vehicles.id(vehicle).to_owned();
        let nowhere = || End { kind: "no-result", causes: Vec::new(), step: String::new(), text: None };
        Self {
            procedure: procedure.id.clone(),
            vehicle: (!id.is_empty()).then_some(id),
            path: walk.map_or_else(Vec::new, |walk| path(procedure, walk)),
            end: walk.map_or_else(nowhere, |walk| end(base, procedure, &walk.end)),
            undo: walk.map_or_else(Vec::new, |walk| walk.open.iter().map(|open| undo(base, procedure, open)).collect()),
        }
    }
}

fn path(procedure: &Procedure, walk: &Walk<'_>) -> Vec<Visit> {
    let visits = walk.stops.iter().map(|stop| Visit {
        step: procedure.steps.id(stop.step).to_owned(),
        result: stop.result(procedure).map(str::to_owned),
        reading: stop.reading.map(str::to_owned),
        ruled_out: procedure.cause_ids(&stop.before.minus(&stop.left)),
        left: procedure.cause_ids(&stop.left),
        taken: stop.taken,
    });
    visits.collect()
}

fn end(base: &Base, procedure: &Procedure, end: &Ending<'_>) -> End {
    let text = match end.way {
        Some(Way::Jump(to)) => Some(base.procedures.id(*to).to_owned()),
        Some(Way::Normal(text) | Way::Unproven(text) | Way::Refer(text)) => Some(text.clone()),
        _ => None,
    };
    End {
        kind: end.kind,
        causes: end.causes.iter().map(|c| procedure.causes.id(*c).to_owned()).collect(),
        step: procedure.steps.id(end.step).to_owned(),
        text,
    }
}

fn undo(base: &Base, procedure: &Procedure, open: &Open) -> Undo {
    let text = match open.setup {
        Some(setup) => &base.setups[setup].undo,
        None => &procedure.steps[open.at].shared.undo,
    };
    let text = text.as_ref().map_or_else(String::new, |t| t.value.clone());
    Undo { step: procedure.steps.id(open.at).to_owned(), text }
}
