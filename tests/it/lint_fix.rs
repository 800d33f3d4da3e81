//! `lint --fix`: the safe mends and nothing else, every other byte kept, a second run without effect.

use std::collections::BTreeSet;

use crate::command::Scratch;
use crate::literate::{check, examples};

const VEHICLES: &str = "orlo-t2: {title: Orlo T2 van}\n";

/// Every kind of safe mend, beside comments and an odd layout that must stay.
const PROCEDURE: &str = "---
complaint:   Lamp stays lit   # said by drivers
causes:
  belt:   {title: Drive belt loose, share: 30}
  alternator:   {title: Alternator worn, share: 70}

steps:
  look:
    observe: Drive belt
    minuts: 2   # quick
    results:
      - {if: loose, shows: belt}
      - {if: tight,   clears: [belt], then: voltage}
  voltage:
    measure: {quantity: dc voltage, at: battery posts, source: Invented for the demonstration}
    minutes: 3
    results:
      - if: \">= 13,2 volts\"   # a comment that stays
        clears: [alternater]
        normal: \"It charges\"
      - if: below 13.2 V
        shows: alternator
---
";

fn scratch(procedure: &str) -> Scratch {
    Scratch::new(&[("vehicles.yaml", VEHICLES), ("procedures/lamp.md", procedure)])
}

#[test]
fn safe_mends_are_made_and_all_else_stays() {
    let scratch = scratch(PROCEDURE);
    let ran = scratch.run(&["lint", "--fix"]);
    assert_eq!(ran.code, 0, "{}", ran.out);
    let expected = PROCEDURE
        .replace("minuts", "minutes")
        .replace("\">= 13,2 volts\"", "\"at least 13.2 V\"")
        .replace("alternater", "alternator");
    assert_eq!(scratch.read("procedures/lamp.md"), expected);
    let told: Vec<&str> = ran.out.lines().filter(|l| l.starts_with("mended[")).collect();
    assert_eq!(
        told,
        [
            "mended[unknown-key] kb/procedures/lamp.md:10:5: write `minutes`",
            "mended[bad-value] kb/procedures/lamp.md:18:14: write `at least 13.2 V`",
            "mended[unresolved-name] kb/procedures/lamp.md:19:18: write `alternator`",
        ]
    );
    assert!(ran.out.contains("\n0 errors"), "{}", ran.out);
}

#[test]
fn a_second_run_changes_nothing() {
    let scratch = scratch(PROCEDURE);
    scratch.run(&["lint", "--fix"]);
    let (before, stamp) = (scratch.read("procedures/lamp.md"), modified(&scratch));
    let again = scratch.run(&["lint", "--fix"]);
    assert_eq!((scratch.read("procedures/lamp.md"), modified(&scratch)), (before, stamp));
    assert!(!again.out.contains("mended["), "{}", again.out);
}

fn modified(scratch: &Scratch) -> std::time::SystemTime {
    std::fs::metadata(scratch.path("procedures/lamp.md")).unwrap().modified().unwrap()
}

/// A limit, a verdict, an order: the author decides.
#[test]
fn what_decides_something_is_only_offered() {
    let gap = PROCEDURE
        .replace("minuts", "minutes")
        .replace("\">= 13,2 volts\"", "above 13.5 V")
        .replace("alternater", "alternator");
    let scratch = scratch(&gap);
    let ran = scratch.run(&["lint", "--fix"]);
    assert_eq!((ran.code, scratch.read("procedures/lamp.md")), (1, gap));
    assert!(ran.out.contains("error[reading-gap]") && !ran.out.contains("mended["), "{}", ran.out);
    let json: serde_json::Value = serde_json::from_str(&scratch.run(&["lint", "--format", "json"]).out).unwrap();
    let finding = json["findings"].as_array().unwrap().iter().find(|f| f["rule"] == "reading-gap").unwrap();
    assert_eq!(finding["mend"]["safe"], false, "the gap could be closed from either side");
}

/// Two spellings of one key: which of the two is meant is not ours to say.
#[test]
fn a_key_is_never_written_twice() {
    let twice = PROCEDURE
        .replace("    minuts: 2   # quick\n", "    minuts: 2\n    minutes: 3\n")
        .replace("\">= 13,2 volts\"", "at least 13.2 V")
        .replace("alternater", "alternator");
    let scratch = scratch(&twice);
    assert_eq!(scratch.run(&["lint", "--fix"]).code, 1);
    assert_eq!(scratch.read("procedures/lamp.md"), twice);
}

