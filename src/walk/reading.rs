//! What was typed, as the cell that it falls into.
//!
//! In: a reading as typed, its step, its vehicle. Out: a cell of the step's key, or why it can't be read.

use crate::graph::classes::{Class, Meets, Memory};
use crate::model::{Base, Condition, Kind, Measure, Procedure, Spec, StepIx, Take, WorkedOut};
use crate::parse::{TextProblem, amount, near::nearest};
use crate::quantity::{CellSet, Phrase, Quantity, Rational, Reading, ReadingSet, Unit};

/// A reading that its step can't take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// The step's id.
    pub step: String,
    /// As typed.
    pub typed: String,
    /// Why.
    pub message: String,
    /// What to write.
    pub help: Vec<String>,
}

impl Unreadable {
    fn new(procedure: &Procedure, at: StepIx, typed: &str, message: String) -> Self {
        let step = procedure.steps.id(at).to_owned();
        Self { step, typed: typed.to_owned(), message, help: Vec::new() }
    }

    fn of(procedure: &Procedure, at: StepIx, typed: &str, problem: TextProblem) -> Self {
        let mut all = Self::new(procedure, at, typed, problem.message);
        all.help = problem.help;
        all
    }
}

/// The cell of a reading; nothing where it is no possible reading at all (below absolute zero).
pub(super) fn cell(
    base: &Base,
    procedure: &Procedure,
    class: &Class,
    at: StepIx,
    typed: &str,
) -> Result<Option<usize>, Unreadable> {
    let Meets::Test { key, .. } = &class.meets[at.raw()] else { return Ok(None) };
    match (&class.keys[*key].1, &procedure.steps[at].kind) {
        (Memory::Readings(cells), Kind::Measure(measure)) => {
            let reading = value(base, measure, typed).map_err(|p| Unreadable::of(procedure, at, typed, p))?;
            let set = match reading {
                Reading::Value(value) => ReadingSet::exactly(value),
                Reading::OpenCircuit => ReadingSet::only_open_circuit(),
            };
            let met: CellSet = cells.select(&set);
            Ok(met.iter().next())
        }
        (Memory::Labels(labels), _) => {
            by_text(procedure, at, typed)?;
            Ok(labels.iter().position(|l| l == typed.trim()))
        }
        _ => Ok(None),
    }
}

/// The result whose text is exactly what was typed.
pub(super) fn by_text(procedure: &Procedure, at: StepIx, typed: &str) -> Result<usize, Unreadable> {
    let results = &procedure.steps[at].results;
    results.iter().position(|r| r.text.value == typed.trim()).ok_or_else(|| {
        let labels: Vec<&str> = results.iter().map(|r| r.text.value.as_str()).collect();
        let id = procedure.steps.id(at);
        let mut why = Unreadable::new(procedure, at, typed, format!("step `{id}` has no result `{}`", typed.trim()));
        why.help.push(match nearest(typed.trim(), labels.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => {
                format!("its results are {}", labels.iter().map(|l| format!("`{l}`")).collect::<Vec<_>>().join(", "))
            }
        });
        why
    })
}

/// The result of a reading whose limits are not known on this vehicle: written `below spec`, `in spec` or `above spec`, it
/// takes the result that names it, else the one that means it, else the one for the rest.
pub(super) fn unknown(procedure: &Procedure, at: StepIx, typed: &str) -> Result<usize, Unreadable> {
    let results = &procedure.steps[at].results;
    let has = |wanted: &Phrase| {
        results.iter().position(|r| match &r.condition {
            Condition::Reading(phrase) => phrase.parts().contains(wanted),
            _ => false,
        })
    };
    let exact = results.iter().position(|r| r.text.value == typed.trim());
    let meant = match typed.trim() {
        "in spec" => has(&Phrase::InSpec).or_else(|| has(&Phrase::AnyOther)),
        "below spec" => has(&Phrase::BelowSpec).or_else(|| has(&Phrase::OutOfSpec)).or_else(|| has(&Phrase::AnyOther)),
        "above spec" => has(&Phrase::AboveSpec).or_else(|| has(&Phrase::OutOfSpec)).or_else(|| has(&Phrase::AnyOther)),
        _ => None,
    };
    exact.or(meant).map_or_else(|| by_text(procedure, at, typed), Ok)
}

/// What was typed for a measuring step, in the base unit of its quantity: an amount, "open circuit", or the parts of a
/// worked-out reading with commas between.
///
/// # Errors
/// Says why it can't be read.
pub fn value(base: &Base, measure: &Measure, typed: &str) -> Result<Reading, TextProblem> {
    let spec: Option<&Spec> = measure.spec.map(|s| &base.specs[s.value]);
    let worked_out = spec.and_then(|s| s.worked_out.as_ref());
    match worked_out {
        Some(worked_out) if typed.contains(',') => parts(worked_out, measure.quantity, typed).map(Reading::Value),
        _ => amount::reading(typed.trim(), measure.quantity),
    }
}

/// One number from several.
fn parts(worked_out: &WorkedOut, quantity: Quantity, typed: &str) -> Result<Rational, TextProblem> {
    let parts = amount::parts(typed, worked_out.of)?;
    let wrong = |message: String| TextProblem {
        kind: crate::parse::ProblemKind::BadValue,
        range: 0..typed.len(),
        message,
        help: Vec::new(),
        replacement: None,
        decides: false,
    };
    let named = worked_out.names.len();
    if named > 0 && parts.len() != named {
        return Err(wrong(format!(
            "expected {named} readings ({}), found {}",
            worked_out.names.join(", "),
            parts.len()
        )));
    }
    let values: Vec<&Rational> = parts.iter().map(|p| &p.value).collect();
    let (Some(low), Some(high)) = (values.iter().min(), values.iter().max()) else {
        return Err(wrong("expected at least two readings with commas between".into()));
    };
    match worked_out.take {
        Take::Difference => match values.as_slice() {
            [first, second] => Ok(*first - *second),
            _ => Err(wrong(format!("expected two readings, found {}", values.len()))),
        },
        Take::Spread => Ok(*high - *low),
        Take::LowestOfHighest if high.is_zero() => {
            Err(wrong("the highest reading is zero: there is no share of it".into()))
        }
        Take::LowestOfHighest => {
            let share = *low / *high;
            Ok(match Unit::find("%", quantity) {
                Ok(percent) => percent.to_base(&(share * Rational::from_integer(100)), quantity),
                Err(_) => share,
            })
        }
    }
}
