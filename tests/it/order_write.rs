//! `order --write`: for every procedure of the demonstration the new one lints as the old one does, keeps all but its steps, and takes the
//! minutes that the best order promised.

use std::path::Path;

use ruleout::graph::{Bounds, analyse};
use ruleout::load::{Disk, Files, Memory, Overlay};
use ruleout::model::{Base, Kind, Procedure, Step, Way};
use ruleout::order::best::THOROUGH;
use ruleout::order::named::Named;
use ruleout::order::weigh::{Weighed, weigh};
use ruleout::pipeline::{Engine, best_orders, read_procedure, reorder, rule_levels};

use crate::order_read::{LOW_AND_HIGH, VOLTS, files};

fn weighed(base: &Base, procedure: &Procedure) -> Weighed {
    let analysis = analyse(base, procedure, Bounds::default());
    weigh(&analysis, procedure.applies.first().unwrap(), THOROUGH).unwrap()
}

/// The old procedure with the new one beside it: both weighed on the first vehicle.
struct Pair {
    old: (Procedure, Weighed),
    new: (Procedure, Weighed),
    text: String,
}

/// Writes every procedure of a base anew.
fn write_all(below: &dyn Files) -> Vec<Pair> {
    let base = ruleout::lint(below).unwrap();
    let mut buffers = Memory::default();
    for (_, _, file) in base.tables.base.procedures.iter() {
        let source = base.loaded.sources.file(*file);
        buffers.set(source.path().replace(".md", "-best.md"), source.text());
    }
    let mut engine = Engine::open(&Overlay { buffers: &buffers, below }).unwrap();
    let mut pairs = Vec::new();
    for (ix, _, file) in base.tables.base.procedures.iter() {
        let resolved = read_procedure(&base.loaded, &base.tables, &rule_levels(), ix);
        let path = base.loaded.sources.file(*file).path().replace(".md", "-best.md");
        let new = engine.linted().loaded.sources.find(&path).unwrap();
        let analysis = analyse(&base.tables.base, resolved.procedure.as_ref().unwrap(), Bounds::default());
        let orders = best_orders(&analysis).unwrap();
        // without an error or a warning that the old one has not
        let text = reorder(&mut engine, new, (&base.tables.base, &base.loaded, &resolved), &orders).unwrap();
        let old = resolved.procedure.clone().unwrap();
        let linted = engine.linted();
        assert_eq!(linted.loaded.sources.file(new).text(), text);
        let ix = linted.tables.base.procedures.find(&format!("{}-best", old.id)).unwrap();
        let again = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix).procedure.unwrap();
        assert!(again.sound, "{}\n{text}", old.id);
        let (a, b) = (weighed(&base.tables.base, &old), weighed(&linted.tables.base, &again));
        pairs.push(Pair { old: (old, a), new: (again, b), text });
    }
    pairs
}

/// Whether an order goes on where the author's result ends the job: those that could not take it then can, and odds change.
fn goes_past_an_ending(procedure: &Procedure, order: &Named) -> bool {
    match order {
        Named::Stop(_) | Named::All { .. } => false,
        Named::Do(_, then) => goes_past_an_ending(procedure, then),
        Named::Ask { step, results, .. } => results.iter().any(|answer| {
            let way = &procedure.steps[*step].results[answer.result].way;
            let ends = matches!(way, Way::Refer(_) | Way::Unproven(_) | Way::Normal(_) | Way::Jump(_));
            let on = !matches!(answer.next, Named::Stop(_));
            ends && on || goes_past_an_ending(procedure, &answer.next)
        }),
    }
}

fn keeps_all_but_its_steps(pair: &Pair) {
    let (old, new) = (&pair.old.0, &pair.new.0);
    assert_eq!(old.complaint.value, new.complaint.value);
    assert_eq!(old.causes.ids().collect::<Vec<_>>(), new.causes.ids().collect::<Vec<_>>());
    assert_eq!(old.applies, new.applies);
    assert_eq!(old.hazards.len(), new.hazards.len());
    assert_eq!(old.after_repair.confirm.len(), new.after_repair.confirm.len(), "{}", pair.text);
    let repairs = |p: &Procedure| p.causes.iter().filter(|(_, _, c)| c.fix.is_some()).count();
    assert_eq!(repairs(old), repairs(new));
    let start = new.steps.id(new.start().unwrap());
    if old.steps.id(old.start().unwrap()) == start {
        let open = |s: &Step| s.after.is_empty() && !matches!(s.kind, Kind::Which);
        let free: Vec<&str> = new.steps.iter().filter(|(_, _, s)| open(s)).map(|(_, id, _)| id).collect();
        assert_eq!(free, [start], "{}", pair.text);
    }
}

