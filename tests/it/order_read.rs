//! What the best order makes of procedures: tests of one reading, steps for want of equipment, evidence out of its place, bad input.

use std::collections::BTreeMap;

use ruleout::graph::{Bounds, analyse};
use ruleout::order::best::{Effort, THOROUGH};
use ruleout::order::shares::Odds;
use ruleout::order::weigh::{Weighed, weigh};
use ruleout::order::written::written;
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
    weighed_with(procedure, more, THOROUGH)
}

fn weighed_with(procedure: &str, more: &[(&str, &str)], effort: Effort) -> (Weighed, Value) {
    let linted = check(&files(procedure, more));
    let ix = linted.tables.base.procedures.indexes().next().unwrap();
    let resolved = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix);
    let procedure = resolved.procedure.unwrap();
    assert!(procedure.sound, "{:?}", linted.report.findings);
    let base = &linted.tables.base;
    let analysis = analyse(base, &procedure, Bounds::default());
    let vehicle = procedure.applies.first().unwrap();
    let weighed = weigh(&analysis, vehicle, effort).unwrap();
    let json = weighed.json(base, &procedure, vehicle);
    (weighed, json)
}

fn minutes(json: &Value, of: &str) -> f64 {
    json[of]["minutes"].as_f64().unwrap()
}

/// A reading with limits.
pub const VOLTS: (&str, &str) =
    ("specs/a.yaml", "volts: {quantity: dc voltage, value: 12 to 14 V, source: Invented for the demonstration}\n");

/// A front matter of two tests that ask about one reading.
pub const LOW_AND_HIGH: &str = "---
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
";

/// Causes and steps in another order in the file; the start stays the first.
fn turned(text: &str) -> String {
    let (head, rest) = text.split_once("causes:\n").unwrap();
    let (causes, rest) = rest.split_once("steps:\n").unwrap();
    let (steps, body) = rest.split_at(rest.find("after-repair:").or(rest.find("---\n")).unwrap());
    let causes: String = causes.lines().rev().map(|line| format!("{line}\n")).collect();
    let mut rows: Vec<String> = Vec::new();
    for line in steps.lines() {
        match rows.last_mut() {
            Some(row) if line.starts_with("   ") => row.push_str(&format!("{line}\n")),
            _ => rows.push(format!("{line}\n")),
        }
    }
    rows[1..].reverse();
    format!("{head}causes:\n{causes}steps:\n{}{body}", rows.concat())
}

/// Where causes and steps stand in the file says nothing about minutes.
#[test]
fn the_order_of_the_file_changes_no_minutes() {
    let figures = |files: &BTreeMap<String, String>| -> Vec<(f64, f64)> {
        let linted = check(files);
        let ix = linted.tables.base.procedures.indexes().next().unwrap();
        let procedure = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix).procedure.unwrap();
        let analysis = analyse(&linted.tables.base, &procedure, Bounds::default());
        let of = |vehicle| {
            let weighed = weigh(&analysis, vehicle, THOROUGH)?;
            Some((weighed.written.as_ref()?.minutes, weighed.best.as_ref().ok()?.figures.minutes))
        };
        procedure.applies.iter().filter_map(of).collect()
    };
    let mut compared = 0;
    for seed in 0..300 {
        let one = crate::order_random::base(seed);
        let mut other = one.clone();
        let text = turned(&one["procedures/job.md"]);
        compared += usize::from(text != one["procedures/job.md"]);
        other.insert("procedures/job.md".into(), text);
        let (one, two) = (figures(&one), figures(&other));
        let equal = |((a, b), (c, d)): (&(f64, f64), &(f64, f64))| (a - c).abs() < 1e-9 && (b - d).abs() < 1e-9;
        assert!(
            one.len() == two.len() && one.iter().zip(&two).all(equal),
            "{seed}: {one:?} {two:?}\n{}",
            other["procedures/job.md"]
        );
    }
    assert!(compared > 250, "{compared}");
}

