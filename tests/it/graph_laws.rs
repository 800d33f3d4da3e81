//! Laws of the possible paths, on random procedures: what must not matter does not, and what is told past the limit is true.

use std::collections::{BTreeMap, BTreeSet};

use ruleout::Linted;
use ruleout::check::{RULES, Unit};
use ruleout::finding::{Finding, Level};
use ruleout::graph::paths::Via;
use ruleout::graph::undos::OpenUndos;
use ruleout::graph::{self, Bounds};
use ruleout::pipeline::{read_procedure, rule_levels};

use crate::graph_random::{CAUSES, Dice, Plan, Style, cause_id, step_id};
use crate::literate::check;

/// A finding without the names that a style changes: where, on what, with which proof.
type Told = (&'static str, Level, Option<String>, Option<String>, Vec<String>, Vec<String>, usize);

fn told(linted: &Linted, plan: &Plan, style: Style) -> BTreeSet<Told> {
    let plain = Style::default();
    let steps: BTreeMap<String, String> =
        (0..plan.len() as u64).map(|s| (step_id(s, style), step_id(s, plain))).collect();
    let causes: BTreeMap<String, String> = (0..CAUSES).map(|c| (cause_id(c, style), cause_id(c, plain))).collect();
    let plain = |names: &BTreeMap<String, String>, name: &Option<String>| name.as_ref().map(|n| names[n].clone());
    let findings = linted.report.findings.iter();
    findings
        .map(|f| {
            let (step, cause) = (plain(&steps, &f.step), plain(&causes, &f.cause));
            (f.rule, f.level, step, cause, f.vehicles.clone(), f.readings.clone(), f.path.len())
        })
        .collect()
}

#[test]
fn names_order_of_vehicles_and_unused_specs_change_nothing() {
    let mut dice = Dice(20_310_504);
    let mut findings = 0;
    for _ in 0..150 {
        let plan = Plan::new(&mut dice, 8);
        let plain = Style::default();
        let expected = told(&check(&plan.write(plain)), &plan, plain);
        findings += expected.len();
        for style in [Style { renamed: true, ..plain }, Style { turned: true, ..plain }, Style { more: true, ..plain }]
        {
            let files = plan.write(style);
            assert_eq!(told(&check(&files), &plan, style), expected, "{}", files["procedures/job.md"]);
        }
    }
    assert!(findings > 600, "only {findings} findings: the law says little");
}

/// What all rules say when only so many states may be followed.
fn limited(linted: &Linted, bounds: Bounds) -> (Vec<Finding>, bool) {
    let rules = rule_levels();
    let ix = linted.tables.base.procedures.indexes().next().unwrap();
    let resolved = read_procedure(&linted.loaded, &linted.tables, &rules, ix);
    let procedure = resolved.procedure.unwrap();
    let base = &linted.tables.base;
    let analysis = graph::analyse(base, &procedure, bounds);
    let exact = analysis.classes.iter().all(|(_, paths)| paths.is_exact());
    let unit = Unit {
        base,
        sources: &linted.loaded.sources,
        procedure: &procedure,
        body: &resolved.body,
        meaning: None,
        analysis: &analysis,
        cases: &[],
    };
    let mut out = Vec::new();
    for rule in RULES {
        rule.over_procedure(&unit, &mut out);
    }
    (out, exact)
}

#[test]
fn nothing_told_past_the_limit_is_untrue() {
    let mut dice = Dice(77);
    let (mut joined, mut kept) = (0, 0);
    for _ in 0..300 {
        let plan = Plan::new(&mut dice, 9);
        let files = plan.write(Style::default());
        let linted = check(&files);
        let (all, _) = limited(&linted, Bounds::default());
        // A ring may be told where a shorter part of it is entered.
        let key = |f: &Finding| {
            let step = (f.rule != "endless-loop").then(|| f.step.clone());
            (f.rule, step, f.cause.clone())
        };
        let true_ones: BTreeSet<_> = all.iter().map(key).collect();
        let lost: bool = all.iter().any(|f| f.rule == "unreachable-step");
        for states in [1, 3, 8] {
            let (some, exact) = limited(&linted, Bounds { states, together: usize::MAX });
            joined += usize::from(!exact);
            for finding in &some {
                let says_so = finding.message.starts_with("there are too many possible ways");
                // `unreachable-step` stands for the causes that only lost steps find; past the limit they may stand themselves.
                let stands_for = finding.rule == "never-found" && lost;
                let of_group = finding.rule == "unsupported-verdict"
                    && true_ones
                        .iter()
                        .any(|(rule, step, _)| *rule == finding.rule && *step == Some(finding.step.clone()));
                assert!(
                    says_so || stands_for || of_group || true_ones.contains(&key(finding)),
                    "with {states} states: {finding:?}\n{}",
                    files["procedures/job.md"]
                );
                kept += usize::from(!exact && !says_so);
            }
        }
    }
    assert!(joined > 300 && kept > 300, "joined {joined} times, {kept} findings: the law says little");
}

#[test]
fn independent_readings_without_end_are_joined_and_said_so() {
    use std::fmt::Write as _;
    let count = 20;
    let (mut specs, mut steps) = (String::new(), String::new());
    for at in 0..count {
        let _ = writeln!(specs, "r{at}: {{quantity: dc voltage, source: Invented, value: 12 to 14 V}}");
        let next = at + 1;
        let _ = write!(
            steps,
            "  s{at}:\n    measure: r{at}\n    results:\n      - {{if: in spec, then: s{next}}}\n      - {{if: out of spec, then: s{next}}}\n"
        );
    }
    // Each reading once more, in the same order: what was seen is still known, so that no half of them can be forgotten.
    for at in 0..count {
        let here = count + at;
        let next = if at + 1 == count { "refer: Ask".to_owned() } else { format!("then: s{}", here + 1) };
        let _ = write!(
            steps,
            "  s{here}:\n    measure: r{at}\n    results:\n      - {{if: in spec, {next}}}\n      - {{if: out of spec, shows: c}}\n"
        );
    }
    let procedure =
        format!("---\ncomplaint: It does not work\ncauses: {{c: {{title: C}}}}\nsteps:\n{steps}---\nIntro.\n");
    let files = BTreeMap::from([
        ("specs/all.yaml".to_owned(), specs),
        ("procedures/job.md".to_owned(), procedure),
        ("shop.yaml".to_owned(), "title: A shop\n".to_owned()),
    ]);
    let linted = check(&files);
    let note = linted.report.findings.iter().find(|f| f.message.contains("too many possible ways")).unwrap();
    assert_eq!((note.rule, note.level), ("dead-result", Level::Note));
    let said = note.facts.join("\n");
    for silent in ["certain", "unreachable-step", "dead-result", "never-found", "no-way-out", "slow-order"] {
        assert!(said.contains(silent), "{silent} is not named: {said}");
    }
    assert!(linted.report.findings.iter().all(|f| f.level < Level::Error), "joining invents nothing");
}

#[test]
fn a_ring_of_thousands_of_steps_fits_the_stack() {
    use std::fmt::Write as _;
    let mut steps = String::new();
    for at in 0..3000 {
        let next = (at + 1) % 3000;
        let _ = write!(steps, "  s{at}:\n    observe: Look\n    results: [{{if: yes, then: s{next}}}]\n");
    }
    let procedure =
        format!("---\ncomplaint: It does not work\ncauses: {{c: {{title: C}}}}\nsteps:\n{steps}---\nIntro.\n");
    let files = BTreeMap::from([("procedures/job.md".to_owned(), procedure)]);
    let rules: Vec<&str> = check(&files).report.findings.iter().map(|f| f.rule).collect();
    assert_eq!(rules.iter().filter(|r| **r == "endless-loop").count(), 1);
    assert!(!rules.contains(&"no-way-out"), "the endless ring stands in for it");
}

#[test]
fn undos_stay_open_until_they_are_done() {
    let procedure = "---
complaint: It does not work
causes: {c: {title: C}, d: {title: D}}
steps:
  plug:
    do: Pull the plug
    undo: Put the plug back
    then: look
  look:
    observe: Look at it
    setup: raised
    results:
      - {if: fine, shows: c}
      - {if: burnt, then: back}
    without: {refer: Another bay}
  back:
    do: Put the plug back
    undoes: [plug]
    setup: level
    then: last
  last:
    observe: Look again
    results: [{if: seen, shows: d}]
---
Intro.
";
    let setups = "raised: {title: Raised, undo: Let it down}\nlevel: {title: On the floor, ends: [raised]}\n";
    let files = BTreeMap::from([
        ("procedures/job.md".to_owned(), procedure.to_owned()),
        ("setups.yaml".to_owned(), setups.to_owned()),
        ("shop.yaml".to_owned(), "title: A shop\n".to_owned()),
    ]);
    let linted = check(&files);
    let base = &linted.tables.base;
    let ix = base.procedures.indexes().next().unwrap();
    let job = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix).procedure.unwrap();
    let undos = OpenUndos::new(&graph::analyse(base, &job, Bounds::default()));
    let after = |step: &str, via| undos.after(job.steps.find(step).unwrap(), via).collect::<Vec<_>>();
    assert_eq!(after("look", Via::Result(0)), ["Put the plug back", "Let it down"]);
    assert_eq!(after("look", Via::Without), ["Put the plug back"], "who can't look raises nothing");
    assert!(after("last", Via::Result(0)).is_empty());
}
