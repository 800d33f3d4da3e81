//! In: readings that only one step or check uses, and the specs. Out: a finding where amounts have no source, or one that says
//! nothing.
#![doc = include_str!("unsourced_value.md")]

use crate::check::places::within;
use crate::check::{Family, Rule, Run, Unit, Whole};
use crate::finding::{Finding, Level};
use crate::model::Condition;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unsourced-value",
    family: Family::Values,
    levels: &[Level::Warning],
    summary: "A limit that does not say where it comes from",
    page: include_str!("unsourced_value.md"),
    run: Run::Both(readings, specs),
};

fn readings(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (_, id, step) in unit.procedure.steps.iter() {
        let Some(measure) = step.measure().filter(|m| m.spec.is_none()) else { continue };
        let has_amount = |c: &Condition| matches!(c, Condition::Reading(phrase) if phrase.ends().next().is_some());
        if !step.results.iter().any(|r| has_amount(&r.condition)) {
            continue;
        }
        match &measure.source {
            Some(source) if !says_nothing(source) => {}
            Some(source) => {
                out.push(empty(within(step, source.span), source).in_procedure(&unit.procedure.id).at_step(id));
            }
            None => out.push(
                Finding::new(
                    RULE.name,
                    Level::Warning,
                    within(step, measure.span),
                    format!("the amounts of step `{id}` have no source"),
                )
                .help("add `source:` to the reading; a rule of thumb is `Common practice, no published source`")
                .in_procedure(&unit.procedure.id)
                .at_step(id),
            ),
        }
    }
}

fn specs(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    for (_, _, spec) in whole.base.specs.iter() {
        if let Some(source) = spec.source.as_ref().filter(|s| says_nothing(s)) {
            out.push(empty(source.span, source));
        }
    }
}

fn empty(span: crate::source::Span, text: &str) -> Finding {
    Finding::new(RULE.name, Level::Warning, span, format!("expected where the value comes from, found `{text}`"))
        .help("name the source; a rule of thumb is `Common practice, no published source`")
}

/// A source that names nothing.
fn says_nothing(text: &str) -> bool {
    let text = text.trim().trim_end_matches('.').to_lowercase();
    ["", "tbd", "?", "??", "-", "n/a", "none", "unknown", "to be found", "to do"].contains(&text.as_str())
}