#[test]
fn every_procedure_of_the_demonstration_can_be_written_in_its_best_order() {
    let kb = Path::new(env!("CARGO_MANIFEST_DIR")).join("kb");
    let pairs = write_all(&Disk::new(&kb));
    let mut equal = 0;
    for pair in &pairs {
        let id = &pair.old.0.id;
        keeps_all_but_its_steps(pair);
        let best = pair.old.1.best.as_ref().unwrap();
        let as_written = pair.new.1.written.as_ref().unwrap().minutes;
        if best.exact && !goes_past_an_ending(&pair.old.0, &pair.old.1.order().unwrap()) {
            equal += 1;
            assert!(
                (best.figures.minutes - as_written).abs() < 1e-9,
                "{id}: {} but {as_written}",
                best.figures.minutes
            );
        }
    }
    assert!(equal * 10 >= pairs.len() * 8, "only {equal} of {}: the law says little", pairs.len());
}

fn one(procedure: &str, more: &[(&str, &str)]) -> Pair {
    let memory: Memory = files(procedure, more).into_iter().map(|(path, text)| (path, text.into_bytes())).collect();
    write_all(&memory).remove(0)
}

/// One test in two places that lead elsewhere: a step each, with the words of the first.
#[test]
fn a_test_in_two_places_is_repeated_where_its_results_part() {
    let pair = one(
        "---
complaint: Lamp
causes:
  a: {title: A, share: 25}
  b: {title: B, share: 25}
  c: {title: C, share: 25}
  d: {title: D, share: 25}
steps:
  verify: {observe: Lamp, minutes: 1, results: [{if: dim, clears: [a, b], then: one}, {if: dark, clears: [c, d], then: one}, {if: lit, refer: Nothing}]}
  one:
    observe: Wire   # by eye
    minutes: 3
    after: [verify]
    results:
      - {if: black, clears: [b, d], then: two}
      - {if: red, clears: [a, c], then: two}
  two:
    observe: Plug
    minutes: 9
    results:
      - {if: wet, leaves: [a, c], found: what is left}
      - if: dry
        leaves: [b, d]
        found: what is left
reviewed: {by: X, on: 2031-01-01, of: 000000}
---
Words.

## Look at the lamp {#verify}

Look.

## Look at the wire {#one}

Look at it.

## Look at the plug {#two}

Look at it.

## What else

Nothing.
",
        &[],
    );
    let text = &pair.text;
    assert!(text.contains("  one-2:\n"), "{text}");
    assert!(text.contains("## Look at the wire (again) {#one-2}\n\nLook at it.\n"), "{text}");
    assert!(!text.contains("{#two}") && !text.contains("reviewed") && text.contains("## What else"), "{text}");
    assert!((pair.new.1.written.unwrap().minutes - 4.0).abs() < 1e-9, "{text}");
}

/// The second question about one reading costs nothing, and is asked where the first leaves it open.
#[test]
fn a_reading_that_was_taken_is_asked_for_no_minutes() {
    let pair = one(&format!("{LOW_AND_HIGH}## Low {{#low}}\n\n## High {{#high}}\n"), &[VOLTS]);
    let text = &pair.text;
    assert!(text.contains("minutes: 0"), "{text}");
    assert!((pair.new.1.written.as_ref().unwrap().minutes - 5.0).abs() < 1e-9, "{text}");
    assert_eq!(pair.new.1.written.unwrap().groups.len(), 3, "{text}");
}

/// Vehicles with other causes part where their orders do.
#[test]
fn vehicles_part_where_their_orders_do() {
    let vehicles = ("vehicles.yaml", "van: {title: Van}\nbus: {title: Bus}\n");
    let pair = one(
        "---
complaint: Lamp
causes:
  a: {title: A, share: 10}
  b: {title: B, share: 80, for: bus}
  c: {title: C, share: 30}
steps:
  start: {which: vehicle, results: [{for: van, then: one}, {for: bus, then: two}]}
  one:
    observe: Wire
    minutes: 3
    results:
      - {if: black, shows: a}
      - {if: red, clears: [a], found: [c, b]}
  two:
    observe: Plug
    minutes: 4
    results:
      - {if: wet, shows: b}
      - {if: dry, clears: [b], then: one}
---
## One {#one}

## Two {#two}
",
        &[vehicles],
    );
    let text = &pair.text;
    assert!(text.contains("which: vehicle") && text.contains("for: [van]") && text.contains("for: [bus]"), "{text}");
}
