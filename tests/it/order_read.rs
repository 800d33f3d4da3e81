//! What the best order makes of procedures: tests of one reading, steps for want of equipment, evidence out of its place, bad input.

use std::collections::BTreeMap;

use ruleout::graph::{Bounds, analyse};
use ruleout::order::best::THOROUGH;
use ruleout::order::weigh::{Weighed, weigh};
use ruleout::pipeline::{read_procedure, rule_levels};
use serde_json::Value;

use crate::literate::check;

/// A base of one procedure, without vehicles.
pub fn files(procedure: &str, more: &[(&str, &str)]) -> BTreeMap<String, String> {
    let mut files: BTreeMap<String, String> = more.iter().map(|(n, t)| ((*n).to_owned(), (*t).to_owned())).collect();
    files.entry("shop.yaml".into()).or_insert("title: Depot\ndefault-minutes: 5\n".into());
    files.insert("procedures/job.md".into(), procedure.to_owned());
    files
}

/// Weighs the procedure on the first vehicle.
pub fn weighed(procedure: &str, more: &[(&str, &str)]) -> (Weighed, Value) {
    let linted = check(&files(procedure, more));
    let ix = linted.tables.base.procedures.indexes().next().unwrap();
    let resolved = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix);
    let procedure = resolved.procedure.unwrap();
    assert!(procedure.sound, "{:?}", linted.report.findings);
    let base = &linted.tables.base;
    let analysis = analyse(base, &procedure, Bounds::default());
    let vehicle = procedure.applies.first().unwrap();
    let weighed = weigh(&analysis, vehicle, THOROUGH).unwrap();
    let json = weighed.json(base, &procedure, vehicle);
    (weighed, json)
}

fn minutes(json: &Value, of: &str) -> f64 {
    json[of]["minutes"].as_f64().unwrap()
}

const VOLTS: (&str, &str) =
    ("specs/a.yaml", "volts: {quantity: dc voltage, value: 12 to 14 V, source: Invented for the demonstration}\n");

/// `low` and `high` ask about one reading: whoever took it for the one has it for the other.
#[test]
fn a_reading_is_taken_once() {
    let (_, json) = weighed(
        "---
complaint: Lamp
causes: {a: {title: A, share: 1}, b: {title: B, share: 1}, c: {title: C, share: 2}}
steps:
  low:
    measure: volts
    minutes: 6
    results:
      - {if: below spec, shows: a}
      - {if: at least 12 V, clears: [a], then: high}
  high:
    measure: volts
    minutes: 5
    results:
      - {if: above spec, shows: b}
      - {if: at most 14 V, clears: [b], found: c}
---
",
        &[VOLTS],
    );
    assert!((minutes(&json, "as_written") - (6.0 + 0.75 * 5.0)).abs() < 1e-9, "{json}");
    // `high` is the cheaper way to the same reading
    assert!((minutes(&json, "best") - 5.0).abs() < 1e-9, "{json:#}");
    assert_eq!(json["best"]["groups"].as_array().unwrap().len(), 3, "{json:#}");
}

/// The second test has no result for what the first one ended on: it can't be asked first.
#[test]
fn a_test_that_lacks_results_comes_second() {
    let (_, json) = weighed(
        "---
complaint: Lamp
causes: {a: {title: A}, b: {title: B}, c: {title: C}, d: {title: D}}
steps:
  low:
    measure: volts
    minutes: 9
    results:
      - {if: below spec, shows: a}
      - {if: at least 12 V, clears: [a], then: high}
  high:
    measure: volts
    minutes: 2
    results:
      - {if: above spec, shows: b}
      - {if: in spec, clears: [b], then: look}
  look:
    observe: Wiring
    minutes: 1
    results:
      - {if: good, clears: [c], found: d}
      - {if: bad, shows: c}
---
",
        &[VOLTS],
    );
    let tree = &json["best"]["tree"];
    // two halves: `look` tells c from the rest
    assert_eq!(tree["step"], "look", "{json:#}");
    assert_eq!(tree["results"]["good"]["step"], "low", "{json:#}");
    assert_eq!(tree["results"]["good"]["results"]["at least 12 V"]["step"], "high", "{json:#}");
    assert!((minutes(&json, "best") - (1.0 + 0.75 * 9.0)).abs() < 1e-9, "{json:#}");
}

