//! `ruleout draft`, by the real program: what it writes lints clean but for what is to be filled in, and nothing is overwritten.

use std::path::Path;
use std::process::{Command, Output};

fn ruleout(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ruleout")).current_dir(folder).args(words).output().unwrap()
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// The rules of the findings that are no notes, and the number of errors.
fn rules(folder: &Path) -> Vec<String> {
    let output = ruleout(folder, &["lint", "kb", "--format", "json"]);
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(report["summary"]["errors"], 0, "{report:#}");
    assert_eq!(output.status.code(), Some(0));
    let findings = report["findings"].as_array().unwrap().iter().filter(|f| f["level"] != "note");
    let mut rules: Vec<String> = findings.map(|f| f["rule"].as_str().unwrap().to_owned()).collect();
    rules.sort();
    rules
}

fn base() -> tempfile::TempDir {
    let scratch = tempfile::tempdir().unwrap();
    let output = ruleout(scratch.path(), &["draft", "base", "kb"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    scratch
}

fn bytes(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all: Vec<(String, Vec<u8>)> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(Result::unwrap)
        .filter(|e| e.file_type().is_file())
        .map(|e| (e.path().display().to_string(), std::fs::read(e.path()).unwrap()))
        .collect();
    all.sort();
    all
}

#[test]
fn a_drafted_base_has_no_finding_and_compiles() {
    let scratch = base();
    assert_eq!(rules(scratch.path()), Vec::<String>::new());
    let output = ruleout(scratch.path(), &["compile", "kb", "--out", "site"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(scratch.path().join("site/procedures/horn-silent.html").is_file());
    // What it says to type first is what there is.
    let readme = std::fs::read_to_string(scratch.path().join("kb/README.md")).unwrap();
    for command in readme.lines().filter_map(|l| l.trim().strip_prefix("ruleout ")) {
        let word = command.split_whitespace().next().unwrap();
        let help = ruleout(scratch.path(), &[word, "--help"]);
        assert_eq!(help.status.code(), Some(0), "`ruleout {word}` of the drafted README");
    }
}

#[test]
fn every_skeleton_lints_clean_but_for_its_placeholders() {
    let expected: [(&[&str], &str, &[&str]); 5] = [
        (&["procedure", "lamp-dark"], "kb/procedures/lamp-dark.md", &["unsourced-value"]),
        (&["check", "look-close"], "kb/checks/look-close.md", &[]),
        (&["spec", "lamp-feed"], "kb/specs/lamp-feed.yaml", &["unsourced-value"]),
        (&["repair", "renew-bulb"], "kb/repairs/renew-bulb.md", &[]),
        (&["case", "2031-900", "--procedure", "horn-silent"], "kb/cases/2031-900.yaml", &["placeholder-value"]),
    ];
    for (words, path, findings) in expected {
        let scratch = base();
        let all: Vec<&str> = ["draft"].iter().chain(words).copied().collect();
        let first = ruleout(scratch.path(), &all);
        assert_eq!(first.status.code(), Some(0), "{}", said(&first));
        assert_eq!(String::from_utf8_lossy(&first.stdout), format!("wrote {path}\n"));
        assert!(scratch.path().join(path).is_file(), "{path}");
        assert_eq!(rules(scratch.path()), findings, "{path}");
        let before = bytes(scratch.path());
        let second = ruleout(scratch.path(), &all);
        assert_eq!(second.status.code(), Some(2), "{path}");
        assert_eq!(said(&second).lines().count(), 1, "{}", said(&second));
        assert!(said(&second).contains("already"), "{}", said(&second));
        assert_eq!(bytes(scratch.path()), before, "{path}");
    }
}

#[test]
fn a_drafted_spec_shows_as_a_placeholder_where_a_step_measures_it() {
    let scratch = base();
    ruleout(scratch.path(), &["draft", "spec", "lamp-feed"]);
    let path = scratch.path().join("kb/procedures/body/horn-silent.md");
    let text = std::fs::read_to_string(&path).unwrap().replace("measure: horn-feed", "measure: lamp-feed");
    std::fs::write(&path, text).unwrap();
    std::fs::remove_file(scratch.path().join("kb/cases/2031-001.yaml")).unwrap();
    assert!(rules(scratch.path()).contains(&"placeholder-value".to_owned()));
}

#[test]
fn a_drafted_case_is_judged_once_it_is_filled_in() {
    let scratch = base();
    ruleout(scratch.path(), &["draft", "case", "j-1"]);
    let path = scratch.path().join("kb/cases/j-1.yaml");
    let draft = std::fs::read_to_string(&path).unwrap();
    let filled = draft
        .replace("  press: TBD", "  press: silent")
        .replace("  # fuse: TBD", "  fuse: blown")
        .replace("cause: TBD", "cause: fuse-blown");
    std::fs::write(&path, &filled).unwrap();
    assert_eq!(rules(scratch.path()), Vec::<String>::new(), "{filled}");
    std::fs::write(&path, filled.replace("cause: fuse-blown", "cause: horn")).unwrap();
    let output = ruleout(scratch.path(), &["lint", "kb"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("case-astray"), "{}", said(&output));
}

#[test]
fn what_cannot_be_drafted_is_one_sentence_and_leaves_nothing_behind() {
    let scratch = base();
    let before = bytes(scratch.path());
    let refused: [&[&str]; 10] = [
        &["draft", "procedure", "Lamp Dark"],
        &["draft", "spec", "x_y"],
        &["draft", "case", "j-2", "--procedure", "horn-silnt"],
        &["draft", "procedure", "horn-silent", "--folder", "elsewhere"],
        &["draft", "spec", "horn-feed"],
        &["draft", "procedure", "out", "--folder", "../.."],
        &["draft", "procedure", "out", "--folder", "a\tb"],
        &["draft", "base", "kb"],
        &["draft", "base", "kb/shop.yaml"],
        &["draft", "check", "x", "--kb", "nowhere"],
    ];
    for words in refused {
        let output = ruleout(scratch.path(), words);
        assert_eq!(output.status.code(), Some(2), "{words:?}: {}", said(&output));
        assert!(output.stdout.is_empty() && said(&output).lines().count() == 1, "{words:?}: {}", said(&output));
        assert_eq!(bytes(scratch.path()), before, "{words:?}");
    }
    let rule = said(&ruleout(scratch.path(), &["draft", "procedure", "Lamp Dark"]));
    assert!(rule.contains("a-z, digits and -") && rule.contains("`lamp-dark`"), "{rule}");
    let near = said(&ruleout(scratch.path(), &["draft", "case", "j-2", "--procedure", "horn-silnt"]));
    assert!(near.contains("did you mean `horn-silent`?"), "{near}");
    let typo = ruleout(scratch.path(), &["draft", "procedur", "x"]);
    assert_eq!(typo.status.code(), Some(2));
    assert!(said(&typo).contains("procedure"), "{}", said(&typo));
}

#[test]
fn a_draft_in_the_demonstration_names_its_vehicles_and_labels() {
    let scratch = tempfile::tempdir().unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for entry in walkdir::WalkDir::new(root.join("kb")).into_iter().map(Result::unwrap) {
        let to = scratch.path().join("kb").join(entry.path().strip_prefix(root.join("kb")).unwrap());
        if entry.file_type().is_dir() {
            std::fs::create_dir_all(to).unwrap();
        } else {
            std::fs::copy(entry.path(), to).unwrap();
        }
    }
    for words in [
        ["procedure", "a-new-one"],
        ["check", "a-new-one"],
        ["spec", "a-new-one"],
        ["repair", "a-new-one"],
        ["case", "a-new-one"],
    ] {
        let output = ruleout(scratch.path(), &["draft", words[0], words[1]]);
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    }
    let found = rules(scratch.path());
    assert_eq!(found, ["placeholder-value", "unsourced-value", "unsourced-value"]);
}
