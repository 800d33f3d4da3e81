//! SARIF and workflow annotations: what they hold beyond what a schema can say.

use std::path::Path;

use serde_json::Value;

use crate::command::Scratch;
use crate::literate::{check, examples};

const VEHICLES: &str = "orlo-t2: {title: Orlo T2 van}\n";

/// An unproven verdict (with its way there), a gap (with an offer), a misspelt name (with a safe mend).
pub const LAMP: &str = "---
complaint: Lamp stays lit
causes:
  belt: {title: Drive belt loose}
  alternator: {title: Alternator worn}
  fuse: {title: Fuse blown}
steps:
  look:
    observe: Drive belt
    results:
      - {if: loose, shows: belt}
      - {if: tight, clears: [belt], then: voltage}
  voltage:
    measure: {quantity: dc voltage, at: battery posts, source: Invented for the demonstration}
    results:
      - {if: below 13.2 V, found: alternator}
      - {if: above 13.5 V, clears: [alternator], found: fuse}
---
See [the meter](term:metre).
";

fn scratch() -> Scratch {
    Scratch::new(&[
        ("vehicles.yaml", VEHICLES),
        ("terms.yaml", "meter: {title: Meter}\n"),
        ("procedures/lamp.md", LAMP),
    ])
}

fn sarif(scratch: &Scratch) -> Value {
    serde_json::from_str(&scratch.run(&["lint", "--format", "sarif"]).out).unwrap()
}

fn result<'a>(log: &'a Value, rule: &str) -> &'a Value {
    log["runs"][0]["results"].as_array().unwrap().iter().find(|r| r["ruleId"] == rule).unwrap()
}

#[test]
fn a_result_holds_proof_places_and_mend() {
    let log = sarif(&scratch());
    let verdict = result(&log, "unsupported-verdict");
    let steps = verdict["codeFlows"][0]["threadFlows"][0]["locations"].as_array().unwrap();
    let told: Vec<&str> = steps.iter().map(|s| s["location"]["message"]["text"].as_str().unwrap()).collect();
    assert_eq!(told, ["look: tight", "voltage: below 13.2 V"]);
    assert_eq!(steps[1]["location"]["physicalLocation"]["region"]["startLine"], 16);
    assert_eq!(verdict["locations"][0]["logicalLocations"][0]["fullyQualifiedName"], "lamp/voltage");

    let gap = result(&log, "reading-gap");
    assert_eq!(gap["relatedLocations"][0]["physicalLocation"]["region"]["startLine"], 16);
    let fix = &gap["fixes"][0];
    assert_eq!(fix["properties"]["safe"], false);
    assert_eq!(fix["artifactChanges"][0]["artifactLocation"]["uri"], "kb/procedures/lamp.md");
    let replacement = &fix["artifactChanges"][0]["replacements"][0];
    assert_eq!(replacement["insertedContent"]["text"], "at least 13.2 V");
    assert_eq!(
        replacement["deletedRegion"],
        serde_json::json!({"startLine": 17, "startColumn": 14, "endLine": 17, "endColumn": 26})
    );
    assert_eq!(result(&log, "unresolved-name")["fixes"][0]["properties"]["safe"], true);
}

#[test]
fn every_rule_brings_its_page_and_level() {
    let log = sarif(&scratch());
    let rules = log["runs"][0]["tool"]["driver"]["rules"].as_array().unwrap();
    assert_eq!(rules.len(), ruleout::check::RULES.len());
    for rule in rules {
        let id = rule["id"].as_str().unwrap();
        let help = rule["help"]["markdown"].as_str().unwrap();
        assert!(help.contains("## What it means") && help.contains("## Good"), "{id}");
        assert!(
            ["error", "warning", "note"].contains(&rule["defaultConfiguration"]["level"].as_str().unwrap()),
            "{id}"
        );
    }
}

/// Lines move, words in between change: the fingerprints stay. The same fault once more is another fingerprint.
#[test]
fn fingerprints_survive_moved_lines() {
    let prints = |scratch: &Scratch| -> Vec<String> {
        let log = sarif(scratch);
        let results = log["runs"][0]["results"].as_array().unwrap().clone();
        results.iter().map(|r| r["partialFingerprints"]["ruleout/v1"].as_str().unwrap().to_owned()).collect()
    };
    let scratch = scratch();
    let before = prints(&scratch);
    scratch.write(
        "procedures/lamp.md",
        &LAMP.replace("causes:", "# moved\n\ncauses:").replace("See [", "\nWords.\n\nSee ["),
    );
    assert_eq!(prints(&scratch), before);
    scratch.write("procedures/lamp.md", &LAMP.replace("See [", "Also [the meter](term:metre).\n\nSee ["));
    let mut after = prints(&scratch);
    assert_eq!(after.len(), before.len() + 1);
    after.sort();
    after.dedup();
    assert_eq!(after.len(), before.len() + 1, "each is told apart");
}

#[test]
fn annotations_are_one_line_each() {
    let scratch =
        Scratch::new(&[("vehicles.yaml", VEHICLES), ("procedures/a,b/50% off.md", "---\ncomplaint: x\n---\n")]);
    let ran = scratch.run(&["lint", "--format", "github"]);
    assert_eq!(ran.code, 1);
    let first = ran.out.lines().next().unwrap();
    assert_eq!(
        first,
        "::error file=kb/procedures/a%2Cb/50%25 off.md,line=1,endLine=1,col=1,endColumn=4,title=bad-value::\
         `50%25 off` can't name a procedure: expected small letters a-z, digits and -%0Ahelp: write `50-off`"
    );
    assert!(
        ran.out.lines().all(|l| l.starts_with("::error file=kb/") || l.starts_with("::warning file=kb/")),
        "{}",
        ran.out
    );
    let notes = scratch.run(&["lint", "--format", "github", "--notes"]).out;
    assert!(notes.lines().count() >= ran.out.lines().count());
}

