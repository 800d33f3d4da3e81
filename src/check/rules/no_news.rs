//! In: one procedure. Out: tests all of whose results mean the same, and causes that a result rules out in vain.
#![doc = include_str!("no_news.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::graph::paths::Via;
use crate::model::{CauseIx, Outcome, StepIx, Way};

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-news",
    family: Family::Evidence,
    levels: &[Level::Note],
    summary: "A test whose results all lead to the same place with the same evidence",
    page: include_str!("no_news.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (at, id, step) in unit.procedure.steps.iter() {
        if !step.is_test() || !unit.analysis.enters(at) {
            continue;
        }
        let count = unit.procedure.causes.len();
        let first = step.results.first();
        if first.is_some_and(|f| step.results.iter().all(|r| same_news(f, r, count))) {
            let message = format!("whatever is seen at `{id}`, the job goes on the same way and knows no more");
            out.push(
                words::at_step(unit.procedure, at, RULE.name, Level::Note, step.place.key, message)
                    .help("let the results rule something out or lead to different places, or make it a `do`"),
            );
        }
        for result in 0..step.results.len() {
            in_vain(unit, at, result, out);
        }
    }
}

/// The same place with the same evidence.
fn same_news(one: &Outcome, other: &Outcome, count: usize) -> bool {
    let place = match (&one.way, &other.way) {
        (Way::Then(a), Way::Then(b)) => a == b,
        (Way::Jump(a), Way::Jump(b)) => a == b,
        (Way::Shows(a), Way::Shows(b)) => a == b,
        (Way::Found(a), Way::Found(b)) => a.iter().collect::<std::collections::BTreeSet<_>>() == b.iter().collect(),
        (Way::FoundLeft, Way::FoundLeft) => true,
        (Way::Normal(a), Way::Normal(b)) | (Way::Unproven(a), Way::Unproven(b)) | (Way::Refer(a), Way::Refer(b)) => {
            a == b
        }
        _ => false,
    };
    place && one.rules_out(count) == other.rules_out(count)
}

/// `clears` of a cause that exists on no vehicle here, or that is out already on every path that takes the result.
fn in_vain(unit: &Unit<'_>, at: StepIx, result: usize, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    for word in &procedure.steps[at].results[result].clears {
        let (taken, open) = taken_with(unit, at, result, word.value);
        let nowhere = !procedure.causes[word.value].on.meets(&procedure.applies);
        if !nowhere && (!taken || open) {
            continue;
        }
        let name = procedure.causes.id(word.value);
        let message = if nowhere {
            format!("`{name}` exists on no vehicle of this page: ruling it out says nothing")
        } else {
            format!("`{name}` is ruled out already on every way here")
        };
        out.push(
            words::at_step(procedure, at, RULE.name, Level::Note, word.span, message)
                .of_cause(name)
                .help("take the word out"),
        );
    }
}

/// Whether a possible path takes a result at all, and whether one does (past the limit: may) with the cause still open.
fn taken_with(unit: &Unit<'_>, at: StepIx, result: usize, cause: CauseIx) -> (bool, bool) {
    let via = Via::Result(result);
    let classes = || unit.analysis.classes.iter();
    let taken = classes().any(|(_, paths)| paths.surely_takes(at, via));
    (taken, classes().any(|(_, paths)| paths.ever_left_before(at, via).contains(cause)))
}