/// A row of looks that clear a cause each, or nothing: every set of causes is a state of its own, and every cause would walk through
/// half of them.
#[test]
fn minutes_as_written_are_given_up_where_there_are_too_many_ways() {
    let minutes = |looks: usize| {
        let causes: String = (0..=looks).map(|n| format!("  c{n}: {{title: C{n}}}\n")).collect();
        let steps: String = (0..looks)
            .map(|n| {
                let next = if n + 1 == looks { "refer: x".to_owned() } else { format!("then: s{}", n + 1) };
                format!("  s{n}: {{observe: look {n}, minutes: 2, results: [{{if: yes, clears: [c{n}], {next}}}, {{if: no, {next}}}]}}\n")
            })
            .collect();
        let linted = check(&files(&format!("---\ncomplaint: x\ncauses:\n{causes}steps:\n{steps}---\n"), &[]));
        let ix = linted.tables.base.procedures.indexes().next().unwrap();
        let procedure = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix).procedure.unwrap();
        let analysis = analyse(&linted.tables.base, &procedure, Bounds::default());
        let (class, paths) = &analysis.classes[0];
        assert!(paths.is_exact());
        let odds = Odds::new(&procedure, class.one);
        written(&linted.tables.base, &procedure, paths, &odds).map(|w| w.minutes)
    };
    assert!((minutes(8).unwrap() - 16.0).abs() < 1e-9);
    assert_eq!(minutes(17), None);
}

/// `low` and `high` ask about one reading: whoever took it for the one has it for the other.
#[test]
fn a_reading_is_taken_once() {
    let (_, json) = weighed(LOW_AND_HIGH, &[VOLTS]);
    assert!((minutes(&json, "as_written") - (6.0 + 0.75 * 5.0)).abs() < 1e-9, "{json}");
    // `high` is the cheaper way to the same reading
    assert!((minutes(&json, "best") - 5.0).abs() < 1e-9, "{json:#}");
    assert_eq!(json["best"]["groups"].as_array().unwrap().len(), 3, "{json:#}");
}

