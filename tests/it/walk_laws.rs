//! The walk of one job agrees with the possible paths: readings chosen along the shortest way to a state lead to it.

use std::collections::BTreeMap;

use ruleout::graph::classes::{Class, Meets, Memory};
use ruleout::graph::paths::{Paths, StateAt, Via};
use ruleout::graph::{Bounds, analyse};
use ruleout::model::{Base, Procedure};
use ruleout::pipeline::{read_procedure, rule_levels};
use ruleout::quantity::{CellSet, Cells, Edge, Rational, number};
use ruleout::walk::{NOT_TAKEN, Readings, run};

use crate::graph_random::{Dice, Plan, Style};
use crate::literate::check;

/// A reading in some of the cells, as typed.
fn typed(cells: &Cells, some: &CellSet) -> String {
    let set = cells.readings(some);
    let span = set.spans().first().unwrap();
    let one = Rational::one();
    let value = match (span.from(), span.to()) {
        (Edge::At(low, _), Edge::At(high, _)) => (low + high) / (&one + &one),
        (Edge::At(low, _), _) => low + &one,
        (_, Edge::At(high, _)) => high - &one,
        _ => one,
    };
    format!("{} V", number::show(&value))
}

/// Readings for a way: each in all that the results on it say of its key until it is changed.
fn readings(class: &Class, paths: &Paths, way: &[(StateAt, Via)]) -> Readings {
    let mut typed_at: BTreeMap<usize, String> = BTreeMap::new();
    let mut known: BTreeMap<usize, (CellSet, Vec<usize>)> = BTreeMap::new();
    let settle = |known: &mut BTreeMap<usize, (CellSet, Vec<usize>)>, key: usize, out: &mut BTreeMap<usize, String>| {
        let Some((cells, visits)) = known.remove(&key) else { return };
        for visit in visits {
            let text = match &class.keys[key].1 {
                Memory::Readings(all) => typed(all, &cells),
                Memory::Labels(labels) => labels[cells.iter().next().unwrap()].clone(),
            };
            out.insert(visit, text);
        }
    };
    for (visit, (state, via)) in way.iter().enumerate() {
        let step = paths.step(*state);
        let Via::Result(result) = via else {
            typed_at.insert(visit, NOT_TAKEN.to_owned());
            continue;
        };
        if let Meets::Test { key, takes } = &class.meets[step.raw()] {
            let entry = known.entry(*key).or_insert_with(|| (class.keys[*key].1.all(), Vec::new()));
            entry.0 = entry.0.intersect(&takes[*result]);
            entry.1.push(visit);
        }
        for key in class.forgets[step.raw()].iter() {
            settle(&mut known, key, &mut typed_at);
        }
    }
    for key in 0..class.keys.len() {
        settle(&mut known, key, &mut typed_at);
    }
    let mut all = Readings::new();
    for (visit, text) in typed_at {
        all.entry(paths.step(way[visit].0)).or_default().push(text);
    }
    all
}

fn follow(base: &Base, procedure: &Procedure, class: &Class, paths: &Paths, to: StateAt) {
    let way = paths.way(to);
    let trace = run(base, procedure, class.one, &readings(class, paths, &way)).unwrap();
    let id = |state: StateAt| procedure.steps.id(paths.step(state)).to_owned();
    assert!(trace.path.len() >= way.len(), "{trace:?}");
    for (visit, (state, via)) in trace.path.iter().zip(&way) {
        assert_eq!(visit.step, id(*state), "{trace:?}");
        let taken = if let Via::Result(result) = via { Some(*result) } else { None };
        assert_eq!(visit.taken, taken, "{trace:?}");
    }
    let left = way.len().checked_sub(1).map(|last| trace.path[last].left.clone());
    assert_eq!(left.unwrap_or_else(|| procedure.cause_ids(&class.causes)), procedure.cause_ids(&paths.left(to)));
    if procedure.steps[paths.step(to)].is_test() {
        assert_eq!((trace.end.kind, &trace.end.step), ("needs-reading", &id(to)));
    }
}

#[test]
fn readings_along_a_way_lead_along_it() {
    let mut dice = Dice(4_711);
    let mut followed = 0;
    for _ in 0..200 {
        let plan = Plan::new(&mut dice, 9);
        let linted = check(&plan.write(Style::default()));
        let base = &linted.tables.base;
        let ix = base.procedures.indexes().next().unwrap();
        let resolved = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix);
        let procedure = resolved.procedure.unwrap();
        assert!(procedure.sound, "{:?}", resolved.findings);
        for (class, paths) in &analyse(base, &procedure, Bounds::default()).classes {
            for to in 0..paths.len() {
                follow(base, &procedure, class, paths, to);
                followed += 1;
            }
        }
    }
    assert!(followed > 1_000, "only {followed} ways: the law says little");
}

/// How a job on the one vehicle ends when `test` reads so.
fn end(spec: &str, results: &str, typed: &str) -> (String, Vec<String>) {
    let procedure = format!(
        "---\ncomplaint: It does not work\ncauses: {{c: {{title: C}}, d: {{title: D}}}}\nsteps:\n  test:\n    measure: r\n    results:\n{results}---\nIntro.\n"
    );
    let files = BTreeMap::from([
        ("specs/all.yaml".to_owned(), format!("r: {{source: Invented, {spec}}}\n")),
        ("procedures/job.md".to_owned(), procedure),
        ("shop.yaml".to_owned(), "title: A shop\n".to_owned()),
    ]);
    let linted = check(&files);
    let base = &linted.tables.base;
    let ix = base.procedures.indexes().next().unwrap();
    let procedure = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix).procedure.unwrap();
    let vehicle = procedure.applies.first().unwrap();
    let readings = Readings::from([(procedure.start().unwrap(), vec![typed.to_owned()])]);
    let trace = run(base, &procedure, vehicle, &readings).unwrap();
    (trace.end.kind.to_owned(), trace.end.causes)
}

#[test]
fn a_reading_without_a_known_value_takes_the_result_that_means_it() {
    let two = "      - {if: in spec, shows: c}\n      - {if: out of spec, shows: d}\n";
    let rest = "      - {if: in spec, shows: c}\n      - {if: any other reading, shows: d}\n";
    for results in [two, rest] {
        for (typed, cause) in [("in spec", "c"), ("below spec", "d"), ("above spec", "d")] {
            let ended = end("quantity: dc voltage, value: TBD", results, typed);
            assert_eq!(ended, ("shows".to_owned(), vec![cause.to_owned()]), "{typed}");
        }
    }
}

#[test]
fn a_worked_out_reading_is_typed_as_its_parts_or_as_itself() {
    let spec = "quantity: percentage, of: force, names: [left, right], take: lowest of highest, value: at least 70 %";
    let results = "      - {if: in spec, shows: c}\n      - {if: below spec, shows: d}\n";
    for (typed, cause) in [("3.0 kN, 2.1 kN", "c"), ("2.0 kN, 3000 N", "d"), ("70 %", "c"), ("69.9 %", "d")] {
        assert_eq!(end(spec, results, typed), ("shows".to_owned(), vec![cause.to_owned()]), "{typed}");
    }
}