#[test]
fn byte_order_mark_and_line_ends_stay() {
    let text = format!("\u{feff}{}", PROCEDURE.replace('\n', "\r\n"));
    let scratch = scratch(&text);
    let ran = scratch.run(&["lint", "--fix"]);
    let expected = text
        .replace("minuts", "minutes")
        .replace("\">= 13,2 volts\"", "\"at least 13.2 V\"")
        .replace("alternater", "alternator");
    assert_eq!(scratch.read("procedures/lamp.md"), expected, "{}", ran.out);
}

#[test]
fn only_the_named_file_is_mended() {
    let scratch = scratch(PROCEDURE);
    scratch.write("procedures/other.md", PROCEDURE);
    scratch.run(&["lint", "--fix", "--only", "procedures/other.md"]);
    assert_eq!(scratch.read("procedures/lamp.md"), PROCEDURE);
    assert_ne!(scratch.read("procedures/other.md"), PROCEDURE);
}

#[test]
fn one_file_that_cannot_be_written_stops_all() {
    let scratch = scratch(PROCEDURE);
    scratch.write("procedures/other.md", PROCEDURE);
    let path = scratch.path("procedures/other.md");
    let mut rights = std::fs::metadata(&path).unwrap().permissions();
    rights.set_readonly(true);
    std::fs::set_permissions(&path, rights).unwrap();
    let ran = scratch.run(&["lint", "--fix"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert_eq!(ran.err, "ruleout: cannot write `kb/procedures/other.md`: the file is read-only\n");
    assert_eq!(scratch.read("procedures/lamp.md"), PROCEDURE, "nothing half-done");
    let names: Vec<_> =
        std::fs::read_dir(scratch.path("procedures")).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(names.len(), 2, "nothing is left behind: {names:?}");
}

#[test]
fn json_stays_one_object() {
    let scratch = scratch(PROCEDURE);
    let ran = scratch.run(&["lint", "--fix", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(json["summary"]["errors"], 0);
    assert_eq!(ran.err.lines().filter(|l| l.starts_with("mended[")).count(), 3);
}

/// A heading that is gone or misspelt leaves a name that is nowhere. The nearest other name is another repair, not another spelling.
#[test]
fn another_thing_is_never_written_unasked() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bases/tail-lamp");
    let mut files = std::collections::BTreeMap::new();
    for entry in walkdir::WalkDir::new(&folder).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file()) {
        let name = entry.path().strip_prefix(&folder).unwrap().to_str().unwrap().to_owned();
        files.insert(name, std::fs::read_to_string(entry.path()).unwrap());
    }
    let file = files.get_mut("procedures/dark-lamp.md").unwrap();
    *file = file.replace("## Renew the fuse {#renew-fuse}\n", "");
    let linted = check(&files);
    let found: Vec<_> = linted.report.findings.iter().filter(|f| f.rule == "unresolved-name").collect();
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].help.iter().any(|h| h.contains("`renew-bulb`")), "{:?}", found[0]);
    assert!(ruleout::edit::fix(&linted.report.findings, &linted.loaded.sources).texts.is_empty());
}

/// Every example of the literate cases comes to rest after a few rounds; what was mended is not told any more, and only files change
/// that were told.
#[test]
fn every_case_comes_to_rest() {
    let (mut made, mut tried) = (0, 0);
    insta::glob!("../cases", "*.md", |path| {
        if path.ends_with("README.md") {
            return;
        }
        for example in examples(&std::fs::read_to_string(path).unwrap()) {
            let mut files = example.base(&[]);
            let mut rounds = 0;
            loop {
                let linted = check(&files);
                let fixed = ruleout::edit::fix(&linted.report.findings, &linted.loaded.sources);
                if fixed.texts.is_empty() {
                    break;
                }
                let told: BTreeSet<&String> = fixed.made.iter().map(|m| &m.file).collect();
                assert!(fixed.texts.keys().all(|p| told.contains(p)), "{}: {told:?}", example.title);
                made += fixed.made.len();
                files.extend(fixed.texts);
                rounds += 1;
                assert!(rounds < 8, "{}: no rest after {rounds} rounds", example.title);
            }
            tried += 1;
        }
    });
    assert!(tried > 50 && made >= 15, "{tried} cases, {made} mends: too little was tried");
}
