//! In: the cases of one procedure. Out: cases that no longer end in a verdict on their cause, or whose readings are not asked for.
#![doc = include_str!("case_astray.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level, PathStep};
use crate::model::{Case, CaseCause, NO_FAULT, StepIx, Way};
use crate::source::Span;
use crate::walk::{Ending, Solved, Walk};

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
    let mut specs = unit.procedure.steps.iter().filter_map(|(_, _, step)| step.measure()?.spec.as_ref());
    if !unit.procedure.sound || specs.any(|spec| unit.base.is_faulty(&unit.base.specs[spec.value].place)) {
        return;
    }
    out.extend(unit.cases.iter().filter_map(|solved| astray(unit, solved)));
}

fn astray(unit: &Unit<'_>, solved: &Solved<'_>) -> Option<Finding> {
    let procedure = unit.procedure;
    let case = solved.case;
    let walk = match &solved.walk {
        Ok(walk) => walk.as_ref()?,
        Err(why) => {
            let at = procedure.steps.find(&why.step)?;
            let span = reading_span(case, at, &why.typed);
            let mut finding =
                finding(unit, case, at, span, &format!("the reading `{}` can't be read: {}", why.typed, why.message));
            finding.help.clone_from(&why.help);
            return Some(finding);
        }
    };
    let end = procedure.steps.id(walk.end.step);
    let at = walk.end.step;
    if let Some(message) = wrong_end(unit, case, &walk.end) {
        let span = match walk.end.kind {
            "needs-reading" | "no-result" => last_span(case, at),
            _ => case.cause.span,
        };
        let mut finding = finding(unit, case, at, span, &message);
        if let Some(last) = walk.stops.last() {
            finding = finding.label(last.span(procedure), "the last result taken");
        }
        finding.path = path(walk, unit);
        finding = match walk.end.kind {
            "needs-reading" => finding.help(format!("add the reading of `{end}` to the case")),
            _ => finding.help("mend the procedure so that this job ends well, or correct the case"),
        };
        return Some(finding);
    }
    let unasked = case.readings.iter().find(|row| {
        let visits = walk.stops.iter().filter(|v| v.asked && v.step == row.step.value);
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
    finding.path = path(walk, unit);
    Some(finding.help("take it out of the case, or mend the way that no longer comes to this step"))
}

fn finding(unit: &Unit<'_>, case: &Case, at: StepIx, span: Span, what: &str) -> Finding {
    let message = format!("case `{}` goes astray: {what}", case.id);
    words::at_step(unit.procedure, at, RULE.name, Level::Error, span, message)
        .on_vehicles(Some(unit.base.vehicles.id(case.vehicle)))
}

/// Why the ending is not the one that the case knows, or nothing where it is.
fn wrong_end(unit: &Unit<'_>, case: &Case, end: &Ending<'_>) -> Option<String> {
    let procedure = unit.procedure;
    let wanted = match case.cause.value {
        CaseCause::Cause(cause) => procedure.causes.id(cause),
        CaseCause::NoFault => NO_FAULT,
    };
    let step = procedure.steps.id(end.step);
    let causes: Vec<&str> = end.causes.iter().map(|c| procedure.causes.id(*c)).collect();
    match (end.kind, end.way) {
        ("shows" | "found", _) if causes.contains(&wanted) => None,
        ("normal", _) if wanted == NO_FAULT => None,
        ("shows" | "found", _) => Some(format!("it was `{wanted}`, but `{step}` ends in {}", words::list(&causes))),
        ("needs-reading", _) => Some(format!("`{step}` asks for a reading that the case does not have")),
        ("no-result", _) => Some(format!("`{step}` has no result for its reading")),
        (_, Some(Way::Jump(to))) => Some(format!("`{step}` goes on with procedure `{}`", unit.base.procedures.id(*to))),
        (kind, _) => Some(format!("it was `{wanted}`, but `{step}` ends in `{kind}`")),
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

fn path(walk: &Walk<'_>, unit: &Unit<'_>) -> Vec<PathStep> {
    let procedure = unit.procedure;
    let stops = walk.stops.iter().map(|stop| PathStep {
        step: procedure.steps.id(stop.step).to_owned(),
        result: stop.result(procedure).map(str::to_owned),
        span: stop.span(procedure),
    });
    let mut path: Vec<PathStep> = stops.collect();
    if matches!(walk.end.kind, "needs-reading" | "no-result") {
        path.push(crate::graph::witness::line(procedure, walk.end.step, None));
    }
    path
}
