//! In: one procedure. Out: verdicts on causes that were ruled out on the way.
#![doc = include_str!("ruled_out_verdict.md")]

use crate::check::verdicts::{Verdict, verdicts};
use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::model::{Cause, CauseIx, Procedure, Set, Way};
use crate::source::Span;

/// The rule.
pub static RULE: Rule = Rule {
    name: "ruled-out-verdict",
    family: Family::Evidence,
    levels: &[Level::Error, Level::Warning],
    summary: "A verdict on a cause that was ruled out before",
    page: include_str!("ruled_out_verdict.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for verdict in verdicts(unit) {
        match verdict.way {
            Way::Found(causes) => found(unit, &verdict, &causes.iter().copied().collect(), out),
            Way::Shows(cause) => shows(unit, &verdict, *cause, out),
            _ => {}
        }
    }
}

fn found(unit: &Unit<'_>, verdict: &Verdict<'_>, listed: &Set<Cause>, out: &mut Vec<Finding>) {
    let none = |left: &Set<Cause>| (!left.meets(listed)).then(Set::new);
    let Some(arrivals) = verdict.arrivals(unit, none) else { return };
    let names = words::causes(unit.procedure, listed);
    let message = format!("`found` names {names}, which can be ruled out on the way here");
    let mut finding = words::at_step(unit.procedure, verdict.step, RULE.name, Level::Error, verdict.span, message)
        .on_vehicles(words::vehicles(unit.base, &arrivals.vehicles))
        .help("name the cause that is left, or take back what rules this one out");
    finding.path = arrivals.path;
    for span in ruling_out(unit.procedure, &finding, listed) {
        finding = finding.label(span, "ruled out here");
    }
    if let [one] = unit.procedure.cause_ids(listed).as_slice() {
        finding = finding.of_cause(one.clone());
    }
    out.push(finding);
}

fn shows(unit: &Unit<'_>, verdict: &Verdict<'_>, cause: CauseIx, out: &mut Vec<Finding>) {
    if verdict.ever_left(unit).contains(cause) {
        return;
    }
    let Some(arrivals) = verdict.arrivals(unit, |_| Some(Set::new())) else { return };
    let id = unit.procedure.causes.id(cause);
    let message = format!("`shows: {id}`, but every way here had ruled `{id}` out");
    let mut finding = words::at_step(unit.procedure, verdict.step, RULE.name, Level::Warning, verdict.span, message)
        .of_cause(id)
        .help("take back the `clears` that is wrong, or show another cause");
    finding.path = arrivals.path;
    for span in ruling_out(unit.procedure, &finding, &Set::one(cause)) {
        finding = finding.label(span, "ruled out here");
    }
    out.push(finding);
}

/// The results on a finding's path that rule one of these causes out by name.
fn ruling_out(procedure: &Procedure, finding: &Finding, causes: &Set<Cause>) -> Vec<Span> {
    let mut spans = Vec::new();
    for line in &finding.path {
        let Some(step) = procedure.steps.get(&line.step) else { continue };
        let Some(result) = step.results.iter().find(|r| r.text.span == line.span) else { continue };
        if result.rules_out(procedure.causes.len()).meets(causes) {
            let named = result.clears.iter().find(|c| causes.contains(c.value)).map(|c| c.span);
            spans.push(named.unwrap_or(result.text.span));
        }
    }
    spans.dedup();
    spans
}
