//! In: the cases of one procedure. Out: cases that no longer end in a verdict on their cause, or whose readings are not asked for.
#![doc = include_str!("case_astray.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level, PathStep};
use crate::model::{Case, CaseCause, NO_FAULT, StepIx};
use crate::source::Span;
use crate::walk::{self, Readings, Trace};

/// The rule.
pub static RULE: Rule = Rule {
    name: "case-astray",
    family: Family::Review,
    levels: &[Level::Error],
    summary: "A solved job that the procedure no longer solves",
    page: include_str!("case_astray.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    if !unit.procedure.sound {
        return;
    }
    for case in unit.cases {
        out.extend(astray(unit, case));
    }
}

fn astray(unit: &Unit<'_>, case: &Case) -> Option<Finding> {
    let procedure = unit.procedure;
    let mut readings = Readings::new();
    for row in &case.readings {
        readings.entry(row.step.value).or_default().extend(row.readings.iter().map(|r| r.value.clone()));
    }
    let trace = match walk::run_on(unit.base, procedure, unit.classes(), case.vehicle, &readings) {
        Ok(trace) => trace,
        Err(why) => {
            let at = procedure.steps.find(&why.step)?;
            let span = reading_span(case, at, &why.typed);
            let mut finding =
                finding(unit, case, at, span, &format!("the reading `{}` can't be read: {}", why.typed, why.message));
            finding.help = why.help;
            return Some(finding);
        }
    };
    let at = procedure.steps.find(&trace.end.step)?;
    if let Some(message) = wrong_end(unit, case, &trace) {
        let span = match trace.end.kind {
            "needs-reading" | "no-result" => last_span(case, at),
            _ => case.cause.span,
        };
        let mut finding = finding(unit, case, at, span, &message);
        if let Some(last) = trace.path.last() {
            finding = finding.label(last.span, "the last result taken");
        }
        finding.path = path(&trace, at, unit);
        finding = match trace.end.kind {
            "needs-reading" => finding.help(format!("add the reading of `{}` to the case", trace.end.step)),
            _ => finding.help("mend the procedure so that this job ends well, or correct the case"),
        };
        return Some(finding);
    }
    let unasked = case.readings.iter().find(|row| {
        let visits = trace.path.iter().filter(|v| v.asked && procedure.steps.find(&v.step) == Some(row.step.value));
        visits.count() < row.readings.len()
    })?;
    let id = procedure.steps.id(unasked.step.value);
    let mut finding = finding(
        unit,
        case,
        unasked.step.value,
        unasked.step.span,
        &format!("the reading of `{id}` is never asked for"),
    );
    finding.path = path(&trace, at, unit);
    Some(finding.help("take it out of the case, or mend the way that no longer comes to this step"))
}

fn finding(unit: &Unit<'_>, case: &Case, at: StepIx, span: Span, what: &str) -> Finding {
    let message = format!("case `{}` goes astray: {what}", case.id);
    words::at_step(unit.procedure, at, RULE.name, Level::Error, span, message)
        .on_vehicles(Some(unit.base.vehicles.id(case.vehicle)))
}

/// Why the ending is not the one that the case knows, or nothing where it is.
fn wrong_end(unit: &Unit<'_>, case: &Case, trace: &Trace) -> Option<String> {
    let wanted = match case.cause.value {
        CaseCause::Cause(cause) => unit.procedure.causes.id(cause),
        CaseCause::NoFault => NO_FAULT,
    };
    let end = &trace.end;
    match end.kind {
        "shows" | "found" if end.causes.iter().any(|c| c == wanted) => None,
        "normal" if wanted == NO_FAULT => None,
        "shows" | "found" => {
            Some(format!("it was `{wanted}`, but `{}` ends in {}", end.step, words::list(&end.causes)))
        }
        "needs-reading" => Some(format!("`{}` asks for a reading that the case does not have", end.step)),
        "no-result" => Some(format!("`{}` has no result for its reading", end.step)),
        "jump" => Some(format!("`{}` goes on with procedure `{}`", end.step, end.text.as_deref().unwrap_or_default())),
        kind => Some(format!("it was `{wanted}`, but `{}` ends in `{kind}`", end.step)),
    }
}

/// Where the case's reading of a step stands, by its text.
fn reading_span(case: &Case, at: StepIx, typed: &str) -> Span {
    let row = case.readings.iter().find(|r| r.step.value == at);
    let reading = row.and_then(|r| r.readings.iter().find(|t| t.value == typed));
    reading.map(|r| r.span).or_else(|| row.map(|r| r.step.span)).unwrap_or(case.place.key)
}

/// The reading at which the walk stops, else the last one that it took.
fn last_span(case: &Case, at: StepIx) -> Span {
    let own = case.readings.iter().find(|r| r.step.value == at).map(|r| r.step.span);
    own.unwrap_or(case.place.key)
}

fn path(trace: &Trace, at: StepIx, unit: &Unit<'_>) -> Vec<PathStep> {
    let line = |v: &walk::Visit| PathStep { step: v.step.clone(), result: v.result.clone(), span: v.span };
    let mut path: Vec<PathStep> = trace.path.iter().map(line).collect();
    if matches!(trace.end.kind, "needs-reading" | "no-result") {
        path.push(crate::graph::witness::line(unit.procedure, at, None));
    }
    path
}
