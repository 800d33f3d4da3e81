//! `order --write` on random procedures: what is written lints as the old one does, has no slower order than its own, and takes the
//! minutes that the best order promised, on every vehicle.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;
use ruleout::Linted;
use ruleout::finding::{Finding, Level};
use ruleout::graph::classes::Class;
use ruleout::graph::{Bounds, analyse};
use ruleout::load::{Memory, Overlay};
use ruleout::model::{CauseIx, Outcome, Procedure, Step, StepIx, Way};
use ruleout::order::best::THOROUGH;
use ruleout::order::weigh::{Weighed, weigh};
use ruleout::order::written::last_resort;
use ruleout::pipeline::{Engine, best_orders, read_procedure, reorder, rule_levels};

use crate::order_random::base;

/// What came of one procedure.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Came {
    /// No test tells anything.
    Nothing,
    /// Not written: the best order has no step that confirms the repair.
    Unconfirmed,
    /// Not written: it would have a fault that the old one has not.
    Refused,
    /// Written; the law about minutes says nothing of it.
    Written,
    /// Written, with the minutes promised.
    Kept,
    /// The same, and they are fewer than before.
    Better,
}

/// The findings of a procedure: rule and cause of the grave ones, and of the notes that an order should not get.
fn told(linted: &Linted, id: &str) -> BTreeSet<(&'static str, Option<String>)> {
    let all = linted.report.findings.iter().filter(|f| f.procedure.as_deref() == Some(id));
    let counts = |f: &&Finding| f.level >= Level::Warning || ["slow-order", "no-news"].contains(&f.rule);
    all.filter(counts).map(|f| (f.rule, f.cause.clone())).collect()
}

/// Whether the odds of some cause hang on which results end the job: by the rule on endings it takes those only for want of others,
/// and another order has other endings. Or it shows several results of tests that are joined: all at once they have other odds than
/// one after the other.
fn odds_move(procedure: &Procedure, class: &Class, weighed: &Weighed) -> bool {
    let count = procedure.causes.len();
    let moves = |at: StepIx, step: &Step, cause: CauseIx| {
        let no_fault = procedure.no_fault() == Some(cause);
        let open =
            |r: &Outcome| !r.rules_out(count).contains(cause) && !matches!(r.way, Way::Shows(shown) if shown != cause);
        let all = step.results.iter().enumerate().filter(|(r, _)| class.shows(at, *r)).map(|(_, r)| r);
        let mut shown: Vec<&Outcome> = all.clone().filter(|r| open(r)).collect();
        if shown.is_empty() {
            // ruled out whatever is seen: the test says nothing of it, though a result may still point at another
            shown = all.collect();
            if shown.iter().any(|r| matches!(r.way, Way::Shows(_))) {
                return true;
            }
        }
        shown.len() > 1 && (no_fault || shown.iter().any(|r| last_resort(&r.way, no_fault)))
    };
    let problem = &weighed.translated.problem;
    let mut joined = problem.steps.iter().zip(&weighed.translated.tests).filter(|(_, tests)| tests.len() > 1);
    joined.any(|(step, _)| (0..problem.weights.len()).any(|cause| step.ways(cause) > 1))
        || procedure
            .steps
            .iter()
            .any(|(at, _, step)| step.is_test() && class.causes.iter().any(|cause| moves(at, step, cause)))
}

fn write(files: &BTreeMap<String, String>) -> Result<Came, String> {
    let memory: Memory = files.iter().map(|(path, text)| (path.clone(), text.clone().into_bytes())).collect();
    let old = ruleout::lint(&memory).unwrap();
    let mut buffers = Memory::default();
    buffers.set("procedures/new.md".to_owned(), files["procedures/job.md"].as_str());
    let mut engine = Engine::open(&Overlay { buffers: &buffers, below: &memory }).unwrap();
    let read = |linted: &Linted, id: &str| {
        let ix = linted.tables.base.procedures.find(id).unwrap();
        read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix)
    };
    let resolved = read(&old, "job");
    let new = engine.linted().loaded.sources.find("procedures/new.md").unwrap();
    let before = resolved.procedure.as_ref().unwrap();
    let one = analyse(&old.tables.base, before, Bounds::default());
    let orders = best_orders(&one)?;
    let text = match reorder(&mut engine, new, (&old.tables.base, &old.loaded, &resolved), &orders) {
        Ok(text) => text,
        Err(why) if why.contains("no test of it tells anything") => return Ok(Came::Nothing),
        Err(why) if why.contains("confirms the repair") => return Ok(Came::Unconfirmed),
        Err(why) if why.contains("without a fault") => return Ok(Came::Refused),
        Err(why) => return Err(why),
    };
    let linted = engine.linted();
    let fail = |what: String| format!("{what}\n{}\n----\n{text}", files["procedures/job.md"]);
    let more: Vec<_> = told(linted, "new").difference(&told(&old, "job")).cloned().collect();
    if !more.is_empty() {
        return Err(fail(format!("{more:?}")));
    }
    let after = read(linted, "new").procedure.unwrap();
    let other = analyse(&linted.tables.base, &after, Bounds::default());
    let (mut kept, mut better) = (true, false);
    for vehicle in before.applies.iter() {
        let (Some(a), Some(b)) = (weigh(&one, vehicle, THOROUGH), weigh(&other, vehicle, THOROUGH)) else { continue };
        let (class, _) = one.classes.iter().find(|(class, _)| class.vehicles.contains(vehicle)).unwrap();
        if odds_move(before, class, &a) {
            kept = false;
            continue;
        }
        let best = a.best.as_ref().unwrap();
        let minutes = b.written.as_ref().unwrap().minutes;
        better |= a.written.as_ref().unwrap().minutes > best.figures.minutes + 1e-9;
        if best.exact && (best.figures.minutes - minutes).abs() > 1e-9 {
            return Err(fail(format!("{} minutes promised, {minutes} written", best.figures.minutes)));
        }
    }
    Ok(match (kept, better) {
        (false, _) => Came::Written,
        (true, false) => Came::Kept,
        (true, true) => Came::Better,
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 300,
        failure_persistence: None,
        max_shrink_iters: 0,
        ..ProptestConfig::default()
    })]

    #[test]
    fn what_is_written_lints_as_the_old_one_and_takes_the_minutes_promised(seed in any::<u64>()) {
        write(&base(seed)).map_err(TestCaseError::fail)?;
    }
}

/// The law speaks of enough of the random procedures.
#[test]
fn many_of_the_random_procedures_get_better() {
    let came: Vec<Came> = (0..200).map(|seed| write(&base(seed)).unwrap()).collect();
    assert!(!came.contains(&Came::Refused));
    let better = came.iter().filter(|came| **came == Came::Better).count();
    assert!(better > 50, "{better} of {}", came.len());
}