/// After a change the reading is a new one.
#[test]
fn a_change_makes_it_another_reading() {
    let (_, json) = weighed(
        "---
complaint: Lamp
causes: {joint: {title: Joint, share: 1}, wire: {title: Wire, share: 1}}
steps:
  first:
    measure: volts
    minutes: 3
    results:
      - {if: in spec, refer: Nothing to be seen}
      - {if: out of spec, then: clean}
  clean:
    do: Clean the joint
    minutes: 4
    changes: [volts]
    then: again
  again:
    measure: volts
    minutes: 2
    results:
      - {if: in spec, shows: joint}
      - {if: out of spec, clears: [joint], found: wire}
---
",
        &[VOLTS],
    );
    assert!((minutes(&json, "as_written") - 9.0).abs() < 1e-9, "{json}");
    assert!((minutes(&json, "best") - 6.0).abs() < 1e-9, "{json:#}");
}

/// The bench test is for bays without the meter: where it is at hand, it is no choice, however quick.
#[test]
fn a_step_for_want_of_equipment_is_not_offered() {
    let (_, json) = weighed(
        "---
complaint: Lamp
causes: {a: {title: A}, b: {title: B}}
steps:
  first:
    measure: volts
    with: [meter]
    without: guess
    minutes: 10
    results:
      - {if: in spec, clears: [a], found: b}
      - {if: out of spec, shows: a}
  guess:
    observe: Sparks at the tip of the screwdriver
    minutes: 1
    results:
      - {if: sparks, clears: [a], found: b}
      - {if: none, shows: a}
---
",
        &[VOLTS, ("equipment.yaml", "meter: {title: Meter, measures: {dc voltage: {range: 0 to 30 V}}}\n")],
    );
    assert!((minutes(&json, "best") - 10.0).abs() < 1e-9, "{json:#}");
    assert_eq!(json["best"]["tree"]["step"], "first");
}

/// `which` says nothing of the belt, which was cleared before it: asked first, it must leave the belt to be checked.
#[test]
fn a_test_that_no_result_of_which_leaves_a_cause_says_nothing_of_it() {
    let (_, json) = weighed(
        "---
complaint: Lamp
causes: {belt: {title: Belt}, cable: {title: Cable}, alternator: {title: Alternator}}
steps:
  belt:
    observe: Belt
    minutes: 10
    results:
      - {if: tight, clears: [belt], then: drop}
      - {if: loose, shows: belt}
  drop:
    observe: Drop along the cable
    minutes: 1
    results:
      - {if: high, leaves: [cable], found: cable}
      - {if: low, leaves: [alternator], found: alternator}
---
",
        &[],
    );
    assert!((minutes(&json, "best") - (10.0 + 2.0 / 3.0)).abs() < 1e-9, "{json:#}");
    let groups = json["best"]["groups"].as_array().unwrap();
    assert_eq!(groups.len(), 3, "{json:#}");
}

/// `no-fault` beside one cause is no group of two: the verdict is the cause, as it is as written.
#[test]
fn no_fault_never_counts_as_left_beside_a_cause() {
    let (weighed, json) = weighed(
        "---
complaint: Lamp
causes: {a: {title: A, share: 60}, b: {title: B, share: 30}, no-fault: {share: 10}}
steps:
  look:
    observe: Lamp
    minutes: 2
    results:
      - {if: dark, shows: a}
      - {if: lit, clears: [a], found: b}
---
",
        &[],
    );
    assert_eq!(json["best"]["isolation"], json["isolation"], "{json:#}");
    assert!((weighed.best.unwrap().figures.isolation[0] - 0.9).abs() < 1e-9);
}