/// A path from the working folder, however the base was given.
#[test]
fn files_are_named_from_the_working_folder() {
    let scratch = scratch();
    let absolute = scratch.folder.path().canonicalize().unwrap().join("kb");
    let given = scratch.run(&["lint", absolute.to_str().unwrap(), "--format", "github"]);
    assert_eq!(given.out, scratch.run(&["lint", "--format", "github"]).out);
    let inside = crate::command::run_in(&scratch.path("procedures"), &["lint", "--kb", "..", "--format", "github"]);
    assert!(String::from_utf8(inside.stdout).unwrap().contains(" file=../procedures/lamp.md,"));
}

/// The logs of all literate cases, for the judge in `tests/outside`.
#[test]
fn dump_sarif() {
    let Some(out) = std::env::var_os("RULEOUT_OUT") else { return };
    let folder = Path::new(&out).join("sarif");
    std::fs::create_dir_all(&folder).unwrap();
    insta::glob!("../cases", "*.md", |path| {
        let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
        let all = examples(&std::fs::read_to_string(path).unwrap());
        for (at, example) in all.iter().enumerate().filter(|(_, e)| !e.expected.is_empty() && stem != "README") {
            let linted = check(&example.base(&[]));
            let log = ruleout::report::sarif::render(&linted.report, &linted.loaded.sources, "kb/");
            std::fs::write(folder.join(format!("{stem}-{at}.json")), log).unwrap();
        }
    });
}

fn found_in_json(scratch: &Scratch, rule: &str) -> Value {
    let log: Value = serde_json::from_str(&scratch.run(&["lint", "--format", "json"]).out).unwrap();
    log["findings"].as_array().unwrap().iter().find(|f| f["rule"] == rule).cloned().unwrap()
}

/// What the text says beside the message and the help, JSON says too.
#[test]
fn json_holds_the_facts_of_a_finding() {
    let lost = "  lost:\n    observe: Fuse\n    results:\n      - {if: blown, shows: belt}\n      - {if: whole, then: more}\n  \
                more:\n    observe: Plug\n    results:\n      - {if: wet, shows: belt}\n      - {if: dry, refer: Maker}\n---\nSee";
    let scratch = Scratch::new(&[
        ("vehicles.yaml", VEHICLES),
        ("terms.yaml", "meter: {title: Meter}\n"),
        ("procedures/lamp.md", &LAMP.replace("---\nSee", lost)),
    ]);
    let finding = found_in_json(&scratch, "unreachable-step");
    assert_eq!(finding["step"], "lost");
    assert_eq!(finding["facts"], serde_json::json!(["reached only through it: `more`"]));
}

/// The mend of a verdict stands where the verdict's causes stand, be it in a `without`.
#[test]
fn a_verdict_in_a_without_is_mended_in_its_place() {
    let whole = "---
complaint: Lamp
causes: {belt: {title: Belt}, meter: {title: Meter}}
steps:
  look:
    observe: Belt
    without: {found: belt}
    results:
      - {if: loose, shows: belt}
      - {if: tight, clears: [belt], found: meter}
---
";
    let scratch = Scratch::new(&[("vehicles.yaml", VEHICLES), ("procedures/lamp.md", whole)]);
    let finding = found_in_json(&scratch, "unsupported-verdict");
    let edit = &finding["mend"]["edits"][0];
    let columns = (edit["line"].as_u64(), edit["column"].as_u64(), edit["end_column"].as_u64());
    assert_eq!((columns, &edit["text"]), ((Some(7), Some(22), Some(26)), &Value::from("[belt, meter]")));
}

/// A base that counts blinks twice, with these results the second time, where two or more are left.
fn counted_again(results: &str) -> Scratch {
    let procedure = format!(
        "---\ncomplaint: Lamp\ncauses: {{belt: {{title: Belt}}, meter: {{title: Meter}}}}\nsteps:\n  first:\n    \
         measure: blinks\n    results:\n      - {{if: at most 1, shows: belt}}\n      - {{if: at least 2, then: again}}\n  \
         again:\n    measure: blinks\n    results:\n{results}---\n"
    );
    let spec = "blinks: {quantity: count, value: at most 1, source: Invented for the demonstration}\n";
    Scratch::new(&[("specs/a.yaml", spec), ("procedures/lamp.md", &procedure)])
}

/// A range is not offered that the language has no words for, nor one that no reading would come to.
#[test]
fn a_range_that_cannot_be_written_or_taken_is_not_offered() {
    for (rule, results) in [
        ("reading-gap", "      - {if: 2 to 3, shows: belt}\n      - {if: at most 4, clears: [belt], found: meter}\n"),
        (
            "reading-overlap",
            "      - {if: at least 2, shows: belt}\n      - {if: 1 to 4, clears: [belt], found: meter}\n",
        ),
    ] {
        let finding = found_in_json(&counted_again(results), rule);
        assert_eq!((&finding["mend"], &finding["step"]), (&Value::Null, &Value::from("again")), "{finding:#}");
    }
}

/// Taking a dead result out is not offered where its readings would fall to an empty `any other reading`, dead in its place.
#[test]
fn a_dead_result_above_an_empty_net_is_not_taken_out() {
    for (last, offered) in [("", true), ("      - {if: any other reading, refer: Maker}\n", false)] {
        let results = "      - {if: at most 1, shows: belt}\n      - {if: at least 2, clears: [belt], found: meter}\n";
        let finding = found_in_json(&counted_again(&format!("{results}{last}")), "dead-result");
        assert_eq!(finding["mend"].is_object(), offered, "{finding:#}");
    }
}
