//! What confirms a repair, in the new procedure.
//!
//! In: the old procedure, the steps of the new one. Out: [`Edit`]s of the names of steps in `after-repair`. A step that the order leaves
//! out gives way to another that takes the same reading and has the same result; where there is none, the procedure can't be written.

use super::plan::{Laid, Row};
use super::{At, Trims};
use crate::finding::Edit;
use crate::model::{Base, CheckIx, Confirm, Fix, Procedure, StepIx};

/// Finds what `after-repair` must name.
///
/// # Errors
/// The id of a step or check that confirms a repair, and that the new procedure has no place for.
pub fn confirm(base: &Base, procedure: &Procedure, laid: &Laid, trims: &Trims) -> Result<Vec<Edit>, String> {
    let all = Places { procedure, laid, trims };
    let mut edits = Vec::new();
    for confirm in &procedure.after_repair.confirm {
        match confirm {
            Confirm::Step { step, result } => {
                let id = procedure.steps.id(step.value);
                let new = all.of(step.value, *result).ok_or_else(|| id.to_owned())?;
                if new != id {
                    edits.push(Edit { span: step.span, text: new.to_owned() });
                }
            }
            Confirm::Check { check, result } => all.check(base, check.value, &result.value)?,
            Confirm::Named { .. } => {}
        }
    }
    for (_, _, cause) in procedure.causes.iter() {
        let Some(Fix::Repair(repair)) = cause.fix.as_ref().map(|fix| &fix.value) else { continue };
        for confirm in &base.repairs[*repair].after.confirm {
            match confirm {
                // a shared repair names the step as every procedure has it
                Confirm::Named { step, result } => {
                    let here = all.showing(&result.value).any(|(_, id)| id == step.value);
                    if !here && !all.is_action(&step.value) {
                        return Err(step.value.clone());
                    }
                }
                Confirm::Check { check, result } => all.check(base, check.value, &result.value)?,
                Confirm::Step { .. } => {}
            }
        }
    }
    Ok(edits)
}

struct Places<'a> {
    procedure: &'a Procedure,
    laid: &'a Laid,
    trims: &'a Trims,
}

impl<'a> Places<'a> {
    /// The tests of the new procedure: the old step, the id, which it is.
    fn tests(&self) -> impl Iterator<Item = (StepIx, &'a str, At)> {
        self.laid.rows.iter().filter_map(|(at, id, row)| match row {
            Row::Ask { step, .. } => Some((*step, id.as_str(), *at)),
            _ => None,
        })
    }

    /// Those that have a result of these words.
    fn showing(&self, words: &str) -> impl Iterator<Item = (StepIx, &'a str)> {
        self.tests().filter_map(move |(step, id, at)| {
            let results = &self.procedure.steps[step].results;
            let place = results.iter().position(|result| result.text.value == words)?;
            (!self.trims.dead.contains(&(at, place))).then_some((step, id))
        })
    }

    /// The place of a step's result, else of the same result of another test of its reading.
    fn of(&self, step: StepIx, result: usize) -> Option<&'a str> {
        let old = &self.procedure.steps[step];
        let words = &old.results.get(result)?.text.value;
        let own = self.showing(words).find(|(other, _)| *other == step);
        let other = || self.showing(words).find(|(other, _)| self.procedure.steps[*other].key == old.key);
        own.or_else(other).map(|(_, id)| id)
    }

    fn check(&self, base: &Base, check: CheckIx, words: &str) -> Result<(), String> {
        let by = |step: StepIx| self.procedure.steps[step].check.as_ref().is_some_and(|c| c.value == check);
        let here = self.showing(words).any(|(step, _)| by(step));
        if here { Ok(()) } else { Err(base.checks.id(check).to_owned()) }
    }

    fn is_action(&self, id: &str) -> bool {
        self.laid.rows.iter().any(|(_, other, row)| other == id && matches!(row, Row::Do(..)))
    }
}