/// Where the first test changes what it read, the second takes a new reading.
#[test]
fn a_reading_that_its_own_test_changes_is_taken_again() {
    let text = LOW_AND_HIGH.replace("minutes: 6\n", "minutes: 6\n    changes: [volts]\n");
    let (_, json) = weighed(&text.replace("minutes: 5\n", "minutes: 5\n    changes: [volts]\n"), &[VOLTS]);
    // `high` finds b, and rules out b: `low` must read once more
    assert!((minutes(&json, "best") - (5.0 + 0.75 * 6.0)).abs() < 1e-9, "{json:#}");
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

/// Which test of a reading is the quicker one depends on what was done before: `inner` needs the cover off, `outer` does not.
#[test]
fn the_quicker_test_of_a_reading_is_taken_on_each_way() {
    let (_, json) = weighed(
        "---
complaint: Lamp
causes: {a: {title: A, share: 1}, b: {title: B, share: 1}, c: {title: C, share: 1}, d: {title: D, share: 1}, e: {title: E, share: 2}}
steps:
  look:
    observe: Plug
    minutes: 1
    results:
      - {if: wet, leaves: [c, d, e], then: open}
      - {if: dry, leaves: [a, b], then: outer}
  outer:
    measure: volts
    minutes: 3
    results:
      - {if: below spec, leaves: [a, c, e], found: what is left}
      - {if: at least 12 V, leaves: [b, d, e], found: what is left}
  open:
    do: Take the cover off
    minutes: 5
    then: seal
  seal:
    observe: Seal
    minutes: 1
    after: [open]
    results:
      - {if: torn, leaves: [a, b, c, d], then: inner}
      - {if: whole, leaves: [a, b, e], then: inner}
  inner:
    measure: volts
    minutes: 1
    after: [open]
    results:
      - {if: below spec, leaves: [a, c, e], found: what is left}
      - {if: at least 12 V, leaves: [b, d, e], found: what is left}
---
",
        &[VOLTS],
    );
    // look 1; dry (2 of 6): outer 3; wet (4 of 6): open and seal 6, and where the seal is torn (2 of 6) inner 1
    let by_hand = 1.0 + 2.0 / 6.0 * 3.0 + 4.0 / 6.0 * 6.0 + 2.0 / 6.0 * 1.0;
    assert!((minutes(&json, "best") - by_hand).abs() < 1e-9, "{json:#}");
    let wet = &json["best"]["tree"]["results"]["wet"]["then"]["results"]["torn"];
    assert_eq!((&json["best"]["tree"]["results"]["dry"]["step"], &wet["step"]), (&"outer".into(), &"inner".into()));
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

/// So little effort that a debug build is done in seconds; what it tells must hold all the same.
const LITTLE: Effort = Effort { guess: 3_000, search: 2_000, long_search: 2_000, table: false, nodes: 600 };

/// A row of tests, each of which some causes show one result of, and the others the other.
fn chain(causes: usize, tests: usize, shows: impl Fn(usize, usize) -> bool) -> String {
    let list = |wanted: &dyn Fn(usize) -> bool| {
        (0..causes).filter(|c| wanted(*c)).map(|c| format!("c{c}")).collect::<Vec<_>>().join(", ")
    };
    let step = |n: usize| {
        let next = if n + 1 < tests { format!("then: t{}", n + 1) } else { "found: what is left".to_owned() };
        let (yes, no) = (list(&|c| shows(c, n)), list(&|c| !shows(c, n)));
        let results = format!("{{if: yes, leaves: [{yes}], {next}}}\n      - {{if: no, leaves: [{no}], {next}}}");
        format!("  t{n}:\n    observe: Test {n}\n    minutes: {}\n    results:\n      - {results}\n", 2 + n % 7)
    };
    let steps: String = (0..tests).map(step).collect();
    let causes: Vec<String> =
        (0..causes).map(|n| format!("c{n}: {{title: C{n}, share: {}}}", 1 + n * 7 % 23)).collect();
    format!("---\ncomplaint: Lamp\ncauses: {{{}}}\nsteps:\n{steps}---\n", causes.join(", "))
}

/// Past what can be proven: an estimate, with what no order can beat beside it.
#[test]
fn more_causes_than_can_be_proven_are_estimated() {
    let quarter = |c: usize, n: usize| (((c * 2_654_435_761 + n * 40_503) ^ (c * n * 97)) >> 7).is_multiple_of(4);
    for (causes, tests) in [(64, 64), (150, 150), (300, 20)] {
        let (_, json) = weighed_with(&chain(causes, tests, quarter), &[], LITTLE);
        let (best, bound) = (minutes(&json, "best"), json["best"]["bound"].as_f64().unwrap());
        assert_eq!(json["best"]["exact"], false, "{causes}");
        assert!(bound > 0.0 && bound < best && best < minutes(&json, "as_written"), "{causes}: {bound} {best}");
    }
    // what can be told at a glance is exact, however many causes there are
    let (_, json) = weighed_with(&chain(200, 8, |c, n| c >> n & 1 == 1), &[], THOROUGH);
    assert_eq!((&json["best"]["exact"], &json["best"]["bound"]), (&true.into(), &json["best"]["minutes"]));
    let (weighed, json) = weighed_with(&chain(1_100, 1, |c, _| c == 0), &[], LITTLE);
    assert!(json["best"].is_null() && json["as_written"]["minutes"].is_number(), "{json}");
    let said = "1100 causes are more than the 1024 that it can weigh";
    assert_eq!(weighed.best.unwrap_err().to_string(), said);
}

/// Results that rule little out leave more ways than anyone can follow: the likeliest are told, and what is left to do on the others.
#[test]
fn results_that_say_little_are_followed_as_far_as_that_goes() {
    let count = 30;
    let causes: Vec<String> = (0..count).map(|n| format!("c{n}: {{title: C{n}, share: {}}}", 1 + n % 7)).collect();
    let step = |n: usize| {
        let next = if n + 1 < count { format!("then: t{}", n + 1) } else { "found: what is left".to_owned() };
        let (one, two) = (n, (n + 1) % count);
        format!(
            "  t{n}:\n    observe: Test {n}\n    minutes: 3\n    results:\n      - {{if: good, clears: [c{one}, c{two}], {next}}}\n      - {{if: bad, {next}}}\n"
        )
    };
    let steps: String = (0..count).map(step).collect();
    let text = format!("---\ncomplaint: Lamp\ncauses: {{{}}}\nsteps:\n{steps}---\n", causes.join(", "));
    let (weighed, json) = weighed_with(&text, &[], LITTLE);
    let (best, bound) = (minutes(&json, "best"), json["best"]["bound"].as_f64().unwrap());
    assert!(json["best"]["exact"] == false && bound > 0.0 && bound < best && best <= 90.0 + 1e-9, "{bound} {best}");
    let mut node = &json["best"]["tree"];
    while node["results"].is_object() {
        node = node["results"].as_object().unwrap().values().next().unwrap();
    }
    let open = node["all_of"].as_array().unwrap();
    assert!(!open.is_empty() && !node["causes"].as_array().unwrap().is_empty(), "{node}");
    assert!(!weighed.order().unwrap().is_whole());
}
